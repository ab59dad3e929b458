"""Hold what a trace tells against what is true of the simulated axis that it was recorded of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from tests.oracle.traces import Case, Chirp, draw, draw_chirp, simulate
from vault.behaviour.trace.evaluate import Known, evaluate
from vault.behaviour.trace.measured import QUANTITIES, CannotBeTold, Measured
from vault.behaviour.trace.signals import Recorded
from vault.formats.trace_table import read_trace
from vault.model.errors import Unreadable

CLEAN, NOISY = 0.03, 0.10
_BATCH = 150


@dataclass(slots=True)
class Outcome:
    """What came of one quantity: how often told, near, within its own uncertainty, wrong."""

    counts: Counter[str] = field(default_factory=Counter)
    worst: dict[bool, float] = field(default_factory=lambda: {False: 0.0, True: 0.0})
    reasons: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class Report:
    """The outcomes by quantity, and every confident wrong figure as a line."""

    outcomes: dict[str, Outcome] = field(
        default_factory=lambda: {name: Outcome() for name in QUANTITIES}
    )
    misses: list[str] = field(default_factory=list)
    tellable: Counter[str] = field(default_factory=Counter)
    told: Counter[str] = field(default_factory=Counter)


def recorded_of(text: str) -> Recorded:
    """A table as arrays in SI, by factors of its own."""
    trace = read_trace(text.encode(), "trace.csv")

    def column(name: str, factor: float) -> np.ndarray | None:
        found = trace.columns.get(name)
        return None if found is None else np.array(found.samples) * factor

    return Recorded(
        np.array(trace.times), column("position_demand", 1e-3), column("position_actual", 1e-3),
        column("velocity_actual", 1e-3), column("following_error", 1e-3),
        column("torque_actual", 1.0), tuple((gap.begin, gap.end) for gap in trace.gaps),
    )  # fmt: skip


def run(seed: int, count: int) -> Report:
    """Draw, simulate and judge so many traces; one in eight is a chirp."""
    chance = np.random.default_rng(seed)
    report = Report()
    chirps = count // 8
    for number in range(chirps):
        _judge_chirp(report, number, draw_chirp(chance))
    left = count - chirps
    while left:
        cases = [draw(chance) for _ in range(min(_BATCH, left))]
        simulate(cases)
        for case in cases:
            _judge(report, count - left, case)
            left -= 1
    return report


def _judge_chirp(report: Report, number: int, chirp: Chirp) -> None:
    known = Known(per_radian=10e-3 / (2 * np.pi))
    answer = evaluate(recorded_of(chirp.text), known)["resonance"]
    visible = chirp.resonance < 0.2 * chirp.sampled
    _note(report, f"chirp {number}", "resonance", answer, chirp.resonance, chirp.noisy, visible)


def _judge(report: Report, number: int, case: Case) -> None:
    known = Known(per_radian=case.axis.way, window=case.axis.window)
    try:
        recorded = recorded_of(case.text)
    except Unreadable as error:
        report.outcomes["peak_lag"].reasons[error.message] += 1
        return
    answers = evaluate(recorded, known)
    own = case.recording
    plain = own.samples > 1500 and not own.gap and case.length > case.parts[-1].begin + 1
    for name in QUANTITIES:
        true = case.truth.get(name)
        place = f"{number} ({own.samples} samples{', noisy' if own.noisy else ''}" + (
            f"{', uneven' if own.uneven else ''}{', gap' if own.gap else ''}, {own.ring})"
        )
        _note(report, place, name, answers[name], true, own.noisy, plain and _can(case, name))


def _can(case: Case, name: str) -> bool:
    """Whether a fine recording of this move can tell a quantity."""
    columns = set(case.recording.columns)
    if name in ("rms_torque", "peak_torque", "friction", "inertia") and (
        "torque_actual" not in columns
    ):
        return False
    if "position_demand" not in columns and name in ("settling_time", "overshoot"):
        return False
    if name == "friction":
        return len({round(abs(part.speed), 6) for part in case.parts}) > 1
    if name == "inertia":
        return True
    if name == "steady_lag":
        return (
            bool(case.parts[0].even)
            and case.axis.forward == 0
            and ("following_error" in columns or "position_demand" in columns)
        )
    return name in ("rms_torque", "peak_torque")


def _note(
    report: Report, place: str, name: str, answer: Measured | CannotBeTold, true: float | None,
    noisy: bool, tellable: bool,
) -> None:  # fmt: skip
    outcome = report.outcomes[name]
    report.tellable[name] += tellable
    if isinstance(answer, CannotBeTold):
        outcome.counts["cannot be told"] += 1
        outcome.reasons[answer.reason] += 1
        return
    report.told[name] += tellable
    if true is None:
        outcome.counts["wrong"] += 1
        report.misses.append(f"{place}: {name} told as {answer.value:.4g}, and there is none")
        return
    off = abs(answer.value - true)
    share = off / true if true else (0.0 if off == 0 else np.inf)
    if share <= (NOISY if noisy else CLEAN):
        outcome.counts["near"] += 1
        outcome.worst[noisy] = max(outcome.worst[noisy], share)
    elif off <= answer.uncertainty:
        outcome.counts["within its uncertainty"] += 1
    else:
        outcome.counts["wrong"] += 1
        report.misses.append(
            f"{place}: {name} told as {answer.value:.5g} +- {answer.uncertainty:.2g}, "
            f"true is {true:.5g} ({100 * share:.1f} %)"
        )


def lines(report: Report) -> Iterator[str]:
    """The report as a table."""
    heads = ("near", "within its uncertainty", "wrong", "cannot be told")
    yield (
        f"{'quantity':<15}"
        + "".join(f"{head:>24}" for head in heads)
        + (f"{'worst near, clean':>20}{'noisy':>8}{'told of tellable':>20}")
    )
    for name, outcome in report.outcomes.items():
        counts = "".join(f"{outcome.counts[head]:>24}" for head in heads)
        worst = f"{100 * outcome.worst[False]:>18.1f} %{100 * outcome.worst[True]:>6.1f} %"
        yield f"{name:<15}{counts}{worst}{report.told[name]:>12} of {report.tellable[name]}"
    yield from report.misses

"""Holds what the program says of drawn axes against what they do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from tests.oracle.cases import Case, draw
from tests.oracle.measure import measure
from tests.oracle.program import SAYS, Said, behaviour_of

TOLERANCE = 0.01
"""Share that a figure may be off; a fixed step is not exact either."""
_RINGS = {"phase_margin": 0.05}
_BATCH = 1000


@dataclass(frozen=True, slots=True)
class Miss:
    """A figure that does not fit: the program's against the oracle's."""

    case: int
    quantity: str
    said: Said | None
    measured: float | None


@dataclass(slots=True)
class Report:
    """What came of a run: cases by mechanism and quantity, worst deviations, what does not fit."""

    held: Counter[tuple[str, str]] = field(default_factory=Counter)
    worst: dict[str, float] = field(default_factory=dict)
    bounds: Counter[tuple[str, str]] = field(default_factory=Counter)
    misses: list[Miss] = field(default_factory=list)


def run(seed: int, count: int) -> Report:
    """Hold so many axes against the oracle."""
    report = Report()
    cases = draw(seed, count)
    for start in range(0, count, _BATCH):
        batch = cases[start : start + _BATCH]
        compare(batch, measure(batch), report)
    return report


def compare(
    cases: Sequence[Case], measured: Sequence[dict[str, float | None]], report: Report
) -> None:
    """Hold what the program says of some axes against what was measured of them."""
    for case, figures in zip(cases, measured, strict=True):
        found = behaviour_of(case)
        for quantity, says in SAYS.items():
            said, true = says(found), figures[quantity]
            if said is None or true is None:
                if said is not None and said.value is not None and quantity not in _WIDER:
                    report.misses.append(Miss(case.number, quantity, said, None))
                continue
            _hold(case, quantity, said, true, report)


_WIDER = frozenset({"brake_hold_ratio", "drop_rest", "drop_moving", "absolute_range"})
"""Quantities that the program tells in cases in which the oracle leaves them out."""


def _hold(case: Case, quantity: str, said: Said, true: float, report: Report) -> None:
    if "608Fh" in said.hedge:
        return  # a convention that turns the figure, and is told
    allowed = _RINGS.get(quantity, TOLERANCE)
    report.held[case.mechanism, quantity] += 1
    report.bounds[quantity, said.bound] += 1
    if said.value is None and said.bound in ("up_to", "unknown"):
        return  # without end, unless friction helps
    if said.value is None:
        report.misses.append(Miss(case.number, quantity, said, true))
        return
    off = (said.value - true) / max(abs(true), 1e-9)
    if said.bound == "up_to":
        off = min(0.0, off)
    elif said.bound == "at_least":
        off = max(0.0, off)
    elif said.bound == "unknown":
        return
    report.worst[quantity] = max(report.worst.get(quantity, 0.0), abs(off))
    if abs(off) > allowed and abs(said.value - true) > 1e-9:
        report.misses.append(Miss(case.number, quantity, said, true))


def lines(report: Report) -> Iterator[str]:
    """The report as a table: cases by quantity, how many are bounds, the worst deviation."""
    yield f"{'quantity':<24}{'cases':>8}{'exact':>8}{'up to':>8}{'at least':>10}{'worst':>9}"
    for quantity in SAYS:
        count = sum(n for (_, name), n in report.held.items() if name == quantity)
        exact, up, least = (report.bounds[quantity, b] for b in ("exact", "up_to", "at_least"))
        worst = report.worst.get(quantity, 0.0)
        yield f"{quantity:<24}{count:>8,}{exact:>8,}{up:>8,}{least:>10,}{worst:>8.2%}"
    yield f"{sum(report.held.values()):,} figures, {len(report.misses)} do not fit."
    shown: Counter[str] = Counter()
    for miss in report.misses:
        shown[miss.quantity] += 1
        if shown[miss.quantity] <= 3:
            yield f"case {miss.case}, {miss.quantity}: said {miss.said}, measured {miss.measured}"
    for quantity, number in shown.items():
        yield f"{quantity}: {number} do not fit"

"""What a run came to: a table for people, one document for programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from math import ceil
from statistics import median
from typing import Any

from tests.load.campaign import NOTHING, Report
from tests.load.pages import KINDS
from tests.load.people import FILES, WAYS
from tests.load.samples import SHORTEST

ALL = "all pages"


@dataclass(frozen=True, slots=True)
class Latency:
    """Seconds of one kind of page: the median of an idle viewer, and what it was under load."""

    kind: str
    count: int
    idle: float | None
    median: float | None
    slow: float | None
    """The 99th percentile."""
    slowest: float | None


def percentile(values: Sequence[float], share: float) -> float:
    """The least value that so large a share of them does not exceed (nearest rank)."""
    return sorted(values)[max(0, ceil(share * len(values)) - 1)]


def latencies(report: Report) -> list[Latency]:
    """Every kind of page, then all of them, then what they are shown with and exports."""
    by_kind: dict[str, list[float]] = {kind: [] for kind in (*KINDS, FILES)}
    for one in report.answers:
        by_kind[one.kind].append(one.seconds)
    idle = {kind: report.idle.get(kind, []) for kind in KINDS}
    rows = [_latency(kind, by_kind[kind], idle[kind]) for kind in KINDS]
    every = [seconds for kind in KINDS for seconds in by_kind[kind]]
    rows.append(_latency(ALL, every, [seconds for some in idle.values() for seconds in some]))
    rows.append(_latency(FILES, by_kind[FILES], []))
    for way in WAYS:
        took = [one.asked for one in report.writes if one.way == way and one.snapshot is not None]
        rows.append(_latency(f"export, {way}", took, []))
    return rows


def _latency(kind: str, seconds: list[float], idle: list[float]) -> Latency:
    resting = median(idle) if idle else None
    if not seconds:
        return Latency(kind, 0, resting, None, None, None)
    slow = percentile(seconds, 0.99)
    return Latency(kind, len(seconds), resting, median(seconds), slow, max(seconds))


def lines(report: Report) -> Iterator[str]:
    """The report as text, what is wrong at its end."""
    plan = report.plan
    yield (
        f"{plan.readers:,} readers, a page every {plan.read_every:g} s; {plan.writers:,} writers, "
        f"an export every {plan.write_every:g} s; {plan.axes:,} axes, {plan.seconds:g} s; "
        f"load of the machine before it: {report.busy[0]:.1f} on {report.busy[1]} processors"
    )
    yield ""
    yield "| page | answers | idle median | median | 99 of 100 | slowest | median, times idle |"
    yield "|---|---|---|---|---|---|---|"
    for row in latencies(report):
        times = row.median / row.idle if row.median is not None and row.idle else None
        cells = (_ms(row.idle), _ms(row.median), _ms(row.slow), _ms(row.slowest))
        yield f"| {row.kind} | {row.count:,} | {' | '.join(cells)} | {_times(times)} |"
    yield ""
    nothing = report.idle.get(NOTHING, [])
    if nothing:
        yield f"An address without a page, idle: {_ms(median(nothing))}."
    yield f"{report.late:,} turns came late, since the one before had not ended."
    yield f"At most {report.queue:,} requests waited for a thread of the viewer."
    yield from _grown(report)
    stored = sum(one.snapshot is not None for one in report.writes)
    yield f"{stored:,} of {len(report.writes):,} exports were stored."
    if report.problems:
        yield ""
        yield f"{len(report.problems)} wrong:"
        yield from (f"- {problem}" for problem in report.problems)
        yield f"Vault and log are kept in {report.kept}."
    else:
        yield "No error; each export is in the vault once; verify finds nothing."


def _grown(report: Report) -> Iterator[str]:
    if not report.samples:
        yield "Memory and open files cannot be told on this system."
        return
    last = report.samples[-1]
    share = last.processor - report.samples[0].processor
    span = last.at - report.samples[0].at
    if span > 0:
        within = [one for one in report.answers if one.kind in KINDS and one.at < last.at]
        each = 1000 * share / max(1, len(within))
        yield (
            f"The viewer's own process took {share / span:.0%} of one processor, {each:.0f} ms for "
            "each page with all that goes on beside it."
        )
    yield ""
    yield "| after the first third | then | at the end | may grow by |"
    yield "|---|---|---|---|"
    for one in report.growth:
        unit = f" {one.unit}" if one.unit else ""
        yield f"| {one.name} | {one.early:,.0f}{unit} | {one.late:,.0f}{unit} | {one.most:,.0f} |"
    yield ""
    if not report.is_judged:
        yield f"Growth is not judged: the run was shorter than {SHORTEST:g} s."
    if report.left is not None:
        yield f"Connections left when everybody had gone: {report.left}."


def _ms(seconds: float | None) -> str:
    return "–" if seconds is None else f"{seconds * 1000:,.0f} ms"


def _times(share: float | None) -> str:
    return "–" if share is None else f"{share:.1f}"


def as_json(report: Report) -> dict[str, Any]:
    """One document, with every sample and answer, from which the picture can be drawn again."""
    return {
        "plan": asdict(report.plan),
        "load_before": report.busy[0],
        "processors": report.busy[1],
        "latencies": [asdict(row) for row in latencies(report)],
        "growth": [{**asdict(one), "is_too_much": one.is_too_much} for one in report.growth],
        "is_growth_judged": report.is_judged,
        "late": report.late,
        "most_in_queue": report.queue,
        "connections_left": report.left,
        "idle": report.idle,
        "answers": [[one.kind, round(one.at, 3), round(one.seconds, 5)] for one in report.answers],
        "writes": [asdict(one) for one in report.writes],
        "samples": [asdict(one) for one in report.samples],
        "problems": report.problems,
    }

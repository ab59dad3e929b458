"""The picture of a run: kinds of pages idle and under load, then time, memory and open files."""

from __future__ import annotations

from statistics import median

from tests.load.campaign import Report
from tests.load.pages import KINDS
from tests.load.report import ALL, latencies, percentile
from tests.plotting import WIDTH, Curve, Duration, Strip, alone, durations, strips
from webui.pictures.svg import LINE, Sheet

_BINS = 30  # of a run, each with its median and percentile


def draw(report: Report) -> str:
    """The picture as a file of its own."""
    sheet = Sheet("load", WIDTH)
    plan = report.plan
    rows = [
        Duration(one.kind, one.idle, one.median, one.slow, one.kind == ALL)
        for one in latencies(report)
        if one.median is not None and one.slow is not None and one.idle
    ]
    key = "hollow: idle; full: median under load; end of the line: 99 of 100"
    y = durations(sheet, rows, "Seconds until a page was there", key, 14.0)
    bottom = strips(sheet, _strips(report), y + 2 * LINE, "s")
    title = f"The viewer with {plan.readers:,} readers and {plan.writers:,} writers"
    return alone(sheet, bottom, title, _described(report))


def _strips(report: Report) -> list[Strip]:
    pages = [one for one in report.answers if one.kind in KINDS]
    width = report.plan.seconds / _BINS
    bins: dict[int, list[float]] = {}
    for one in pages:
        bins.setdefault(min(_BINS - 1, int(one.at / width)), []).append(1000 * one.seconds)
    middles = [((at + 0.5) * width, median(some)) for at, some in sorted(bins.items())]
    slow = [((at + 0.5) * width, percentile(some, 0.99)) for at, some in sorted(bins.items())]
    found = [
        Strip(
            "Pages, ms",
            (Curve("99 of 100", "before", slow), Curve("median", "line", middles)),
        )
    ]
    if report.samples:
        memory = [(one.at, one.memory / 1e6) for one in report.samples]
        of_git = [(one.at, one.git_memory / 1e6) for one in report.samples]
        files = [(one.at, float(one.files)) for one in report.samples]
        links = [(one.at, float(one.connections)) for one in report.samples]
        found += [
            Strip(
                "Resident memory, MB",
                (Curve("its git processes", "before", of_git), Curve("viewer", "line", memory)),
            ),
            Strip(
                "Open in the viewer",
                (Curve("connections", "before", links), Curve("files", "line", files)),
            ),
        ]
    return found


def _described(report: Report) -> str:
    said = [
        f"{one.kind}: idle {1000 * one.idle:.0f} ms, median {1000 * one.median:.0f} ms, "
        f"99 of 100 within {1000 * one.slow:.0f} ms"
        for one in latencies(report)
        if one.idle and one.median is not None and one.slow is not None
    ]
    said += [
        f"{one.name}: {one.early:.0f} {one.unit}, at the end {one.late:.0f}"
        for one in report.growth[:3]
    ]
    return "; ".join(said)

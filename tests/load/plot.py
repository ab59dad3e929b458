"""The picture of a run: kinds of pages idle and under load, then time, memory and open files.

It stands for itself in a file: what the viewer's stylesheet says of a picture is said by attributes
here, for any policy forbids neither these nor a colour that suits light and dark.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from statistics import median

from tests.load.campaign import Report
from tests.load.pages import KINDS
from tests.load.report import ALL, latencies, percentile
from webui.pictures.svg import LINE, Scale, Sheet, n, text_width, ticks

_WIDTH = 560.0
_LEFT, _RIGHT, _STRIP = 64.0, 8.0, 96.0
_ROW = 20.0
_BINS = 30  # of a run, each with its median and percentile
_LEAST = 1e-4  # seconds: nothing is quicker on a scale of tens
_LOOKS = {
    "line": 'fill="none" stroke="#1a1a1a" stroke-width="2"',
    "thin": 'fill="none" stroke="#1a1a1a" stroke-width="1"',
    "before": 'fill="none" stroke="#1a1a1a" stroke-width="1.25" stroke-dasharray="5 3"',
    "rule": 'fill="none" stroke="#8a8578"',
    "grid": 'fill="none" stroke="#8a8578" stroke-width=".5" stroke-dasharray="1 3"',
    "filled": 'fill="#1a1a1a"',
    "hollow": 'fill="#ffffff" stroke="#1a1a1a"',
    "axis": 'fill="#555555"',
    "strong": 'fill="#1a1a1a" font-weight="bold"',
    "label": 'fill="#1a1a1a"',
}

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Curve:
    """A line over time: what it is called, how it is drawn (`line`, `before` or `thin`)."""

    name: str
    kind: str
    points: Points


@dataclass(frozen=True, slots=True)
class Strip:
    """Some lines of one unit, one strip of a picture."""

    title: str
    curves: tuple[Curve, ...]


def draw(report: Report) -> str:
    """The picture as a file of its own."""
    sheet = Sheet("load", _WIDTH)
    plan = report.plan
    y = _kinds(sheet, report, 14.0)
    bottom = strips(sheet, _strips(report), y + 2 * LINE, "s")
    title = f"The viewer with {plan.readers:,} readers and {plan.writers:,} writers"
    return alone(sheet, bottom, title, _described(report))


def alone(sheet: Sheet, height: float, title: str, described: str) -> str:
    """A finished picture as a file of its own, without a stylesheet."""
    text = str(sheet.finish(height, title, described))
    for kind, looks in _LOOKS.items():
        text = text.replace(f' class="{kind}"', f" {looks}")
    begin = (
        '<svg xmlns="http://www.w3.org/2000/svg" font-size="13" '
        "font-family=\"Georgia, 'Liberation Serif', serif\""
    )
    text = text.replace('<svg class="picture"', begin, 1)
    paper = f'<rect fill="#ffffff" width="{n(sheet.width)}" height="{n(height)}"/>'
    return re.sub(r"(</desc>)", rf"\1{paper}", text, count=1) + "\n"


def _kinds(sheet: Sheet, report: Report, top: float) -> float:
    """A row for each kind of page, on a scale of tens; gives where the next thing may stand."""
    rows = [one for one in latencies(report) if one.median is not None and one.idle]
    sheet.text(0, top, "Seconds until a page was there", kind="strong")
    words = "hollow: idle; full: median under load; end of the line: 99 of 100"
    sheet.text(0, top + LINE, words, kind="axis")
    if not rows:
        return top + LINE
    every = [x for one in rows for x in (one.idle, one.median, one.slow) if x]
    low, high = log10(max(_LEAST, min(every))), log10(max(every))
    left = max(text_width(kind) for kind in (*KINDS, ALL)) + 8
    across = Scale(floor(low * 2) / 2, ceil(high * 2) / 2, left, sheet.width - 24)
    y = top + 2 * LINE + 6
    bottom = y + _ROW * len(rows)
    for power in range(ceil(across.low), floor(across.high) + 1):
        x = across.at(power)
        sheet.line(x, y - 12, x, bottom - 10, "grid")
        sheet.text(x, bottom + 4, f"{10.0**power:g} s", anchor="middle", kind="axis")
    for row in rows:
        assert row.idle and row.median and row.slow
        at = [across.at(log10(max(_LEAST, x))) for x in (row.idle, row.median, row.slow)]
        sheet.text(0, y + 4, row.kind, kind="strong" if row.kind == ALL else "label")
        sheet.line(min(at), y, max(at), y, "thin")
        sheet.line(at[2], y - 5, at[2], y + 5, "thin")
        sheet.box(at[0] - 3.5, y - 3.5, 7, 7, "hollow")
        sheet.box(at[1] - 3.5, y - 3.5, 7, 7, "filled")
        y += _ROW
    return bottom + 4


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


def strips(sheet: Sheet, wanted: Sequence[Strip], top: float, unit: str) -> float:
    """Strips one below the other over one axis of time; gives the lower end."""
    ends = [x for one in wanted for curve in one.curves for x, _ in curve.points]
    if not ends:
        return top
    across = Scale(min(0.0, *ends), max(ends), _LEFT, sheet.width - _RIGHT)
    y = top
    for one in wanted:
        y = _strip(sheet, one, across, y)
    for at, words in ticks(across.low, across.high, 6):
        sheet.text(across.at(at), y + LINE - 4, words, anchor="middle", kind="axis")
    sheet.text(0, y + LINE - 4, unit, kind="axis")
    return y + LINE + 4


def _strip(sheet: Sheet, wanted: Strip, across: Scale, top: float) -> float:
    values = [y for curve in wanted.curves for _, y in curve.points]
    y = top + LINE
    sheet.text(0, y, wanted.title, kind="strong")
    x = sheet.width - _RIGHT
    for curve in wanted.curves:
        sheet.text(x, y, curve.name, anchor="end", kind="axis")
        x -= text_width(curve.name) + 6
        sheet.line(x - 28, y - 4, x, y - 4, curve.kind)
        x -= 44
    up = Scale(0.0, max(values, default=1.0) * 1.05 or 1.0, y + 8 + _STRIP, y + 8)
    for at, words in ticks(up.low, up.high, 4):
        sheet.line(across.start, up.at(at), across.end, up.at(at), "grid")
        sheet.text(_LEFT - 6, up.at(at) + 4, words, anchor="end", kind="axis")
    for curve in wanted.curves:
        way = "".join(
            f"{'L' if number else 'M'}{n(across.at(at))} {n(up.at(value))}"
            for number, (at, value) in enumerate(curve.points)
        )
        sheet.path(way, curve.kind)
    return y + 8 + _STRIP + 10


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

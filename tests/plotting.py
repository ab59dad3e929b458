"""Pictures of long runs: what takes how long on a scale of tens, and quantities over time.

A picture stands for itself in a file: what the viewer's stylesheet says of one is said by
attributes here, for any policy forbids neither these nor a colour that suits light and dark.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from webui.pictures.svg import LINE, Scale, Sheet, n, text_width, ticks

WIDTH = 560.0
_LEFT, _RIGHT, _STRIP = 64.0, 8.0, 96.0
_ROW = 20.0
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
    """A line over time: how it is drawn (`line`, `before` or `thin`), and what it is called.

    One that goes on after another of its kind has no name.
    """

    name: str
    kind: str
    points: Points


@dataclass(frozen=True, slots=True)
class Strip:
    """Some lines of one unit, one strip of a picture."""

    title: str
    curves: tuple[Curve, ...]


@dataclass(frozen=True, slots=True)
class Duration:
    """A row on a scale of tens, in seconds; `hollow` is what `full` is held against."""

    name: str
    hollow: float | None
    full: float
    end: float
    is_strong: bool = False


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


def durations(sheet: Sheet, rows: Sequence[Duration], title: str, key: str, top: float) -> float:
    """A row for each on one scale of tens; gives where the next thing may stand."""
    sheet.text(0, top, title, kind="strong")
    sheet.text(0, top + LINE, key, kind="axis")
    if not rows:
        return top + LINE
    every = [max(_LEAST, x) for one in rows for x in (one.hollow, one.full, one.end) if x]
    left = max(text_width(one.name) for one in rows) + 8
    low, high = floor(log10(min(every)) * 2) / 2, ceil(log10(max(every)) * 2) / 2
    across = Scale(low, max(high, low + 0.5), left, sheet.width - 24)
    y = top + 2 * LINE + 6
    bottom = y + _ROW * len(rows)
    for power in range(ceil(across.low), floor(across.high) + 1):
        x = across.at(power)
        sheet.line(x, y - 12, x, bottom - 10, "grid")
        sheet.text(x, bottom + 4, f"{10.0**power:g} s", anchor="middle", kind="axis")
    for row in rows:
        marks = [x for x in (row.hollow, row.full, row.end) if x is not None]
        at = [across.at(log10(max(_LEAST, x))) for x in marks]
        sheet.text(0, y + 4, row.name, kind="strong" if row.is_strong else "label")
        sheet.line(min(at), y, max(at), y, "thin")
        sheet.line(at[-1], y - 5, at[-1], y + 5, "thin")
        if row.hollow is not None:
            sheet.box(at[0] - 3.5, y - 3.5, 7, 7, "hollow")
        sheet.box(at[-2] - 3.5, y - 3.5, 7, 7, "filled")
        y += _ROW
    return bottom + 4


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
        if not curve.name:
            continue
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

"""A margin over time as steps, on a scale of doublings, with the line at 1 and the golden ratio.

Beyond a quarter and four the steps run along the edge of the picture, which says so.
"""

from __future__ import annotations

from math import log2
from typing import TYPE_CHECKING

from markupsafe import Markup

from vault.meaning.margin_text import ratio_text
from webui.pictures.margin_bar import ENDS, TICKS, clipped, is_cut
from webui.pictures.svg import LINE, Scale, Sheet, n

if TYPE_CHECKING:
    from datetime import datetime

    from vault.behaviour.facts import Margin
    from vault.jobs.inspect.margin_history import MarginTimeline

_TOP, _BOTTOM, _LEFT, _RIGHT = 14, 118, 22, 12
_MOST_TOLD = 40
_UP = Scale(*ENDS, _BOTTOM, _TOP)


def draw(timeline: MarginTimeline, key: str) -> Markup:
    """The steps; `key` is unique on the page."""
    sheet = Sheet(key)
    across = _across(timeline, sheet.width)
    for ratio, words in TICKS:
        y = _UP.at(log2(ratio))
        sheet.text(_LEFT - 6, y + 4, words, anchor="end", kind="axis")
        sheet.line(_LEFT, y, sheet.width - _RIGHT, y, "edge" if ratio == 1 else "grid")
    if timeline.golden is not None and timeline.golden.ratio is not None:
        y = _UP.at(clipped(timeline.golden.ratio))
        sheet.line(_LEFT, y, sheet.width - _RIGHT, y, "golden")
    _steps(sheet, timeline, across)
    bottom = _BOTTOM + LINE + 6.0
    first, last = timeline.steps[0].snapshot.record, timeline.last.record
    sheet.text(_LEFT, bottom, f"{first.taken_at:%Y-%m-%d}", kind="axis")
    sheet.text(sheet.width - _RIGHT, bottom, f"{last.taken_at:%Y-%m-%d}", anchor="end", kind="axis")
    if any(_is_cut(step.margin) for step in timeline.steps):
        bottom = sheet.lines(0, bottom + LINE, "What lies beyond runs along the edge.", kind="axis")
        bottom -= LINE
    return sheet.finish(bottom + 8, f"{timeline.title}, over time", _described(timeline))


def _across(timeline: MarginTimeline, width: float) -> Scale:
    start = _seconds(timeline.steps[0].snapshot.record.taken_at)
    end = _seconds(timeline.last.record.taken_at)
    return Scale(start, max(end, start + 1), _LEFT + 6, width - _RIGHT)


def _seconds(moment: datetime) -> float:
    return moment.timestamp()


def _is_cut(margin: Margin | None) -> bool:
    return margin is not None and margin.ratio is not None and is_cut(margin.ratio)


def _steps(sheet: Sheet, timeline: MarginTimeline, across: Scale) -> None:
    """The line, broken where nothing can be told; a dot and a label for every step."""
    commands: list[str] = []
    is_drawn = False
    dots: list[tuple[float, float, str]] = []
    for step in timeline.steps:
        x = across.at(_seconds(step.snapshot.record.taken_at))
        if step.margin is None or step.margin.ratio is None:
            commands += [f"H{n(x)}"] if is_drawn else []
            is_drawn = False
            continue
        y = _UP.at(clipped(step.margin.ratio))
        commands.append(f"H{n(x)}V{n(y)}" if is_drawn else f"M{n(x)} {n(y)}")
        is_drawn = True
        dots.append((x, y, ratio_text(step.margin.ratio, step.margin.bound)))
    if is_drawn:
        commands.append(f"H{n(across.end)}")
    sheet.path("".join(commands), "line")
    for x, y, words in dots[:_MOST_TOLD]:
        sheet.dot(x, y)
        around = [(x, y - 8, "start"), (x, y + 17, "start"), (x, y - 8, "end"), (x, y + 17, "end")]
        sheet.label(around, words)


def _described(timeline: MarginTimeline) -> str:
    told = [
        f"{step.snapshot.record.taken_at:%Y-%m-%d} {_ratio(step.margin)}"
        for step in timeline.steps[:_MOST_TOLD]
    ]
    if timeline.golden is not None:
        told.append(f"golden {_ratio(timeline.golden)}")
    told.append(f"last seen {timeline.last.record.taken_at:%Y-%m-%d}")
    return "; ".join(told)


def _ratio(margin: Margin | None) -> str:
    return "no such margin" if margin is None else ratio_text(margin.ratio, margin.bound)

"""A margin over time as steps, each as wide as any other, with the line at 1 and the golden one.

The scale is one of doublings that fits the margin; a night that was short stands out like a year.
"""

from __future__ import annotations

from math import ceil, floor, isfinite, log2
from typing import TYPE_CHECKING

from markupsafe import Markup

from vault.meaning.margin_text import ratio_text
from vault.model.written_form import day_text, marked
from webui.pictures.svg import LINE, Scale, Sheet, n

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.jobs.inspect.margin_history import MarginStep, MarginTimeline

_TOP, _BOTTOM, _LEFT, _RIGHT = 26, 118, 46, 4
_MOST_TOLD = 40
_MOST_LINES = 4
_BEYOND = 1.0  # doublings that nothing left, and no limit, stand beyond the others
_SMALL = {-1: "½", -2: "¼"}


def draw(timeline: MarginTimeline, key: str) -> Markup:
    """The steps, nothing where none can be told; `key` is unique on the page."""
    sheet = Sheet(key)
    golden = timeline.golden.ratio if timeline.golden is not None else None
    steps = [step.margin.ratio for step in timeline.told if step.margin is not None]
    ratios = [ratio for ratio in steps if ratio is not None]
    if not ratios:
        return Markup("")
    up = _up([*ratios, 1.0, *([] if golden is None else [golden])])
    _lines(sheet, up)
    if golden is not None:
        y = up.at(_height(golden, up))
        sheet.line(_LEFT, y, sheet.width - _RIGHT, y, "golden")
    _steps(sheet, timeline.told, up)
    title = f"{timeline.title}, over time"
    return sheet.finish(_BOTTOM + LINE + 8, title, _described(timeline))


def _up(ratios: list[float]) -> Scale:
    """The scale of doublings that holds some ratios."""
    heights = [log2(ratio) for ratio in ratios if ratio > 0 and isfinite(ratio)]
    low, high = min(heights), max(heights)
    low -= _BEYOND if any(ratio <= 0 for ratio in ratios) else 0.0
    high += _BEYOND if any(ratio > 0 and not isfinite(ratio) for ratio in ratios) else 0.0
    return Scale(low - 0.25, high + 0.25, _BOTTOM, _TOP)


def _height(ratio: float, up: Scale) -> float:
    """Where a ratio stands in doublings: at an end what has no place of its own."""
    if ratio <= 0:
        return up.low
    return min(log2(ratio), up.high) if isfinite(ratio) else up.high


def _lines(sheet: Sheet, up: Scale) -> None:
    """The line at 1, and some doublings with their numbers."""
    low, high = ceil(up.low), floor(up.high)
    stride = max(1, ceil((high - low + 1) / _MOST_LINES))
    for power in range(low, high + 1):
        if power % stride:
            continue
        y = up.at(power)
        words = _SMALL.get(power, marked(f"{2.0**power:.4g}"))
        sheet.text(_LEFT - 6, y + 4, words, anchor="end", kind="axis")
        sheet.line(_LEFT, y, sheet.width - _RIGHT, y, "grid" if power else "edge")


def _steps(sheet: Sheet, steps: tuple[MarginStep, ...], up: Scale) -> None:
    """The line, broken where nothing can be told; a label and a date for every step with room."""
    commands: list[str] = []
    is_drawn = False
    across = Scale(0, len(steps), _LEFT, sheet.width - _RIGHT)
    for place, step in enumerate(steps):
        start, end = across.at(place), across.at(place + 1)
        day = day_text(step.snapshot.record.taken_at)
        sheet.label([(start, _BOTTOM + LINE, "start")], day, kind="axis")
        if step.margin is None or step.margin.ratio is None:
            is_drawn = False
            continue
        y = up.at(_height(step.margin.ratio, up))
        commands.append(f"{'V' if is_drawn else f'M{n(start)} '}{n(y)}H{n(end)}")
        is_drawn = True
        words = ratio_text(step.margin.ratio, step.margin.bound)
        sheet.label([(start + 2, y - 5, "start"), (start + 2, y + 16, "start")], words)
    sheet.path("".join(commands), "line")


def _described(timeline: MarginTimeline) -> str:
    told = [
        f"{day_text(step.snapshot.record.taken_at)} {_ratio(step.margin)}"
        for step in timeline.told[:_MOST_TOLD]
    ]
    if timeline.golden is not None:
        told.append(f"golden {_ratio(timeline.golden)}")
    told.append(f"last seen {day_text(timeline.last.record.taken_at)}")
    return "; ".join(told)


def _ratio(margin: Margin | None) -> str:
    return "no such margin" if margin is None else ratio_text(margin.ratio, margin.bound)

"""A trace over time, a strip for each quantity; an earlier one of the same move lies beneath it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from markupsafe import Markup

from vault.meaning.reader_scale import speed_scale, way_scale
from webui.pictures.svg import LINE, Names, Scale, Sheet, n, ticks

if TYPE_CHECKING:
    from vault.jobs.trials.trace_curves import Curve, Point

_LEFT, _RIGHT, _STRIP = 52.0, 4.0, 84.0
_TITLE = "The move over time"


def draw(
    now: Mapping[str, Curve], earlier: Mapping[str, Curve] | None, names: Names, key: str
) -> Markup:
    """Strips one below the other, the earlier trace dashed; nothing where there is no curve."""
    shown = [curve for curve in now.values() if curve.points]
    if not shown:
        return Markup("")
    before = earlier or {}
    every = [*shown, *(before[one.name] for one in shown if one.name in before)]
    sheet = Sheet(key)
    begin = min(one.points[0][0] for one in every)
    end = max(one.points[-1][0] for one in every)
    across = Scale(begin, end, _LEFT, sheet.width - _RIGHT)
    y = 4.0
    if earlier:
        sheet.line(0, y + 8, 28, y + 8, "before")
        sheet.text(34, y + 12, names.before, kind="label")
        sheet.line(0, y + 8 + LINE, 28, y + 8 + LINE, "after")
        sheet.text(34, y + 12 + LINE, names.after, kind="label")
        y += 2 * LINE + 6
    for curve in shown:
        y = _strip(sheet, curve, before.get(curve.name), across, y)
    for at, words in ticks(begin, end, 4):
        sheet.text(across.at(at), y + LINE - 4, words, anchor="middle", kind="axis")
    sheet.text(0, y + LINE - 4, "s", kind="axis")
    return sheet.finish(y + LINE + 4, _TITLE, _described(shown, before, names))


def _factor(curve: Curve) -> tuple[float, str]:
    """What a value is multiplied with for the reader, and the unit it is in then."""
    if curve.unit in ("m", "rad"):
        scale = way_scale(curve.unit)
    elif curve.unit in ("m/s", "rad/s"):
        scale = speed_scale(curve.unit.partition("/")[0])
    else:
        return 1.0, curve.unit
    return 1 / scale.size, scale.unit


def _strip(sheet: Sheet, curve: Curve, before: Curve | None, across: Scale, top: float) -> float:
    factor, unit = _factor(curve)
    both = [*curve.points, *(before.points if before is not None else ())]
    values = [value * factor for _, value in both]
    low, high = min(values), max(values)
    room = (high - low) * 0.05 or 1.0
    y = top + LINE
    sheet.text(0, y, f"{curve.title} ({unit})", kind="strong")
    up = Scale(low - room, high + room, y + 8 + _STRIP, y + 8)
    for at, words in ticks(low, high, 5):
        sheet.line(across.start, up.at(at), across.end, up.at(at), "grid")
        sheet.text(_LEFT - 6, up.at(at) + 4, words, anchor="end", kind="axis")
    if before is not None:
        sheet.path(_way(before.points, factor, across, up), "before")
    sheet.path(_way(curve.points, factor, across, up), "after thin" if before else "line")
    return y + 8 + _STRIP + 6


def _way(points: tuple[Point, ...], factor: float, across: Scale, up: Scale) -> str:
    return "".join(
        f"{'L' if number else 'M'}{n(across.at(time))} {n(up.at(value * factor))}"
        for number, (time, value) in enumerate(points)
    )


def _described(shown: list[Curve], before: Mapping[str, Curve], names: Names) -> str:
    said = []
    for curve in shown:
        factor, unit = _factor(curve)
        sides = [(names.after, curve)]
        if curve.name in before:
            sides.insert(0, (names.before, before[curve.name]))
        for name, one in sides:
            values = [value * factor for _, value in one.points]
            said.append(f"{curve.title}, {name}: {min(values):.3g} to {max(values):.3g} {unit}")
    return "; ".join(said)

"""Pictures as SVG, made here: they print, need no script, and say in words what they show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup, escape

_WIDTH, _HEIGHT = 640, 220
_LEFT, _RIGHT, _TOP, _BOTTOM = 12, 12, 34, 30


@dataclass(frozen=True, slots=True)
class Point:
    """A value from a moment on; `text` is how people write it."""

    at: datetime
    value: float
    text: str


def steps(points: list[Point], title: str) -> Markup:
    """Values over time as steps: each holds until the next export showed another one."""
    if len(points) < 2:
        return Markup("")
    first, last = points[0].at, points[-1].at
    span = (last - first).total_seconds() or 1.0
    values = [point.value for point in points]
    low, high = min(values), max(values)
    room = (high - low) or 1.0

    def across(at: datetime) -> float:
        share = (at - first).total_seconds() / span
        return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)

    def up(value: float) -> float:
        return _HEIGHT - _BOTTOM - (value - low) / room * (_HEIGHT - _TOP - _BOTTOM)

    way = [f"M{across(first):.1f} {up(values[0]):.1f}"]
    labels, dots = [], []
    shown: float | None = None
    for point in points:
        x, y = across(point.at), up(point.value)
        way.append(f"H{x:.1f}V{y:.1f}")
        dots.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3"/>')
        if point.value != shown:
            anchor = "end" if x > _WIDTH * 0.8 else "start"
            place = f'x="{x:.1f}" y="{y - 8:.1f}" text-anchor="{anchor}"'
            labels.append(f"<text {place}>{escape(point.text)}</text>")
            shown = point.value
    told = "; ".join(f"{p.at:%Y-%m-%d} {p.text}" for p in points)
    ends = (
        f'<text class="axis" x="{_LEFT}" y="{_HEIGHT - 8}">{first:%Y-%m-%d}</text>'
        f'<text class="axis" x="{_WIDTH - _RIGHT}" y="{_HEIGHT - 8}" text-anchor="end">'
        f"{last:%Y-%m-%d}</text>"
    )
    line = f'<path class="line" d="{"".join(way)}"/>'
    return Markup(
        f'<svg class="picture" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" '
        f'aria-labelledby="pt pd"><title id="pt">{escape(title)}</title>'
        f'<desc id="pd">{escape(told)}</desc>'
        f'<path class="rule" d="M{_LEFT} {_HEIGHT - _BOTTOM + 6}H{_WIDTH - _RIGHT}"/>'
        f"{line}{''.join(dots)}{''.join(labels)}{ends}</svg>"
    )

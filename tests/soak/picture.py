"""A picture of a soak: memory of its processes and latency of its acts, over time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from tests.soak.report import Report

_WIDE, _HIGH, _LEFT, _TOP, _BESIDE = 760, 240, 60, 36, 190
_COLOURS = (
    "#1b6ca8", "#b8561a", "#3d8b3d", "#8a4fa3", "#a83232", "#6b6b1f", "#2f8f8f", "#7a5230",
    "#4a5fb0", "#b0457e",
)  # fmt: skip
Point = tuple[float, float]


def picture(report: Report) -> str:
    """The picture as SVG."""
    end = max([report.minutes * 60, *(act.second for act in report.acts)])
    memory: dict[str, list[list[Point]]] = {}
    for life in report.lives:
        line = [(one.second, one.memory / 1024) for one in life.samples]
        memory.setdefault(life.name.rpartition(" ")[0], []).append(line)
    kinds = {
        kind: [(act.second, act.seconds) for act in acts if act.outcome != "killed"]
        for kind, acts in report.by_kind().items()
    }
    parts = [
        *_panel(0, "Memory of each process, MB", end, memory, joined=True),
        *_panel(1, "Latency of each act, s", end, {k: [v] for k, v in kinds.items()}, joined=False),
    ]
    wide, high = _LEFT + _WIDE + _BESIDE, 2 * (_HIGH + 2 * _TOP)
    style = 'font-family="sans-serif" font-size="11"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" {style}>'
    ground = f'<rect width="{wide}" height="{high}" fill="#fff"/>'
    return "\n".join([head, ground, *parts, "</svg>", ""])


def _panel(
    row: int, title: str, end: float, groups: dict[str, list[list[Point]]], *, joined: bool
) -> Iterator[str]:
    top = row * (_HIGH + 2 * _TOP) + _TOP
    most = max([1.0, *(y for lines in groups.values() for line in lines for _, y in line)])

    def placed(point: Point) -> Point:
        return _LEFT + point[0] / end * _WIDE, top + _HIGH - point[1] / most * _HIGH

    yield f'<text x="{_LEFT}" y="{top - 12}" font-size="14">{escape(title)}</text>'
    yield from _grid(top, most, end)
    for number, (name, lines) in enumerate(sorted(groups.items())):
        colour = _COLOURS[number % len(_COLOURS)]
        mark = f"{name}{' ' * (number // len(_COLOURS))}"
        at = top + 4 + number * 12
        yield f'<rect x="{_LEFT + _WIDE + 12}" y="{at - 8}" width="8" height="8" fill="{colour}"/>'
        yield f'<text x="{_LEFT + _WIDE + 26}" y="{at}">{escape(mark)}</text>'
        for line in lines:
            yield from _drawn(map(placed, line), colour, joined=joined)


def _grid(top: float, most: float, end: float) -> Iterator[str]:
    for part in range(5):
        y, x = top + _HIGH * part / 4, _LEFT + _WIDE * part / 4
        yield f'<path d="M{_LEFT} {y:.1f}H{_LEFT + _WIDE}" stroke="#ddd"/>'
        value, second = most * (4 - part) / 4, end * part / 4
        yield f'<text x="{_LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{value:.3g}</text>'
        at = f'x="{x:.1f}" y="{top + _HIGH + 16}"'
        yield f'<text {at} text-anchor="middle">{second:.0f} s</text>'


def _drawn(points: Iterable[Point], colour: str, *, joined: bool) -> Iterator[str]:
    if joined:
        path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        if path:
            yield f'<path d="M{path}" fill="none" stroke="{colour}" stroke-width="1.2"/>'
        return
    for x, y in points:
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1.6" fill="{colour}" fill-opacity="0.6"/>'

"""The curves of a trace for pictures: position, speed, lag and torque over time, thinned out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import view_of

if TYPE_CHECKING:
    from vault.jobs.trials.trace_kept import TraceResult

_MOST = 240
_MOVED = 0.01
_TITLES = (
    ("position", "Position"), ("velocity", "Speed"), ("lag", "Following error"),
    ("torque", "Torque of the motor"),
)  # fmt: skip

Point = tuple[float, float]
"""Time in s, from where the move begins, and value in SI."""


@dataclass(frozen=True, slots=True)
class Curve:
    """One quantity of a trace over time, in SI; at most a few hundred points."""

    name: str
    title: str
    unit: str
    points: tuple[Point, ...]


def curves(result: TraceResult) -> dict[str, Curve]:
    """The curves that a trace has, by name."""
    from vault.behaviour.trace.in_si import known_of, recorded_of
    from vault.behaviour.trace.signals import even_signals

    state = view_of(result.state).state
    known = known_of(state)
    recorded, _ = recorded_of(result.trace, state)
    signals = even_signals(recorded)
    place = signals.reference
    if place is None:
        return {}
    begin = _begin([float(one) for one in place])
    times = [float(time) - float(signals.times[begin]) for time in signals.times]
    units = {
        "position": known.unit, "velocity": f"{known.unit}/s", "lag": known.unit,
        "torque": known.torque_unit,
    }  # fmt: skip
    held = {
        "position": signals.actual, "velocity": signals.velocity, "lag": signals.lag,
        "torque": signals.torque,
    }  # fmt: skip
    found = {}
    for name, title in _TITLES:
        samples = held[name]
        if samples is not None:
            values = [float(sample) for sample in samples]
            if name == "position":
                values = [value - values[0] for value in values]
            found[name] = Curve(name, title, units[name], thinned(times, values))
    return found


def _begin(place: Sequence[float]) -> int:
    """The sample at which the move begins: a hundredth of the way from where it stood."""
    span = max(place) - min(place)
    away = (at for at, one in enumerate(place) if abs(one - place[0]) > _MOVED * span)
    return next(away, 0)


def thinned(times: Sequence[float], values: Sequence[float]) -> tuple[Point, ...]:
    """The lowest and the highest sample of each of so many stretches, in order of time."""
    if len(values) <= _MOST:
        return tuple(zip(times, values, strict=True))
    found: list[Point] = []
    parts = _MOST // 2
    for number in range(parts):
        begin, end = number * len(values) // parts, (number + 1) * len(values) // parts
        stretch = range(begin, end)
        ends = {min(stretch, key=values.__getitem__), max(stretch, key=values.__getitem__)}
        found += [(times[at], values[at]) for at in sorted(ends)]
    return tuple(found)

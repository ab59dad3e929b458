"""The way of the last stop in a trace: from where its speed begins to fall until it stands."""

from __future__ import annotations

import numpy as np

from vault.behaviour.trace.filters import Vector, noise_of
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.phases import Phases, leaves
from vault.behaviour.trace.signals import Signals

_SAME = 1e-6
"""Share of a way by which positions at rounded times may differ without meaning anything."""


def stop_distance(signals: Signals, phases: Phases, unit: str) -> Measured:
    """Way of the axis from the begin of the last stop until it stands. Raises CannotBeTold."""
    actual, demand = signals.actual, signals.demand
    if actual is None or demand is None:
        raise CannotBeTold("the demanded position, which tells its begin, was not recorded")
    if not phases.moves:
        raise CannotBeTold("the axis does not move in it")
    move = phases.moves[-1]
    before = [one for one in phases.cruises if move.begin <= one.begin < move.end]
    if not before:
        raise CannotBeTold("no even speed stands before the stop")
    cruise = before[-1]
    if abs(cruise.speed) < 0.9 * move.top:
        raise CannotBeTold("no even speed stands before the stop")
    if move.rest - move.end < 10:
        raise CannotBeTold("the trace ends before the axis stands")
    if signals.missing.any():
        raise CannotBeTold("a part of the move was not recorded")
    begin, blur = _begin(signals, demand, cruise.begin, cruise.end, move.end)
    rest = actual[move.end : move.rest]
    tail = max(3, len(rest) // 5)
    last, earlier = float(rest[-tail:].mean()), float(rest[-2 * tail : -tail].mean())
    place = float(np.interp(begin, np.arange(len(actual)), actual))
    size = abs(last - place)
    still = abs(last - earlier)
    if still > 0.02 * size:
        raise CannotBeTold("the trace ends before the axis stands")
    speed = abs(cruise.speed)
    doubt = speed * (blur + signals.skew) + still + 2 * noise_of(actual)
    figure = Measured(
        size, unit, doubt, "from where the speed begins to fall until the axis stands", speed
    )
    return sure_enough(figure, "the samples lie too far apart for where it begins")


def _begin(signals: Signals, place: Vector, first: int, last: int, end: int) -> tuple[float, float]:
    """The sample at which a demand leaves its even speed, and its doubt in s."""
    begin = first + (last - first) // 2
    fit = np.polyfit(np.arange(begin, last), place[begin:last], 1)
    off = np.abs(place[begin:end] - np.polyval(fit, np.arange(begin, end)))
    seen = max(5 * noise_of(place), 1.5 * signals.demand_step, _SAME * float(np.ptp(place)))
    seen = max(seen, 1.5 * float(off[: last - begin].max()))
    at = leaves(off, seen)
    if at.sample >= len(off):
        raise CannotBeTold("the speed does not fall")
    return begin + at.sample, at.doubt * signals.step

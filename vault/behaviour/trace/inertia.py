"""Apparent inertia: torque to speed up less torque to slow down, over what acceleration differs by.

Within the same speeds of one move, friction and the pull of the load are the same on both ramps and
go out: J = (T1 - T2) / (a1 - a2) (Newton, Euler).
"""

from __future__ import annotations

from math import sqrt

import numpy as np

from vault.behaviour.trace.filters import Vector, halves, local, mean_between, noise_of, slope_noise
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.phases import Move, Phases
from vault.behaviour.trace.signals import Signals
from vault.behaviour.trace.torque import torque_of

_LOW, _HIGH = 0.25, 0.75
_FEWEST = 5
"""Samples that a ramp must have between a quarter and three quarters of the speed."""


def actual_speed(signals: Signals) -> tuple[Vector, float]:
    """Speed of the axis as it really was, and its noise. Raises CannotBeTold."""
    if signals.velocity is not None:
        return signals.velocity, noise_of(signals.velocity)
    place = signals.actual
    if place is None:
        raise CannotBeTold("neither the actual position nor the actual speed was recorded")
    noise, step = noise_of(place), signals.step
    top = float(np.ptp(np.gradient(place, step))) / 2
    fitted, half = local(place, step, 2), 2
    for half in halves(len(place) // 100):
        fitted = local(place, step, half)
        if slope_noise(noise, step, half) < 0.005 * top:
            break
    return fitted.slope, slope_noise(noise, step, half)


def inertia(signals: Signals, phases: Phases, unit: str, per_radian: float) -> Measured:
    """All that the motor turns, at its shaft; the mass that a linear motor moves.

    Raises CannotBeTold.
    """
    torque = torque_of(signals)
    speed, noise = actual_speed(signals)
    found: list[tuple[float, float]] = []
    reason = "no move speeds up and slows down again in it"
    for move in phases.moves:
        try:
            found.append(_of_move(signals, move, (torque, speed), noise, per_radian))
        except CannotBeTold as error:
            reason = error.reason
    if not found:
        raise CannotBeTold(reason)
    sizes = np.array([size for size, _ in found])
    doubts = np.array([max(doubt, 1e-12 * abs(size)) for size, doubt in found])
    weights = 1 / doubts**2
    value = float((sizes * weights).sum() / weights.sum())
    doubt = float(1 / sqrt(weights.sum()))
    near = np.abs(sizes - value) < 3 * doubts
    spread = float((weights * np.abs(sizes - value)).sum() / weights.sum())
    figure = Measured(
        value, unit, 2 * doubt + spread + 0.015 * abs(value),
        "(T1 - T2) / (a1 - a2) of speeding up and slowing down", phases.top,
    )  # fmt: skip
    if not near.any():
        raise CannotBeTold("the moves of the trace do not agree about it")
    return sure_enough(figure, "torque is too uneven on the ramps", 0.12)


def _of_move(
    signals: Signals, move: Move, channels: tuple[Vector, Vector], noise: float, per_radian: float
) -> tuple[float, float]:
    """Inertia by one move, and how unsure it is. Raises CannotBeTold."""
    torque, speed = channels
    own = move.sign * speed[move.begin : move.rest]
    if len(own) < 4 * _FEWEST:
        raise CannotBeTold("the move has too few samples")
    most = int(np.argmax(own))
    top = float(np.quantile(own[max(0, most - 2) : most + 3], 0.5))
    if noise > 0.05 * top:
        raise CannotBeTold("the speed trembles too much")
    up = _crossings(own, 0, most, (_LOW * top, _HIGH * top), rises=True)
    down = _crossings(own, most, len(own), (_HIGH * top, _LOW * top), rises=False)
    times = signals.times[move.begin : move.rest] - signals.times[move.begin]
    ends = [np.interp(place, np.arange(len(own)), times) for place in (*up, *down)]
    first, second = ends[1] - ends[0], ends[3] - ends[2]
    if min(first, second) < _FEWEST * signals.step:
        raise CannotBeTold("a ramp has too few samples")
    if any(
        signals.has_gap(move.begin + int(begin) - 1, move.begin + int(end) + 2)
        for begin, end in (up, down)
    ):
        raise CannotBeTold("a part of a ramp was not recorded")
    given = move.sign * torque[move.begin : move.rest]
    one = mean_between(times, given, ends[0], ends[1])
    other = mean_between(times, given, ends[2], ends[3])
    change = (_HIGH - _LOW) * top
    rates = (change / first + change / second) / per_radian
    size = (one - other) / rates
    trembles = noise_of(given)
    counts = (first / signals.step, second / signals.step)
    blur = trembles * sqrt(1 / counts[0] + 1 / counts[1]) / rates
    blur += abs(size) * noise / change
    # A channel that lies a sample apart carries what the torque changes by at the window's ends.
    moved = abs(one - mean_between(times, given, ends[0] + signals.skew, ends[1] + signals.skew))
    moved += abs(other - mean_between(times, given, ends[2] + signals.skew, ends[3] + signals.skew))
    return size, blur + moved / rates


def _crossings(
    speed: Vector, begin: int, end: int, levels: tuple[float, float], *, rises: bool
) -> tuple[float, float]:
    """Where the speed first goes through two levels, in samples. Raises CannotBeTold."""
    found = []
    for level in levels:
        part = speed[begin:end]
        beyond = np.flatnonzero(part >= level if rises else part <= level)
        if not len(beyond) or (at := int(beyond[0])) == 0:
            raise CannotBeTold("the trace does not hold a whole ramp up and down")
        before, after = float(part[at - 1]), float(part[at])
        found.append(begin + at - 1 + (level - before) / (after - before))
    return found[0], found[1]

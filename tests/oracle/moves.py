"""The reference move in time: ramps of all three kinds, from standstill to standstill.

6086h: 0 even, 1 sine-squared, 3 jerk-limited (CiA 402-2, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.drive import Drive
from tests.oracle.following import profile_speed
from tests.oracle.readings import from_objects, from_record
from tests.oracle.units import Vector

_STEPS = 400
_ROUNDS = 40
_SINE_SQUARED, _JERK_LIMITED = 1, 3


@dataclass(frozen=True, slots=True)
class _Shape:
    """Kind of ramp, and the jerk (m/s^3 or rad/s^3) where it is limited, else without end."""

    kind: Vector
    jerk: Vector


def moves(cases: Sequence[Case], drive: Drive) -> dict[str, Vector]:
    """Time in s of the reference move at the profile's speed and ramps."""
    way = from_record(cases, "mechanics", "reference_move")
    kind = from_objects(cases, "0x6086:00")
    jerk = from_objects(cases, "0x60A4:01", absent=0)
    jerk = np.where((kind == _JERK_LIMITED) & (jerk > 0), jerk, np.inf) * drive.way_per_unit
    shape = _Shape(kind, jerk)
    top = profile_speed(drive)
    peak = _peak(way, top, drive, shape)
    ramps = sum(_time(peak, rate, shape) for rate in (drive.speeding_up, drive.profile_ramp))
    even = np.maximum(way - peak / 2 * ramps, 0.0) / peak
    return {"reference_move_time": ramps + even}


def _peak(way: Vector, top: Vector, drive: Drive, shape: _Shape) -> Vector:
    """The highest speed of at most `top` that leaves room for both ramps."""
    low, high = np.zeros_like(top), top

    def fits(speed: Vector) -> Vector:
        ramps = _time(speed, drive.speeding_up, shape) + _time(speed, drive.profile_ramp, shape)
        return np.asarray(speed / 2 * ramps <= way)

    if fits(top).all():
        return top
    for _ in range(_ROUNDS):
        middle = (low + high) / 2
        good = fits(middle)
        low, high = np.where(good, middle, low), np.where(good, high, middle)
    return np.where(fits(top), top, low)


def _time(speed: Vector, rate: Vector, shape: _Shape) -> Vector:
    """Time from standstill to a speed: the acceleration summed up until half of it is reached.

    The second half mirrors the first.
    """
    grid = (np.arange(_STEPS) + 0.5) / _STEPS
    mean = np.mean(np.sin(np.pi * grid) ** 2)
    rounded = speed / (rate * mean)
    longest = speed / rate + np.where(np.isinf(shape.jerk), 0.0, np.sqrt(2 * speed / shape.jerk))
    step = longest / _STEPS
    gone, time = np.zeros_like(speed), np.zeros_like(speed)
    for number in range(_STEPS):
        slope = np.minimum(rate, shape.jerk * (number + 0.5) * step)
        grown = gone + slope * step
        taken = np.where(grown <= speed / 2, step, (speed / 2 - gone) / slope)
        time = time + np.where(gone < speed / 2, np.maximum(taken, 0.0), 0.0)
        gone = np.minimum(grown, speed / 2)
    return np.where(shape.kind == _SINE_SQUARED, rounded, 2 * time)

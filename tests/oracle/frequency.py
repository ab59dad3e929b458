"""Drives that are set in hertz: a field that is turned in time, and a motor that is slowed down.

All drives are invented. p pole pairs: the pattern of the field repeats p times around the motor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

_STEPS = 2000
_TURN = 2 * math.pi


@dataclass(frozen=True, slots=True)
class Drive:
    """A drive in Hz, V, rad/s and s, and its motor's rated speed in rad/s."""

    pairs: int
    rated: float
    highest: float
    volts: float
    rated_speed: float
    ramp_speed: float
    ramp_time: float


@dataclass(frozen=True, slots=True)
class Shown:
    """What it shows: rad/s, a share, V/Hz, s, rad."""

    field: float
    share: float
    volts_per_hertz: float
    time: float
    turned: float


def draw_drives(seed: int, count: int) -> list[Drive]:
    """Drives of two to twelve poles at 50 and 60 Hz, up to twice their rated frequency."""
    dice = Random(seed)
    return [_draw(dice) for _ in range(count)]


def _draw(dice: Random) -> Drive:
    pairs, rated = dice.choice((1, 2, 3, 4, 6)), float(dice.choice((50, 60, 87)))
    slip = dice.uniform(0.01, 0.06)
    return Drive(
        pairs=pairs,
        rated=rated,
        highest=round(rated * dice.uniform(0.6, 2.0), 1),
        volts=float(dice.choice((230, 400, 460))),
        rated_speed=round(60 * rated / pairs * (1 - slip)) * _TURN / 60,
        ramp_speed=round(dice.uniform(500, 3000)) * _TURN / 60,
        ramp_time=round(dice.uniform(0.5, 20), 2),
    )


def show(drive: Drive) -> Shown:
    """Run it."""
    field = _field_speed(drive)
    time, turned = _slowed(field, drive.ramp_speed / drive.ramp_time)
    # Above the rated frequency the voltage stays: volts a hertz, and the field, get less.
    share = min(1.0, (drive.volts / drive.highest) / (drive.volts / drive.rated))
    return Shown(field, share, drive.volts / drive.rated, time, turned)


def _field_speed(drive: Drive) -> float:
    """Angle that a crest of the field goes in a second, period after period."""
    periods = drive.highest
    angle = 0.0
    for step in range(_STEPS):
        phase = periods * (step + 1) / _STEPS * _TURN  # of the current
        angle = phase / drive.pairs
    return angle


def _slowed(speed: float, rate: float) -> tuple[float, float]:
    """Time and angle until a motor stands that slows down evenly."""
    step = speed / rate / _STEPS
    left, time, angle = speed, 0.0, 0.0
    for _ in range(_STEPS):
        after = max(left - rate * step, 0.0)
        angle, time, left = angle + (left + after) / 2 * step, time + step, after
    return time, angle


def pole_pairs_by_plate(drive: Drive) -> int:
    """The most pole pairs with which the field is still ahead of the motor."""
    pairs = 1
    while _TURN * drive.rated / (pairs + 1) >= drive.rated_speed:
        pairs += 1
    return pairs

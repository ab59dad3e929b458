"""Speeds that are reached, and how far the axis stays behind its set point at them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.drive import Drive, worst_speed
from tests.oracle.integrator import integrate
from tests.oracle.machine import Machine
from tests.oracle.readings import from_record, from_settings
from tests.oracle.units import Vector

_RAMP_STEPS = 200
_TIME_CONSTANTS = 30.0
_LAG_STEPS = 300


def scale(cases: Sequence[Case], machine: Machine, drive: Drive) -> dict[str, Vector]:
    """Way moved for way stated (a ratio), speeds in m/s or rad/s, of the motor in rad/s."""
    move = from_record(cases, "mechanics", "reference_move")
    profile = profile_speed(drive)
    return {
        "travel_ratio": _moved(machine, drive, move) / move,
        "profile_speed": profile,
        "worst_speed": worst_speed(drive, machine),
        "motor_speed_profile": np.where(machine.rotating, profile * machine.plant.turns, np.nan),
    }


def _moved(machine: Machine, drive: Drive, move: Vector) -> Vector:
    """Way that the machine makes when the controller commands `move`, through the increments."""
    units = move / drive.unit
    counts = units * (drive.way_per_unit / machine.way_per_turn * machine.counts_per_turn)
    return counts / machine.counts_per_turn * machine.way_per_turn


def profile_speed(drive: Drive) -> Vector:
    """Speed in m/s or rad/s at the end of a long ramp of a profile-position move."""
    target = np.fmin(drive.command_speed, drive.speed_limit)
    target = np.where(np.isnan(drive.command_speed), np.nan, target)
    step = drive.command_speed / drive.speeding_up / (_RAMP_STEPS - 1)
    speed = np.zeros_like(target)
    for _ in range(_RAMP_STEPS):
        speed = np.minimum(speed + drive.speeding_up * step, target)
    return speed


def lags(cases: Sequence[Case], machine: Machine, drive: Drive) -> dict[str, Vector]:
    """Steady following error in m or rad at profile speed and at the worst speed."""
    gain = from_settings(cases, "position_gain")
    forward = from_settings(cases, "velocity_feed_forward", absent=0.0)
    return {
        "lag_profile": _lag(profile_speed(drive), gain, forward),
        "lag_worst": _lag(worst_speed(drive, machine), gain, forward),
    }


def _lag(speed: Vector, gain: Vector, forward: Vector) -> Vector:
    """Distance to a set point that moves at this speed, run until it stays the same.

    A proportional position loop on a velocity loop that follows at once.
    """

    def rate(_: Vector, behind: Vector) -> Vector:
        commanded = gain * behind + forward * speed
        return speed - commanded

    start = np.zeros((1, len(speed)))
    behind: Vector = integrate(rate, start, _TIME_CONSTANTS / gain, _LAG_STEPS)[0]
    return behind

"""What the drive is set to, as the real machine carries it out: raw objects through the factors.

608Fh, 6091h, 6092h and the units of 60A8h, 60A9h, 60AAh: CiA 402-2 / CiA 303-2, from memory.
A speed in turns of the motor is the motor's own: 608Fh scales positions and what counts in them,
not the drive's knowledge of its encoder, without which the motor would not turn at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.machine import Machine
from tests.oracle.readings import column, flags, from_objects, from_record, from_settings
from tests.oracle.units import ALL_ONES, MISSING, Vector, in_turns_of_motor, stated_size

_JERK_LIMITED = 3  # of 6086h


@dataclass(frozen=True, slots=True)
class Drive:
    """Settings of each case as real movement of the machine (m or rad, s).

    speed_unit, acceleration_unit: what a raw unit really is; command_speed: 6081h cut by 607Fh;
    speed_limit: 6080h; positive/negative_limit: N*m or N of the motor; jerk: of stops, infinite
    where none acts; window: way at which 6065h is reached.
    """

    way_per_unit: Vector
    unit: Vector
    speed_unit: Vector
    acceleration_unit: Vector
    command_speed: Vector
    speed_limit: Vector
    speeding_up: Vector
    profile_ramp: Vector
    quick_ramp: Vector
    jerk: Vector
    positive_limit: Vector
    negative_limit: Vector
    window: Vector
    window_time: Vector


def drives(cases: Sequence[Case], machine: Machine) -> Drive:
    """Read the drive of each case, on its machine."""
    counts = _counts_per_unit(cases)
    way = counts / machine.counts_per_turn * machine.way_per_turn
    unit = column(cases, lambda case: stated_size(case.objects["0x60A8:00"]))
    speed = _real_size(cases, "0x60A9:00", machine, way, unit)
    acceleration = _real_size(cases, "0x60AA:00", machine, way, unit)
    positive, negative = _torque_limits(cases)
    window = from_objects(cases, "0x6065:00")
    return Drive(
        way_per_unit=way,
        unit=unit,
        speed_unit=speed,
        acceleration_unit=acceleration,
        command_speed=_command_speed(cases) * speed,
        speed_limit=_speed_limit(cases, machine),
        speeding_up=from_objects(cases, "0x6083:00") * acceleration,
        profile_ramp=from_objects(cases, "0x6084:00") * acceleration,
        quick_ramp=from_objects(cases, "0x6085:00") * acceleration,
        jerk=_jerk(cases) * way,
        positive_limit=positive,
        negative_limit=negative,
        window=np.where(window == ALL_ONES, MISSING, window) * way,
        window_time=from_objects(cases, "0x6066:00", absent=0) / 1000,
    )


def worst_speed(drive: Drive, machine: Machine) -> Vector:
    """Highest speed when the controller runs the axis away, m/s or rad/s."""
    return np.fmin(drive.speed_limit, machine.top_speed)


def _counts_per_unit(cases: Sequence[Case]) -> Vector:
    """Increments that the drive counts for one user unit of position."""
    resolution = from_objects(cases, "0x608F:01") / from_objects(cases, "0x608F:02")
    gear = from_objects(cases, "0x6091:01") / from_objects(cases, "0x6091:02")
    feed = from_objects(cases, "0x6092:01") / from_objects(cases, "0x6092:02")
    return resolution * gear / feed


def _real_size(
    cases: Sequence[Case], address: str, machine: Machine, way: Vector, unit: Vector
) -> Vector:
    """What one raw unit of a velocity or acceleration really is at the axis."""
    code = column(cases, lambda case: _stated(case, address))
    of_motor = flags(cases, lambda case: _of_motor(case, address))
    through_motor = code / (2 * np.pi) * machine.way_per_turn
    return np.where(of_motor, through_motor, code * way / unit)


def _stated(case: Case, address: str) -> float:
    """Size of the unit that an object states, or of the user position where it is absent."""
    return stated_size(case.objects.get(address, case.objects["0x60A8:00"]))


def _of_motor(case: Case, address: str) -> bool:
    code = case.objects.get(address)
    return code is not None and in_turns_of_motor(code, case.objects["0x60A8:00"])


def _command_speed(cases: Sequence[Case]) -> Vector:
    """6081h cut by 607Fh, in raw units; 0 and all ones of 607Fh limit nothing."""
    limit = from_objects(cases, "0x607F:00")
    limit = np.where((limit > 0) & (limit != ALL_ONES), limit, MISSING)
    profile = from_objects(cases, "0x6081:00")
    return np.where(limit < profile, limit, profile)


def _speed_limit(cases: Sequence[Case], machine: Machine) -> Vector:
    """6080h in r/min of the motor, as m/s or rad/s of the axis."""
    limit = from_objects(cases, "0x6080:00")
    return np.where(limit > 0, limit, MISSING) / 60 * machine.way_per_turn


def _jerk(cases: Sequence[Case]) -> Vector:
    """Jerk of stops in user positions per s^3; infinite where none acts."""
    limited = from_objects(cases, "0x6086:00") == _JERK_LIMITED
    acts = flags(cases, lambda case: bool(case.conventions.get("jerk_acts_on_quick_stop")))
    jerk = from_objects(cases, "0x60A4:01", absent=0)
    return np.where(limited & acts & (jerk > 0), jerk, np.inf)


def _torque_limits(cases: Sequence[Case]) -> tuple[Vector, Vector]:
    """Torque of the motor in each direction: N*m, of a linear motor N (6076h: mN*m or mN)."""
    rated = from_objects(cases, "0x6076:00") / 1000
    both = from_objects(cases, "0x6072:00") / 1000 * rated
    built = from_record(cases, "motor", "max_torque")
    common = np.fmin(both, built)
    positive = np.fmin(common, from_objects(cases, "0x60E0:00") / 1000 * rated)
    negative = np.fmin(common, from_objects(cases, "0x60E1:00") / 1000 * rated)
    return positive, negative


def interpolation_time(cases: Sequence[Case]) -> Vector:
    """60C2h in s: a number of units, each a power of ten of a second."""
    period, power = from_objects(cases, "0x60C2:01"), from_objects(cases, "0x60C2:02")
    return period * 10.0**power


def link_reaction(cases: Sequence[Case]) -> Vector:
    """Seconds until the drive knows that the link is lost: the quicker of the two that watch."""
    missed = from_settings(cases, "missed_update_limit") * interpolation_time(cases)
    time_out = from_settings(cases, "fieldbus_timeout")
    return np.fmin(missed, time_out)

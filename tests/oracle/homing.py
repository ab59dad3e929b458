"""The search for home run in time: how far it goes, and how far it runs on behind its mark.

6099h, 609Ah: CiA 402-2, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.oracle.braking import Command, brake
from tests.oracle.cases import Case
from tests.oracle.drive import Drive
from tests.oracle.integrator import integrate, least
from tests.oracle.machine import Machine
from tests.oracle.readings import from_objects, from_record, from_settings
from tests.oracle.units import MISSING, Vector

_STEPS = 50


def homings(cases: Sequence[Case], machine: Machine, drive: Drive) -> dict[str, Vector]:
    """Ways in m or rad, torque in N*m, thrust in N."""
    torque = from_settings(cases, "homing_torque_limit")
    speed, slow = (
        from_objects(cases, address) * drive.speed_unit for address in ("0x6099:01", "0x6099:02")
    )
    ramp = from_objects(cases, "0x609A:00") * drive.acceleration_unit
    linear = machine.rotating & np.array([case.mechanism not in _TURNING for case in cases])
    return {
        "homing_overrun": _runs_on(machine, drive, speed, ramp, torque),
        "homing_pulse_overrun": _runs_on(machine, drive, slow, ramp, torque),
        "homing_searched": _searched(speed, from_settings(cases, "homing_time_out")),
        "homing_torque": torque,
        "homing_thrust": np.where(linear, pushes(machine, torque), MISSING),
        "rated_thrust": pushes(machine, from_objects(cases, "0x6076:00") / 1000),
        "rated_speed_at_axis": _rated_speed(cases, machine),
    }


_TURNING = ("rotary_table", "rotary")


def _runs_on(machine: Machine, drive: Drive, speed: Vector, ramp: Vector, torque: Vector) -> Vector:
    """Way from the mark until the axis stands, in the worse direction."""
    upper, lower = (
        np.fmin(limit, torque) for limit in (drive.positive_limit, drive.negative_limit)
    )
    none = np.full_like(ramp, np.inf)
    known = np.where(np.isnan(upper) | np.isnan(lower), MISSING, ramp)
    one = brake(machine.plant, speed, Command(known, none, lower, upper))
    other = brake(machine.plant.mirrored(), speed, Command(known, none, upper, lower))
    return np.maximum(one.way, other.way)


def _searched(speed: Vector, time: Vector) -> Vector:
    """Way that the axis has made when the search is given up."""
    start = np.zeros((1, len(speed)))
    gone: Vector = integrate(lambda _, way: speed + 0 * way, start, time, _STEPS)[0]
    return gone


def pushes(machine: Machine, torque: Vector) -> Vector:
    """The largest force in N or N*m that stands against the axis before it stops; no weight."""
    found = least(
        lambda force: replace(machine.plant, pull=force).acceleration(torque) <= 0, torque
    )
    return np.where(np.isnan(torque), MISSING, found)


def _rated_speed(cases: Sequence[Case], machine: Machine) -> Vector:
    """Speed of the axis while the motor turns at its rated speed: in a tenth of a second."""
    turning = from_record(cases, "motor", "rated_speed") / (2 * np.pi)
    way = turning * 0.1 * machine.way_per_turn
    return np.where(machine.rotating, way / 0.1, MISSING)

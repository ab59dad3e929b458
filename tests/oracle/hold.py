"""What happens to a hanging load when the power goes: how far it sinks, whether the brake holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.oracle.braking import AT_LIMIT, Command, brake
from tests.oracle.cases import Case
from tests.oracle.drive import Drive, worst_speed
from tests.oracle.integrator import integrate, least
from tests.oracle.machine import Machine
from tests.oracle.plant import Plant
from tests.oracle.readings import first_known, flags, from_record, from_settings, recorded
from tests.oracle.units import MISSING, Flags, Vector

_FALL_STEPS = 50


def holds(cases: Sequence[Case], machine: Machine, drive: Drive) -> dict[str, Vector]:
    """Ways that the load sinks in m, and how many times its load the brake holds.

    `drop_rest` ends when the brake has closed, `drop_rest_until_standstill` when nothing moves.
    """
    braked = flags(cases, _is_braked) & machine.hanging
    torque = first_known(
        from_record(cases, "brake", "holding_torque"), from_settings(cases, "brake_torque")
    )
    torque = np.where(braked & machine.rotating, torque, MISSING)
    closing = np.where(braked, from_record(cases, "brake", "apply_time"), MISSING)
    kept = from_settings(cases, "brake_apply_delay", absent=0.0)
    unheld = np.maximum(closing - kept, 0.0)
    at_rest = np.zeros_like(closing)
    worst = worst_speed(drive, machine)
    return {
        "drop_rest": _fall(machine.plant, at_rest, unheld)[0],
        "drop_rest_until_standstill": _caught(machine.plant, at_rest, unheld, torque),
        "drop_moving": _caught(machine.plant, worst, closing, torque),
        "brake_hold_ratio": _times_held(machine.plant, torque),
    }


def _is_braked(case: Case) -> bool:
    return recorded(case, "brake", "fitted") is True and case.settings.get("brake_used") == "1"


def _fall(plant: Plant, speed: Vector, duration: Vector) -> tuple[Vector, Vector]:
    """Let the load go at this downward speed in m/s; way in m and speed after `duration` s."""
    downward = plant.downward()
    nothing = np.zeros_like(speed)

    def rate(_: Vector, state: Vector) -> Vector:
        return np.stack([state[1], downward.acceleration(nothing)])

    end = integrate(rate, np.stack([nothing, speed]), duration, _FALL_STEPS)
    return end[0], end[1]


def _caught(plant: Plant, speed: Vector, duration: Vector, torque: Vector) -> Vector:
    """Way in m of a load that falls for `duration` s until the brake has brought it to a stand."""
    fallen, reached = _fall(plant, speed, duration)
    ramp = np.where(np.isnan(torque), MISSING, AT_LIMIT)
    never = np.full_like(speed, np.inf)
    caught = brake(plant.downward(), reached, Command(ramp, never, torque, np.zeros_like(torque)))
    slid = np.where((reached == 0) & ~np.isnan(torque), 0.0, caught.way)
    return fallen + slid


def _times_held(plant: Plant, torque: Vector) -> Vector:
    """How many times its load the axis may carry before the closed brake slips."""
    free = plant.downward().without_friction()

    def slips(share: Vector) -> Flags:
        return replace(free, pull=free.pull * share).acceleration(-torque) > 0

    return np.where(np.isnan(torque), MISSING, least(slips, torque))

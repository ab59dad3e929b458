"""Torque and force: what holds, lifts, lowers and pushes, found by loading the axis in trial.

Up is the direction against what pulls at the axis, and the user's positive direction unless more
than the whole weight is balanced. 60E0h acts on torque in the user's positive direction.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.oracle.drive import Drive
from tests.oracle.integrator import integrate, least
from tests.oracle.machine import Machine
from tests.oracle.plant import Plant
from tests.oracle.units import MISSING, Flags, Vector

_TRIAL = 0.01  # s of speeding up that a rate is measured over
_TRIAL_STEPS = 10


def forces(machine: Machine, drive: Drive) -> dict[str, Vector]:
    """Torques in N*m (N of a linear motor), thrust in N or N*m, rates in m/s^2 or rad/s^2."""
    plant, hanging = machine.plant, machine.hanging
    upward = np.where(plant.pull >= 0, drive.positive_limit, drive.negative_limit)
    figures = {
        "hold_torque": holding(plant),
        "lift_torque": _lifting(plant),
        "descent_torque": _lowering(plant, drive.quick_ramp),
    }
    figures = {name: np.where(hanging, figure, MISSING) for name, figure in figures.items()}
    figures["acceleration_up"] = _rate(plant.upward(), upward)
    figures["acceleration_down_braking"] = -_rate(plant.downward(), -upward)
    figures["thrust_positive"] = _pushing(plant, drive.positive_limit)
    figures["thrust_negative"] = _pushing(plant, drive.negative_limit)
    return figures


def holding(plant: Plant) -> Vector:
    """The least torque under which the load does not sink, without friction; N*m or N."""
    free = plant.upward().without_friction()
    return least(lambda torque: free.acceleration(torque) >= 0, plant.pull)


def _lifting(plant: Plant) -> Vector:
    """The least torque that does not let the load grow slower on its way up; N*m or N."""
    upward = plant.upward()
    return least(lambda torque: upward.acceleration(torque) >= 0, plant.pull)


def _lowering(plant: Plant, ramp: Vector) -> Vector:
    """The least torque that slows the sinking load down on this ramp; N*m or N."""
    downward = plant.downward()
    found = least(lambda torque: downward.acceleration(-torque) <= -ramp, plant.pull)
    return np.where(np.isnan(ramp), MISSING, found)


def _rate(plant: Plant, torque: Vector) -> Vector:
    """Change of speed in m/s^2 or rad/s^2 under a constant torque, measured over a short run."""
    start = np.zeros((1, len(torque)))
    duration = np.full_like(torque, _TRIAL)
    end = integrate(lambda _, speed: plant.acceleration(torque), start, duration, _TRIAL_STEPS)
    speed: Vector = end[0] / _TRIAL
    return speed


def _pushing(plant: Plant, limit: Vector) -> Vector:
    """The largest force in N or N*m that stands against the axis before it stops; no weight."""

    def stalls(force: Vector) -> Flags:
        return replace(plant, pull=force).acceleration(limit) <= 0

    return np.where(np.isnan(limit), MISSING, least(stalls, limit))

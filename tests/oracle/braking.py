"""One stop in time: a set point on a ramp, a motor that follows as far as its torque goes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.oracle.plant import Plant
from tests.oracle.units import MISSING, Flags, Vector

STEPS = 3000
_LEAST = 1e-200  # so that nothing is divided by zero
_STANDING = 1e-9  # share of the first speed that is none
AT_LIMIT = 1e9  # m/s^2 or rad/s^2: a ramp that no motor keeps, so the limit brakes alone


@dataclass(frozen=True, slots=True)
class Command:
    """How to stop: m/s^2 or rad/s^2, m/s^3 or rad/s^3 (infinite: none), torque in N*m or N.

    against: torque limit against the movement; along: the one with it. A ramp that is not a
    number means that nothing brakes.
    """

    ramp: Vector
    jerk: Vector
    against: Vector
    along: Vector


@dataclass(frozen=True, slots=True)
class Stop:
    """What a stop was like: way in m or rad, time in s, energy that came back in J.

    `surplus` is the most energy in J that had come back and was not yet taken again.
    """

    way: Vector
    time: Vector
    returned: Vector
    surplus: Vector


@dataclass(slots=True)
class _State:
    standing: Vector
    speed: Vector
    wanted: Vector
    ramping: Vector
    way: Vector
    time: Vector
    returned: Vector
    stored: Vector
    surplus: Vector
    moving: Flags


def brake(plant: Plant, speed: Vector, command: Command) -> Stop:
    """Stop each axis from this speed in m/s or rad/s; not a number where it never stands."""
    step = _duration(plant, speed, command) / STEPS
    state = _begin(speed, np.isfinite(step))
    for _ in range(round(STEPS * 1.05)):
        if not state.moving.any():
            break
        _advance(plant, command, state, step)
    stands = np.isfinite(step) & ~state.moving
    return Stop(
        way=np.where(stands, state.way, MISSING),
        time=np.where(stands, state.time, MISSING),
        returned=np.where(stands, state.returned, MISSING),
        surplus=np.where(stands, state.surplus, MISSING),
    )


def _duration(plant: Plant, speed: Vector, command: Command) -> Vector:
    """A time in which each stop is surely done: ramp, rounding by the jerk, lag at the limit."""
    limit = np.where(np.isnan(command.against), AT_LIMIT, command.against)
    by_limit = -plant.acceleration(-limit)
    at_limit = np.where(by_limit > 0, speed / by_limit, MISSING)
    rounding = np.where(np.isinf(command.jerk), 0.0, command.ramp / command.jerk)
    return speed / command.ramp + rounding + at_limit


def _begin(speed: Vector, moving: Flags) -> _State:
    zero = np.zeros_like(speed)
    return _State(speed * _STANDING, speed, speed, zero, zero, zero, zero, zero, zero, moving)


def _advance(plant: Plant, command: Command, state: _State, step: Vector) -> None:
    wanted, ramping = _set_point(command, state, step)
    torque = plant.torque((wanted - state.speed) / step)
    torque = np.fmin(np.fmax(torque, -command.against), command.along)
    acceleration = plant.acceleration(torque)
    speed = state.speed + acceleration * step
    stands = speed <= state.standing
    taken = np.where(speed < 0, -state.speed / acceleration, step)
    taken = np.where(state.moving, taken, 0.0)
    speed = np.where(stands, 0.0, speed)
    way = (state.speed + speed) / 2 * taken
    energy = np.where(state.moving, -torque * plant.turns * way, 0.0)
    state.way = state.way + way
    state.time = state.time + taken
    state.returned = state.returned + np.maximum(energy, 0.0)
    state.stored = np.maximum(state.stored + energy, 0.0)
    state.surplus = np.maximum(state.surplus, state.stored)
    state.moving = state.moving & ~stands
    state.speed, state.wanted, state.ramping = speed, wanted, ramping


def _set_point(command: Command, state: _State, step: Vector) -> tuple[Vector, Vector]:
    """Speed and deceleration of the set point one step later.

    The deceleration grows with the jerk up to the ramp and falls again in time to reach zero
    together with the speed.
    """
    speed, ramping = state.wanted, state.ramping
    grown = np.minimum(ramping + command.jerk * step, command.ramp)
    slower = speed - np.where(np.isinf(command.jerk), grown, (ramping + grown) / 2) * step
    early = slower > grown**2 / (2 * command.jerk)
    release = ramping**2 / np.maximum(2 * speed, _LEAST)
    fallen = np.maximum(ramping - release * step, 0.0)
    tail = np.where(fallen > 0, fallen**2 / np.maximum(2 * release, _LEAST), 0.0)
    go_on = early | np.isinf(command.jerk)
    return np.where(go_on, slower, tail), np.where(go_on, grown, fallen)

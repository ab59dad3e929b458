"""How fast the axis goes: as it is commanded, and at worst, when nobody commands it well."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import DoesNotApply, Figure, Held, Missing, fact, margin
from vault.behaviour.scale import transmission
from vault.behaviour.state import SPEED

if TYPE_CHECKING:
    from vault.behaviour.state import State

_NO_LIMIT = 0xFFFF_FFFF
"""A speed limit that many drives take for none (common practice, no source)."""
_ZERO_HEDGE = "many drives take 0 for 'no limit', some for 'no motion'; see the manual"
_ALL_ONES_HEDGE = "FFFFFFFFh is taken for 'no limit'; see the manual"
PROFILE_MODES = (1, 3, 6)
"""Modes in which the drive's own profile acts: position, velocity, homing (6060h)."""
CYCLIC_MODES = (7, 8, 9, 10)
"""Modes in which the controller gives set points (6060h, CiA 402-2; from memory)."""


def axis_speed(state: State, role: str) -> float | None:
    """A speed of the set as the axis makes it, m/s or rad/s; None where the set gives none.

    Revolutions on an axis that moves in a line are the motor's, as those of a motor speed always
    are; on one that turns they are of the user unit (60A9h, CiA 402-2).
    """
    found = state.value(role)
    if found is None or found.size is None or found.kind not in SPEED:
        return None
    gears = state.ask(transmission)
    of_motor = role in ("max_motor_speed", "motor_max_speed", "motor_rated_speed")
    if gears.is_direct and found.kind == "angular_velocity":
        return found.size / (2 * pi) * gears.per_turn
    if of_motor or (gears.is_linear and found.kind == "angular_velocity"):
        return found.size * gears.per_radian
    linear = found.kind == "velocity"
    return found.size if linear == gears.is_linear else None


def _limit(state: State, role: str) -> float | None:
    """A speed limit that acts; None for none, with a hedge where a number stands for none."""
    found = state.value(role)
    if found is None:
        return None
    if found.raw in (_NO_LIMIT, -1):
        state.hedge(_ALL_ONES_HEDGE)
        return None
    size = axis_speed(state, role)
    if size is not None and size <= 0:
        state.hedge(_ZERO_HEDGE)
        return None
    return size


def _unit(state: State) -> str:
    return "m/s" if state.ask(transmission).is_linear else "rad/s"


@fact("motor's highest speed at the axis")
def motor_top_speed(state: State) -> Figure:
    """The motor's maximum speed through the gear, by its nameplate."""
    gears = state.ask(transmission)
    most = state.recorded("motor.max_speed")
    if most is not None:
        size = most if gears.is_direct else most * gears.per_radian
        return Figure(size, _unit(state), "n L / G of motor.max_speed")
    found = axis_speed(state, "motor_max_speed")
    if found is None or found <= 0:
        raise Missing("motor.max_speed")
    return Figure(found, _unit(state), "n L / G")


@fact("profile speed")
def profile_speed(state: State) -> Figure:
    """Speed of a long positioning move: 6081h, cut by 607Fh and 6080h where these limit."""
    speed = axis_speed(state, "profile_velocity")
    if speed is None:
        raise Missing("profile_velocity")
    if speed <= 0:
        raise DoesNotApply
    limits = [_limit(state, "max_profile_velocity"), _limit(state, "max_motor_speed")]
    least = min([speed, *(limit for limit in limits if limit is not None)])
    return Figure(least, _unit(state), "least of 6081h, 607Fh and 6080h")


@fact("commanded speed")
def commanded_speed(state: State) -> Figure:
    """Highest speed that the set lets a command have.

    In cyclic modes 607Fh may not act; it is what the controller is expected to keep to.
    """
    limits = [
        limit
        for role in ("max_profile_velocity", "max_motor_speed")
        if (limit := _limit(state, role)) is not None
    ]
    if not limits:
        return state.ask(profile_speed)
    if state.choice("modes_of_operation") in CYCLIC_MODES:
        state.hedge("607Fh may not act in cyclic modes: the controller is to keep to it")
    return Figure(min(limits), _unit(state), "least of 607Fh and 6080h")


@fact("worst speed")
def worst_speed(state: State) -> Figure:
    """Speed that the axis may have when its controller fails: what acts without it.

    6080h, else the motor's maximum; 607Fh may not act in cyclic modes.
    """
    limit = _limit(state, "max_motor_speed")
    motor = state.asked(motor_top_speed)
    if limit is not None and (motor is None or limit <= motor.value):
        return Figure(limit, _unit(state), "6080h L / G")
    if motor is None:
        raise Missing("motor.max_speed")
    return motor


@margin("motor_speed", "availability", "the motor's maximum speed against the commanded speed")
def motor_speed(state: State) -> Held:
    """The motor must be able to make the speed that the set allows."""
    return Held(state.ask(motor_top_speed), state.ask(commanded_speed))


@margin(
    "machine_speed", "protects", "what the machine is built for against the commanded speed",
    comfort=1.0,
)  # fmt: skip
def machine_speed(state: State) -> Held:
    """The set must not allow more than the machine bears."""
    most = state.recorded("mechanics.max_speed")
    if most is None:
        raise DoesNotApply  # a machine of which none is recorded has no such limit
    return Held(Figure(most, _unit(state), "mechanics.max_speed"), state.ask(commanded_speed))

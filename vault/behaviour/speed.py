"""How fast the axis goes: as it is commanded, and at worst, when nobody commands it well."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, fact, margin
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_cyclic, is_frequency_drive, makes_profiles
from vault.behaviour.scale import is_linear, transmission
from vault.behaviour.state import SPEED, kind_of

if TYPE_CHECKING:
    from vault.behaviour.state import State

_NO_LIMIT = 0xFFFF_FFFF
"""A speed limit that many drives take for none (common practice, no source)."""
_ZERO_HEDGE = "many drives take 0 for 'no limit', some for 'no motion'; see the drive's manual"
_OF_MOTOR = (
    "max_motor_speed", "motor_max_speed", "motor_rated_speed", "vl_velocity_max_amount",
)  # fmt: skip
_COUNT_HEDGE = "whether a wrong encoder resolution (608Fh) scales speeds in r/min, makers differ"
_ALL_ONES_HEDGE = "FFFFFFFFh is taken for 'no limit'; see the drive's manual"


def axis_speed(state: State, role: str) -> float | None:
    """A speed of the set as the axis makes it, m/s or rad/s; None where the set gives none.

    Revolutions on an axis that moves in a line are the motor's, as those of a motor speed always
    are; on one that turns they are of the user unit (60A9h, CiA 402-2).
    """
    found = state.value(role)
    if found is None or found.size is None or found.kind not in SPEED:
        return None
    of_motor, straight = role in _OF_MOTOR, state.ask(is_linear)
    if not of_motor and (found.kind == "velocity") == straight:
        return found.size
    if not of_motor and state.scaling.encoder_ratio != 1:
        state.hedge(_COUNT_HEDGE)
    gears = state.ask(transmission)
    if gears.is_direct and found.kind == "angular_velocity":
        return found.size / (2 * pi) * gears.per_turn
    return found.size * gears.per_radian if found.kind == "angular_velocity" else None


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
    return "m/s" if state.ask(is_linear) else "rad/s"


@fact("motor's highest speed at the axis")
def motor_top_speed(state: State) -> Figure:
    """The motor's maximum speed through the gear, by its nameplate."""
    gears = state.ask(transmission)
    most = state.recorded("motor.max_speed")
    wanted = "velocity" if gears.is_direct else "angular_velocity"
    if most is not None and kind_of(state.record("motor.max_speed")) == wanted:
        size = most if gears.is_direct else most * gears.per_radian
        return Figure(size, _unit(state), "n L / G of motor.max_speed")
    found = axis_speed(state, "motor_max_speed")
    if found is None or found <= 0:
        raise Missing("motor.max_speed")
    return Figure(found, _unit(state), "n L / G")


@fact("profile speed")
def profile_speed(state: State) -> Figure:
    """Speed of a long positioning move: 6081h, cut by 607Fh and 6080h where these limit."""
    if is_frequency_drive(state):
        raise DoesNotApply
    speed = axis_speed(state, "profile_velocity")
    if speed is None:
        raise Missing("profile_velocity")
    if speed <= 0:
        raise DoesNotApply
    limits = [_limit(state, "max_profile_velocity"), _limit(state, "max_motor_speed")]
    least = min([speed, *(limit for limit in limits if limit is not None)])
    return Figure(least, _unit(state), "least of 6081h, 607Fh and 6080h")


def highest_frequency_speed(state: State) -> Figure:
    """Speed at the highest frequency, 60 f / p without slip, cut to 6046h and 6080h."""
    limits = [_limit(state, "vl_velocity_max_amount"), _limit(state, "max_motor_speed")]
    hertz, pairs = state.si("max_frequency", ("frequency",)), state.number("motor_pole_pairs")
    if hertz is not None and hertz > 0 and pairs is not None and pairs > 0:
        limits.append(2 * pi * hertz / pairs * state.ask(transmission).per_radian)
    known = [limit for limit in limits if limit is not None]
    if not known:
        raise Missing("max_frequency")
    return Figure(min(known), _unit(state), "least of 60 f / p, 6046h and 6080h")


@fact("commanded speed")
def commanded_speed(state: State) -> Figure:
    """Highest speed that the set lets a command have.

    In cyclic modes 607Fh may not act; it is what the controller is expected to keep to.
    """
    if is_frequency_drive(state):
        return state.ask(highest_frequency_speed)
    limits = [
        limit
        for role in ("max_profile_velocity", "max_motor_speed")
        if (limit := _limit(state, role)) is not None
    ]
    if not limits:
        return state.ask(profile_speed)
    if is_cyclic(state):
        state.hedge("607Fh may not act in cyclic modes: the controller is to keep to it")
    return Figure(min(limits), _unit(state), "least of 607Fh and 6080h")


@fact("worst speed")
def worst_speed(state: State) -> Figure:
    """Speed that the axis may have when its controller fails: what acts without it.

    6080h, else the motor's maximum; 607Fh may not act in cyclic modes.
    """
    if is_frequency_drive(state):  # its own limit of the frequency acts whatever it is told
        return state.ask(highest_frequency_speed)
    limit = _limit(state, "max_motor_speed")
    if makes_profiles(state) and (own := _limit(state, "max_profile_velocity")) is not None:
        limit = own if limit is None else min(limit, own)
    motor = state.asked(motor_top_speed)
    if limit is not None and (motor is None or limit <= motor.value):
        return Figure(limit, _unit(state), "the set's own limit")
    if motor is not None:
        return motor
    commanded = state.asked(commanded_speed)
    if commanded is None:
        raise Missing("motor.max_speed")
    state.hedge("the motor's highest speed is not recorded: it may go faster than is commanded")
    return Figure(commanded.value, commanded.unit, commanded.basis, "at_least")


@margin("motor_speed", "availability", "the motor's maximum speed against the commanded speed")
def motor_speed(state: State) -> Held:
    """The motor must be able to make the speed that the set allows."""
    return Held(state.ask(motor_top_speed), state.ask(commanded_speed))


@margin(
    "machine_speed", "protects", "what the machine is built for against the commanded speed",
    may_shrink=True,
)  # fmt: skip
def machine_speed(state: State) -> Held:
    """The set must not allow more than the machine bears."""
    most = state.recorded("mechanics.max_speed")
    if most is None:
        raise DoesNotApply  # a machine of which none is recorded has no such limit
    return Held(Figure(most, _unit(state), "mechanics.max_speed"), state.ask(commanded_speed))

"""How fast the axis goes: as it is commanded, and at worst, when nobody commands it well."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, fact, margin
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_cyclic, is_frequency_drive, makes_profiles
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.scale import is_linear, transmission
from vault.behaviour.state import SPEED, kind_of

if TYPE_CHECKING:
    from vault.behaviour.state import State

RPM = 2 * pi / 60
"""One revolution per minute in rad/s."""
_ZERO_HEDGE = "many drives take 0 for 'no limit', some for 'no motion'; see the drive's manual"
_OF_MOTOR = (
    "max_motor_speed", "motor_max_speed", "motor_rated_speed", "vl_velocity_max_amount",
)  # fmt: skip
_COUNT_HEDGE = "whether a wrong encoder resolution (608Fh) scales speeds in r/min, makers differ"
OWN_LIMIT = "the set's own limit"
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
    if is_all_ones(found.raw):
        state.hedge(_ALL_ONES_HEDGE)
        return None
    size = axis_speed(state, role)
    if size is not None and size <= 0:
        state.hedge(_ZERO_HEDGE)
        return None
    return size


def safe_limited_speed(state: State) -> float:
    """The safely limited speed (SLS, IEC 61800-5-2) at the axis. Raises Missing, DoesNotApply."""
    size = axis_speed(state, "safe_limited_speed")
    if size is None:
        raise Missing("safe_limited_speed")
    if size <= 0:
        raise DoesNotApply
    return size


def motor_limit(state: State) -> float | None:
    """Speed of the axis that 6080h leaves, m/s or rad/s; None without one that acts."""
    return _limit(state, "max_motor_speed")


def _unit(state: State) -> str:
    return "m/s" if state.ask(is_linear) else "rad/s"


def _plate_speed(state: State, key: str, role: str) -> float:
    """A speed of the motor's plate in rad/s, else of the set. Raises Missing, DoesNotApply."""
    if state.record("mechanics.kind") == "linear_motor":
        raise DoesNotApply  # it does not turn
    most = state.recorded(key)
    if most is None or kind_of(state.record(key)) != "angular_velocity":
        most = state.si(role, ("angular_velocity",))
    if most is None:
        raise Missing(key)
    return most


def rated_motor_speed(state: State) -> float:
    """The motor's rated speed in rad/s, by its plate, else by the set. Raises Missing."""
    return _plate_speed(state, "motor.rated_speed", "motor_rated_speed")


def most_motor_speed(state: State) -> float:
    """The motor's maximum speed in rad/s, by its plate, else by the set. Raises Missing."""
    return _plate_speed(state, "motor.max_speed", "motor_max_speed")


def motor_speed_at(state: State, speed: float) -> float | None:
    """Speed of the motor (rad/s) at one of the axis, v G / L; None for a linear motor."""
    gears = state.asked(transmission)
    return None if gears is None or gears.is_direct else speed / gears.per_radian


@dataclass(frozen=True, slots=True)
class StatedSpeed:
    """A speed of the set with its role: of the axis (m/s or rad/s) and of the motor (rad/s).

    None where the transmission does not tell; a linear motor does not turn.
    """

    role: str
    axis: float | None
    motor: float | None


def _stated(state: State, role: str) -> StatedSpeed | None:
    size = axis_speed(state, role)
    if size is None or size <= 0 or is_all_ones(state.raw(role)):
        return None
    return StatedSpeed(role, size, motor_speed_at(state, size))


def stated_profile_speed(state: State) -> StatedSpeed | None:
    """The profile speed as the set has it, cut by nothing. Raises Missing."""
    return _stated(state, "profile_velocity")


def stated_maximum_speed(state: State) -> StatedSpeed | None:
    """The maximum profile speed (607Fh) as the set has it. Raises Missing."""
    return _stated(state, "max_profile_velocity")


def fastest_stated(state: State) -> StatedSpeed | None:
    """The highest speed that the set gives a command, in the mode in which the drive is run.

    607Fh, else the profile speed; of a frequency drive 6046h. Raises Missing.
    """
    if not is_frequency_drive(state):
        return state.ask(stated_maximum_speed) or state.ask(stated_profile_speed)
    role = "vl_velocity_max_amount"
    size, gears = state.si(role, ("angular_velocity",)), state.asked(transmission)
    if size is None or size <= 0:
        return None
    return StatedSpeed(role, None if gears is None else size * gears.per_radian, size)


def motor_speed_limit(state: State) -> float | None:
    """Speed (rad/s) to which the drive holds the motor (6080h); None without, or zero."""
    size = state.si("max_motor_speed", ("angular_velocity",))
    return size if size is not None and size > 0 else None


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
    limits = [_limit(state, "max_profile_velocity"), state.ask(motor_limit)]
    least = min([speed, *(limit for limit in limits if limit is not None)])
    return Figure(least, _unit(state), "least of 6081h, 607Fh and 6080h")


def highest_frequency_speed(state: State) -> Figure:
    """Speed at the highest frequency, 60 f / p without slip, cut to 6046h and 6080h."""
    limits = [_limit(state, "vl_velocity_max_amount"), state.ask(motor_limit)]
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
    limit = state.ask(motor_limit)
    if makes_profiles(state) and (own := _limit(state, "max_profile_velocity")) is not None:
        limit = own if limit is None else min(limit, own)
    motor = state.asked(motor_top_speed)
    if limit is not None and (motor is None or limit <= motor.value):
        return Figure(limit, _unit(state), OWN_LIMIT)
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

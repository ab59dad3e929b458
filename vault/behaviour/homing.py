"""How the axis looks for home, how far it runs on, and what another zero does to its room.

Home offset (607Ch), methods (6098h), speeds and ramp (6099h, 609Ah) after CiA 402-2, from memory.
"""

from __future__ import annotations

from math import inf, pi
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Figure, fact
from vault.behaviour.force import efficiency, gravity_force, hold_torque, limits, moved
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import way_of_motor_turn
from vault.behaviour.position_limits import least_room
from vault.behaviour.scale import is_linear, transmission, unit
from vault.behaviour.speed import axis_speed
from vault.behaviour.state import RAMP, TRAVEL
from vault.behaviour.stop import TOO_WEAK

if TYPE_CHECKING:
    from vault.behaviour.state import State

SEARCH_SPEED, ZERO_SPEED = "homing_switch_search_speed", "homing_zero_search_speed"
_HOME = "home_offset"
_RAMP, _TIME_OUT, _TORQUE = "homing_acceleration", "homing_time_out", "homing_torque_limit"

_NEGATIVE = (1, 11, 12, 13, 14, 17, 27, 28, 29, 30, 33)
_POSITIVE = (2, 7, 8, 9, 10, 18, 23, 24, 25, 26, 34)
_POSITIVE_OFF, _NEGATIVE_OFF = (3, 4, 19, 20), (5, 6, 21, 22)
"""Methods that start one way while their switch does not act, and the other way on it."""
_RESERVED = (15, 16, 31, 32, 36)
_LAST = 37
PRESENT = (35, 37)
"""Methods that take the place where the axis stands."""
SWITCHES = {
    "negative over-travel": (1, 17),
    "positive over-travel": (2, 18),
    "homing switch": (*range(3, 15), *range(19, 31)),
}
"""Functions of inputs, and the methods that look for them."""


def direction(method: int) -> int:
    """Way a homing method starts while its switch does not act: -1, 1, or 0 for none."""
    if method in (*_NEGATIVE, *_NEGATIVE_OFF):
        return -1
    return 1 if method in (*_POSITIVE, *_POSITIVE_OFF) else 0


def turns_on_switch(method: int) -> bool:
    """Whether a method starts the other way where the axis stands on its switch."""
    return method in (*_POSITIVE_OFF, *_NEGATIVE_OFF)


def has_meaning(method: int) -> bool:
    """Whether the standard says what a method does."""
    return 0 <= method <= _LAST and method not in _RESERVED


def moves(method: int) -> bool:
    """Whether the axis moves at homing, as far as the standard says."""
    return has_meaning(method) and method != 0 and method not in PRESENT


def looks_for_pulse(method: int) -> bool:
    """Whether a method ends at an index pulse."""
    return 1 <= method <= 14 or method in (33, 34)


def starts_opposite(before: int, after: int) -> bool:
    """Whether two methods start opposite ways."""
    return direction(before) * direction(after) < 0


def newly_moves(before: int, after: int) -> bool:
    """Whether the axis moves at homing now and did not."""
    return before in (0, *PRESENT) and moves(after)


def drops_the_pulse(before: int, after: int) -> bool:
    """Whether a method is the other one without its index pulse (17 to 30 are 1 to 14 so)."""
    return before + 16 == after


def index_pulse_gap(state: State, before: int, after: int) -> Figure | None:
    """How far home may lie elsewhere between two methods: one ends at an index pulse, or neither.

    A turn of the motor, L / G: the pulse comes once in it. None where both end alike. Raises
    Missing.
    """
    if looks_for_pulse(before) == looks_for_pulse(after):
        return None
    return state.ask(way_of_motor_turn)


def _ramp(state: State) -> float:
    wanted = "acceleration" if state.ask(is_linear) else "angular_acceleration"
    rate = state.si(_RAMP, (wanted,))
    if rate is None:
        raise DoesNotApply if state.si(_RAMP, RAMP) is not None else Missing(_RAMP)
    if rate <= 0:
        raise DoesNotApply
    return rate


def search_speed(state: State, role: str = SEARCH_SPEED) -> float:
    """A homing speed as the axis makes it. Raises Missing, DoesNotApply."""
    found = axis_speed(state, role)
    if found is None:
        raise Missing(role)
    if found < 0:
        raise DoesNotApply
    return found


def braking_rate(state: State) -> float:
    """Deceleration that the torque leaves while the axis looks for home, downwards where it hangs.

    Raises Missing.
    """
    gears, masses = state.ask(transmission), state.ask(moved)
    least, own = state.ask(limits).weaker, state.asked(homing_torque)
    torque = least if own is None else min(least, own.value)
    return (torque / gears.per_radian - abs(state.ask(gravity_force))) / masses.most


def _overrun(state: State, role: str) -> Figure:
    """v^2 / 2a on the homing ramp, or at what the torque leaves, where that is less."""
    speed, rate, most = search_speed(state, role), state.ask(_ramp), state.asked(braking_rate)
    if most is None:
        return Figure(formulas.stop_distance(speed, rate), unit(state), "v^2 / 2a", "at_least")
    if most >= rate:
        return Figure(formulas.stop_distance(speed, rate), unit(state), "v^2 / 2a")
    if most <= 0:
        return Figure(inf, unit(state), TOO_WEAK, "up_to")
    basis = "v^2 / 2a with what the torque limit gives"
    return Figure(formulas.stop_distance(speed, most), unit(state), basis, "up_to")


@fact("overrun of the homing switch")
def switch_overrun(state: State) -> Figure:
    """Way from the switch to standstill on the homing ramp."""
    return _overrun(state, SEARCH_SPEED)


@fact("overrun of the index pulse")
def pulse_overrun(state: State) -> Figure:
    """Way from the index pulse to standstill on the homing ramp."""
    return _overrun(state, ZERO_SPEED)


@fact("way searched")
def way_searched(state: State) -> Figure:
    """How far a search for the switch goes until it is given up: v t."""
    time = state.si(_TIME_OUT, ("time",))
    if time is None:
        raise Missing(_TIME_OUT)
    speed = search_speed(state)
    if time <= 0 or speed <= 0:
        raise DoesNotApply
    return Figure(speed * time, unit(state), "v t")


@fact("torque while homing")
def homing_torque(state: State) -> Figure:
    """What the motor gives at most while the axis looks for home."""
    size = state.si(_TORQUE, ("torque",))
    if size is None:
        raise Missing(_TORQUE)
    gears = state.asked(transmission)
    return Figure(size, "N*m" if gears is None else gears.motor_unit, "share of the rating")


@fact("thrust while homing")
def homing_thrust(state: State) -> Figure:
    """What of it arrives at the axis: 2 pi eta G T / L."""
    gears = state.ask(transmission)
    if not gears.is_linear or gears.is_direct:
        raise DoesNotApply
    size = state.ask(homing_torque).value / gears.per_radian * state.ask(efficiency)
    return Figure(size, gears.force_unit, "F = 2 pi eta G T / L")


def sinks_while_homing(state: State) -> bool:
    """Whether the motor cannot hold what hangs while the axis looks for home."""
    have, need = state.asked(homing_torque), state.asked(hold_torque)
    return have is not None and need is not None and have.value < need.value


def room_after(state: State, shift: float) -> Figure:
    """What a shift of every position (m or rad) leaves behind the nearer software limit."""
    found = state.ask(least_room)
    return Figure(found.value - abs(shift), found.unit, f"{found.basis}, less the shift")


def home_shift(before: State, after: State) -> float | None:
    """How far (m or rad) positions lie elsewhere by another home offset; None where not known.

    Zero lies at the home mark plus the home offset: limits go with it.
    """
    sizes = [state.si(_HOME, TRAVEL) for state in (before, after)]
    return None if sizes[0] is None or sizes[1] is None else sizes[1] - sizes[0]


def absolute_shift(before: State, after: State, role: str) -> Figure:
    """How far positions lie elsewhere by another absolute offset: increments / R x L / G.

    Of the sign the maker decides. Raises Missing; DoesNotApply for another encoder's offset.
    """
    if before.scaling.encoder_fitted != after.scaling.encoder_fitted:
        raise DoesNotApply
    gears = after.ask(transmission)
    angles = [state.si(role, ("angle",)) for state in (before, after)]
    if angles[0] is None or angles[1] is None:
        raise Missing(role)
    turns = (angles[1] - angles[0]) / (2 * pi)
    size = turns * gears.per_turn / gears.gear
    return Figure(size, gears.unit, "increments / R x L / G")

"""Software limits and hard stops: where the axis may go, and how much room is behind that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from vault.behaviour.facts import Figure, fact
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import HIGH, LOW, is_linear, position, unit
from vault.behaviour.state import kind_of

if TYPE_CHECKING:
    from vault.behaviour.state import State

LIMITS_USED = "software_position_limits_used"
STOP_LOW, STOP_HIGH = "mechanics.hard_stop_low", "mechanics.hard_stop_high"
RANGE_LOW, RANGE_HIGH = "min_position_range_limit", "max_position_range_limit"
ROUNDING = 1e-9
"""A way in m or rad that is nothing but rounding."""


class Ends(NamedTuple):
    """Two places or two ways, m or rad: at the negative end and at the positive one."""

    negative: float
    positive: float

    @property
    def apart(self) -> float:
        """Way from the negative to the positive one."""
        return self.positive - self.negative

    @property
    def least(self) -> float:
        """The lesser of both."""
        return min(self)


def recorded_way(state: State, key: str) -> float | None:
    """A way of the axis record, if it is of the kind that the axis moves in; else None."""
    wanted = "length" if state.ask(is_linear) else "angle"
    return state.recorded(key) if kind_of(state.record(key)) == wanted else None


def both_zero(state: State) -> bool:
    """Whether both limits are zero, which switches them off (CiA 402 practice, from memory)."""
    return state.number(LOW) == state.number(HIGH) == 0


def limits_are_off(state: State) -> bool | None:
    """Whether software limits do not act; None where the set has none."""
    if state.value(LOW) is None and state.value(HIGH) is None:
        return None
    return state.ask(both_zero) or state.choice(LIMITS_USED) == 0


def hard_stops(state: State) -> Ends:
    """Where the hard stops are. Raises Missing."""
    low, high = recorded_way(state, STOP_LOW), recorded_way(state, STOP_HIGH)
    if low is None or high is None:
        raise Missing(*(key for key, end in ((STOP_LOW, low), (STOP_HIGH, high)) if end is None))
    return Ends(low, high)


@dataclass(frozen=True, slots=True)
class LimitAndStop:
    """A software limit and the hard stop at its end, m or rad; `beyond` it by that, if above zero.

    Of the negative end too `beyond` is positive where the limit protects nothing.
    """

    limit: float
    stop: float
    beyond: float


def limit_and_stop(state: State, role: str) -> LimitAndStop:
    """The limit of a role against its hard stop, whether limits are used or not. Raises Missing."""
    upper = role == HIGH
    limit, stop = position(state, role), recorded_way(state, STOP_HIGH if upper else STOP_LOW)
    if limit is None:
        raise Missing(role)
    if stop is None:
        raise Missing(STOP_HIGH if upper else STOP_LOW)
    return LimitAndStop(limit, stop, limit - stop if upper else stop - limit)


def low_limit_and_stop(state: State) -> LimitAndStop:
    """The lower limit against its hard stop. Raises Missing."""
    return limit_and_stop(state, LOW)


def high_limit_and_stop(state: State) -> LimitAndStop:
    """The upper limit against its hard stop. Raises Missing."""
    return limit_and_stop(state, HIGH)


def stated_limits(state: State) -> Ends:
    """The software limits as set, in whatever order. Raises Missing; DoesNotApply where off."""
    if state.ask(limits_are_off):
        raise DoesNotApply
    low, high = position(state, LOW), position(state, HIGH)
    if low is None or high is None:
        raise Missing(*(role for role, end in ((LOW, low), (HIGH, high)) if end is None))
    return Ends(low, high)


def rooms(state: State) -> Ends:
    """Way from software limit to hard stop at each end; below zero for a limit beyond its stop."""
    limits, stops = state.ask(stated_limits), state.ask(hard_stops)
    return Ends(limits.negative - stops.negative, stops.positive - limits.positive)


@fact("travel between the limits")
def travel_between_limits(state: State) -> Figure:
    """Way that the software limits leave; below zero where they are out of order."""
    return Figure(state.ask(stated_limits).apart, unit(state), "upper less lower limit")


@fact("position range")
def position_range(state: State) -> Figure:
    """Way over which position values run before they start over (607Bh; from memory).

    At zero or less they do not start over.
    """
    low, high = position(state, RANGE_LOW), position(state, RANGE_HIGH)
    if low is None or high is None:
        raise Missing(
            *(role for role, end in ((RANGE_LOW, low), (RANGE_HIGH, high)) if end is None)
        )
    return Figure(high - low, unit(state), "upper less lower")


@fact("room behind the software limits")
def least_room(state: State) -> Figure:
    """The lesser way from a software limit to the hard stop behind it."""
    return Figure(state.ask(rooms).least, unit(state), "software limit to hard stop")

"""The ramps of a set as the axis makes them, in m/s^2 or rad/s^2."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_frequency_drive
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.scale import is_linear, transmission
from vault.behaviour.speed import highest_frequency_speed
from vault.behaviour.state import RAMP

if TYPE_CHECKING:
    from vault.behaviour.state import State

RISE, FALL = "profile_acceleration", "profile_deceleration"
QUICK_STOP = "quick_stop_deceleration"


def ramp(state: State, role: str) -> float:
    """A ramp in m/s^2 or rad/s^2, cut to 60C5h or 60C6h. Raises Missing, DoesNotApply."""
    if is_frequency_drive(state):
        return _ramp_by_time(state, role)
    kind = "acceleration" if state.ask(is_linear) else "angular_acceleration"
    rate = _rate(state, role, kind)
    if rate is None:
        raise Missing(role)
    if rate <= 0:
        raise DoesNotApply
    most = _rate(state, "max_acceleration" if role == RISE else "max_deceleration", kind)
    return rate if most is None or most <= 0 else min(rate, most)


def stated_ramp(state: State, role: str) -> float | None:
    """A ramp or its limit as the set states it, at the axis; None where it states none that acts.

    Raises Missing, DoesNotApply.
    """
    kind = "acceleration" if state.ask(is_linear) else "angular_acceleration"
    rate = None if is_all_ones(state.raw(role)) else _rate(state, role, kind)
    return rate if rate is not None and rate > 0 else None


def _rate(state: State, role: str, kind: str) -> float | None:
    """A ramp as the axis makes it; turns on an axis that moves in a line are the motor's."""
    size = state.si(role, RAMP)
    if size is None or state.si(role, (kind,)) is not None:
        return size
    if kind != "acceleration":
        raise DoesNotApply  # a length on an axis that turns
    gears = state.ask(transmission)
    return size / (2 * pi) * gears.per_turn if gears.is_direct else size * gears.per_radian


_BY_TIME = {
    RISE: ("vl_acceleration_delta_speed", ("vl_acceleration_delta_time", "acceleration_time")),
    FALL: ("vl_deceleration_delta_speed", ("vl_deceleration_delta_time", "deceleration_time")),
    QUICK_STOP: ("vl_quick_stop_delta_speed", ("vl_quick_stop_delta_time",)),
}
_TIME_HEDGE = (
    "a ramp time is taken for the way from the highest speed to a stand; see the drive's manual"
)
_NO_QUICK_RAMP = (
    "without a ramp of its own (604Ah) a quick stop is taken to go on the deceleration ramp; see "
    "the drive's manual"
)


def _ramp_by_time(state: State, role: str) -> float:
    """A ramp of the velocity mode: speed over time (6048h, 6049h, 604Ah), at the axis."""
    by, times = _BY_TIME[role]
    if role == QUICK_STOP and state.si(times[0], ("time",)) is None:
        state.hedge(_NO_QUICK_RAMP)  # most families have no such ramp (common practice, no source)
        by, times = _BY_TIME[FALL]
    found = [time for name in times if (time := state.si(name, ("time",))) is not None]
    if not found:
        raise Missing(times[-1])
    if found[0] <= 0:
        raise DoesNotApply
    over = state.si(by, ("angular_velocity",))
    if over is not None:
        return over * state.ask(transmission).per_radian / found[0]
    state.hedge(_TIME_HEDGE)
    return state.ask(highest_frequency_speed).value / found[0]

"""The following error that the axis has anyway, against the window that watches it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Figure, Held, fact, margin
from vault.behaviour.load_encoder import CLOSES, may_close_position
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import holds_position, is_cyclic
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.room import room
from vault.behaviour.scale import position, unit
from vault.behaviour.speed import axis_speed, commanded_speed, profile_speed, worst_speed
from vault.behaviour.stop import WINDOW, trip_reach

if TYPE_CHECKING:
    from vault.behaviour.state import State

WARNING = "following_error_warning"
_AT_LOAD = (
    "measured at the load, the following error has what twists and plays up to there in it too"
)
_MAYBE_AT_LOAD = (
    "if the drive positions by its load encoder, the following error has what twists and plays up "
    "to there in it too"
)


def position_gain(state: State) -> float:
    """Gain of the position loop in 1/s. Raises Missing, DoesNotApply for none."""
    if not holds_position(state):
        raise DoesNotApply
    gain = state.si("position_gain", ("gain",))
    if gain is None:
        raise Missing("position_gain")
    if gain <= 0:
        raise DoesNotApply
    return gain


def feed_forward(state: State) -> float:
    """Share of the speed that is fed forward, 1 for all of it."""
    found = state.value("velocity_feed_forward")
    if found is None or found.number is None:
        return 0.0
    if found.size is not None:
        if found.kind != "ratio":
            raise DoesNotApply  # in a unit of the maker's own
        return found.size
    return found.number / 100


def lag_at(state: State, speed: float) -> Figure:
    """Steady following error at a speed, m/s or rad/s. Raises Missing, DoesNotApply."""
    if state.ask(may_close_position):
        state.hedge(_AT_LOAD if state.record(CLOSES) else _MAYBE_AT_LOAD)
    size = abs(formulas.lag(speed, state.ask(position_gain), feed_forward(state)))
    return Figure(size, unit(state), "|1 - f| v / Kv, without dead time")


@fact("lag at profile speed")
def profile_lag(state: State) -> Figure:
    """Steady following error at the profile speed; profile objects do not act in cyclic modes."""
    if is_cyclic(state):
        raise DoesNotApply
    return lag_at(state, state.ask(profile_speed).value)


@fact("lag at commanded speed")
def top_lag(state: State) -> Figure:
    """Steady following error at the highest speed that may be commanded."""
    return lag_at(state, state.ask(commanded_speed).value)


@dataclass(frozen=True, slots=True)
class SteadyLag:
    """Following error (m or rad) at a speed (m/s or rad/s), with a position gain in 1/s."""

    speed: float
    gain: float
    size: float


def steady_lag(state: State, role: str) -> SteadyLag:
    """The lag at the profile speed or the maximum speed, by its role, as the set lets it be.

    Raises Missing, DoesNotApply; profile objects do not act in cyclic modes.
    """
    is_profile = role == "profile_velocity"
    speed, gain = axis_speed(state, role), state.ask(position_gain)
    if speed is None:
        raise Missing(role)
    if speed <= 0 or (is_profile and is_cyclic(state)):
        raise DoesNotApply
    held = state.asked(profile_speed if is_profile else commanded_speed)
    speed = speed if held is None else min(speed, held.value)
    return SteadyLag(speed, gain, lag_at(state, speed).value)


def is_off(state: State, role: str) -> bool:
    """Whether a window is one that never trips."""
    found = state.value(role)
    return found is not None and is_all_ones(found.raw)


def window(state: State, role: str) -> Figure:
    """A window in m or rad. Raises DoesNotApply for one that never trips, Missing without it."""
    found = state.value(role)
    if found is None:
        raise Missing(role)
    size = position(state, role)
    if is_off(state, role):
        raise DoesNotApply
    if size is None:
        raise Missing("mechanics")
    if size <= 0:
        state.hedge(
            "many drives take a window of 0 for 'off', some trip at once; see the drive's manual"
        )
        raise DoesNotApply
    return Figure(size, unit(state), "the set")


@margin("window_profile", "availability", "following error window against the lag at profile speed")
def window_profile(state: State) -> Held:
    """The drive trips where the lag at profile speed is more than the window."""
    return Held(window(state, WINDOW), state.ask(profile_lag))


@margin("window", "availability", "following error window against the lag at the commanded speed")
def window_top(state: State) -> Held:
    """The drive trips where the lag at the highest commanded speed is more than the window."""
    return Held(window(state, WINDOW), state.ask(top_lag))


@margin("warning", "availability", "following error warning against the lag at the commanded speed")
def warning(state: State) -> Held:
    """The drive warns all the time where the lag is more than that."""
    if state.value(WARNING) is None:
        raise DoesNotApply
    return Held(window(state, WARNING), state.ask(top_lag))


@fact("way in the following error time-out")
def time_out_way(state: State) -> Figure:
    """Way at the worst speed while the following error is too large and nobody trips: v t."""
    time = state.si("following_error_time_out", ("time",))
    if time is None:
        raise Missing("following_error_time_out")
    if time < 0:
        raise DoesNotApply
    worst = state.ask(worst_speed)
    return Figure(worst.value * time, unit(state), "v t", worst.bound)


@fact("share of the room that a runaway takes")
def runaway_share(state: State) -> Figure:
    """What the monitor lets through until the axis stands, against the room behind the limits."""
    through, least = state.ask(trip_reach), state.ask(room)
    if least.value <= 0 or through.value == inf:
        raise DoesNotApply
    return Figure(through.value / least.value, "1", f"({through.basis}) / room", through.bound)

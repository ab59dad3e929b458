"""What the drive and the machine leave a controller's block: the least of all that limits it.

A block asks, the drive limits: 607Fh where the drive makes its own profile, 6080h and the motor
always, 60C5h and 60C6h, and what the torque limit gives with the masses that are recorded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from vault.behaviour.controller import count_of
from vault.behaviour.following import lag_at, window
from vault.behaviour.force import limit_rate
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import holds_position, is_cyclic, is_frequency_drive, makes_profiles
from vault.behaviour.position import stroke
from vault.behaviour.position_limits import (
    ROUNDING,
    STOP_HIGH,
    STOP_LOW,
    recorded_way,
    stated_limits,
    travel_between_limits,
)
from vault.behaviour.ramp import QUICK_STOP, stated_ramp
from vault.behaviour.scale import HIGH, LOW, position
from vault.behaviour.speed import (
    StatedSpeed,
    axis_speed,
    highest_frequency_speed,
    motor_limit,
    motor_top_speed,
    stated_maximum_speed,
)
from vault.behaviour.stop import WINDOW, limit_braking

if TYPE_CHECKING:
    from vault.behaviour.state import State

Answer = TypeVar("Answer")
_LIMITS = ("max_torque", "positive_torque_limit", "negative_torque_limit", "max_current")


@dataclass(frozen=True, slots=True)
class Limit:
    """What holds a speed or ramp down, in SI at the axis, and what says so: roles and record keys.

    `name` is what it is in the words of a sentence.
    """

    size: float
    name: str
    rests_on: tuple[str, ...]


def _asked(question: Callable[[], Answer]) -> Answer | None:
    try:
        return question()
    except (Missing, DoesNotApply):
        return None


def speed_limits(state: State) -> list[Limit]:
    """All that limits the speed of the axis in the mode that the drive is run in, least first."""
    found: list[Limit] = []
    if is_frequency_drive(state):
        highest = state.asked(highest_frequency_speed)
        if highest is not None:
            rests = ("max_frequency", "vl_velocity_max_amount", "max_motor_speed")
            found.append(Limit(highest.value, "the drive's highest frequency", rests))
    else:
        found += _own_speed_limits(state)
    top = state.asked(motor_top_speed)
    if top is not None:
        found.append(
            Limit(top.value, "the motor's highest speed", ("motor.max_speed", "motor_max_speed"))
        )
    return sorted(found, key=lambda limit: limit.size)


def _own_speed_limits(state: State) -> list[Limit]:
    found = []
    profile: StatedSpeed | None = state.asked(stated_maximum_speed)
    if makes_profiles(state) and profile is not None and profile.axis is not None:
        found.append(Limit(profile.axis, "the drive's maximum profile velocity", (profile.role,)))
    motor = state.asked(motor_limit)
    if motor is not None:
        found.append(Limit(motor, "the drive's limit of the motor speed", ("max_motor_speed",)))
    return found


def machine_limit(state: State) -> Limit | None:
    """The speed that the machine is built for, m/s or rad/s; None where none is recorded."""
    most = state.recorded("mechanics.max_speed")
    return None if most is None else Limit(most, "the machine", ("mechanics.max_speed",))


def profile_limit_may_not_act(state: State) -> Limit | None:
    """607Fh in a cyclic mode: the controller is expected to keep to it, and many drives do not cut.

    None in other modes, and without one.
    """
    profile = state.asked(stated_maximum_speed)
    if not is_cyclic(state) or profile is None or profile.axis is None:
        return None
    return Limit(profile.axis, "the drive's maximum profile velocity", (profile.role,))


def jog_limit(state: State) -> Limit | None:
    """The speed at which the drive jogs by its own set."""
    own = _asked(lambda: axis_speed(state, "jog_velocity"))
    if own is None or own <= 0:
        return None
    return Limit(own, "the drive's jog speed", ("jog_velocity",))


def acceleration_limit(state: State) -> Limit | None:
    """60C5h: the highest acceleration that the drive takes."""
    return _ramp_limit(state, "max_acceleration", "the drive's highest acceleration")


def deceleration_limit(state: State) -> Limit | None:
    """60C6h: the highest deceleration that the drive takes."""
    return _ramp_limit(state, "max_deceleration", "the drive's highest deceleration")


def quick_stop(state: State) -> Limit | None:
    """6085h: the ramp on which the drive itself stops in an emergency."""
    return _ramp_limit(state, QUICK_STOP, "the drive's quick stop")


def _ramp_limit(state: State, role: str, name: str) -> Limit | None:
    rate = _asked(lambda: stated_ramp(state, role))
    return None if rate is None else Limit(rate, name, (role,))


def torque_for_acceleration(state: State) -> Limit | None:
    """The acceleration that the torque limit gives, upwards; None where a mass is not known."""
    rate = state.asked(limit_rate)
    if rate is None or rate.bound == "at_least":
        return None
    return Limit(rate.value, "what the torque limit gives", _LIMITS)


def torque_for_deceleration(state: State) -> Limit | None:
    """The deceleration that the torque limit gives in the worse direction, without friction."""
    rate = state.asked(limit_braking)
    return None if rate is None else Limit(rate.value, "what the torque limit gives", _LIMITS)


@dataclass(frozen=True, slots=True)
class NamedEnds:
    """Where the axis may go: by what, m or rad from the drive's zero, and what says so."""

    low: float | None
    high: float | None
    name: str
    rests_on: tuple[str, ...]


def drive_ends(state: State) -> NamedEnds | None:
    """The drive's software limits, where they act."""
    found = state.asked(stated_limits)
    if found is None or found.apart <= 0:
        return None
    return NamedEnds(found.negative, found.positive, "the drive's software limits", (LOW, HIGH))


def machine_ends(state: State) -> NamedEnds | None:
    """The hard stops, or the one that is recorded."""
    low = _asked(lambda: recorded_way(state, STOP_LOW))
    high = _asked(lambda: recorded_way(state, STOP_HIGH))
    known = tuple(key for key, end in ((STOP_LOW, low), (STOP_HIGH, high)) if end is not None)
    return NamedEnds(low, high, "the hard stops", known) if known else None


def longest_way(state: State) -> Limit | None:
    """The longest way that a move can have: between the drive's limits, else the stroke."""
    between = state.asked(travel_between_limits)
    if between is not None and between.value > 0:
        return Limit(between.value, "the way between the drive's software limits", (LOW, HIGH))
    return whole_stroke(state)


def whole_stroke(state: State) -> Limit | None:
    """The stroke, else the way between the hard stops."""
    whole = state.asked(stroke)
    if whole is None:
        return None
    is_stated = state.recorded("mechanics.stroke") is not None
    rests = ("mechanics.stroke",) if is_stated else (STOP_LOW, STOP_HIGH)
    return Limit(whole.value, "the stroke", rests)


def drive_window(state: State) -> Limit | None:
    """The drive's following error window, where it watches: it closes the position loop."""
    if not holds_position(state):
        return None
    found = _asked(lambda: window(state, WINDOW))
    return None if found is None else Limit(found.value, "the drive's window", (WINDOW,))


def controller_lag(state: State, speed: float) -> Limit | None:
    """The following error at a speed with the drive's position loop: |1 - f| v / Kv."""
    lag = _asked(lambda: lag_at(state, speed))
    if lag is None:
        return None
    return Limit(lag.value, "the lag at its speed", ("position_gain", "velocity_feed_forward"))


@dataclass(frozen=True, slots=True)
class Home:
    """The drive's home offset (607Ch), m or rad, and half of the step that it can be set in."""

    size: float
    step: float


def drive_home(state: State) -> Home | None:
    """Where home lies by the drive; None where the set does not say."""
    size, count = _asked(lambda: position(state, "home_offset")), count_of(state)
    if size is None:
        return None
    return Home(size, ROUNDING if count is None else float(count.way.number()) / 2 + ROUNDING)

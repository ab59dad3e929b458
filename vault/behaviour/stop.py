"""How far the axis goes until it stands, for every way that a stop can come, against the room.

Reaction x speed plus braking: by the ramp, or by what the torque limit allows where that is longer.
Friction may help and is not counted on, so a way that the torque limits is `up_to` so much.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Bound, Figure, Held, fact, margin, together
from vault.behaviour.force import gravity_force, lifting_limit, limits, moved
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import holds_position
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.ramp import QUICK_STOP, ramp
from vault.behaviour.room import room
from vault.behaviour.scale import position, transmission
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import worst_speed
from vault.behaviour.state import JERK, TRAVEL

if TYPE_CHECKING:
    from vault.behaviour.state import State

_SINE_SQUARED, _JERK_LIMITED = 1, 3
_SHAPE_HEDGE = "the profile's rounding is taken to act on stops too; see the drive's manual"
_OWN_REACTION = "what the drive does by this {title} is the maker's own: see the drive's manual"
_ZERO_WAIT = "a limit of 0 may be to wait for ever, or to let go at once: see the drive's manual"
_ZERO_WINDOW = "a window of 0 is off in many drives, and others trip at once"
_COAST, _SLOW, _QUICK = 0, 1, 2
COASTS = "power goes off, and the axis coasts"
TOO_WEAK = "the torque limit does not stop the load"
WINDOW = "following_error_window"
QUICK_CODE = "quick_stop_option_code"
_TIME = ("time",)


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop from the worst speed: way and time until the axis stands, and what they rest on."""

    reach: float
    time: float
    bound: Bound
    basis: str


def jerk(state: State) -> float | None:
    """The jerk limit of stops; None without one."""
    if state.choice("motion_profile_type") != _JERK_LIMITED:
        return None
    used = state.number("profile_jerk_use")
    if used == 0:
        return None
    # Of two the second is that of the deceleration; of four the last two are (from memory).
    role = {2: "profile_jerk.2", 4: "profile_jerk.3"}.get(int(used or 1), "profile_jerk")
    size = state.si(role, JERK)
    if size is None or size <= 0:
        return None
    state.hedge(_SHAPE_HEDGE)
    return size


def braking_rate(state: State) -> float:
    """Deceleration that the torque limits give in the worse direction. Raises Missing.

    Without help of friction, with all that moves: (F - m g) / M downwards, where the limit brakes
    that lifts, and (F + m g) / M upwards, where the other one does.
    """
    gears, masses = state.ask(transmission), state.ask(moved)
    both, lifting, weight = state.ask(limits), state.ask(lifting_limit), state.ask(gravity_force)
    is_known = lifting.bound == "exact"
    other = both.positive + both.negative - lifting.value if is_known else both.weaker
    down, up = (size / gears.per_radian for size in (lifting.value, other))
    return min(down - abs(weight), up + abs(weight)) / masses.most


@fact("deceleration at the torque limit")
def limit_braking(state: State) -> Figure:
    """Deceleration that the torque limits give in the worse direction; friction helps."""
    rate, unit = state.ask(braking_rate), f"{axis_unit(state)}/s^2"
    if rate <= 0:
        raise DoesNotApply  # it does not stop
    return Figure(rate, unit, "(T / r - F) / (m + J / r^2)", "at_least")


def _stop(state: State, role: str | None) -> Stop:
    """Braking from the worst speed on the ramp of a role, or at the torque limit without one."""
    worst = state.ask(worst_speed)
    speed, most = worst.value, state.asked(braking_rate)
    if role is None:
        return _by_torque(worst, state.ask(braking_rate), state.ask(jerk))
    rate = state.ask(_RATES[role])
    bound = together(worst.bound, "exact" if most is not None else "at_least")
    if most is not None and most < rate:
        return _by_torque(worst, most, state.ask(jerk))
    if state.choice("motion_profile_type") == _SINE_SQUARED:
        state.hedge(_SHAPE_HEDGE)
        time = formulas.sine_squared_ramp_time(speed, rate)
        return Stop(speed / 2 * time, time, together(bound, "up_to"), "v^2 / a (sine-squared ramp)")
    own = state.ask(jerk)
    if own is None:
        return Stop(speed**2 / 2 / rate, speed / rate, bound, "v^2 / 2a")
    return Stop(
        formulas.stop_distance(speed, rate, own), formulas.ramp_time(speed, rate, own),
        together(bound, "up_to"), "v^2 / 2a + v a / 2j",
    )  # fmt: skip


def _by_torque(worst: Figure, rate: float, own: float | None = None) -> Stop:
    basis, speed = "v^2 / 2a with what the torque limit gives", worst.value
    bound = together(worst.bound, "up_to")
    if rate <= 0:
        return Stop(inf, inf, bound, TOO_WEAK)
    return Stop(
        formulas.stop_distance(speed, rate, own), formulas.ramp_time(speed, rate, own), bound, basis
    )


def _quick_rate(state: State) -> float:
    return ramp(state, QUICK_STOP)


def _slow_rate(state: State) -> float:
    return ramp(state, "profile_deceleration")


_RATES = {QUICK_STOP: _quick_rate, "profile_deceleration": _slow_rate}


def quick_ramp_stop(state: State) -> Stop:
    """Braking on the quick-stop ramp."""
    return _stop(state, QUICK_STOP)


def slow_ramp_stop(state: State) -> Stop:
    """Braking on the deceleration ramp."""
    return _stop(state, "profile_deceleration")


def torque_stop(state: State) -> Stop:
    """Braking at the torque limit."""
    return _stop(state, None)


def _by_option(state: State, role: str, usual: int) -> Stop:
    """The stop that an option code brings about; the standard's usual one where the set has none.

    Raises DoesNotApply where the maker's own reaction is chosen.
    """
    found = state.value(role)
    code = usual if found is None else state.choice(role)
    if found is None:
        state.hedge(f"{role.replace('_', ' ')} is not in the set: taken as {usual}")
    if code is None or not 0 <= code <= (8 if role == QUICK_CODE else 4):
        raise state.untold(_OWN_REACTION.format(title=role.replace("_", " ")))
    if code == _COAST:
        return Stop(inf, inf, "up_to", COASTS)
    kind = (code - 1) % 4 + 1  # 5 to 8 stop as 1 to 4 and hold then (605Ah)
    if kind == _SLOW:
        return state.ask(slow_ramp_stop)
    return state.ask(quick_ramp_stop if kind == _QUICK else torque_stop)


def quick_stop(state: State) -> Stop:
    """What the quick stop does by its option code (605Ah)."""
    return _by_option(state, QUICK_CODE, _QUICK)


def fault_stop(state: State) -> Stop:
    """What a fault does by its option code (605Eh)."""
    return _by_option(state, "fault_reaction_option_code", _QUICK)


def _run_on(state: State, after: float, stop: Stop) -> tuple[float, str]:
    """Way until the axis stands, where the reaction takes `after` seconds."""
    return state.ask(worst_speed).value * after + stop.reach, f"v x reaction + {stop.basis}"


def _reached(state: State, after: float, stop: Stop) -> Figure:
    size, basis = _run_on(state, after, stop)
    return Figure(size, axis_unit(state), basis, stop.bound)


def input_delay(state: State) -> float:
    """How long the drive takes to believe an input, in s."""
    return max(0.0, state.si("digital_input_filter_time", _TIME) or 0.0)


@fact("way of a quick stop")
def quick_stop_reach(state: State) -> Figure:
    """Way from an input's edge until the axis stands, from the worst speed."""
    return _reached(state, state.ask(input_delay), state.ask(quick_stop))


@fact("time of a quick stop")
def quick_stop_time(state: State) -> Figure:
    """Time of a quick stop from the worst speed, without the input's filter."""
    stop = state.ask(quick_stop)
    return Figure(stop.time, "s", stop.basis.replace("v^2 / 2a", "v / a"), stop.bound)


@fact("way of a fault stop")
def fault_stop_reach(state: State) -> Figure:
    """Way of the fault reaction from the worst speed."""
    return _reached(state, 0.0, state.ask(fault_stop))


def supervision_time(state: State) -> float | None:
    """Seconds until the drive notices a silent controller; inf for never, None if not in the set.

    The quickest of what watches: fieldbus time-out, missed updates, heartbeat, node guarding
    (CiA 301, from memory).
    """
    times = [
        time
        for time in (
            state.si("fieldbus_timeout", _TIME), _missed(state), _heartbeat(state),
            guarding_time(state),
        )
        if time is not None
    ]  # fmt: skip
    if not times:
        return None
    return min((time for time in times if time > 0), default=inf)


def _missed(state: State) -> float | None:
    count, step = state.number("missed_update_limit"), set_point_interval(state)
    if count is None or step is None:
        return None
    if count <= 0:
        state.hedge("whether 0 missed updates trips at once or never, the drive's manual must tell")
        return None
    return count * step


def watched_heartbeat(state: State, role: str) -> float | None:
    """Time of one entry of 1016h: bits 0 to 15 are ms, bits 16 to 22 the node; 0 without one."""
    raw = state.raw(role)
    if raw is None or raw < 0:
        return None
    return raw % 0x10000 / 1000 if (raw >> 16) & 0x7F else 0.0


def _heartbeat(state: State) -> float | None:
    """The quickest heartbeat that is watched."""
    roles = ["consumer_heartbeat_time", *(f"consumer_heartbeat_time.{n}" for n in range(2, 6))]
    times = [time for role in roles if (time := watched_heartbeat(state, role)) is not None]
    return min((time for time in times if time > 0), default=0.0) if times else None


def guarding_time(state: State) -> float | None:
    """Time of node guarding: guard time x life time factor."""
    guard, factor = state.si("guard_time", _TIME), state.number("life_time_factor")
    return None if guard is None or factor is None else max(0.0, guard * factor)


def set_point_interval(state: State) -> float | None:
    """Interval of set points: 60C2h, else the maker's own, else the bus cycle 1006h; in s."""
    period, power = (
        state.number("interpolation_time_period"),
        state.number("interpolation_time_index"),
    )
    if period and power is not None and abs(power) <= 9:
        return float(period * 10.0**power)
    for role in ("update_interval", "communication_cycle_period"):
        size = state.si(role, _TIME)
        if size is not None and size > 0:
            return size
    return None


@fact("way when the link is lost")
def link_stop_reach(state: State) -> Figure:
    """Way from the controller's silence until the axis stands, by 6007h."""
    after = supervision_time(state)
    if after is None:
        raise Missing("fieldbus_timeout")
    unit = axis_unit(state)
    if after == inf:
        return Figure(inf, unit, "nothing watches the controller")
    found = state.value("abort_connection_option_code")
    code = 1 if found is None else state.choice("abort_connection_option_code")
    if code == 0:
        return Figure(inf, unit, "6007h: no reaction")
    if code == 2:
        return Figure(inf, unit, COASTS, "up_to")
    if code not in (1, 3):
        raise state.untold(_OWN_REACTION.format(title="abort connection option code"))
    return _reached(state, after, state.ask(fault_stop if code == 1 else quick_stop))


@fact("way of a following error trip")
def trip_reach(state: State) -> Figure:
    """How far the axis strays until it stands: window + v x time-out + the fault's way."""
    if not holds_position(state):
        raise DoesNotApply
    found, unit = state.value(WINDOW), axis_unit(state)
    if found is None:
        raise Missing(WINDOW)
    if is_all_ones(found.raw):
        return Figure(inf, unit, "nothing watches the following error")
    window = position(state, WINDOW)
    if window is None:
        raise Missing("mechanics" if state.si(WINDOW, TRAVEL) is None else WINDOW)
    if window == 0:
        raise state.untold(_ZERO_WINDOW)
    after = max(0.0, state.si("following_error_time_out", _TIME) or 0.0)
    stop = state.ask(fault_stop)
    size, basis = _run_on(state, after, stop)
    return Figure(window + size, unit, f"window + {basis}", stop.bound)


@margin("stop_room", "protects", "room behind the software limits against a quick stop")
def stop_room(state: State) -> Held:
    """A quick stop at a software limit must end before the hard stop."""
    return Held(state.ask(room), state.ask(quick_stop_reach))


@margin("fault_room", "protects", "room behind the software limits against the stop of a fault")
def fault_room(state: State) -> Held:
    """So must the stop of a fault."""
    return Held(state.ask(room), state.ask(fault_stop_reach))


@margin("link_room", "protects", "room behind the software limits against a lost controller")
def link_room(state: State) -> Held:
    """So must the stop when the controller is gone."""
    return Held(state.ask(room), state.ask(link_stop_reach))


@margin("trip_room", "protects", "room behind the software limits against a runaway until it trips")
def trip_room(state: State) -> Held:
    """What the following error lets through, until the axis stands."""
    return Held(state.ask(room), state.ask(trip_reach))


@margin("stop_time", "protects", "the longest stop that the drive waits for against a quick stop")
def stop_time(state: State) -> Held:
    """A stop that lasts longer than the drive waits ends in coasting."""
    limit = state.si("stop_time_limit", _TIME)
    if limit is None:
        raise DoesNotApply
    if limit <= 0:
        raise state.untold(_ZERO_WAIT)
    need = state.ask(quick_stop_time)
    return Held(Figure(limit, "s", "the set"), need)

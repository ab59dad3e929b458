"""Reactions to stop, halt, fault and lost connection, with the stop category of IEC 60204-1.

Option codes 6007h and 605Ah to 605Eh after CiA 402-2, from memory.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.stop import quick_stop_time
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import (
    FALLS,
    NO_MEANING,
    chosen_in,
    lower_first,
    of_kind,
)
from vault.meaning.explainers.ramps import stop_basis, stop_of, top
from vault.meaning.explainers.rooms import shortage
from vault.meaning.findings import figure, length_or_angle, seconds, speed
from vault.model import choices
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

LIKE = "That is {category}."
COASTS = "The axis coasts until friction, or the end of its way, stops it."
UNHELD = {
    "none": "It hangs: when it has stopped power goes off, no brake holds the load, and it drops.",
    "unknown": "It hangs, and when it has stopped power goes off: whether a brake holds the load "
    "then is not recorded.",
}
RESERVED = (
    "The standard reserves this number; with it some drives let the axis coast: the manual must "
    "tell."
)
STOP = "From {speed} it takes {time} and {distance}{shortage}."
MAKERS_OWN = "That number is the maker's own: the drive's manual says what happens."
GOES_ON = "The axis goes on moving when its controller is gone."
COASTS_ALONE = "When its controller is gone the axis coasts, {category}."
DOES_AS = "When its controller is gone the axis does what its {reaction} says{what}."
REACTION = {1: "fault reaction", 3: "quick stop"}
"""By the number of the reaction to a lost connection."""
WHAT = ": {label}"
ENDS = "A stop that lasts over {limit} ends with power off."
LASTS = "From {speed} a quick stop takes {time}: {end}."
END = {
    "in time": "it ends in time",
    "coasting": "after {limit} power goes off and the axis coasts",
}
START = {
    "waits": "The axis waits for a command when {event}.",
    "starts": "The axis may start by itself when {event}.",
}
EVENT = {"power": "power is back", "fault": "a fault has gone"}

# Stop categories by IEC 60204-1, 9.2.2 (from memory): 0 power off at once, 1 controlled and then
# off, 2 controlled and power stays.
CATEGORY = {
    0: "like an uncontrolled stop, category 0 of IEC 60204-1",
    1: "at most like a controlled stop with power off after it, category 1 of IEC 60204-1",
    2: "at most like a controlled stop with power kept, category 2 of IEC 60204-1",
}
"""A drive's own reaction is no safety function: it is like such a stop, and none."""
_HALT = "halt_option_code"
_PROTECTIVE = ("quick_stop_option_code", "fault_reaction_option_code")
_COAST, _FAULT_REACTION, _VOLTAGE_OFF, _QUICK_STOP = 0, 1, 2, 3


def category(role: str, code: int) -> int | None:
    """Stop category of an option code; None where the standard gives it no meaning."""
    if not choices.label(role, code):
        return None
    if role == _HALT:
        return 2
    return 0 if code == _COAST else 1 if code <= 4 else 2


def _ramp(role: str, code: int) -> str | None:
    """The ramp that an option code stops on; None where a current or voltage limit stops."""
    label = choices.label(role, code) or ""
    if "deceleration ramp" in label:
        return "profile_deceleration"
    return "quick_stop_deceleration" if "quick-stop ramp" in label else None


@explains(
    "quick_stop_option_code",
    "shutdown_option_code",
    "disable_operation_option_code",
    "halt_option_code",
    "fault_reaction_option_code",
)
def reaction(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Name the stop category, the way it takes, and what it means for a hanging load."""
    role = str(change.shown.role)
    code, before_code = chosen(change.right), chosen(change.left)
    if code is None:
        return None
    if code < 0:
        return Explanation(MAKERS_OWN, "hazard" if right.is_vertical else "dynamics")
    found = category(role, code)
    before = category(role, before_code) if before_code is not None else None
    if found is None:
        return _without_meaning(role, code, before_code, right)
    like = LIKE.format(category=CATEGORY[found])
    if found == 0:
        said = [like, COASTS, FALLS] if right.is_vertical else [like, COASTS]
        worse = before != 0 and (right.is_vertical or (role in _PROTECTIVE and _is_linear(right)))
        return Explanation(" ".join(said), "hazard" if worse else "dynamics")
    findings: list[Finding] = []
    way: list[str] = []
    is_short = _way(role, code, right, way, findings) and role in _PROTECTIVE
    unheld = _unheld(right) if found == 1 and right.is_vertical else []
    said = [*unheld, *way, like] if is_short else [*unheld, like, *way]
    worse = is_short or (bool(unheld) and before not in (0, 1))
    return Explanation(" ".join(said), "hazard" if worse else "dynamics", tuple(findings))


def _without_meaning(role: str, code: int, before: int | None, view: AxisView) -> Explanation:
    """A number that the standard has not; 0 of a halt may be to coast (605Dh; common practice)."""
    if role != _HALT or code != _COAST:
        return Explanation(NO_MEANING, "dynamics")
    worse = before != _COAST and (view.is_vertical or _is_linear(view))
    return Explanation(RESERVED, "hazard" if worse else "dynamics")


def _is_linear(view: AxisView) -> bool:
    return view.mechanics is not None and view.mechanics.kind not in ("rotary", "rotary_table")


def _unheld(view: AxisView) -> list[str]:
    """What is said where no brake holds the load with power off, or nobody knows of one."""
    used = chosen_in(view, "brake_used")
    if view.has_brake is False or used == 0:
        return [UNHELD["none"]]
    return [UNHELD["unknown"]] if view.has_brake is None and used is None else []


def _way(role: str, code: int, view: AxisView, said: list[str], findings: list[Finding]) -> bool:
    """Say way and time of the stop from the highest speed; tells whether it meets a hard stop."""
    ramp, velocity = _ramp(role, code), top(view)
    stop = stop_of(view, ramp) if ramp is not None else None
    if ramp is None or stop is None or velocity is None:
        return False
    findings += [
        figure("way of the stop", stop[1], stop_basis(view, ramp), like=velocity),
        figure("time of the stop", stop[0], "the same ramp", unit="s"),
    ]
    short = shortage(view, stop[1], velocity)
    text = STOP.format(
        speed=speed(float(velocity.number()), velocity),
        time=seconds(stop[0]),
        distance=length_or_angle(stop[1], velocity),
        shortage=f", {short}" if short else "",
    )
    said.append(text)
    return bool(short)


@explains("abort_connection_option_code")
def lost_connection(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What an axis does without its controller."""
    code, before = chosen(change.right), chosen(change.left)
    if code is None:
        return None
    if code < 0:
        return Explanation(MAKERS_OWN, "hazard" if right.is_vertical else "dynamics")
    if code == 0:
        return Explanation(GOES_ON, "hazard" if before != 0 else "dynamics")
    if code == _VOLTAGE_OFF:
        text = COASTS_ALONE.format(category=CATEGORY[0])
        if right.is_vertical:
            return Explanation(f"{text} {FALLS}", "hazard" if before != code else "dynamics")
        return Explanation(text, "dynamics")
    chained = {
        _FAULT_REACTION: "fault_reaction_option_code",
        _QUICK_STOP: "quick_stop_option_code",
    }.get(code)
    if chained is None:
        return Explanation(NO_MEANING, "dynamics")
    number = chosen_in(right, chained)
    label = choices.label(chained, number) if number is not None else None
    what = WHAT.format(label=lower_first(label)) if label is not None else ""
    text = DOES_AS.format(reaction=REACTION[code], what=what)
    if label is not None and number == _COAST and right.is_vertical:
        return Explanation(f"{text} {FALLS}", "hazard")
    return Explanation(text, "dynamics")


@explains("stop_time_limit")
def longest_stop(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A stop that takes longer than the drive waits ends in coasting."""
    size = of_kind(change.right_physical, ("time",))
    if size is None or size.ratio <= 0:
        return None
    limit, velocity = float(size.number()), top(right)
    told = right.state.asked(quick_stop_time)
    if told is None or velocity is None or isinf(told.value):
        return Explanation(ENDS.format(limit=seconds(limit)))
    findings = (figure("time of the stop", told.value, told.basis, unit="s"),)
    in_time = told.value <= limit
    text = LASTS.format(
        speed=speed(float(velocity.number()), velocity),
        time=seconds(told.value),
        end=END["in time" if in_time else "coasting"].format(limit=seconds(limit)),
    )
    if not in_time and right.is_vertical:
        text = f"{text} {FALLS}"
    return Explanation(text, "dynamics" if in_time else "hazard", findings)


@explains("restart_after_power_return", "restart_after_fault")
def restart(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An axis that starts by itself (unexpected start-up, ISO 14118)."""
    kind = chosen(change.right)
    if kind is None:
        return None
    event = EVENT["power" if "power" in str(change.shown.role) else "fault"]
    text = START["waits" if kind == 0 else "starts"].format(event=event)
    return Explanation(text, "dynamics" if kind == 0 else "hazard")

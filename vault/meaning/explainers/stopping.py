"""Reactions to stop, halt, fault and lost connection, with the stop category of IEC 60204-1.

Option codes 6007h and 605Ah to 605Eh after CiA 402-2, from memory.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.stop import quick_stop_time
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import chosen_in, lower_first, of_kind
from vault.meaning.explainers.ramps import stop_basis, stop_of, top
from vault.meaning.explainers.rooms import shortage
from vault.meaning.findings import figure, length_or_angle, seconds, speed
from vault.model import choices
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

# Stop categories by IEC 60204-1, 9.2.2 (from memory): 0 power off at once, 1 controlled and then
# off, 2 controlled and power stays.
_CATEGORY = {
    0: "like an uncontrolled stop, category 0 of IEC 60204-1",
    1: "at most like a controlled stop with power off after it, category 1 of IEC 60204-1",
    2: "at most like a controlled stop with power kept, category 2 of IEC 60204-1",
}
"""A drive's own reaction is no safety function: it is like such a stop, and none."""
_PROTECTIVE = ("quick_stop_option_code", "fault_reaction_option_code")
_MAKERS_OWN = "That number is the maker's own: the drive's manual says what happens."
_UNHELD = " It hangs: until the brake closes the load falls."
_COAST, _FAULT_REACTION, _VOLTAGE_OFF, _QUICK_STOP = 0, 1, 2, 3


def category(role: str, code: int) -> int | None:
    """Stop category of an option code; None where the standard gives it no meaning."""
    if not choices.label(role, code):
        return None
    if role == "halt_option_code":
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
        return Explanation(_MAKERS_OWN, "hazard" if right.is_vertical else "dynamics")
    found = category(role, code)
    if found is None:
        return Explanation("The standard gives this number no meaning.", "dynamics")
    before = category(role, before_code) if before_code is not None else None
    text = f"That is {_CATEGORY[found]}."
    if found == 0:
        text += " The axis coasts until friction, or the end of its way, stops it."
        text += _UNHELD if right.is_vertical else ""
        worse = before != 0 and (right.is_vertical or (role in _PROTECTIVE and _is_linear(right)))
        return Explanation(text, "hazard" if worse else "dynamics")
    findings: list[Finding] = []
    more, short = _way(role, code, right, findings)
    text += more
    if found == 1 and right.is_vertical and _is_unheld(right):
        return Explanation(
            f"{text} It hangs, and no brake holds the load when power is off.",
            "hazard" if before != 1 else "dynamics",
            tuple(findings),
        )
    return Explanation(text, "hazard" if short else "dynamics", tuple(findings))


def _is_linear(view: AxisView) -> bool:
    return view.mechanics is not None and view.mechanics.kind not in ("rotary", "rotary_table")


def _is_unheld(view: AxisView) -> bool:
    return view.has_brake is False or chosen_in(view, "brake_used") == 0


def _way(role: str, code: int, view: AxisView, findings: list[Finding]) -> tuple[str, bool]:
    """Way and time of the stop from the highest speed; tells whether it meets a hard stop."""
    ramp, velocity = _ramp(role, code), top(view)
    stop = stop_of(view, ramp) if ramp is not None else None
    if stop is None or velocity is None:
        return "", False
    findings += [
        figure("way of the stop", stop[1], stop_basis(view), like=velocity),
        figure("time of the stop", stop[0], "the same ramp", unit="s"),
    ]
    text = (
        f" From {speed(float(velocity.number()), velocity)} it takes {seconds(stop[0])} and "
        f"{length_or_angle(stop[1], velocity)}"
    )
    short = shortage(view, stop[1], velocity)
    return (f"{text}, {short}." if short else f"{text}."), bool(short)


@explains("abort_connection_option_code")
def lost_connection(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What an axis does without its controller."""
    code, before = chosen(change.right), chosen(change.left)
    if code is None:
        return None
    if code < 0:
        return Explanation(_MAKERS_OWN, "hazard" if right.is_vertical else "dynamics")
    if code == 0:
        text = "The axis goes on moving when its controller is gone."
        return Explanation(text, "hazard" if before != 0 else "dynamics")
    if code == _VOLTAGE_OFF:
        text = f"When its controller is gone the axis coasts, {_CATEGORY[0]}."
        if right.is_vertical:
            return Explanation(text + _UNHELD, "hazard" if before != code else "dynamics")
        return Explanation(text, "dynamics")
    chained = {
        _FAULT_REACTION: "fault_reaction_option_code",
        _QUICK_STOP: "quick_stop_option_code",
    }.get(code)
    if chained is None:
        return Explanation("The standard gives this number no meaning.", "dynamics")
    number = chosen_in(right, chained)
    label = choices.label(chained, number) if number is not None else None
    name = "fault reaction" if code == _FAULT_REACTION else "quick stop"
    text = f"When its controller is gone the axis does what its {name} says"
    if label is None or number is None:
        return Explanation(f"{text}.", "dynamics")
    text += f": {lower_first(label)}."
    if number == _COAST and right.is_vertical:
        return Explanation(text + _UNHELD, "hazard")
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
        return Explanation(f"A stop that lasts over {seconds(limit)} ends with power off.")
    longest, name = told.value, "a quick stop"
    findings = (figure("time of the stop", longest, told.basis, unit="s"),)
    text = f"From {speed(float(velocity.number()), velocity)} {name} takes {seconds(longest)}"
    if longest <= limit:
        return Explanation(f"{text}: it ends in time.", "dynamics", findings)
    text += f": after {seconds(limit)} power goes off and the axis coasts."
    return Explanation(text + (_UNHELD if right.is_vertical else ""), "hazard", findings)


@explains("restart_after_power_return", "restart_after_fault")
def restart(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An axis that starts by itself (unexpected start-up, ISO 14118)."""
    kind = chosen(change.right)
    when = "power is back" if "power" in str(change.shown.role) else "a fault has gone"
    if kind is None:
        return None
    if kind == 0:
        return Explanation(f"The axis waits for a command when {when}.", "dynamics")
    return Explanation(f"The axis may start by itself when {when}.", "hazard")

"""What is added to every command: position (60B0h) and torque (60B2h); how a target is reached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.force import hold_torque, limits
from vault.behaviour.scale import transmission
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import WAY, instead_of, of_kind
from vault.meaning.findings import digits, figure, length_or_angle

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

SHIFTED = "Every commanded position lies {distance} elsewhere, at once."
GIVES = "It gives {given} of the {needed} that hold the load{rest}."
REST = {
    "other way": ", the other way than before: the load is pushed down when the axis is enabled",
    "lacking": ": when the axis is enabled the loops must give the other {lacking}",
}
TARGET = "An axis that turns without end goes to its target {direction}{instead}."
RELATIVE = "It says when a move counts as done and what it is relative to."
SAME_RATIO = "The ratio is the same."
COUNTS = (
    "Every {what} of the set counts {times} times as much, or as little: which, the drive's manual "
    "must tell."
)

_ROTARY_BITS = 0xC0
_ROTARY = {
    0x00: "as positions are written",
    0x40: "always in the negative direction",
    0x80: "always in the positive direction",
    0xC0: "the shorter way",
}
"""Bits 6 and 7 of 60F2h on an axis that turns without end (CiA 402-2, from memory)."""


@explains("position_offset")
def position(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Every commanded position lies elsewhere, at once and without homing."""
    before, after = of_kind(change.left_physical, WAY), of_kind(change.right_physical, WAY)
    if after is None:
        return None
    gap = float(after.number()) - (float(before.number()) if before is not None else 0.0)
    finding = figure("shift of every command", gap, "right less left", like=after)
    text = SHIFTED.format(distance=length_or_angle(abs(gap), after))
    return Explanation(text, "travel", (finding,))


@explains("torque_offset")
def torque(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What is given beside the loops: on a hanging axis it carries the load."""
    size = of_kind(change.right_physical, ("torque",))
    before = of_kind(change.left_physical, ("torque",))
    held, gears = right.state.asked(hold_torque), right.state.asked(transmission)
    if size is None or held is None or gears is None:
        return None
    given, was = float(size.number()), float(before.number()) if before is not None else 0.0
    unit = gears.motor_unit
    findings = (figure("torque to hold the load", held.value, held.basis, unit=unit),)
    off, before_off = abs(abs(given) - held.value), abs(abs(was) - held.value)
    rest, worst = "", "dynamics"
    if given * was < 0:
        rest, worst = REST["other way"], "hazard"
    else:
        if off > before_off:
            rest = REST["lacking"].format(lacking=f"{digits(off)} {unit}")
        both = right.state.asked(limits)
        worst = "hazard" if both is not None and off > both.weaker else worst
    text = GIVES.format(
        given=f"{digits(given)} {unit}", needed=f"{digits(held.value)} {unit}", rest=rest
    )
    return Explanation(text, worst, findings)


@explains("positioning_option_code")
def option(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Which way an endless axis takes to its target."""
    codes = [side.raw if side is not None else None for side in (change.left, change.right)]
    before, after = (code if isinstance(code, int) else None for code in codes)
    if after is None:
        return None
    if before is not None and not (before ^ after) & _ROTARY_BITS:
        return Explanation(RELATIVE, "travel")
    direction = _ROTARY[after & _ROTARY_BITS]
    was = None if before is None else _ROTARY[before & _ROTARY_BITS]
    return Explanation(
        TARGET.format(direction=direction, instead=instead_of(was, direction)), "hazard"
    )


@explains(
    "velocity_factor_numerator",
    "velocity_factor_divisor",
    "acceleration_factor_numerator",
    "acceleration_factor_divisor",
    "jerk_factor_numerator",
    "jerk_factor_divisor",
)
def factor(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Speeds, ramps or jerks of the whole set count otherwise; makers differ which way."""
    before, after = _ratio(change, left), _ratio(change, right)
    what = {"velocity": "speed", "acceleration": "ramp"}.get(
        str(change.shown.role).partition("_")[0], "jerk"
    )
    if before is None or after is None or before == 0:
        return None
    times = after / before
    if times == 1:
        return Explanation(SAME_RATIO, "record")
    finding = figure(f"ratio of the {what} factor", times, "numerator / divisor", unit="1")
    is_much = abs(times - 1) > right.policy.material_share
    text = COUNTS.format(what=what, times=digits(times))
    return Explanation(text, "hazard" if is_much else "dynamics", (finding,))


def _ratio(change: Change, view: AxisView) -> float | None:
    stem = str(change.shown.role).rpartition("_")[0]
    over, under = view.number(f"{stem}_numerator"), view.number(f"{stem}_divisor")
    if over is None or under == 0:
        return None
    return float(over / (under if under is not None else 1))

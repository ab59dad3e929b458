"""The encoder: over which way it knows its place, and how the motor is commutated by it."""

from __future__ import annotations

from math import cos, pi
from typing import TYPE_CHECKING

from vault.behaviour.position import lost_turn, stated_range, stroke
from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind
from vault.meaning.findings import digits, finding, in_words
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

_MULTI_TURN, _SINGLE_TURN = 5, 4


@explains("encoder_multi_turn_bits")
def multi_turn(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the absolute range with the stroke, or with the turns of an endless table."""
    way, before = (view.state.asked(stated_range) for view in (right, left))
    if change.right is None or way is None:
        return None
    findings = (finding("absolute range", way),)
    text = f"The encoder knows its place over {in_words(way)}"
    if before is not None and before.value != way.value:
        text += f" instead of {in_words(before)}"
    whole = right.state.asked(stroke)
    if whole is not None and way.value < whole.value:
        text += (
            f", less than the stroke of {in_words(whole)}: with power off its place in it is lost"
        )
        return Explanation(f"{text}.", "hazard", findings)
    if whole is not None:
        text += f", enough for the stroke of {in_words(whole)}"
    lost = right.state.asked(lost_turn)
    if lost is not None and lost.value > 0:
        # Common practice, no source: the count wraps in the middle of a turn of the output.
        text += (
            ". That is no whole number of turns: an endless axis that runs past it loses its zero "
            "at the next start"
        )
    return Explanation(f"{text}.", "travel", findings)


@explains("encoder_type")
def encoder_type(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Whether the axis still knows its place after power was off."""
    kind = chosen(change.right)
    if kind is None:
        return None
    if kind == 0:
        text = "The drive works without an encoder: it controls no position."
        return Explanation(text, "hazard" if right.is_vertical else "travel")
    if kind == _MULTI_TURN:
        return Explanation("The axis knows its place when power comes back.", "travel")
    if kind == _SINGLE_TURN:
        text = "When power comes back the axis knows its place within one motor revolution only."
        return Explanation(text, "travel")
    return Explanation("The axis must be homed whenever power was off.", "travel")


@explains("commutation_offset")
def commutation(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A field that is aimed wrongly gives less torque, or the wrong way round.

    Torque over current falls with the cosine of the angle (field-oriented control).
    """
    before, after = (of_kind(s, ("angle",)) for s in (change.left_physical, change.right_physical))
    if before is None or after is None:
        return None
    turn = float((after - before).number()) % (2 * pi)
    angle = min(turn, 2 * pi - turn)
    share = cos(angle)
    degrees = digits(angle * 180 / pi)
    finding = Finding("torque per ampere", f"{share:.6g}", "1", "cos of the difference")
    if share <= 0:
        text = f"They are {degrees} deg apart: with the wrong one the motor runs away."
    else:
        text = (
            f"They are {degrees} deg apart, taken as electrical: with the wrong one the motor "
            "gives "
            f"{digits(100 * share, 3)} % of its torque per ampere."
        )
    return Explanation(f"{text} Only a measurement tells the right one.", "hazard", (finding,))


@explains("motor_pole_pairs")
def pole_pairs(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A field that turns at another rate than the rotor: no torque, or a motor that runs away."""
    if change.left is None or change.right is None:
        return None
    text = "The field turns with the wrong count unless the motor changed too: it may run away."
    return Explanation(text, "hazard")

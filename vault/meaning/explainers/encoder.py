"""The encoder: over which way it knows its place, and how the motor is commutated by it."""

from __future__ import annotations

from math import cos, pi
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import instead_of, of_kind
from vault.meaning.findings import digits, figure, length_or_angle
from vault.model.choices import chosen

if TYPE_CHECKING:
    from fractions import Fraction

    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

KNOWS = "The encoder knows its place over {range}{instead}{stroke}."
STROKE = {
    "less": ", less than the stroke of {length}: with power off its place in it is lost",
    "enough": ", enough for the stroke of {length}",
    "endless": ". That is no whole number of turns: an endless axis that runs past it loses its "
    "zero at the next start",
}
AT_POWER_ON = {
    0: "The drive works without an encoder: it controls no position.",
    4: "When power comes back the axis knows its place within one motor revolution only.",
    5: "The axis knows its place when power comes back.",
}
"""By the number of `encoder_type` in `vault.model.choices`: none, single-turn, multi-turn."""
HOMED = "The axis must be homed whenever power was off."
COMMUTATION = {
    "runs away": "They are {angle} deg apart: with the wrong one the motor runs away.",
    "weak": "They are {angle} deg apart, taken as electrical: with the wrong one the motor gives "
    "{share} % of its torque per ampere.",
}
MEASURED = "Only a measurement tells the right one."
FIELD = "The field turns with the wrong count unless the motor changed too: it may run away."

_MOST_BITS = 64


def absolute_range(view: AxisView) -> float | None:
    """Way (m or rad) over which the encoder of the set knows its place: 2^bits L / G."""
    bits, travel = view.number("encoder_multi_turn_bits"), view.scaling.travel
    if bits is None or travel is None or bits.denominator != 1 or not 0 <= bits <= _MOST_BITS:
        return None
    return formulas.multi_turn_range(int(bits), float(travel.per_turn.number()), float(travel.gear))


@explains("encoder_multi_turn_bits")
def multi_turn(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the absolute range with the stroke, or with the turns of an endless table."""
    way, travel = absolute_range(right), right.scaling.travel
    if change.right is None or way is None or travel is None:
        return None
    like, before = travel.per_turn, absolute_range(left)
    findings = (figure("absolute range", way, "2^bits L / G", like=like),)
    stroke, said, worst = right.stroke, "", "travel"
    if stroke is not None:
        less = way < stroke
        said = STROKE["less" if less else "enough"].format(length=length_or_angle(stroke, like))
        worst = "hazard" if less else worst
    elif _is_uneven(right, travel.gear):
        said = STROKE["endless"]
    text = length_or_angle(way, like)
    was = None if before is None else length_or_angle(before, like)
    text = KNOWS.format(range=text, instead=instead_of(was, text), stroke=said)
    return Explanation(text, worst, findings)


def _is_uneven(view: AxisView, gear: Fraction) -> bool:
    """Whether the count of an endless axis wraps within a turn (common practice, no source)."""
    bits = view.number("encoder_multi_turn_bits")
    kind = view.mechanics.kind if view.mechanics is not None else ""
    return (
        kind in ("rotary_table", "rotary")
        and bits is not None
        and (2 ** int(bits) / gear).denominator != 1
    )


@explains("encoder_type")
def encoder_type(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Whether the axis still knows its place after power was off."""
    kind = chosen(change.right)
    if kind is None:
        return None
    worst = "hazard" if kind == 0 and right.is_vertical else "travel"
    return Explanation(AT_POWER_ON.get(kind, HOMED), worst)


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
    finding = Finding("torque per ampere", f"{share:.6g}", "1", "cos of the difference")
    text = COMMUTATION["runs away" if share <= 0 else "weak"].format(
        angle=digits(angle * 180 / pi), share=digits(100 * share, 3)
    )
    return Explanation(f"{text} {MEASURED}", "hazard", (finding,))


@explains("motor_pole_pairs")
def pole_pairs(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A field that turns at another rate than the rotor: no torque, or a motor that runs away."""
    if change.left is None or change.right is None:
        return None
    return Explanation(FIELD, "hazard")

"""Gear ratio, feed constant, encoder resolution, direction: how far the axis really goes."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import digits
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

_COMMANDED_MM = 150


def travel_ratio(left: AxisView, right: AxisView) -> Fraction | None:
    """Way on the right over way on the left for the same command in user units."""
    before, after = left.scaling.actual_unit, right.scaling.actual_unit
    if before is not None and after is not None and before.kind == after.kind:
        return after.ratio / before.ratio
    turns = left.scaling.motor_turns, right.scaling.motor_turns
    if turns[0] and turns[1]:
        return turns[1] / turns[0]
    return None


@explains(
    "position_encoder_increments",
    "position_encoder_motor_revolutions",
    "gear_ratio_motor_revolutions",
    "gear_ratio_shaft_revolutions",
    "feed_constant_feed",
    "feed_constant_shaft_revolutions",
    "encoder_single_turn_bits",
    "si_unit_position",
)
def scale(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Say how far the axis goes for what it is told, before and after."""
    errors = left.scaling.travel_error, right.scaling.travel_error
    said, findings = [], []
    for words, view, error in (("before", left, errors[0]), ("after", right, errors[1])):
        if error is None:
            continue
        findings.append(
            Finding(
                f"travel error k {words}",
                digits(float(error), 9),
                "1",
                "(R_set G_set / F_set) / (R_real G_real / L_real), over the stated unit",
            )
        )
        said.append(_commanded(view, error, words))
    if not said:
        ratio = travel_ratio(left, right)
        if ratio is None:
            return None
        findings.append(
            Finding("travel ratio", digits(float(ratio), 9), "1", "from the two sets alone")
        )
        text = (
            f"The same command now moves {digits(float(ratio), 6)} times as far; the machine as "
            "built is not recorded, so which of the two is right cannot be told."
        )
        return Explanation(text, "travel", tuple(findings))
    return Explanation(" ".join(said), "travel", tuple(findings))


def _commanded(view: AxisView, error: Fraction, words: str) -> str:
    nominal = view.scaling.nominal_unit
    unit = "mm" if nominal is None or nominal.kind == "length" else "deg"
    way = digits(float(_COMMANDED_MM * error), 6)
    verb = "moved" if words == "before" else "now moves"
    if error == 1:
        return f"A commanded {_COMMANDED_MM} {unit} {verb} {way} {unit}, as it should."
    return f"A commanded {_COMMANDED_MM} {unit} {verb} {way} {unit}."


@explains("polarity", "encoder_direction")
def direction(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A turned sign sends the axis the other way."""
    load = " It hangs: what lifted now lowers." if right.is_vertical else ""
    return Explanation(
        "The direction reverses: the axis runs the other way than its program and its limit "
        f"switches expect.{load}",
        "hazard",
    )


@explains("encoder_multi_turn_bits")
def multi_turn(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the absolute range with the stroke."""
    from vault.meaning import physics
    from vault.meaning.findings import figure, length_or_angle

    bits, travel = right.number("encoder_multi_turn_bits"), right.scaling.travel
    if bits is None or travel is None:
        return None
    way = physics.multi_turn_range(int(bits), float(travel.per_turn.number()), float(travel.gear))
    like: Physical = travel.per_turn
    text = f"The encoder now knows its place over {length_or_angle(way, like)}"
    stroke = right.stroke
    findings = (figure("absolute range", way, "2^bits L / G", like=like),)
    if stroke is None:
        return Explanation(f"{text}.", "travel", findings)
    if way < stroke:
        text += f", less than the stroke of {length_or_angle(stroke, like)}: home is lost in it"
        return Explanation(f"{text}.", "hazard", findings)
    return Explanation(
        f"{text}, enough for the stroke of {length_or_angle(stroke, like)}.", "travel", findings
    )

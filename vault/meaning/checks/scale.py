"""k = 1: a commanded way is the way made; and nothing that scales is zero."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import MECHANICS, codes, is_endless, stated
from vault.meaning.findings import digits, figure
from vault.meaning.reader import unit_for

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

_ROUNDING = Fraction(1, 10**6)
"""A circumference is written in axis.yaml rounded (1 um in a metre)."""

_COMMANDED = {"mm": 150, "in": 6, "deg": 150}
_FACTORS = (
    "position_encoder_increments",
    "position_encoder_motor_revolutions",
    "gear_ratio_motor_revolutions",
    "gear_ratio_shaft_revolutions",
    "feed_constant_feed",
    "feed_constant_shaft_revolutions",
)


@rule
def travel_scale(view: AxisView) -> Iterator[Complaint]:
    """k = 1 (CiA 402-2 factor group): a commanded way is the way made."""
    error, travel = view.scaling.travel_error, view.scaling.travel
    if error is None or travel is None:
        return
    endless = is_endless(view)
    if abs(error - 1) <= (0 if endless else _ROUNDING):
        return
    kind = "length" if travel.per_turn.kind == "length" else "angle"
    unit = unit_for(kind) or ("m" if kind == "length" else "rad")
    way = _COMMANDED.get(unit, 1)
    count = 9 if abs(float(error) - 1) < 1e-3 else 6
    again = ", and the error adds up turn by turn" if endless else ""
    yield Complaint(
        "travel_scale",
        "hazard" if view.is_vertical else "travel",
        f"Parameters and machine disagree: a commanded {way} {unit} moves "
        f"{digits(way * float(error), count)} {unit}{again}.",
        (*codes(view, *_FACTORS, "si_unit_position"), MECHANICS),
        (
            figure(
                "travel error k",
                float(error),
                "(R_set G_set / F_set) / (R_real G_real / L_real), over the stated unit",
                unit="1",
            ),
        ),
    )


@rule
def zero_factor(view: AxisView) -> Iterator[Complaint]:
    """Nothing can be computed through a gear, feed or encoder of zero."""
    for role in _FACTORS:
        parameter = view.find(role)
        if parameter is not None and parameter.value == 0:
            yield Complaint(
                "zero_factor",
                "travel",
                f"{parameter.name} is 0: no commanded way can be turned into motor revolutions.",
                (parameter.code,),
                (stated(parameter),),
            )


@rule
def open_turn(view: AxisView) -> Iterator[Complaint]:
    """On an endless axis a turn must be a whole number of counts, or its rest adds up."""
    own = view.scaling
    counted = own.encoder_fitted or own.encoder
    if not is_endless(view) or own.travel is None or counted is None:
        return
    counts = counted * own.travel.gear
    if counts.denominator == 1:
        return
    yield Complaint(
        "open_turn",
        "travel",
        f"A turn of the axis takes {digits(float(counts), 9)} increments: unless the drive carries "
        "the fraction along, it adds up turn by turn.",
        (*codes(view, *_FACTORS), MECHANICS),
        (figure("increments of a turn", float(counts), "R G", unit="increments"),),
    )


@rule
def modulo_range(view: AxisView) -> Iterator[Complaint]:
    """Positions of an endless axis start over after whole turns, or they wander.

    Some drives count the upper end as its own place, so a range of one unit less is whole too.
    """
    low, high = view.number("min_position_range_limit"), view.number("max_position_range_limit")
    turn = _user_units_of_a_turn(view)
    if not is_endless(view) or low is None or high is None or turn is None or high <= low:
        return
    width = high - low
    if any((size / turn).denominator == 1 for size in (width, width + 1)) or width > 10**6 * turn:
        return
    yield Complaint(
        "modulo_range",
        "travel",
        f"Positions start over after {digits(float(width), 9)} user units, a turn has "
        f"{digits(float(turn), 9)}: from turn to turn they lie elsewhere.",
        (*codes(view, "min_position_range_limit", "max_position_range_limit"), MECHANICS),
        (figure("user units of a turn", float(turn), "gear as built / turns a unit", unit="1"),),
    )


def _user_units_of_a_turn(view: AxisView) -> Fraction | None:
    """User units in a turn of the axis as built."""
    own = view.scaling
    if own.travel is None or not own.motor_turns:
        return None
    return own.travel.gear / own.motor_turns

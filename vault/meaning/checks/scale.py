"""k = 1: a commanded way is the way made; and nothing that scales is zero."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.position import (
    closes,
    counts_of_turn,
    increments_of_turn,
    is_endless,
    lost_turn,
    time_to_run_over,
    units_of_turn,
    user_units_of_turn,
)
from vault.behaviour.position_limits import RANGE_HIGH, RANGE_LOW
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import MECHANICS, codes, holds_position, stated
from vault.meaning.findings import digits, duration, figure, finding, in_words
from vault.meaning.reader import unit_for

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

_ROUNDING = Fraction(1, 10**6)
"""A circumference is written in axis.yaml rounded (1 um in a metre)."""

_MOST_TURNS = 10**6
"""A range of more turns than that is none that anybody means."""

MOVES = (
    "Parameters and machine disagree: a commanded {commanded} {unit} moves {moved} {unit}{adds_up}."
)
ADDS_UP = ", and the error adds up turn by turn"
ZERO_FACTOR = "{name} is 0: no commanded way can be turned into motor revolutions."
OPEN_TURN = (
    "A turn of the axis takes {counts} increments: unless the drive carries the fraction along, "
    "it adds up turn by turn."
)
MODULO_RANGE = (
    "Positions start over after {width} user units, a turn has {turn}: from turn to turn they lie "
    "elsewhere."
)
RUNS_OVER = (
    "The encoder's turns are no whole number of turns of the axis: {after}, and unless the drive "
    "carries that along, zero lies {distance} elsewhere at the next start."
)
SOONEST = "they run over after {time} one way at profile speed"
BY_DUTY = "by its duty they run over after {time}"
NOT_TOLD_WHEN = "some time they run over"

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
    endless = view.state.asked(is_endless)
    if abs(error - 1) <= (0 if endless else _ROUNDING):
        return
    kind = "length" if travel.per_turn.kind == "length" else "angle"
    unit = unit_for(kind) or ("m" if kind == "length" else "rad")
    way = _COMMANDED.get(unit, 1)
    count = 9 if abs(float(error) - 1) < 1e-3 else 6
    yield Complaint(
        "travel_scale",
        "hazard" if view.is_vertical else "travel",
        MOVES.format(
            commanded=way,
            unit=unit,
            moved=digits(way * float(error), count),
            adds_up=ADDS_UP if endless else "",
        ),
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
                ZERO_FACTOR.format(name=parameter.name),
                (parameter.code,),
                (stated(parameter),),
            )


@rule
def open_turn(view: AxisView) -> Iterator[Complaint]:
    """On an endless axis a turn must be a whole number of counts, or its rest adds up."""
    counts, size = view.state.asked(counts_of_turn), view.state.asked(increments_of_turn)
    if counts is None or size is None or counts.denominator == 1:
        return
    yield Complaint(
        "open_turn",
        "travel",
        OPEN_TURN.format(counts=digits(size.value, 9)),
        (*codes(view, *_FACTORS), MECHANICS),
        (finding("increments of a turn", size),),
    )


@rule
def modulo_range(view: AxisView) -> Iterator[Complaint]:
    """Positions of an endless axis start over after whole turns, or they wander."""
    low, high = view.number(RANGE_LOW), view.number(RANGE_HIGH)
    turn, size = view.state.asked(units_of_turn), view.state.asked(user_units_of_turn)
    if low is None or high is None or turn is None or size is None or high <= low:
        return
    width = high - low
    if closes(width, turn) or width > _MOST_TURNS * turn:
        return
    yield Complaint(
        "modulo_range",
        "travel",
        MODULO_RANGE.format(width=digits(float(width), 9), turn=digits(size.value, 9)),
        (*codes(view, RANGE_LOW, RANGE_HIGH), MECHANICS),
        (finding("user units of a turn", size),),
    )


@rule
def encoder_runs_over(view: AxisView) -> Iterator[Complaint]:
    """Where a gear does not close, an endless axis loses its zero when the turns run over."""
    lost, time = view.state.asked(lost_turn), view.state.asked(time_to_run_over)
    if lost is None or lost.value == 0 or not holds_position(view):
        return
    after = NOT_TOLD_WHEN
    if time is not None:
        words = SOONEST if time.bound == "at_least" else BY_DUTY
        after = words.format(time=duration(time.value))
    figures = [finding("zero lost when the turns run over", lost)]
    figures += [] if time is None else [finding("time until the turns run over", time)]
    yield Complaint(
        "encoder_runs_over",
        "travel",
        RUNS_OVER.format(after=after, distance=in_words(lost)),
        (*codes(view, "encoder_multi_turn_bits"), MECHANICS),
        tuple(figures),
    )

"""Drives that are set in hertz: frequencies against the motor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour import frequency
from vault.behaviour.speed import most_motor_speed, rated_motor_speed
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, MOTOR, codes, is_frequency_drive
from vault.meaning.findings import digits, finding, finding_in_turns, turns_per_minute

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

TOO_FAST = (
    "At the highest frequency of {hertz} Hz the motor turns at about {turns} r/min; it may turn "
    "{most} r/min."
)
FIELD_WEAKENED = (
    "The highest frequency of {hertz} Hz{turns} is above the rated {rated} Hz of the motor: about "
    "{share} % of its torque is left there."
)
ABOUT_TURNS = ", about {turns} r/min,"
OTHER_PAIRS = (
    "A motor of {hertz} Hz and {turns} r/min has {fitting} pole pairs; the set says {pairs}."
)


def _places(view: AxisView, *roles: str) -> tuple[str, ...]:
    return (*codes(view, *roles), *((MOTOR,) if view.axis and view.axis.motor else ()))


@rule
def highest_frequency(view: AxisView) -> Iterator[Complaint]:
    """Highest frequency against the motor's highest speed, and the rated one."""
    state = view.state
    hertz = state.asked(frequency.highest_frequency)
    if hertz is None or not is_frequency_drive(view):
        return
    field, most = frequency.field_speed(state, hertz), state.asked(most_motor_speed)
    if field is not None and most and field.value > most * CLOSE:
        turns, limit = turns_per_minute(field.value), turns_per_minute(most)
        yield Complaint(
            "highest_frequency",
            "hazard",
            TOO_FAST.format(hertz=digits(hertz), turns=turns, most=limit),
            _places(view, "max_frequency", "motor_pole_pairs", "motor_max_speed"),
            (finding_in_turns("speed of the field", field),),
        )
        return
    share, rated = frequency.torque_share(state, hertz), state.asked(frequency.rated_frequency)
    if share is None or rated is None or hertz <= rated * CLOSE:
        return
    about = "" if field is None else ABOUT_TURNS.format(turns=turns_per_minute(field.value))
    left = digits(100 * share.value, 3)
    yield Complaint(
        "highest_frequency",
        "dynamics",
        FIELD_WEAKENED.format(hertz=digits(hertz), turns=about, rated=digits(rated), share=left),
        codes(view, "max_frequency", "rated_frequency", "motor_pole_pairs"),
        (finding("torque above rated frequency", share),),
    )


@rule
def pole_pairs(view: AxisView) -> Iterator[Complaint]:
    """An induction motor runs a little slower than its field."""
    state = view.state
    pairs, fitting = state.asked(frequency.pole_pairs), state.asked(frequency.fitting_pole_pairs)
    hertz, turns = state.asked(frequency.rated_frequency), state.asked(rated_motor_speed)
    if pairs is None or fitting is None or hertz is None or turns is None or pairs == fitting.value:
        return
    yield Complaint(
        "pole_pairs",
        "electrical",
        OTHER_PAIRS.format(
            hertz=digits(hertz),
            turns=turns_per_minute(turns),
            fitting=digits(fitting.value),
            pairs=digits(pairs),
        ),
        _places(view, "motor_pole_pairs", "rated_frequency", "motor_rated_speed"),
        (finding("pole pairs", fitting),),
    )

"""The duty of the axis record: whether it can be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.force import hangs
from vault.behaviour.heat import ROUNDING, duty, end_of, moves_time, places
from vault.behaviour.position import stroke
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import commanded_speed
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, MECHANICS, codes
from vault.meaning.findings import figure, in_reader_units, seconds
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.meaning.axis_view import AxisView

TOO_LONG = (
    "The moves of the recorded duty take {taken}, its cycle is {cycle}: what the duty asks of "
    "motor and resistor cannot be told. Speeds and ramps that a move does not name are those of "
    "the set."
)
NO_WAY_BACK = (
    "The moves of the recorded duty end {distance} from where they began: the way back is missing, "
    "and what it takes of motor and resistor is not reckoned."
)
TOO_FAR = "The moves of the recorded duty go over {distance}, the stroke is {stroke}."
TOO_FAST = "The recorded duty moves at {speed}, the set lets the axis go {most}."

_DUTY = "axis.yaml: duty"


@rule
def duty_cycle(view: AxisView) -> Iterator[Complaint]:
    """The moves must fit in their cycle, else nothing can be told of heat and regeneration."""
    wanted, taken = view.state.asked(duty), view.state.asked(moves_time)
    cycle = si_number(wanted.cycle) if wanted is not None else None
    if taken is None or cycle is None or taken <= cycle + ROUNDING:
        return
    yield Complaint(
        "duty_cycle",
        "dynamics",
        TOO_LONG.format(taken=seconds(taken), cycle=seconds(cycle)),
        (
            _DUTY,
            *codes(view, "profile_velocity", "profile_acceleration", "profile_deceleration"),
        ),
        (
            figure("time of the moves", taken, "v / a + s / v, waits counted", unit="s"),
            figure("cycle", cycle, "axis.yaml: duty", unit="s"),
        ),
    )


@rule
def duty_way_back(view: AxisView) -> Iterator[Complaint]:
    """Where an axis has ends, or its load hangs, moves that repeat end where they began."""
    wanted, unit = view.state.asked(duty), view.state.asked(axis_unit)
    if wanted is None or unit is None or abs(end := end_of(wanted)) <= ROUNDING:
        return
    if view.state.asked(stroke) is None and not view.state.asked(hangs):
        return  # it may go on for ever
    yield Complaint(
        "duty_way_back",
        "dynamics",
        NO_WAY_BACK.format(distance=in_reader_units(abs(end), unit)),
        (_DUTY,),
        (figure("end of the moves", end, "sum of their distances", unit=unit),),
    )


@rule
def duty_stroke(view: AxisView) -> Iterator[Complaint]:
    """The moves must fit between the hard stops."""
    wanted, most = view.state.asked(duty), view.state.asked(stroke)
    if wanted is None or most is None:
        return
    found = places(wanted)
    taken = max(found) - min(found)
    if taken <= most.value * CLOSE:
        return
    yield Complaint(
        "duty_stroke",
        "travel",
        TOO_FAR.format(
            distance=in_reader_units(taken, most.unit),
            stroke=in_reader_units(most.value, most.unit),
        ),
        (_DUTY, MECHANICS),
        (
            figure("way of the moves", taken, "highest less lowest place", unit=most.unit),
            figure("stroke", most.value, most.basis, unit=most.unit),
        ),
    )


@rule
def duty_speed(view: AxisView) -> Iterator[Complaint]:
    """A move must not be faster than the set lets the axis go."""
    wanted, most = view.state.asked(duty), view.state.asked(commanded_speed)
    if wanted is None or most is None:
        return
    fastest = max((si_number(move.speed) or 0.0 for move in wanted.moves), default=0.0)
    if fastest <= most.value * CLOSE:
        return
    yield Complaint(
        "duty_speed",
        "dynamics",
        TOO_FAST.format(
            speed=in_reader_units(fastest, most.unit), most=in_reader_units(most.value, most.unit)
        ),
        (_DUTY, *codes(view, "max_profile_velocity", "profile_velocity", "max_motor_speed")),
        (
            figure("fastest move", fastest, _DUTY, unit=most.unit),
            figure("highest commanded speed", most.value, most.basis, unit=most.unit),
        ),
    )

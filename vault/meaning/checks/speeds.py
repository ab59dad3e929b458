"""Speeds of the set against each other, the motor and the machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.facts import MARGINS, Figure
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import (
    fastest_stated,
    most_motor_speed,
    motor_top_speed,
    rated_motor_speed,
    safe_limited_speed,
    stated_maximum_speed,
    stated_profile_speed,
    worst_speed,
)
from vault.behaviour.speed import machine_speed as against_machine
from vault.behaviour.speed import motor_speed_limit as limit_of_motor
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.margins import complaint as below_edge
from vault.meaning.checks.sources import CLOSE, MECHANICS, MOTOR, codes, is_frequency_drive
from vault.meaning.findings import finding, finding_in_turns, in_words, turns_per_minute
from vault.meaning.margin_sentences import amount

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

_MOST, _PROFILE = "max_profile_velocity", "profile_velocity"
_RATED = {"rated_speed": "motor_rated_speed", "max_speed": "motor_max_speed"}

BEYOND_MOTOR = (
    "At its highest speed the axis turns the motor at {turns} r/min; it may turn {most} r/min."
)
NEVER_TURNS = (
    "The highest speed of the axis needs {turns} r/min of the motor, which the set holds to "
    "{limit} r/min: it is never reached."
)
ABOVE_RATED = (
    "At its {which} speed the axis turns the motor at {turns} r/min, above its rated {rated} "
    "r/min: it does not give its rated torque there for long."
)
BEYOND_MACHINE = "The set lets the axis go {speed}; the machine is built for {most}."
ABOVE_MAXIMUM = (
    "The profile speed of {speed} is above the maximum of {most} in the same set: it is never "
    "reached."
)
ABOVE_REACH = (
    "The safely limited speed of {speed} is above the {most} that the axis reaches: {acts}."
)
ACTS = {
    "never": "it never acts",
    "late": "it acts only where the drive's own limit fails; the motor makes {motor}",
}


def _motor_places(view: AxisView, *roles: str) -> tuple[str, ...]:
    return (*codes(view, *roles), *((MOTOR,) if view.axis and view.axis.motor else ()))


def _of_motor(view: AxisView, speed: float) -> Figure:
    """A speed of the motor (rad/s) as a figure."""
    return Figure(speed, "rad/s", "the set" if is_frequency_drive(view) else "60 v G / L")


@rule
def motor_speed(view: AxisView) -> Iterator[Complaint]:
    """The highest speed against what the motor may turn."""
    state = view.state
    fastest, most = state.asked(fastest_stated), state.asked(most_motor_speed)
    if fastest is None or fastest.motor is None or not most:
        yield from below_edge(view, MARGINS["motor_speed"])
        return
    limit = state.asked(limit_of_motor)
    held = fastest.motor if limit is None else min(fastest.motor, limit)
    if held <= most * CLOSE:
        yield from below_edge(view, MARGINS["motor_speed"])
        return
    yield Complaint(
        "motor_speed",
        "hazard",
        BEYOND_MOTOR.format(turns=turns_per_minute(held), most=turns_per_minute(most)),
        _motor_places(view, fastest.role, "max_motor_speed", _RATED["max_speed"]),
        (finding_in_turns("motor speed", _of_motor(view, fastest.motor)),),
    )


@rule
def motor_speed_limit(view: AxisView) -> Iterator[Complaint]:
    """A limit of the motor speed below what the highest speed of the axis needs."""
    fastest, limit = view.state.asked(fastest_stated), view.state.asked(limit_of_motor)
    if fastest is None or fastest.motor is None or limit is None or fastest.motor <= limit * CLOSE:
        return
    yield Complaint(
        "motor_speed_limit",
        "dynamics",
        NEVER_TURNS.format(turns=turns_per_minute(fastest.motor), limit=turns_per_minute(limit)),
        codes(view, fastest.role, "max_motor_speed"),
        (finding_in_turns("motor speed", _of_motor(view, fastest.motor)),),
    )


@rule
def rated_speed(view: AxisView) -> Iterator[Complaint]:
    """A profile speed above the rated one; the highest speed too where no more is recorded."""
    state = view.state
    rated, most = state.asked(rated_motor_speed), state.asked(most_motor_speed)
    stated, which = state.asked(stated_profile_speed), "profile"
    if not most and (highest := state.asked(fastest_stated)) is not None:
        stated, which = highest, "highest"
    if not rated or stated is None or stated.motor is None or is_frequency_drive(view):
        return
    turns = stated.motor
    if turns <= rated * CLOSE or (most and turns > most * CLOSE):
        return
    highest_role = (_MOST,) if which == "highest" else ()
    yield Complaint(
        "rated_speed",
        "dynamics",
        ABOVE_RATED.format(
            which=which, turns=turns_per_minute(turns), rated=turns_per_minute(rated)
        ),
        _motor_places(view, *highest_role, _PROFILE, _RATED["rated_speed"]),
        (finding_in_turns("motor speed", _of_motor(view, turns)),),
    )


@rule
def machine_speed(view: AxisView) -> Iterator[Complaint]:
    """The highest speed against what the machine is built for."""
    fastest, held = view.state.asked(fastest_stated), view.state.asked(against_machine)
    if held is None or held.need.value <= held.have.value * CLOSE:
        return
    reached = Figure(held.need.value, held.need.unit, "the set, on the machine as built")
    yield Complaint(
        "machine_speed",
        "hazard",
        BEYOND_MACHINE.format(speed=in_words(reached), most=in_words(held.have)),
        (*codes(view, "max_motor_speed" if fastest is None else fastest.role), MECHANICS),
        (finding("highest speed", reached),),
    )


@rule
def profile_speed(view: AxisView) -> Iterator[Complaint]:
    """A profile speed above the maximum of the same set: the drive cuts it, or refuses."""
    state = view.state
    asked, allowed = state.asked(stated_profile_speed), state.asked(stated_maximum_speed)
    if asked is None or allowed is None or is_frequency_drive(view):
        return
    if asked.axis is None or allowed.axis is None or asked.axis <= allowed.axis * CLOSE:
        return
    unit = state.ask(axis_unit)
    speed, most = (Figure(size, f"{unit}/s", "the set") for size in (asked.axis, allowed.axis))
    yield Complaint(
        "profile_speed",
        "dynamics",
        ABOVE_MAXIMUM.format(speed=in_words(speed), most=in_words(most)),
        codes(view, _PROFILE, _MOST),
        (finding("profile speed", speed), finding("maximum speed", most)),
    )


@rule
def safely_limited_speed(view: AxisView) -> Iterator[Complaint]:
    """A safely limited speed that the axis cannot reach limits nothing."""
    state = view.state
    worst, limit = state.asked(worst_speed), state.asked(safe_limited_speed)
    if limit is None or worst is None or worst.bound != "exact":
        return
    if limit <= worst.value * CLOSE:
        return
    motor = state.asked(motor_top_speed)
    acts = ACTS["never"]
    if motor is not None and motor.value > limit * CLOSE:
        acts = ACTS["late"].format(motor=in_words(motor))
    yield Complaint(
        "safely_limited_speed",
        "dynamics",
        ABOVE_REACH.format(speed=amount(limit, worst.unit), most=in_words(worst), acts=acts),
        codes(view, "safe_limited_speed", "max_motor_speed"),
        (finding("worst speed", worst),),
    )

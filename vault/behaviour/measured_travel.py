"""What would explain that a measured move is another one than was commanded.

The travel ratio is measured over commanded; 1 where parameters and machine agree. With other
settings than the machine has it is (R_set G_set / F_set) / (R_real G_real / L_real) (CiA 402-2,
factor group), negative where the axis turns the other way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import isclose, log2, pi
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from vault.behaviour.scaling import Scaling
    from vault.behaviour.state import State

Cause = Literal[
    "direction", "encoder", "gear", "feed", "together", "mix_up", "bits", "not_counted",
    "not_fitted", "upside_down", "other_gear", "other_lead",
]  # fmt: skip
"""What is set otherwise than it is, or than it is recorded."""


@dataclass(frozen=True, slots=True)
class TravelCause:
    """A setting that would give `ratio`; `size` is the gear, lead (mm), factor or bits it is about.

    `parts` are those of which several hold together.
    """

    cause: Cause
    role: str
    ratio: float
    size: Fraction | float | None = None
    parts: tuple[TravelCause, ...] = ()


MIX_UPS = (25.4, 1000.0, 360.0, 2 * pi, 180 / pi, 60.0)
"""Inch and mm, unit and thousandth, degree and revolution, radian and revolution, degree and
radian, minute and second: what people take for each other; common practice, no source."""
_MOST_BITS = 16
_STAGES = tuple(map(Fraction, (2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 16, 20, 25, 28, 30, 32, 35, 40,
                               50, 64, 70, 80, 100)))  # fmt: skip
"""Ratios that planetary gearboxes of one and two stages come in; common practice, no source."""
_LEADS = tuple(map(Fraction, ("1", "2", "2.5", "3", "4", "5", "5.08", "6", "8", "10", "12", "12.7",
                              "16", "20", "25", "25.4", "32", "40", "50")))  # fmt: skip
"""Leads of ball screws in mm: ISO 3408-2, and inch screws; from memory."""
_ROUNDING = Fraction(1, 10**6)
"""A circumference is written in axis.yaml rounded (1 um in a metre)."""
_GEAR, _FEED, _INCREMENTS = (
    "gear_ratio_motor_revolutions", "feed_constant_feed", "position_encoder_increments",
)  # fmt: skip


def causes_of(state: State, ratio: float, tolerance: float) -> Iterator[TravelCause]:
    """What gives a travel ratio within a tolerance (a share), likeliest first."""
    if ratio < 0:
        yield TravelCause("direction", "polarity", -1.0)
    size = abs(ratio)
    if abs(size - 1) <= tolerance:
        return
    for one in (
        *against_the_record(state), *_mix_ups(state), *_bits(state, size), *_gears(state.scaling),
        *_leads(state),
    ):  # fmt: skip
        if isclose(one.ratio, size, rel_tol=tolerance):
            yield one


def against_the_record(state: State) -> tuple[TravelCause, ...]:
    """Settings that do not agree with the machine as recorded, one by one and together."""
    own = state.scaling
    errors: tuple[tuple[Cause, str, Fraction | None], ...] = (
        ("encoder", encoder_role(state), own.encoder_ratio),
        ("gear", _GEAR, None if own.travel is None else (own.gear or 1) / own.travel.gear),
        ("feed", _FEED, feed_error(own)),
    )
    found = tuple(
        TravelCause(cause, role, float(error))
        for cause, role, error in errors
        if error is not None and error != 1
    )
    if own.travel_error is None or len(found) < 2:
        return found
    both = TravelCause("together", found[0].role, float(own.travel_error), parts=found)
    return (*found, both)


def encoder_role(state: State) -> str:
    """The role by which the drive knows its encoder."""
    is_set = state.value(_INCREMENTS) is not None
    return _INCREMENTS if is_set else "encoder_single_turn_bits"


def feed_error(own: Scaling) -> Fraction | None:
    """Way per turn as built over the way that is set, in the unit that is stated."""
    if own.travel is None or own.feed is None or own.nominal_unit is None:
        return None
    step, unit = own.travel.per_turn, own.nominal_unit
    if step.kind != unit.kind or step.pi_power != unit.pi_power:
        return None
    error = step / (unit * own.feed)
    return Fraction(1) if abs(error - 1) <= _ROUNDING else error


def _mix_ups(state: State) -> Iterator[TravelCause]:
    role = _FEED if state.value(_FEED) is not None else "si_unit_position"
    for factor in MIX_UPS:
        for ratio in (factor, 1 / factor):
            yield TravelCause("mix_up", role, ratio, factor)


def _bits(state: State, size: float) -> Iterator[TravelCause]:
    """Powers of two: R is that of an encoder with more or fewer bits."""
    power = round(log2(size))
    if power and abs(power) <= _MOST_BITS:
        yield TravelCause("bits", encoder_role(state), 2.0**power, Fraction(power))


def _gears(own: Scaling) -> Iterator[TravelCause]:
    gear = own.gear
    if gear is None:
        # No gear in the drive: a stage that is fitted and not counted makes the move short.
        for stage in _STAGES:
            yield TravelCause("not_counted", _GEAR, float(1 / stage), stage)
        return
    if gear != 1:
        yield TravelCause("not_fitted", _GEAR, float(gear), gear)
        yield TravelCause("upside_down", _GEAR, float(gear * gear), gear)
    for stage in (Fraction(1), *_STAGES):
        if stage != gear:
            yield TravelCause("other_gear", _GEAR, float(gear / stage), stage)


def _leads(state: State) -> Iterator[TravelCause]:
    travel, kind = state.scaling.travel, state.record("mechanics.kind")
    if kind not in (None, "ball_screw") or travel is None or travel.per_turn.kind != "length":
        return
    own = travel.per_turn.ratio * 1000
    for lead in _LEADS:
        if lead != own:
            yield TravelCause("other_lead", _FEED, float(lead / own), lead)

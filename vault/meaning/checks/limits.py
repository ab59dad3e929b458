"""Software limits in force, in order and in the stroke, and room for a stop behind them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure
from vault.behaviour.position import stroke
from vault.behaviour.position_limits import (
    LIMITS_USED,
    ROUNDING,
    hard_stops,
    high_limit_and_stop,
    limits_are_off,
    low_limit_and_stop,
    stated_limits,
    travel_between_limits,
)
from vault.behaviour.scale import HIGH, LOW, transmission, unit
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import MECHANICS, codes, holds_position
from vault.meaning.explainers.inputs import inputs, serving
from vault.meaning.findings import figure, finding, in_reader_units, in_words
from vault.meaning.sentences import value_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

DISORDERED = (
    "The software limits are out of order: the lower one is {lower}, the upper one {upper}."
)
BEYOND_STOP = "The {end} software limit at {limit} lies {distance} beyond the hard stop at {stop}."
TOO_WIDE = (
    "The software limits are {width} apart, the stroke is only {stroke}: they cannot keep the axis "
    "off both its hard stops."
)
OFF = (
    "The software limits are switched off, on an axis with hard stops at {lower} and {upper}: "
    "unless the controller has limits of its own, it runs on to its over-travel switches or hard "
    "stops."
)
OPEN_ENDED = (
    "No input reads an over-travel switch, and the software limits are off: unless the controller "
    "has limits of its own, nothing ends the stroke of {stroke} but what stands at its ends."
)

_OVERTRAVEL = ("positive over-travel", "negative over-travel")


@rule
def software_limits(view: AxisView) -> Iterator[Complaint]:
    """In order, and inside the stroke."""
    if not holds_position(view) or view.state.asked(limits_are_off) is not False:
        return
    disordered = list(_out_of_order(view))
    yield from disordered or _outside(view)


def _out_of_order(view: AxisView) -> Iterator[Complaint]:
    low, high = view.find(LOW), view.find(HIGH)
    if low is None or high is None or isinstance(low.value, str) or isinstance(high.value, str):
        return
    if low.unit != high.unit or low.value < high.value:
        return
    lower, upper = _places(view, low, high)
    yield Complaint(
        "software_limits",
        "hazard",
        DISORDERED.format(lower=lower, upper=upper),
        codes(view, LOW, HIGH),
        tuple(Finding(p.name, str(p.value), p.unit, "the set") for p in (low, high)),
    )


def _places(view: AxisView, *limits: Parameter) -> list[str]:
    """Where the limits are, in the axis's own unit, else as they are written."""
    known, way = view.state.asked(stated_limits), view.state.asked(transmission)
    if known is None or way is None:
        return [value_text(limit) for limit in limits]
    return [in_reader_units(end, way.unit) for end in known]


def _outside(view: AxisView) -> Iterator[Complaint]:
    """Each end against its hard stop; where those are not known, the width against the stroke."""
    state = view.state
    ends = (
        ("lower", LOW, state.asked(low_limit_and_stop)),
        ("upper", HIGH, state.asked(high_limit_and_stop)),
    )
    for name, role, found in ends:
        if found is None or found.beyond <= ROUNDING:
            continue
        size = Figure(found.beyond, state.ask(unit), "the set")
        yield Complaint(
            "software_limits",
            "hazard",
            BEYOND_STOP.format(
                end=name,
                limit=in_reader_units(found.limit, size.unit),
                distance=in_words(size),
                stop=in_reader_units(found.stop, size.unit),
            ),
            (*codes(view, role), MECHANICS),
            (finding("software limit beyond the hard stop", size),),
        )
    if any(found is None for _, _, found in ends):
        yield from _too_wide(view)


def _too_wide(view: AxisView) -> Iterator[Complaint]:
    width, whole = view.state.asked(travel_between_limits), view.state.asked(stroke)
    if width is None or whole is None or width.value <= whole.value + ROUNDING:
        return
    yield Complaint(
        "software_limits",
        "hazard",
        TOO_WIDE.format(width=in_words(width), stroke=in_words(whole)),
        (*codes(view, LOW, HIGH), MECHANICS),
        (finding("distance of the software limits", width),),
    )


@rule
def limits_off(view: AxisView) -> Iterator[Complaint]:
    """Software limits that are off on a linear axis between hard stops."""
    state = view.state
    gears, stops = state.asked(transmission), state.asked(hard_stops)
    if (
        not state.asked(limits_are_off)
        or gears is None
        or stops is None
        or not holds_position(view)
    ):
        return
    if not gears.is_linear:
        return
    lower, upper = (in_reader_units(stop, gears.unit) for stop in stops)
    yield Complaint(
        "limits_off",
        "hazard",
        OFF.format(lower=lower, upper=upper),
        (*codes(view, LOW, HIGH, LIMITS_USED), MECHANICS),
        (figure("stroke between hard stops", stops.apart, MECHANICS, unit=gears.unit),),
    )


@rule
def open_ended_travel(view: AxisView) -> Iterator[Complaint]:
    """Neither over-travel inputs nor software limits end the stroke that is recorded."""
    found, whole = inputs(view), view.state.asked(stroke)
    if not view.state.asked(limits_are_off) or whole is None or not holds_position(view):
        return
    if not found or None in found.values() or any(serving(view, end) for end in _OVERTRAVEL):
        return
    yield Complaint(
        "open_ended_travel",
        "hazard",
        OPEN_ENDED.format(stroke=in_words(whole)),
        (*codes(view, LOW, HIGH, LIMITS_USED), *codes(view, *found)),
        (figure("stroke", whole.value, MECHANICS, unit=whole.unit),),
    )

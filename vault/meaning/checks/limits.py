"""Software limits in force, in order and in the stroke, and room for a stop behind them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import MECHANICS, codes, holds_position, recorded
from vault.meaning.explainers.inputs import inputs, serving
from vault.meaning.explainers.limits import HIGH, LOW, are_off
from vault.meaning.explainers.meanings import WAY, sized
from vault.meaning.findings import figure, is_linear, length_or_angle
from vault.meaning.sentences import value_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical

_SLACK = 1e-9  # m or rad: less is rounding
_USED = "software_position_limits_used"
_OVERTRAVEL = ("positive over-travel", "negative over-travel")
_ON_RAMP, _ON_QUICK_RAMP = (1, 5), (2, 6)
"""Quick-stop option codes (605Ah, from memory)."""


@rule
def software_limits(view: AxisView) -> Iterator[Complaint]:
    """In order, and inside the stroke."""
    if not holds_position(view) or are_off(view) is not False:
        return
    disordered = list(_out_of_order(view))
    yield from disordered or _outside(view)


def _out_of_order(view: AxisView) -> Iterator[Complaint]:
    low, high = view.find(LOW), view.find(HIGH)
    if low is None or high is None or isinstance(low.value, str) or isinstance(high.value, str):
        return
    if low.unit != high.unit or low.value < high.value:
        return
    yield Complaint(
        "software_limits",
        "hazard",
        f"The software limits are out of order: the lower one is {value_text(low)}, the upper one "
        f"{value_text(high)}.",
        codes(view, LOW, HIGH),
        tuple(Finding(p.name, str(p.value), p.unit, "the set") for p in (low, high)),
    )


def _outside(view: AxisView) -> Iterator[Complaint]:
    """Each end against its hard stop; where those are not known, the width against the stroke."""
    low, high, mechanics = sized(view, LOW, WAY), sized(view, HIGH, WAY), view.mechanics
    if mechanics is None:
        return
    ends = (
        ("lower", LOW, low, mechanics.hard_stop_low, -1),
        ("upper", HIGH, high, mechanics.hard_stop_high, 1),
    )
    compared = 0
    for name, role, size, measure, outward in ends:
        stop = recorded(measure, size.kind) if size is not None else None
        if size is None or stop is None:
            continue
        compared += 1
        limit = float(size.number())
        beyond = (limit - stop) * outward
        if beyond > _SLACK:
            yield Complaint(
                "software_limits",
                "hazard",
                f"The {name} software limit at {length_or_angle(limit, size)} lies "
                f"{length_or_angle(beyond, size)} beyond the hard stop at "
                f"{length_or_angle(stop, size)}.",
                (*codes(view, role), MECHANICS),
                (figure("software limit beyond the hard stop", beyond, "the set", like=size),),
            )
    if compared < 2 and low is not None and high is not None and low.kind == high.kind:
        yield from _too_wide(float((high - low).number()), high, view)


def _too_wide(width: float, like: Physical, view: AxisView) -> Iterator[Complaint]:
    stroke = _stroke(view, like)
    if stroke is None or width <= stroke + _SLACK:
        return
    yield Complaint(
        "software_limits",
        "hazard",
        f"The software limits are {length_or_angle(width, like)} apart, the stroke is only "
        f"{length_or_angle(stroke, like)}: they cannot keep the axis off both its hard stops.",
        (*codes(view, LOW, HIGH), MECHANICS),
        (figure("distance of the software limits", width, "upper less lower", like=like),),
    )


def _stroke(view: AxisView, like: Physical) -> float | None:
    """Stroke in m or rad where it is recorded in the kind that the axis counts in."""
    mechanics = view.mechanics
    if mechanics is None:
        return None
    kind = "length" if is_linear(like) else "angle"
    if (stroke := recorded(mechanics.stroke, kind)) is not None:
        return stroke
    low, high = recorded(mechanics.hard_stop_low, kind), recorded(mechanics.hard_stop_high, kind)
    return None if low is None or high is None else high - low


@rule
def limits_off(view: AxisView) -> Iterator[Complaint]:
    """Software limits that are off on a linear axis between hard stops."""
    travel, stops = view.scaling.travel, view.hard_stops
    if are_off(view) is not True or travel is None or stops is None or not holds_position(view):
        return
    if travel.per_turn.kind != "length":
        return
    like = travel.per_turn
    yield Complaint(
        "limits_off",
        "hazard",
        "The software limits are switched off, on an axis with hard stops at "
        f"{length_or_angle(stops[0], like)} and {length_or_angle(stops[1], like)}: unless the "
        "controller has limits of its own, it runs on to its over-travel switches or hard stops.",
        (*codes(view, LOW, HIGH, _USED), MECHANICS),
        (figure("stroke between hard stops", stops[1] - stops[0], MECHANICS, like=like),),
    )


@rule
def open_ended_travel(view: AxisView) -> Iterator[Complaint]:
    """Neither over-travel inputs nor software limits end the stroke that is recorded."""
    found, stroke, travel = inputs(view), view.stroke, view.scaling.travel
    if are_off(view) is not True or stroke is None or travel is None or not holds_position(view):
        return
    if not found or None in found.values() or any(serving(view, end) for end in _OVERTRAVEL):
        return
    yield Complaint(
        "open_ended_travel",
        "hazard",
        "No input reads an over-travel switch, and the software limits are off: unless the "
        f"controller has limits of its own, nothing ends the stroke of "
        f"{length_or_angle(stroke, travel.per_turn)} but what stands at its ends.",
        (*codes(view, LOW, HIGH, _USED), *codes(view, *found)),
        (figure("stroke", stroke, MECHANICS, like=travel.per_turn),),
    )

"""Unit codes (60A8h to 60ABh): of the kind the axis moves in, and fitting each other.

Codes of CiA 303-2, from memory; see `vault.behaviour.si_units`.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.si_units import UnitCode, read_unit_code
from vault.behaviour.travel import feed_in_turns
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import MECHANICS, codes
from vault.meaning.findings import digits, figure, finding
from vault.meaning.sentences import unit_text, value_text
from vault.model.quantities import physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

POSITION = {
    "no way": "The unit of position is {unit}, which is neither a length nor an angle.",
    "other feed": "The unit of position is {unit}, but the feed is {feed}: a position cannot count "
    "in both.",
    "turns": "The unit of position is {unit}, but the axis turns.",
    "moves in a line": "The unit of position is {unit}, an angle, but the axis moves in a line and "
    "its feed is {turns} revolutions instead of one.",
}
NO_RATE = "The unit of {rate} is {unit}, which is no {rate}."
OTHER_WAY = (
    "The unit of {rate} is {unit}, the unit of position {position_unit}: one belongs to an axis "
    "that turns, the other to one that moves in a line."
)

_REVOLUTIONS = 0xB4
_RATES = (
    ("si_unit_velocity", "velocity", 1, "velocity_factor_numerator"),
    ("si_unit_acceleration", "acceleration", 2, "acceleration_factor_numerator"),
    ("si_unit_jerk", "jerk", 3, "jerk_factor_numerator"),
)
_ORDERS = {"length": 0, "angle": 0, "velocity": 1, "acceleration": 2, "jerk": 3}


def _code(view: AxisView, role: str) -> int | None:
    parameter = view.find(role)
    if parameter is None or not isinstance(parameter.raw, int):
        return None
    return parameter.raw & 0xFFFFFFFF


def _unit(view: AxisView, role: str) -> UnitCode | None:
    code = _code(view, role)
    return None if code is None else read_unit_code(code)


def _is_linear(unit: UnitCode) -> bool:
    return unit.size.unit.startswith("m")


def _way(unit: UnitCode) -> tuple[Fraction, int, str]:
    return unit.size.ratio, unit.size.pi_power, unit.size.kind


def _order(unit: UnitCode) -> int:
    return _ORDERS[unit.size.kind.removeprefix("angular_")]


def _text(unit: UnitCode) -> str:
    return unit_text(unit.text).strip()


def _figure(quantity: str, unit: UnitCode) -> Finding:
    return figure(quantity, unit.size, "CiA 303-2")


@rule
def unit_of_position(view: AxisView) -> Iterator[Complaint]:
    """The unit of position is that of the feed, and of the way the axis moves."""
    unit, feed, travel = (
        _unit(view, "si_unit_position"),
        view.find("feed_constant_feed"),
        view.scaling.travel,
    )
    if unit is None:
        return
    places = codes(view, "si_unit_position", "feed_constant_feed")
    figures = (_figure("unit of position", unit),)
    if _order(unit) != 0:
        text = POSITION["no way"].format(unit=_text(unit))
        yield Complaint("unit_of_position", "travel", text, places[:1], figures)
        return
    stated = physical(1, feed.unit) if feed is not None else None
    if feed is not None and stated is not None and stated.kind in ("length", "angle"):
        if (stated.ratio, stated.pi_power, stated.kind) != _way(unit):
            yield Complaint(
                "unit_of_position",
                "travel",
                POSITION["other feed"].format(unit=_text(unit), feed=value_text(feed)),
                places,
                figures,
            )
        return
    if travel is None or (travel.per_turn.kind == "length") == _is_linear(unit):
        return
    if _is_linear(unit):
        yield Complaint(
            "unit_of_position",
            "travel",
            POSITION["turns"].format(unit=_text(unit)),
            (*places, MECHANICS),
            figures,
        )
        return
    turns = view.state.asked(feed_in_turns)
    if turns is None or abs(turns.value - 1) < 1e-6:
        return  # user units in revolutions of the shaft: said on purpose
    yield Complaint(
        "unit_of_position",
        "travel",
        POSITION["moves in a line"].format(unit=_text(unit), turns=digits(turns.value)),
        (*places, MECHANICS),
        (*figures, finding("feed in revolutions", turns)),
    )


@rule
def unit_of_rates(view: AxisView) -> Iterator[Complaint]:
    """Units of velocity, acceleration and jerk are ways per time, of the way that positions are.

    Revolutions beside a length are the motor's, and common; a factor of its own between the two
    (6096h, 6097h, 60A2h) excuses everything.
    """
    position = _unit(view, "si_unit_position")
    for role, name, order, factor in _RATES:
        unit, code = _unit(view, role), _code(view, role)
        if unit is None or code is None:
            continue
        places = codes(view, role, "si_unit_position")
        figures = (_figure(f"unit of {name}", unit),)
        if _order(unit) != order:
            what = NO_RATE.format(rate=name, unit=_text(unit))
            yield Complaint("unit_of_rates", "dynamics", what, places[:1], figures)
            continue
        revolutions = (code >> 16) & 0xFF == _REVOLUTIONS
        if position is None or _order(position) != 0 or view.find(factor) is not None:
            continue
        if revolutions or _is_linear(position) == _is_linear(unit):
            continue
        yield Complaint(
            "unit_of_rates",
            "dynamics",
            OTHER_WAY.format(rate=name, unit=_text(unit), position_unit=_text(position)),
            places,
            (_figure("unit of position", position), *figures),
        )

"""What rules rest on: places to look at, quantities of the axis record, how the axis is run.

No rules of its own.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour import mode
from vault.meaning.changes import Finding
from vault.meaning.sentences import number_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter
    from vault.model.quantities import Measure, Physical

MECHANICS, MOTOR, BRAKE = "axis.yaml: mechanics", "axis.yaml: motor", "axis.yaml: brake"
ENCODER, SUPPLY, LINK = "axis.yaml: encoder", "axis.yaml: supply", "axis.yaml: controller_link"
LOAD = "axis.yaml: load_encoder"

CLOSE = 1.0001
"""A number is beyond another when it is more than rounding above it."""

SAME_RATING = Fraction(1, 100)
"""Ratings are rounded when they are typed in (common practice, no source)."""


def codes(view: AxisView, *roles: str) -> tuple[str, ...]:
    """Codes of the parameters that have these roles."""
    found = (view.find(role) for role in roles)
    return tuple(parameter.code for parameter in found if parameter is not None)


def sized_in(measure: Measure | None, *kinds: str) -> Physical | None:
    """A quantity of the axis record if it is of one of the kinds, and more than nought."""
    found = measure.physical() if measure is not None else None
    return found if found is not None and found.kind in kinds and found.ratio > 0 else None


def recorded(measure: Measure | None, *kinds: str) -> float | None:
    """SI number of a quantity of the axis record if it is of one of the kinds, else None."""
    found = measure.physical() if measure is not None else None
    return float(found.number()) if found is not None and found.kind in kinds else None


def stated(parameter: Parameter, basis: str = "the set") -> Finding:
    """A parameter's value as a finding, for what rests on no computation."""
    value = parameter.value
    text = value if isinstance(value, str) else number_text(value).replace(",", "")
    return Finding(parameter.name, text, parameter.unit, basis)


def holds_position(view: AxisView) -> bool:
    """Whether the drive closes the position loop, or may: the mode is not one without."""
    return mode.holds_position(view.state)


def is_frequency_drive(view: AxisView) -> bool:
    """Whether speeds are those of the velocity mode, in r/min or Hz of the motor."""
    return mode.is_frequency_drive(view.state)

"""The raw steps that a drive keeps a value in, and whether two values are one within them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.model.quantities import convert, same_kind

if TYPE_CHECKING:
    from vault.behaviour.scaling import Sizes
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

# Resolution of a 32-bit real (IEEE 754: 23 bits of fraction).
_REAL_STEP = Fraction(1, 2**23)
_NEAR_REAL_STEP = float(_REAL_STEP)


def step_size(parameter: Parameter, side: AxisView, sizes: Sizes) -> Fraction:
    """A raw step of a parameter in SI; nought where it is not known."""
    nought, one = (side.physical_of(replace(parameter, value=n), sizes) for n in (0, 1))
    if nought is None or one is None:
        return Fraction(0)
    return abs((one - nought).number()) * _step(parameter, side)


def equal_in_unit(before: Parameter, after: Parameter, left: AxisView, right: AxisView) -> bool:
    """Whether two values differ by at most half the coarser raw step, as their units say."""
    if isinstance(before.value, str) or isinstance(after.value, str):
        return False
    if before.unit == after.unit:
        gap = abs(Fraction(after.value) - Fraction(before.value))
        factor = Fraction(1)
    elif before.unit and after.unit and same_kind(before.unit, after.unit):
        gap = abs(convert(before.value, before.unit, after.unit) - Fraction(after.value))
        zero = convert(0, before.unit, after.unit)
        factor = convert(1, before.unit, after.unit) - zero
    else:
        return False
    coarser = max(_step(before, left) * factor, _step(after, right))
    return gap == 0 or gap <= coarser / 2


def near_step(value: str, raw: str, defined: float) -> float:
    """About as large as a raw step in the unit, of numbers as written; `defined` by definition.

    Raises nothing: what is beyond a float gives inf or nan.
    """
    number = float(value)
    if "." in raw:
        return abs(number) * _NEAR_REAL_STEP
    return abs(number / float(raw)) if number and raw != "0" else defined


def _step(parameter: Parameter, side: AxisView) -> Fraction:
    """Size of one raw step in the parameter's unit."""
    if isinstance(parameter.value, str) or isinstance(parameter.raw, str):
        return Fraction(0)
    if isinstance(parameter.raw, Decimal):
        return abs(Fraction(parameter.value)) * _REAL_STEP
    if parameter.raw and parameter.value:
        return abs(Fraction(parameter.value) / parameter.raw)
    return defined_step(parameter, side)


def defined_step(parameter: Parameter, side: AxisView) -> Fraction:
    """Size of one raw step in the parameter's unit by its definition."""
    definition = side.definitions.get(parameter.code)
    if definition is None:
        return Fraction(0)
    scale = Fraction(definition.scale)
    if definition.unit and parameter.unit and definition.unit != parameter.unit:
        if not same_kind(definition.unit, parameter.unit):
            return scale
        zero = convert(0, definition.unit, parameter.unit)
        return abs(convert(definition.scale, definition.unit, parameter.unit) - zero)
    return scale

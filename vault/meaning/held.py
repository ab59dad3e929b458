"""The number nearest to a wanted one that a parameter of a drive can hold."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING, Literal

from vault.model.parameters import Parameter
from vault.model.quantities import exact_decimal, normal, rounded_decimal

if TYPE_CHECKING:
    from vault.model.export import Scalar
    from vault.model.normalise import Definition

Fit = Literal["exact", "rounded", "out_of_range"]

_REAL_DIGITS = {32: 9, 64: 17}
"""Decimal digits that tell every real number of so many bits apart: IEEE 754, from memory."""


@dataclass(frozen=True, slots=True)
class Held:
    """What a parameter holds for a wanted number, in its unit.

    `error` is held less wanted, `step` one raw step (nought where there is none). Out of range, it
    holds the limit that is nearest.
    """

    parameter: Parameter
    fit: Fit
    error: Fraction
    step: Fraction

    @property
    def steps(self) -> Fraction | None:
        """The error in raw steps."""
        return self.error / self.step if self.step else None


def hold(wanted: Fraction, definition: Definition) -> Held:
    """Hold a number given in the unit of a definition."""
    scale, kind = Fraction(definition.scale), definition.data_type
    if kind is not None and kind.is_whole:
        raw: int | Decimal = round(wanted / scale)
        step = scale
    else:
        digits = _REAL_DIGITS.get(kind.bits if kind else 0, 30)
        exact = exact_decimal(wanted / scale)
        short = exact is not None and len(exact.as_tuple().digits) <= digits
        raw = exact if exact is not None and short else rounded_decimal(wanted / scale, digits)
        step = Fraction(0)
    kept = _within(raw, definition)
    fit: Fit = "exact" if Fraction(raw) * scale == wanted else "rounded"
    if kept != raw:
        fit = "out_of_range"
    value = Fraction(kept) * scale
    return Held(parameter_of(definition, kept), fit, value - wanted, step)


def parameter_of(definition: Definition, raw: Scalar) -> Parameter:
    """A parameter with this raw content."""
    value: Scalar = raw
    if not isinstance(raw, str):
        exact = exact_decimal(Fraction(raw) * Fraction(definition.scale)) or Decimal(0)
        whole = normal(exact)
        value = int(whole) if whole == whole.to_integral_value() else whole
    label = definition.choices.get(raw) if isinstance(raw, int) else None
    return Parameter(
        definition.code, definition.name, value, raw, definition.role, definition.unit, label
    )


def _within(raw: int | Decimal, definition: Definition) -> int | Decimal:
    """The raw content, or the limit that it lies beyond."""
    scale, kind = Fraction(definition.scale), definition.data_type
    lows = [] if definition.low is None else [Fraction(definition.low) / scale]
    highs = [] if definition.high is None else [Fraction(definition.high) / scale]
    if kind is not None and kind.low is not None and kind.high is not None:
        lows.append(Fraction(kind.low))
        highs.append(Fraction(kind.high))
    whole = kind is not None and kind.is_whole
    if lows and raw < max(lows):
        return _spelled(Fraction(ceil(max(lows))) if whole else max(lows))
    if highs and raw > min(highs):
        return _spelled(Fraction(floor(min(highs))) if whole else min(highs))
    return raw


def _spelled(number: Fraction) -> int | Decimal:
    return int(number) if number.denominator == 1 else rounded_decimal(number)

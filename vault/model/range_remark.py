"""What is said of a value outside the range that the family, or the export itself, gives."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.model.quantities import convert, plain, same_kind

if TYPE_CHECKING:
    from vault.model.parameters import Parameter


def range_remark(
    parameter: Parameter, low: Decimal | None, high: Decimal | None, unit: str | None
) -> str | None:
    """The remark on a parameter beyond a range given in `unit`; None where there is none."""
    value = parameter.value
    if isinstance(value, str) or (low is None and high is None):
        return None
    size = Fraction(value)
    if parameter.unit != unit:
        if not parameter.unit or not unit or not same_kind(parameter.unit, unit):
            return None
        size = convert(value, parameter.unit, unit)
    if (low is None or size >= low) and (high is None or size <= high):
        return None
    limits = _limits(low, high)
    if parameter.unit != unit:
        limits += f" {unit}"
    shown = f"{plain(Decimal(value))} {parameter.unit or ''}".strip()
    return f"{parameter.code} {parameter.name}: {shown} lies outside its range {limits}"


def _limits(low: Decimal | None, high: Decimal | None) -> str:
    if low is None:
        return f"up to {plain(high or Decimal(0))}"
    return f"from {plain(low)}" if high is None else f"{plain(low)} to {plain(high)}"

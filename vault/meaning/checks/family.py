"""Values that the family's own dictionary, or the export itself, does not allow."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import stated
from vault.meaning.consequences import usual_consequence
from vault.meaning.sentences import number_text, unit_text, value_text
from vault.model import roles
from vault.model.quantities import UnknownUnit, convert, same_kind

if TYPE_CHECKING:
    from decimal import Decimal

    from vault.meaning.axis_view import AxisView
    from vault.model.normalise import Definition
    from vault.model.parameters import Parameter

OUT_OF_RANGE = "{name}: {value} lies outside its own range, {low} to {high}{unit}."


def _consequence(parameter: Parameter, definition: Definition) -> str:
    role = roles.find(parameter.role) if parameter.role else None
    return usual_consequence(role, definition.group)


@rule
def own_range(view: AxisView) -> Iterator[Complaint]:
    """Values outside the range that the family, or the export itself, gives."""
    for parameter in view.parameters.values():
        definition = view.definitions.get(parameter.code)
        if definition is None or definition.volatile:
            continue
        low, high = definition.low, definition.high
        size = _in_unit(parameter, definition.unit)
        if size is None or ((low is None or size >= low) and (high is None or size <= high)):
            continue
        yield Complaint(
            "own_range",
            _consequence(parameter, definition),
            OUT_OF_RANGE.format(
                name=parameter.name,
                value=value_text(parameter),
                low=_limit(low),
                high=_limit(high),
                unit=unit_text(definition.unit),
            ),
            (parameter.code,),
            (stated(parameter),),
        )


def _in_unit(parameter: Parameter, unit: str | None) -> Fraction | None:
    """The value in the unit that the range is in; None where it does not convert."""
    if isinstance(parameter.value, str):
        return None
    if parameter.unit == unit:
        return Fraction(parameter.value)
    if parameter.unit is None or unit is None:
        return None
    try:
        if same_kind(parameter.unit, unit):
            return convert(parameter.value, parameter.unit, unit)
    except UnknownUnit:
        pass
    return None


def _limit(limit: Decimal | None) -> str:
    return "any" if limit is None else number_text(limit)

"""Values that the family's own dictionary, or the export itself, does not allow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.sentences import number_text, unit_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def own_range(view: AxisView) -> Iterator[Complaint]:
    """Values outside the range that the family, or the export itself, gives."""
    for parameter in view.parameters.values():
        definition = view.definitions.get(parameter.code)
        value = parameter.value
        if definition is None or isinstance(value, str) or parameter.unit != definition.unit:
            continue
        low, high = definition.low, definition.high
        if definition.volatile or (
            (low is None or value >= low) and (high is None or value <= high)
        ):
            continue
        limits = " to ".join("any" if x is None else number_text(x) for x in (low, high))
        yield Complaint(
            "own_range",
            "record",
            f"{parameter.name}: {view.shown(parameter)} lies outside its own range, "
            f"{limits}{unit_text(definition.unit)}.",
            (parameter.code,),
        )

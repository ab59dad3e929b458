"""The values of a parameter on many axes, on one line: how far off the odd ones are."""

from __future__ import annotations

from dataclasses import dataclass

from vault.meaning.common_unit import common_unit
from vault.meaning.spread import Row


@dataclass(frozen=True, slots=True)
class Place:
    """Where one or more axes stand: their value, its text, and whether they are the odd ones."""

    value: float
    text: str
    axes: tuple[str, ...]
    is_odd: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """Places from the least value to the greatest."""

    name: str
    places: tuple[Place, ...]


def spread_strip(row: Row) -> Strip | None:
    """The strip of a row; None where fewer than three axes have numbers, or all have the same."""
    if len(row.cells) < 3:
        return None
    unit = common_unit([cell.reading for cell in row.cells.values()])
    if unit is None:
        return None
    found: dict[tuple[float, bool], list[str]] = {}
    for axis, cell in row.cells.items():
        value = unit.number(cell.reading)
        if value is not None:
            found.setdefault((value, axis in row.odd), []).append(axis)
    if len({value for value, _ in found}) < 2:
        return None
    all_odd = len(row.odd) == len(row.axes)  # nobody is the odd one out of a row without a rule
    return Strip(
        row.name,
        tuple(
            Place(value, row.cells[axes[0]].text, tuple(axes), is_odd and not all_odd)
            for (value, is_odd), axes in sorted(found.items())
        ),
    )

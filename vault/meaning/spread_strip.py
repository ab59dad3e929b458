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
class Held:
    """What some axes have alike in words, None where they have none, and whether they are odd."""

    text: str | None
    axes: tuple[str, ...]
    is_odd: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """Places from the least value to the greatest, in one unit."""

    name: str
    unit: str
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
        unit.unit,
        tuple(
            Place(value, row.cells[axes[0]].text, tuple(axes), is_odd and not all_odd)
            for (value, is_odd), axes in sorted(found.items())
        ),
    )


def by_value(row: Row) -> tuple[Held, ...]:
    """The values of a row, those first that most axes have."""
    found: dict[tuple[str | None, bool], list[str]] = {}
    odd = frozenset(row.odd if row.reference is not None else ())
    for axis in row.axes:
        cell = row.cells.get(axis)
        found.setdefault((None if cell is None else cell.text, axis in odd), []).append(axis)
    held = (Held(text, tuple(axes), is_odd) for (text, is_odd), axes in found.items())
    return tuple(sorted(held, key=lambda one: (one.is_odd, -len(one.axes))))

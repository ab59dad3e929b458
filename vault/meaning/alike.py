"""Values of many axes that are equal as in a comparison, grouped without holding pair to pair."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.model import roles
from vault.model.choices import same_label

if TYPE_CHECKING:
    from vault.meaning.readings import Reading
    from vault.model.parameters import Parameter


@dataclass(frozen=True, slots=True)
class Cell:
    """One axis's value, and what a raw step of it is in SI; nought where that is not known."""

    reading: Reading
    step: Fraction

    @property
    def parameter(self) -> Parameter:
        """The parameter as the drive holds it."""
        return self.reading.parameter

    @property
    def text(self) -> str:
        """The value for people."""
        return self.reading.told


def alike(one: Cell, other: Cell) -> bool:
    """Equal as in a comparison: to half the coarser raw step, else exactly."""
    left, right = one.reading.physical, other.reading.physical
    if left is not None and right is not None:
        if (left.unit, left.kind) != (right.unit, right.kind):
            return False
        return abs((left - right).number()) <= max(one.step, other.step) / 2
    if one.parameter.label and other.parameter.label:
        return same_label(one.parameter.label, other.parameter.label, one.parameter.role)
    return _written(one) == _written(other)


def groups_of(cells: Mapping[str, Cell]) -> list[list[str]]:
    """Axes that have the same: each is in the oldest group whose first axis it is like."""
    groups = _Groups()
    places: dict[int, list[str]] = {}  # one and the same cell is in one and the same group
    for axis, cell in cells.items():
        if (members := places.get(id(cell))) is None:
            members = places[id(cell)] = groups.place(cell)
        members.append(axis)
    return groups.members


@dataclass(slots=True)
class _Sizes:
    """Sizes in one unit of the first axes of groups, from the least, with the group of each."""

    numbers: list[Fraction] = field(default_factory=list)
    groups: list[int] = field(default_factory=list)
    coarsest: Fraction = Fraction(0)


class _Groups:
    """Groups by their first cells, found again by size or by what is written.

    So a value is held against the few that are near it, and not against the first of every group.
    """

    def __init__(self) -> None:
        self.members: list[list[str]] = []
        self._firsts: list[Cell] = []
        self._sizes: dict[tuple[str, str], _Sizes] = {}
        self._written: dict[object, int] = {}
        self._written_unsized: dict[object, int] = {}

    def place(self, cell: Cell) -> list[str]:
        """The oldest group that a cell is like the first of, else a new one."""
        near = [group for group in self._candidates(cell) if alike(self._firsts[group], cell)]
        return self.members[min(near)] if near else self._new(cell)

    def _candidates(self, cell: Cell) -> list[int]:
        size = cell.reading.physical
        if cell.parameter.label:  # there are few words for one parameter
            return list(range(len(self._firsts)))
        by_text = self._written if size is None else self._written_unsized
        found = [by_text[_written(cell)]] if _written(cell) in by_text else []
        if size is None or (known := self._sizes.get((size.unit, size.kind))) is None:
            return found
        number, reach = size.number(), max(cell.step, known.coarsest) / 2
        first = bisect_left(known.numbers, number - reach)
        return found + known.groups[first : bisect_right(known.numbers, number + reach, first)]

    def _new(self, cell: Cell) -> list[str]:
        group, size = len(self._firsts), cell.reading.physical
        self._firsts.append(cell)
        self.members.append([])
        self._written.setdefault(_written(cell), group)
        if size is None:
            self._written_unsized.setdefault(_written(cell), group)
            return self.members[group]
        known = self._sizes.setdefault((size.unit, size.kind), _Sizes())
        place = bisect_right(known.numbers, size.number())
        known.numbers.insert(place, size.number())
        known.groups.insert(place, group)
        known.coarsest = max(known.coarsest, cell.step)
        return self.members[group]


def _written(cell: Cell) -> tuple[object, object]:
    """Unit and value; a count that states no unit is in that of its role, as 1 is 1 rev."""
    parameter = cell.parameter
    role = roles.find(parameter.role) if parameter.unit is None and parameter.role else None
    unit = role.unit if role is not None and role.kind == "count" else parameter.unit
    return unit, parameter.value

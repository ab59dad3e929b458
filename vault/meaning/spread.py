"""Many axes side by side: what most of them have, and which are the odd ones out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING

from vault.meaning.scaling import SCALING_ROLES
from vault.model import roles
from vault.model.parameters import code_order

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

# Round-off of one raw step and of unit conversion stays below it; tuning does not.
_TOLERANCE = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Cell:
    """One axis's value: as it stands, for people, and in SI where it has a size."""

    parameter: Parameter
    text: str
    physical: Physical | None


@dataclass(frozen=True, slots=True)
class Row:
    """One role, or code where there is no role, on all axes.

    `cells` by axis; `reference` is what most have (or the median of sizes), None where there is
    no majority; `odd` are the axes that differ from it, or all where there is none.
    """

    key: str
    name: str
    group: str
    cells: Mapping[str, Cell]
    reference: str | None
    odd: tuple[str, ...]

    @property
    def is_same(self) -> bool:
        """Whether all axes agree."""
        return not self.odd


def spread(views: Mapping[str, AxisView], wanted: str | None = None) -> list[Row]:
    """Compare axes parameter by parameter, by role and in physical units.

    `wanted` narrows it to one code or role. Live values and identities are left out.
    """
    by_key: dict[str, dict[str, Cell]] = {}
    for axis, view in views.items():
        for parameter in view.parameters.values():
            if wanted is not None and wanted not in (parameter.code, parameter.role):
                continue
            role = roles.find(parameter.role) if parameter.role else None
            if role is not None and (role.volatile or role.group == "identity"):
                continue
            if role is None:
                definition = view.definitions.get(parameter.code)
                if definition is not None and definition.volatile:
                    continue
            key = parameter.role or parameter.code
            size = None if parameter.role in SCALING_ROLES else view.physical_of(parameter)
            by_key.setdefault(key, {})[axis] = Cell(parameter, view.shown(parameter), size)
    rows = [_row(key, cells, tuple(views)) for key, cells in by_key.items()]
    order = {name: place for place, (name, _) in enumerate(roles.GROUPS)}
    rows.sort(key=lambda row: (order.get(row.group, len(order)), code_order(_code(row))))
    return rows


def _code(row: Row) -> str:
    return next(iter(row.cells.values())).parameter.code


def _row(key: str, cells: Mapping[str, Cell], axes: Sequence[str]) -> Row:
    shown = next(iter(cells.values())).parameter
    role = roles.find(shown.role) if shown.role else None
    reference, odd = _odd(cells, axes)
    return Row(key, shown.name, role.group if role else "device", cells, reference, odd)


def _odd(cells: Mapping[str, Cell], axes: Sequence[str]) -> tuple[str | None, tuple[str, ...]]:
    groups: list[list[str]] = []
    for axis in axes:
        if axis not in cells:
            continue
        for group in groups:
            if _alike(cells[group[0]], cells[axis]):
                group.append(axis)
                break
        else:
            groups.append([axis])
    missing = tuple(axis for axis in axes if axis not in cells)
    largest = max(groups, key=len)
    if len(largest) * 2 > len(axes):
        odd = tuple(axis for axis in axes if axis not in largest)
        return cells[largest[0]].text, odd
    sizes = {a: float(c.physical.number()) for a, c in cells.items() if c.physical is not None}
    if len(axes) > 2 and len(sizes) == len(cells) > 2:
        middle = median(sizes.values())
        near = min(sizes, key=lambda axis: abs(sizes[axis] - middle))
        odd = tuple(a for a in sizes if abs(sizes[a] - middle) > abs(middle) / 100)
        return cells[near].text, (*odd, *missing)
    return None, tuple(axes)


def _alike(one: Cell, other: Cell) -> bool:
    left, right = one.physical, other.physical
    if left is not None and right is not None:
        if left.unit != right.unit:
            return False
        a, b = left.number(), right.number()
        return abs(a - b) <= max(abs(a), abs(b)) * _TOLERANCE
    if one.parameter.label and other.parameter.label:
        return one.parameter.label.casefold() == other.parameter.label.casefold()
    same_unit = one.parameter.unit == other.parameter.unit
    return same_unit and one.parameter.value == other.parameter.value

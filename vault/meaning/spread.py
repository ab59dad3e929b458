"""Many axes side by side: what most of them have, and which are the odd ones out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING, Literal

from vault.meaning.alike import Cell, groups_of
from vault.meaning.readings import Readings
from vault.meaning.sizing import Sizing
from vault.model import roles
from vault.model.parameters import code_order
from vault.store.files.parameters_text import parameter_lines, read_but_numbers, read_parameters

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

_TOLERANCE = Fraction(1, 100)
"""Continuous values nearer to the median than this share of it belong together."""

Basis = Literal["majority", "median"]


@dataclass(frozen=True, slots=True)
class Row:
    """One role, or code where there is no role, on all axes.

    `axes` are those that could have it: an axis whose family knows no such parameter is not odd.
    `cells` by axis; `reference` is what most have or, by its `basis`, the median of sizes; None
    where there is neither. `odd` are the axes that differ from it, or all where there is none.
    """

    key: str
    name: str
    group: str
    axes: tuple[str, ...]
    cells: Mapping[str, Cell]
    reference: str | None
    basis: Basis | None
    odd: tuple[str, ...]

    @property
    def is_same(self) -> bool:
        """Whether all axes agree."""
        return not self.odd


def spread(views: Mapping[str, AxisView], wanted: str | None = None) -> list[Row]:
    """Compare axes parameter by parameter, by role and in physical units.

    `wanted` narrows it to one code or role. Live values and identities are left out.
    """
    seen = _Seen(wanted)
    equal_axes: dict[object, _EqualAxes] = {}
    of_axis: dict[str, _EqualAxes] = {}
    for axis, view in views.items():
        # Dictionaries by which object they are: comparing them takes as long as reading sets.
        basis = (way := seen.way(view)), view.defaults, id(view.definitions)
        if (known := equal_axes.get(basis)) is None:
            known = equal_axes[basis] = _EqualAxes(seen, view, way)
        of_axis[axis] = known
        known.put(axis, view)
    rows = []
    for key, cells in seen.rows.items():
        axes = tuple(views)
        if len(cells) < len(views):
            alike = {views[axis].family for axis in cells}
            axes = tuple(
                axis
                for axis, view in views.items()
                if axis in cells
                or of_axis[axis].knows(key)
                or (view.family in alike and view.may_lack)  # what it knows is what its export has
            )
        rows.append(_row(key, cells, axes))
    order = {name: place for place, (name, _) in enumerate(roles.GROUPS)}
    rows.sort(key=lambda row: (order.get(row.group, len(order)), code_order(_code(row))))
    return rows


class _Seen:
    """What was met on the axes so far: rows by key, and what several axes have alike."""

    def __init__(self, wanted: str | None) -> None:
        self.wanted = wanted
        self.rows: dict[str, dict[str, Cell]] = {}
        self.sizings: dict[object, Sizing] = {}
        self.cells: dict[tuple[str, int], Cell] = {}  # by line and sizing
        self._ways: dict[object, int] = {}

    def way(self, view: AxisView) -> int:
        """Stands for how the numbers of an axis become sizes."""
        gain_unit = view.axis.position_gain_unit if view.axis is not None else None
        return self._ways.setdefault(
            (view.scaling, gain_unit, view.controller_units), len(self._ways)
        )


class _EqualAxes:
    """Axes that are scaled alike and have one dictionary: equal lines are equal in all that counts.

    Most axes have most values alike, and each of them is looked at once.
    """

    def __init__(self, seen: _Seen, view: AxisView, way: int) -> None:
        self._seen = seen
        self._view = view
        self._way = way
        self._readings = Readings(view)
        self._known = frozenset(d.role or d.code for d in view.definitions.values())
        self._sizings: dict[object, Sizing | None] = {}
        self._places: dict[str, tuple[str, Cell | None, dict[str, Cell]]] = {}
        self._orders: set[tuple[str, ...]] = set()

    def knows(self, key: str) -> bool:
        """Whether their dictionary may have such a parameter."""
        return not self._known or key in self._known

    def put(self, axis: str, view: AxisView) -> None:
        """Put the values of one of the axes into their rows. Raises Damaged as reading it does."""
        places, codes = self._places, []
        for line in parameter_lines(view.text, view.name):
            if (place := places.get(line)) is None:
                place = places[line] = self._place(line, view)
            code, cell, row = place
            codes.append(code)
            if cell is not None:
                row[axis] = cell
        if (order := tuple(codes)) not in self._orders:
            read_parameters(view.text, view.name)
            self._orders.add(order)

    def _place(self, line: str, view: AxisView) -> tuple[str, Cell | None, dict[str, Cell]]:
        """Code of a line, its cell, None where it is left out, and the row of that."""
        try:
            like, number, raw = read_but_numbers(line)
        except ValueError:
            read_parameters(view.text, view.name)  # names the line
            raise
        is_text = isinstance(like.value, str)
        form = like.code, like.role, like.unit, like.label is None, is_text
        if form not in self._sizings:
            self._sizings[form] = self._sizing(form, like)
        if (sizing := self._sizings[form]) is None:
            return like.code, None, {}
        cells, place = self._seen.cells, (line, id(sizing))
        if (cell := cells.get(place)) is None:
            cell = cells[place] = Cell(line, number, raw, sizing)
        return like.code, cell, self._seen.rows[sizing.key]

    def _sizing(self, form: object, parameter: Parameter) -> Sizing | None:
        view, wanted = self._view, self._seen.wanted
        if wanted is not None and wanted not in (parameter.code, parameter.role):
            return None
        if _is_left_out(view, parameter):
            return None
        definition = view.definitions.get(parameter.code)
        defined = None if definition is None else (definition.scale, definition.unit)
        # What has no role, and a unit that is the same everywhere, is no matter of scaling.
        is_scaled = parameter.role is not None or self._readings.is_of_axis(parameter.unit)
        way = self._way if is_scaled else None
        basis = form, way, parameter.code in view.defaults, defined
        if (sizing := self._seen.sizings.get(basis)) is None:
            sizing = self._seen.sizings[basis] = Sizing.of(view, self._readings, parameter)
            self._seen.rows.setdefault(sizing.key, {})
        return sizing


def _is_left_out(view: AxisView, parameter: Parameter) -> bool:
    """Whether it is a live value, or one that no two axes share."""
    role = roles.find(parameter.role) if parameter.role else None
    if role is not None:
        return role.volatile or role.group == "identity"
    definition = view.definitions.get(parameter.code)
    return definition is not None and (definition.volatile or definition.group == "identity")


def _code(row: Row) -> str:
    return next(iter(row.cells.values())).parameter.code


def _row(key: str, cells: Mapping[str, Cell], axes: tuple[str, ...]) -> Row:
    shown = next(iter(cells.values())).parameter
    role = roles.find(shown.role) if shown.role else None
    reference, basis, odd = _odd(cells, axes)
    group = role.group if role else "device"
    return Row(key, shown.name, group, axes, cells, reference, basis, odd)


def _odd(
    cells: Mapping[str, Cell], axes: Sequence[str]
) -> tuple[str | None, Basis | None, tuple[str, ...]]:
    """What to go by, why, and who differs from it. Who lacks the parameter differs."""
    largest = max(groups_of(cells), key=len)
    if len(largest) * 2 > len(axes):
        usual = frozenset(largest)
        odd = tuple(axis for axis in axes if axis not in usual)
        return cells[largest[0]].text, "majority", odd
    sizes = {axis: cell.size for axis, cell in cells.items() if cell.size is not None}
    alike = len(sizes) == len(cells) and len({size.unit for size in sizes.values()}) == 1
    if alike and len(sizes) > 2 and len(sizes) * 2 > len(axes):
        numbers = {axis: size.number() for axis, size in sizes.items()}
        middle = median(numbers.values())
        near = min(numbers, key=lambda axis: abs(numbers[axis] - middle))
        reach = abs(middle) * _TOLERANCE
        odd = tuple(a for a in axes if a not in numbers or abs(numbers[a] - middle) > reach)
        if len(odd) * 2 < len(axes):
            return cells[near].text, "median", odd
    return None, None, tuple(axes)

"""What a spread says first: who is odd, in what, and what the others have, the worst first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from math import inf
from typing import TYPE_CHECKING

from vault.meaning.compare import compare
from vault.meaning.consequences import rank, usual_consequence
from vault.model import roles
from vault.model.wording import listed

if TYPE_CHECKING:
    from vault.meaning.alike import Cell
    from vault.meaning.axis_view import AxisView
    from vault.meaning.spread import Row

SENTENCE = "{axes}: {name} {value}, {others}: {reference}"
LACKING = "{axes}: no {name}, {others}: {reference}"
MAY_LACK = "{axes}: {name} not in this export, {others}: {reference}"
_SCATTERED = "{count} other values"
_NAMED = 3  # axes; of more the rest is counted
_MOST_VALUES = 5  # of one row that are told one by one
_MANY = 50  # values, that are counted as they are written
_SURE = Context(prec=9)  # digits of a size that is reckoned with floats
_MOST_COMPARED = 24
"""Axes that are compared for the class of what is odd; of further ones it is the usual one of the
role, since a comparison takes as long as many rows."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Axes that have one value alike, which is not what most have; or values that scatter.

    `value` is None where they have none, `may_lack` where that may be for their exports alone.
    `others` are as many as have what most have, `are_all_others` whether nobody has a third value.
    """

    axes: tuple[str, ...]
    row: Row
    value: str | None
    may_lack: bool
    others: int
    are_all_others: bool
    consequence: str

    @property
    def reference(self) -> str:
        """What most have, or what they are near."""
        near = "near " if self.row.basis == "median" else ""
        return f"{near}{self.row.reference}"

    @property
    def sentence(self) -> str:
        """It in words."""
        said = SENTENCE if self.value is not None else MAY_LACK if self.may_lack else LACKING
        others = f"the other {self.others}" if self.are_all_others else f"{self.others} others"
        return said.format(
            axes=_some(self.axes),
            name=self.row.name,
            value=self.value,
            others=others,
            reference=self.reference,
        )


def answers(rows: Iterable[Row], views: Mapping[str, AxisView]) -> tuple[Answer, ...]:
    """What is odd on rows that have something to go by: the worst first, then the rarest."""
    with_odd = [row for row in rows if row.odd and row.reference is not None]
    found: list[tuple[Row, str | None, list[str]]] = []
    for row in with_odd:
        found += [(row, value, axes) for value, axes in _by_value(row).items()]
    found.sort(key=lambda one: rank(_usual(one[0])))  # what may be worst is compared first
    classes = _Classes(with_odd, views)
    told = [
        Answer(
            tuple(axes),
            row,
            value,
            value is None and any(views[axis].may_lack for axis in axes),
            len(row.axes) - len(row.odd),
            len(axes) == len(row.odd),
            classes.of(row, axes[0]),
        )
        for row, value, axes in found
    ]
    return tuple(sorted(told, key=lambda one: (rank(one.consequence), len(one.axes))))


class _Classes:
    """Classes of what is odd, by comparing an odd axis with the most usual one of its family."""

    def __init__(self, rows: Sequence[Row], views: Mapping[str, AxisView]) -> None:
        self._views = views
        count = dict.fromkeys(views, 0)
        for row in rows:
            for axis in row.odd:
                count[axis] += 1
        self._usual: dict[str | None, str] = {}
        for axis in sorted(views, key=lambda axis: count[axis]):
            self._usual.setdefault(views[axis].family, axis)
        self._compared: dict[str, dict[str, str]] = {}

    def of(self, row: Row, axis: str) -> str:
        """The class of what an axis has, where most have something else."""
        other = self._usual[self._views[axis].family]
        has_role = next(iter(row.cells.values())).parameter.role is not None
        if not has_role or other in row.odd:
            return _usual(row)
        if axis not in self._compared:
            if len(self._compared) >= _MOST_COMPARED:
                return _usual(row)
            changes = compare(self._views[other], self._views[axis], sides=(other, axis)).news
            self._compared[axis] = {str(c.shown.role): c.consequence for c in changes}
        return self._compared[axis].get(row.key, _usual(row))


def _by_value(row: Row) -> dict[str | None, list[str]]:
    """The odd axes by what they have, or all of them where that scatters."""
    cells = [row.cells.get(axis) for axis in row.odd]
    are_scaled_alike = len({id(cell.sizing) for cell in cells if cell is not None}) < 2
    values = {
        None if cell is None else cell.written if are_scaled_alike else _about(cell)
        for cell in cells
    }
    count = len(values)
    # Texts take longest of all, and many values in one unit have as many.
    if count <= _MANY or len({value and value[0] for value in values}) > 1:
        by_value: dict[str | None, list[str]] = {}
        for axis, cell in zip(row.odd, cells, strict=True):
            by_value.setdefault(cell.text if cell is not None else None, []).append(axis)
        if len(by_value) <= _MOST_VALUES:
            return by_value
        count = len(by_value)
    return {_SCATTERED.format(count=count): list(row.odd)}


def _about(cell: Cell) -> tuple[str | None, str | Decimal]:
    """Unit and value, by size where it has one: of axes that are scaled apart one number is two."""
    unit, number = cell.written
    spot = cell.whereabouts
    if cell.sizing.kind is None or spot.slack == inf:
        return unit, number
    return unit, _SURE.create_decimal_from_float(spot.near)


def _usual(row: Row) -> str:
    parameter = next(iter(row.cells.values())).parameter
    role = roles.find(parameter.role) if parameter.role else None
    return usual_consequence(role, row.group)


def _some(axes: Sequence[str]) -> str:
    if len(axes) <= _NAMED:
        return listed(axes)
    return f"{', '.join(axes[:_NAMED])} and {len(axes) - _NAMED} more"

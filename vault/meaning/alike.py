"""Values of many axes that are equal as in a comparison, grouped without holding pair to pair."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from vault.meaning.sentences import value_text
from vault.meaning.sizing import ANYWHERE
from vault.meaning.steps import step_size
from vault.model.cached_property import cached_property
from vault.model.choices import same_label
from vault.store.files.parameters_text import read_parameter_line
from vault.store.files.yaml_text import scalar_text

if TYPE_CHECKING:
    from fractions import Fraction

    from vault.meaning.readings import Reading
    from vault.meaning.sizing import Sizing, Whereabouts
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical


@dataclass
class Cell:
    """One axis's value; what is told of it is worked out when it is asked for.

    `number` and `raw` are as written in the line, None where one of them is a text.
    """

    line: str
    number: str | None
    raw: str | None
    sizing: Sizing = field(repr=False)

    @property
    def parameter(self) -> Parameter:
        """The parameter, read; of most cells nobody asks for it."""
        return read_parameter_line(self.line)

    @cached_property
    def reading(self) -> Reading:
        """The parameter with its sizes and texts."""
        return self.sizing.readings.of(self.parameter)

    @property
    def text(self) -> str:
        """The value for people."""
        return value_text(self.parameter) if self.sizing.says_its_value else self.reading.told

    @cached_property
    def size(self) -> Physical | None:
        """Its size on the machine as built; None where it has none, or it is not known."""
        return None if self.sizing.kind is None else self.sizing.readings.sizes(self.parameter)[1]

    @cached_property
    def step(self) -> Fraction:
        """What a raw step of it is in SI; nought where that is not known."""
        return step_size(self.parameter, self.sizing.view, self.sizing.view.sizes)

    @property
    def written(self) -> tuple[str | None, str]:
        """Unit and value; a text after a quote, so that none of them is a number."""
        number = self.number
        if number is None:
            value = self.parameter.value
            if isinstance(value, str):
                return self.sizing.written_unit, f'"{value}'
            number = scalar_text(value)  # it is the raw value that is a text
        return self.sizing.written_unit, number.removesuffix(".0")  # as 2.0 is 2

    @property
    def whereabouts(self) -> Whereabouts:
        """Where its size is to be looked for; only of what has one."""
        if self.number is None or self.raw is None:
            return ANYWHERE
        return self.sizing.whereabouts(self.number, self.raw)


def alike(one: Cell, other: Cell) -> bool:
    """Equal as in a comparison: to half the coarser raw step, else exactly."""
    left, right = one.size, other.size
    if left is not None and right is not None:
        if (left.unit, left.kind) != (right.unit, right.kind):
            return False
        return abs((left - right).number()) <= max(one.step, other.step) / 2
    if one.parameter.label and other.parameter.label:
        return same_label(one.parameter.label, other.parameter.label, one.parameter.role)
    return one.written == other.written


def groups_of(cells: Mapping[str, Cell]) -> list[list[str]]:
    """Axes that have the same: each is in the oldest group whose first axis it is like."""
    if len({id(cell) for cell in cells.values()}) == 1:  # as most often
        return [list(cells)]
    axes_of: dict[int, list[str]] = {}  # one and the same cell is in one and the same group
    for axis, cell in cells.items():
        if (axes := axes_of.get(id(cell))) is None:
            axes_of[id(cell)] = axes = []
        axes.append(axis)
    unlike = [cells[axes[0]] for axes in axes_of.values()]
    if _are_apart(unlike):
        return list(axes_of.values())
    groups = _Groups()
    places = {id(cell): groups.place(cell) for cell in unlike}
    for axis, cell in cells.items():
        places[id(cell)].append(axis)
    return groups.members


def _are_apart(cells: Sequence[Cell]) -> bool:
    """Whether it is plain that all cells have different sizes: most often most have."""
    kinds = {cell.sizing.kind for cell in cells}
    if len(kinds) != 1 or None in kinds:
        return False
    spots = [cell.whereabouts for cell in cells]
    reach = max(spot.half_step for spot in spots) + 2 * max(spot.slack for spot in spots)
    near = sorted(spot.near for spot in spots)
    return all(one + reach < other for one, other in pairwise(near))


@dataclass(slots=True)
class _Sizes:
    """About what the first axes of groups have in one unit, from the least, with their groups.

    `half_step` and `slack` are the largest of any of them.
    """

    near: list[float] = field(default_factory=list)
    groups: list[int] = field(default_factory=list)
    half_step: float = 0.0
    slack: float = 0.0

    def around(self, spot: Whereabouts) -> list[int]:
        """The groups whose first axis may have the same size."""
        reach = max(spot.half_step, self.half_step) + spot.slack + self.slack
        first = bisect_left(self.near, spot.near - reach)
        return self.groups[first : bisect_right(self.near, spot.near + reach, first)]

    def add(self, spot: Whereabouts, group: int) -> None:
        """Put in the first axis of a new group."""
        place = bisect_right(self.near, spot.near)
        self.near.insert(place, spot.near)
        self.groups.insert(place, group)
        self.half_step = max(self.half_step, spot.half_step)
        self.slack = max(self.slack, spot.slack)


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
        kind, written, group = cell.sizing.kind, cell.written, len(self._firsts)
        by_text = self._written if kind is None else self._written_unsized
        candidates = [by_text[written]] if written in by_text else []
        if kind is not None:
            spot = cell.whereabouts
            sizes = self._sizes.get(kind) or self._sizes.setdefault(kind, _Sizes())
            candidates += sizes.around(spot)
        if cell.sizing.has_label:  # there are few words for one parameter
            candidates = list(range(group))
        for known in sorted(candidates):
            if alike(self._firsts[known], cell):
                return self.members[known]
        self._firsts.append(cell)
        self.members.append([])
        self._written.setdefault(written, group)
        if kind is None:
            self._written_unsized.setdefault(written, group)
        else:
            sizes.add(spot, group)
        return self.members[group]

"""Which axes have a setting, or had it at any time: for a bad value that may be elsewhere too."""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import groupby
from typing import TYPE_CHECKING, Any

from vault.jobs.inspect.history import parameter_history
from vault.jobs.state.selectors import State, by_id, view_of
from vault.meaning.readings import Readings
from vault.model.errors import WrongUsage
from vault.model.golden import Allowance, place
from vault.model.names import Address
from vault.model.parameters import canonical_code
from vault.model.quantities import Measure, UnknownUnit, same_kind
from vault.store.clock import moment_of

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter
    from vault.store.index.rows import Snapshot
    from vault.store.index.values import ValueChange
    from vault.store.vault import Vault

_CONDITION = re.compile(r"\s*(>=|<=|!=|=|>|<)\s*(.+?)\s*")
_COMPARISONS: dict[str, Callable[[Any, Any], bool]] = {
    ">=": operator.ge, "<=": operator.le, ">": operator.gt, "<": operator.lt,
    "=": operator.eq, "!=": operator.ne,
}  # fmt: skip
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Occurrence:
    """An axis that has or had a value: from a snapshot on, until another one; None for now.

    `text` is the value for people: user units as the length or angle that they are.
    """

    axis: str
    parameter: Parameter
    snapshot: str
    since: datetime
    until: datetime | None
    text: str = ""

    @property
    def is_present(self) -> bool:
        """Whether the axis's latest snapshot has it."""
        return self.until is None


def find(
    vault: Vault,
    text: str,
    value: str | None = None,
    *,
    only_now: bool = False,
    progress: Progress = lambda done, total: None,
) -> list[Occurrence]:
    """Where a parameter is, by code, role, or part of its name or label; what is there now first.

    `value` is a condition such as `> 5 mm`, `4..6 mm`, or a label. Raises WrongUsage for a
    condition that means nothing, and where no axis ever had such a parameter.
    """
    condition = Condition.parse(value) if value is not None else None
    vault.index.fill_values(progress=progress)
    codes = vault.index.codes_like(canonical_code(text))
    if not codes:
        raise WrongUsage(f"no axis has, or had, a parameter {text!r}")
    parting = _Parting(vault, condition)
    occurrences = [
        occurrence
        for period in _periods(vault, vault.index.value_changes(codes))
        for occurrence in parting.of(period)
        if (occurrence.is_present or not only_now)
        and (condition is None or condition.holds(vault, occurrence))
    ]
    occurrences.sort(key=lambda occurrence: (not occurrence.is_present, occurrence.axis))
    return [replace(occurrence, text=_text(vault, occurrence)) for occurrence in occurrences]


def _periods(vault: Vault, changes: list[ValueChange]) -> Iterator[Occurrence]:
    """How long each value held: to the next change of its code on its axis."""
    for _, members in groupby(changes, key=lambda change: (change.code, change.address)):
        ordered = list(members)
        ends: list[ValueChange | None] = [*ordered[1:], None]
        for change, end in zip(ordered, ends, strict=True):
            if change.parameter is None:
                continue
            until = None if end is None else moment_of(end.taken)
            since = moment_of(change.taken)
            axis = str(vault.names.named(change.address))
            yield Occurrence(axis, change.parameter, change.snapshot, since, until)


@dataclass(frozen=True, slots=True)
class _Parting:
    """Parts a period where its number came to mean another size, if a size is asked for."""

    vault: Vault
    condition: Condition | None
    shifts: dict[tuple[str, str], list[Snapshot]] = field(default_factory=dict)

    def of(self, entry: Occurrence) -> Iterator[Occurrence]:
        if self.condition is not None and self.condition.needs_size(entry.parameter):
            for snapshot in self._shifts(entry.axis, entry.parameter.code):
                taken = snapshot.record.taken_at
                if entry.since < taken and (entry.until is None or taken < entry.until):
                    yield replace(entry, until=taken)
                    entry = replace(entry, snapshot=snapshot.id, since=taken)
        yield entry

    def _shifts(self, axis: str, code: str) -> list[Snapshot]:
        """Where the meaning of a parameter changed, and its number did not."""
        if (axis, code) not in self.shifts:
            steps = parameter_history(self.vault, self.vault.names.find(Address.parse(axis)), code)
            self.shifts[axis, code] = [s.snapshot for s in steps if s.kind == "shifted"]
        return self.shifts[axis, code]


@dataclass(frozen=True, slots=True)
class Condition:
    """A comparison with a measure, or what a waiver could allow: a range or a label."""

    compared: tuple[str, Measure] | None = None
    allowed: Allowance | None = None

    @classmethod
    def parse(cls, text: str) -> Condition:
        """Read `> 5 mm`, `4..6 mm`, `5 mm` or `Ramp down`. Raises WrongUsage."""
        match = _CONDITION.fullmatch(text)
        if match is None:
            return cls(allowed=Allowance.typed(text))
        try:
            return cls(compared=(match[1], Measure.typed(match[2])))
        except (ValueError, UnknownUnit) as error:
            raise WrongUsage(f"{text!r} compares with nothing: {error}") from error

    def holds(self, vault: Vault, entry: Occurrence) -> bool:
        """Whether it is true of what an axis had."""
        parameter = entry.parameter
        view = _view(vault, entry) if self.needs_size(parameter) else None
        size = None if view is None else view.physical_of(parameter)
        if self.allowed is not None:
            return self.allowed.covers(parameter, size)
        if self.compared is None:
            return True
        sign, measure = self.compared
        found = place(measure, parameter, size)
        return found is not None and _COMPARISONS[sign](found, 0)

    def needs_size(self, parameter: Parameter) -> bool:
        """Whether a unit is compared that depends on the axis: only then its scaling is read."""
        bounds = (
            self.allowed.bounds if self.allowed else [self.compared[1]] if self.compared else []
        )
        return parameter.unit is not None and any(
            bound.unit is not None and not same_kind(bound.unit, parameter.unit) for bound in bounds
        )


def _text(vault: Vault, entry: Occurrence) -> str:
    return Readings(_view(vault, entry)).of(entry.parameter).told


def _view(vault: Vault, entry: Occurrence) -> AxisView:
    address = vault.names.find(Address.parse(entry.axis))
    return view_of(State(entry.axis, vault, address, by_id(vault, address, entry.snapshot)))

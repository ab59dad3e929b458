"""The snapshots of an axis, and one parameter's values over time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeGuard

from vault.behaviour.scaling import SCALING_ROLES
from vault.jobs.state.addenda import addenda_of
from vault.jobs.state.selectors import State, view_of
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Comparison, Kind
from vault.meaning.compare import compare, compare_one
from vault.meaning.readings import Readings
from vault.model import roles
from vault.model.cached_property import cached_property
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.parameters import ParameterSet, canonical_code
from vault.store.files.parameters_text import find_parameter, parameters_text

if TYPE_CHECKING:
    from vault.meaning.readings import Reading
    from vault.model.corrections import Correction
    from vault.model.parameters import Parameter
    from vault.store.index.rows import Snapshot
    from vault.store.index.values import ValueChange
    from vault.store.vault import Vault


_BECAME: dict[Kind, str] = {
    "changed": "changed",
    "restated": "number only",
    "shifted": "meaning only",
    "only_left": "gone",
    "only_right": "new",
}
_LACKED: dict[Kind, str] = {
    "only_left": "not in this export",
    "only_right": "not in the export before",
}


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """A snapshot and what it changed against the one before; None for the first.

    `addenda` are what people added about it afterwards.
    """

    snapshot: Snapshot
    comparison: Comparison | None
    addenda: tuple[Correction, ...] = ()


@dataclass(frozen=True, slots=True)
class ParameterStep:
    """A parameter in a snapshot, read by what scales it there; None where it is not there.

    `kind` says what became of it since the snapshot before: `shifted` where only its meaning
    changed, `restated` where only its number did; None where nothing did, and for the first.
    `may_lack`: the snapshot without it, this one or the one before, may not be a whole set.
    """

    snapshot: Snapshot
    reading: Reading | None
    kind: Kind | None
    is_first: bool
    may_lack: bool = False

    @property
    def parameter(self) -> Parameter | None:
        """The parameter as the drive held it."""
        return self.reading.parameter if self.reading is not None else None

    @property
    def changed(self) -> bool:
        """Whether it is another one than in the snapshot before."""
        return self.kind is not None or (self.is_first and self.reading is not None)

    @property
    def became(self) -> str:
        """What became of it since the snapshot before, in words; empty where nothing did."""
        if self.kind is None:
            return ""
        return (self.may_lack and _LACKED.get(self.kind)) or _BECAME[self.kind]


def history(vault: Vault, address: Address) -> Iterator[HistoryEntry]:
    """Snapshots of an axis, oldest first, each compared with the one before."""
    before: AxisView | None = None
    addenda = addenda_of(vault, address)
    for snapshot in vault.index.snapshots(address):
        side = view_of(State(snapshot.id[:10], vault, address, snapshot))
        compared = None if before is None else compare(before, side)
        yield HistoryEntry(snapshot, compared, addenda.get(snapshot.id, ()))
        before = side


def parameter_history(vault: Vault, address: Address, name: str) -> Iterator[ParameterStep]:
    """One parameter through all snapshots, oldest first; `name` is its code or role.

    Answered from the index, where only what scales the parameter is read beside it. Whole sets are
    read for what the index leaves out, as live values, and for what scales others: only those tell
    what became of it.
    Raises WrongUsage if no snapshot has it.
    """
    code, role = canonical_code(name), name if roles.find(name) else None
    vault.index.fill_values(address)
    snapshots = list(vault.index.snapshots(address))  # first: others may record meanwhile
    changes = vault.index.value_changes_on(
        address, code, (*SCALING_ROLES, *((role,) if role else ()))
    )
    wanted = [change.parameter for change in changes if _is_wanted(change.parameter, code, role)]
    scales = any(parameter.role in SCALING_ROLES for parameter in wanted)
    by_sets = scales or not wanted or _have_other_families(snapshots)
    states = ((one, State(one.id[:10], vault, address, one)) for one in snapshots)
    sides = _from_sets(states) if by_sets else _from_index(states, changes)
    is_there = False
    before: _Side | None = None
    reading: Reading | None = None
    for side in sides:
        if before is not None and side.rests_on == before.rests_on:
            yield ParameterStep(side.snapshot, reading, None, is_first=False)
            continue
        parameter = side.find(code, role)
        kind: Kind | None = None
        if before is not None:
            was = before.find(code, role)
            if scales:
                kind = _kind_among_all(before.view, side.view, was, parameter)
            else:
                change = compare_one(before.view, side.view, was, parameter)
                kind = None if change is None else change.kind
        reading = None if parameter is None else Readings(side.view).of(parameter)
        is_there = is_there or reading is not None
        without = side if kind == "only_left" else before if kind == "only_right" else None
        may_lack = without is not None and without.state.coverage.may_lack
        yield ParameterStep(side.snapshot, reading, kind, before is None, may_lack)
        before = side
    if not is_there:
        raise WrongUsage(f"no snapshot of {address} has a parameter {name!r}")


def _is_wanted(parameter: Parameter | None, code: str, role: str | None) -> TypeGuard[Parameter]:
    if parameter is None:
        return False
    return parameter.code == code or (role is not None and parameter.role == role)


def _have_other_families(snapshots: list[Snapshot]) -> bool:
    """Whether what is live in one snapshot may be a setting in another."""
    return len({snapshot.family_part for snapshot in snapshots}) > 1


def _kind_among_all(
    before: AxisView, after: AxisView, was: Parameter | None, now: Parameter | None
) -> Kind | None:
    """What became of a parameter, judged by what became of all the others."""
    changes = compare(before, after).changes
    return next((c.kind for c in changes if (c.left, c.right) == (was, now)), None)


@dataclass(frozen=True)
class _Side:
    """A snapshot with as much of its parameters as one parameter's meaning rests on."""

    snapshot: Snapshot
    state: State
    text: bytes

    @cached_property
    def view(self) -> AxisView:
        """What gives the numbers a meaning."""
        return view_of(self.state, text=self.text)

    @cached_property
    def rests_on(self) -> tuple[object, ...]:
        """Equal for two snapshots that say the same: no view is needed of the second."""
        snapshot = self.snapshot
        return (self.text, snapshot.family_part, snapshot.nameplate_part, self.state.axis_text)

    def find(self, code: str, role: str | None) -> Parameter | None:
        """The parameter of that code, else of that role."""
        return find_parameter(self.view.text, code, role, self.view.name)


_Stored = tuple["Snapshot", State]


def _from_index(states: Iterable[_Stored], changes: list[ValueChange]) -> Iterator[_Side]:
    """Snapshots with the parameters of these changes only."""
    by_snapshot: dict[str, list[ValueChange]] = {}
    for change in changes:
        by_snapshot.setdefault(change.snapshot, []).append(change)
    parameters: dict[str, Parameter] = {}
    text = b""
    for snapshot, state in states:
        for change in by_snapshot.get(snapshot.id, ()):
            if change.parameter is None:
                parameters.pop(change.code, None)
            else:
                parameters[change.code] = change.parameter
            text = b""
        text = text or parameters_text(ParameterSet(parameters.values()))
        yield _Side(snapshot, state, text)


def _from_sets(states: Iterable[_Stored]) -> Iterator[_Side]:
    """Snapshots with all of their parameters."""
    for snapshot, state in states:
        yield _Side(snapshot, state, state.parameters_text)

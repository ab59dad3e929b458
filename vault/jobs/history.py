"""The snapshots of an axis, and one parameter's values over time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.selectors import State, view_of
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.model import roles
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.parameters import canonical_code
from vault.model.quantities import Physical, physical
from vault.store import layout, yaml_text

if TYPE_CHECKING:
    from vault.model.parameters import Parameter
    from vault.store.index import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Entry:
    """A snapshot and what it changed against the one before; None for the first."""

    snapshot: Snapshot
    comparison: Comparison | None


@dataclass(frozen=True, slots=True)
class Step:
    """A parameter's state in a snapshot; None where the snapshot does not have it."""

    snapshot: Snapshot
    parameter: Parameter | None
    changed: bool

    @property
    def physical(self) -> Physical | None:
        """Its size in SI."""
        if self.parameter is None or isinstance(self.parameter.value, str):
            return None
        return physical(self.parameter.value, self.parameter.unit)


def history(vault: Vault, address: Address) -> Iterator[Entry]:
    """Snapshots of an axis, oldest first, each compared with the one before."""
    before: AxisView | None = None
    for snapshot in vault.index.snapshots(address):
        side = view_of(State(snapshot.id[:10], vault, address, snapshot))
        yield Entry(snapshot, None if before is None else compare(before, side))
        before = side


def parameter_history(vault: Vault, address: Address, name: str) -> Iterator[Step]:
    """One parameter through all snapshots, oldest first; `name` is its code or role.

    Raises WrongUsage if no snapshot has it.
    """
    code = canonical_code(name)
    role = name if roles.find(name) else None
    found = False
    before: Parameter | None = None
    texts: tuple[bytes, Parameter | None] = (b"", None)
    for snapshot in vault.index.snapshots(address):
        text = vault.needed(layout.parameters_file(address), snapshot.id)
        if text != texts[0]:
            texts = text, yaml_text.find_parameter(text, code, role, snapshot.id[:10])
        parameter = texts[1]
        found = found or parameter is not None
        yield Step(snapshot, parameter, parameter != before)
        before = parameter
    if not found:
        raise WrongUsage(f"no snapshot of {address} has a parameter {name!r}")

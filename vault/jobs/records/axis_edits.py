"""The record of an axis as built over time: who changed axis.yaml, and what follows from it.

Only the axis's own edits are walked; the machine's other axes are read where an address changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from vault.jobs.state.compare import BESIDE, built
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings
from vault.model.errors import Unreadable
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.edited_files import cached_axis
from vault.store.git.history import commits_changing

if TYPE_CHECKING:
    from datetime import datetime

    from vault.meaning.changes import Surrounding
    from vault.meaning.surrounding_consequences import Neighbours
    from vault.model.axis import AxisRecord
    from vault.store.git.objects import LoggedCommit
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class AxisEdit:
    """One edit of axis.yaml; `is_first` where nothing was recorded before."""

    commit: str
    at: datetime
    by: str
    changes: tuple[Surrounding, ...]
    is_first: bool


def axis_edits(vault: Vault, address: Address) -> Iterator[AxisEdit]:
    """Every edit of the record of an axis, oldest first."""
    path = layout.axis_file(address)
    readable: AxisRecord | None = None
    for logged in commits_changing(vault.repository, vault.tip, path):
        try:
            edit, readable = axis_edit(vault, address, logged, readable)
        except Unreadable:  # by somebody else's hand; verify and axis show tell of it
            continue
        yield edit


def axis_edit(
    vault: Vault, address: Address, logged: LoggedCommit, readable: AxisRecord | None = None
) -> tuple[AxisEdit, AxisRecord | None]:
    """One edit, and the record after it; where that before cannot be read, it is held against the
    last that could. Raises Unreadable where the record after it cannot.
    """
    path = layout.axis_file(address)
    was, content = (vault.read(path, f"{logged.commit}{place}") for place in ("^", ""))
    after = None if content is None else cached_axis(content, path)
    before = readable
    with suppress(Unreadable):
        before = None if was is None else cached_axis(was, path)
    around = partial(neighbours, vault, address, logged.commit)
    changes = edited(before, after, dict if was is None else around)
    return AxisEdit(logged.commit, logged.at, logged.by, changes, was is None), after


def edited(
    before: AxisRecord | None, after: AxisRecord | None, around: Neighbours = dict
) -> tuple[Surrounding, ...]:
    """What an edit of the record changes, worst first.

    `around` gives the records of the machine's other axes.
    """
    changes = surroundings(_whole(before), _whole(after))
    return explained(changes, before, after, neighbours=around, alone=True)


def _whole(record: AxisRecord | None) -> dict[str, Any]:
    """What is compared of a record, with what two axes or drives are not compared by."""
    if record is None:
        return {}
    beside = record.model_dump(include=set(BESIDE), exclude_none=True)
    return {**built(record), **{key: value for key, value in beside.items() if value}}


def neighbours(vault: Vault, address: Address, commit: str | None = None) -> dict[str, AxisRecord]:
    """Records of the other axes of a machine, by name; those that can be read."""
    moment = commit or vault.tip
    records: dict[str, AxisRecord] = {}
    for entry in vault.repository.list(moment, f"{layout.MACHINES}/{address.machine}"):
        name = entry.path.rsplit("/", 1)[1]
        path = layout.axis_file(Address(address.machine, name))
        content = None if name == address.axis else vault.read(path, moment)
        if content is not None:
            with suppress(Unreadable):
                records[name] = cached_axis(content, path)
    return records

"""The record of an axis as built over time: who changed axis.yaml, and what follows from it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.compare_states import built
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings
from vault.model.errors import Unreadable
from vault.store import layout
from vault.store.edited_files import cached_axis

if TYPE_CHECKING:
    from datetime import datetime

    from vault.meaning.changes import Surrounding
    from vault.model.axis import AxisRecord
    from vault.model.names import Address
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
    before: AxisRecord | None = None
    is_first = True
    for logged in vault.repository.log(path):
        content = vault.read(path, logged.commit)
        try:
            after = None if content is None else cached_axis(content, path)
        except Unreadable:  # by somebody else's hand; verify and axis show tell of it
            continue
        yield AxisEdit(logged.commit, logged.at, logged.by, edited(before, after), is_first)
        before, is_first = after, False


def edited(before: AxisRecord | None, after: AxisRecord | None) -> tuple[Surrounding, ...]:
    """What an edit of the record changes, worst first; titles and notes are no content."""
    return explained(surroundings(built(before), built(after)), before, after)

"""What one snapshot changed after another, in sentences, remembered for as long as it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import State, view_of
from vault.meaning.compare import compare
from vault.meaning.reader import system
from vault.meaning.sentences import sentences
from vault.model.remembered import Remembered
from vault.model.written_form import form

if TYPE_CHECKING:
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

NOTHING_CHANGED = ("No setting changed.",)


@dataclass(frozen=True, slots=True)
class ToldChanges:
    """Sentences, and the parameters that they name: what each is called there, and its code."""

    sentences: tuple[str, ...]
    named: tuple[tuple[str, str], ...] = ()


def told_changes(vault: Vault, before: Snapshot | None, after: Snapshot, most: int) -> ToldChanges:
    """What a snapshot changed after the one before it, None for the first: `most` changes of it.

    The same until somebody edits the axis record: that of the branch stands in where none was
    recorded when a snapshot was taken.
    """
    if before is None:
        return ToldChanges(("The first snapshot of this axis.",))
    address = after.address
    record = vault.axis_text(address)
    key = (address, before.id, after.id, before.redated, record, most, system(), form())

    def tell() -> ToldChanges:
        sides = (State(s.id[:10], vault, address, s) for s in (before, after))
        comparison = compare(*map(view_of, sides))
        named = {change.shown.code: change.shown.name for change in comparison.news}
        return ToldChanges(
            tuple(sentences(comparison, most)) or NOTHING_CHANGED,
            tuple((text, code) for code, name in named.items() for text in (name, code)),
        )

    return _TOLD.of(key, tell)


_TOLD = Remembered[tuple[object, ...], ToldChanges](4096)

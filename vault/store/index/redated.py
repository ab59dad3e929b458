"""When snapshots were really taken, where somebody put that right in corrections.yaml.

Readers see them in that order. How they were recorded, and the chain of their records, stays.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from vault.model.corrections import times_put_right
from vault.model.errors import VaultError
from vault.store.clock import CLOCKS_APART, microseconds, now, time_text
from vault.store.files import layout
from vault.store.files.corrections_text import read_corrections
from vault.store.index import values
from vault.store.index._reading import first_row
from vault.store.index.rows import snapshots

if TYPE_CHECKING:
    import sqlite3

    from vault.model.names import Address
    from vault.store.git.repository import Repository


def redate(
    database: sqlite3.Connection, repository: Repository, tip: str, addresses: Iterable[Address]
) -> bool:
    """Give the snapshots of some axes the times that hold at a commit; say whether any changed.

    Call it within a transaction.
    """
    changed = False
    for address in addresses:
        times = redated_times(repository, tip, address)
        of_axis = snapshots(database, "WHERE machine = ? AND axis = ?", *address.key)
        for snapshot in list(of_axis):
            redated = times.get(snapshot.id)
            if redated == snapshot.redated:
                continue
            as_shown = replace(snapshot, redated=redated)
            database.execute(
                "UPDATE snapshots SET taken = ?, redated = ? WHERE seq = ?",
                (microseconds(as_shown.record.taken_at), redated, snapshot.seq),
            )
            values.forget(database, address)
            changed = True
    if changed:
        count = "SELECT count(redated) FROM snapshots"
        database.execute(f"UPDATE state SET redated = ({count})")
    return changed


def redated_times(repository: Repository, commit: str, address: Address) -> dict[str, str]:
    """When snapshots of an axis were taken by what stands in a commit, by their ids.

    A file that cannot be read says nothing; verify names it.
    """
    path = layout.corrections_file(address)
    content = repository.read(commit, path)
    if content is None:
        return {}
    try:
        corrections = read_corrections(content, path)
    except VaultError:
        return {}
    times = times_put_right(corrections)
    latest = now() + CLOCKS_APART  # what lies beyond cannot be, and verify names it
    return {snapshot: time_text(at) for snapshot, at in times.items() if at <= latest}


def is_redated(database: sqlite3.Connection, address: Address) -> bool:
    """Whether any snapshot of an axis has another time than it was recorded with."""
    state = first_row(database, (int,), "SELECT redated FROM state")
    if state is not None and not state[0]:  # as in most vaults: no axis need be looked through
        return False
    question = (
        "SELECT 1 FROM snapshots WHERE machine = ? AND axis = ? AND redated IS NOT NULL LIMIT 1"
    )
    return first_row(database, (int,), question, *address.key) is not None

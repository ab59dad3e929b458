"""Snapshots of an axis that were taken at the same moment.

Recorded in one vault, each has those before it in its history. Two copies of a vault may record
some apart from each other: then every copy must put them into the same order, whatever came to it
first. What has the longer history comes later, else what has the greater commit id.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.names import Address
from vault.store.git.ancestry import ancestry
from vault.store.index import values
from vault.store.index._reading import DamagedIndex, rows

if TYPE_CHECKING:
    import sqlite3

    from vault.store.git.repository import Repository

_CONTENT = "taken, id, serial, channel, text, crc, redated"
_PLACES = ", ".join("?" * 10)
_ADD = f"INSERT INTO snapshots (seq, machine, axis, {_CONTENT}) VALUES ({_PLACES})"


def settle_ties(database: sqlite3.Connection, repository: Repository, tip: str, since: int) -> None:
    """Number snapshots of the same moment anew where any of them has a number above `since`.

    Call it within a transaction.
    """
    ties = list(rows(
        database, (str, str, int),
        "SELECT DISTINCT machine, axis, taken FROM snapshots AS s WHERE seq > ? AND EXISTS"
        " (SELECT 1 FROM snapshots AS o WHERE (o.machine, o.axis, o.taken) ="
        " (s.machine, s.axis, s.taken) AND o.seq <> s.seq)",
        since,
    ))  # fmt: skip
    if not ties:
        return
    history = ancestry(repository, tip)
    for tie in ties:
        kinds = (int, int, str, str | None, int | None, bytes, int, str | None)
        question = f"SELECT seq, {_CONTENT} FROM snapshots WHERE (machine, axis, taken) = (?, ?, ?)"
        snapshots = list(rows(database, kinds, f"{question} ORDER BY seq", *tie))
        if any(row[2] not in history for row in snapshots):
            raise DamagedIndex("a snapshot is no part of the history")
        wanted = sorted(snapshots, key=lambda row: history.rank(row[2]))
        if wanted == snapshots:
            continue
        numbers = [row[0] for row in snapshots]
        database.executemany("DELETE FROM snapshots WHERE seq = ?", [(n,) for n in numbers])
        database.executemany(
            _ADD,
            [(n, tie[0], tie[1], *row[1:]) for n, row in zip(numbers, wanted, strict=True)],
        )
        values.forget(database, Address.of_key(tie[0], tie[1]))

"""What people did to an axis beside taking exports: which commits changed which of its files.

Entered as the index follows the branch, so that nobody walks the history to tell of one axis.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zlib import crc32

from vault.model.errors import Damaged
from vault.model.names import Address
from vault.store.clock import moment_of_second
from vault.store.index._reading import DamagedIndex, rows
from vault.store.index.kept_text import TYPICAL, read_kept_text

if TYPE_CHECKING:
    import sqlite3
    from datetime import datetime

    from vault.store.git.repository import Repository

GOLDEN, RESTORE, AXIS = "golden.yaml", "restore.yaml", "axis.yaml"
ACT_FILES = (GOLDEN, RESTORE, AXIS)
"""Files of an axis that are changed by an act of somebody's."""
TABLES = """
CREATE TABLE acts (
  seq INTEGER PRIMARY KEY,
  machine TEXT NOT NULL, axis TEXT NOT NULL, file TEXT NOT NULL,
  at INTEGER NOT NULL, id TEXT NOT NULL, person TEXT NOT NULL, subject TEXT NOT NULL,
  crc INTEGER NOT NULL,
  UNIQUE (id, machine, axis, file)
);
CREATE INDEX acts_of_axis ON acts (machine, axis, at, seq);
"""


@dataclass(frozen=True, slots=True)
class Act:
    """A commit that changed a file of an axis: when (seconds since 1970), who, and its subject."""

    address: Address
    file: str
    second: int
    commit: str
    by: str
    subject: str

    @property
    def at(self) -> datetime:
        """When it was done."""
        return moment_of_second(self.second)

    @property
    def crc(self) -> int:
        """Of all that stands in its row."""
        said = (self.address.place, self.file, str(self.second), self.commit, self.by, self.subject)
        return crc32("\0".join(said).encode())


def enter(
    database: sqlite3.Connection, repository: Repository, address: Address, file: str, commit: str
) -> None:
    """Enter that a commit changed a file of an axis. Call within a transaction.

    A commit that cannot be read says nothing; verify names it.
    """
    with suppress(Damaged):
        header = repository.commit_header(commit)
        subject = header.message.partition("\n")[0]
        act = Act(address, file, header.committed, commit, header.author, subject)
        database.execute(
            "INSERT OR IGNORE INTO acts (machine, axis, file, at, id, person, subject, crc)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (*address.key, file, act.second, commit, act.by, subject, act.crc),
        )  # fmt: skip


def acts_on(database: sqlite3.Connection, address: Address) -> list[Act]:
    """Acts on an axis, oldest first. Raises DamagedIndex where one is not as it was entered."""
    found = []
    for *texts, crc in rows(
        database, (str, int, str, str, str, int),
        "SELECT file, at, id, person, subject, crc FROM acts"
        " WHERE machine = ? AND axis = ? ORDER BY at, seq",
        *address.key,
    ):  # fmt: skip
        act = Act(address, *texts)
        if act.crc != crc:
            raise DamagedIndex("an act is not as it was entered")
        found.append(act)
    return found


@dataclass(frozen=True, slots=True)
class PlaceInTime:
    """When a snapshot was taken, in microseconds since 1970, and whether to check a restore."""

    id: str
    taken: int
    restores: bool


def places_in_time(database: sqlite3.Connection, address: Address) -> list[PlaceInTime]:
    """All snapshots of an axis, oldest first, without reading their records."""
    found = rows(
        database, (str, int, bytes, int, bytes),
        f"SELECT id, taken, text, crc, {TYPICAL} FROM snapshots"
        " WHERE machine = ? AND axis = ? ORDER BY taken, seq",
        *address.key,
    )  # fmt: skip
    places = []
    for commit, taken, kept, crc, typical in found:
        if crc32(text := read_kept_text(kept, typical)) != crc:
            raise DamagedIndex("a snapshot is not as it was entered")
        places.append(PlaceInTime(commit, taken, b"\nrestores: " in text))
    return places

"""The database of the index: a file, or, where that fails, the same in memory."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from vault.store.index._reading import DamagedIndex
from vault.store.index.tables import clear, connected, fits, in_memory
from vault.store.local.sqlite_file import FAILURES, result_code, writing

Answer = TypeVar("Answer")
UNREADABLE = (*FAILURES, DamagedIndex)
"""What an answer ends with where the file is damaged, busy or not writable."""
_DAMAGE = (
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_CONSTRAINT,
    sqlite3.SQLITE_ERROR,
)


class IndexDatabase:
    """Answers questions from the file as long as that can be read, then from memory.

    `refill` brings what is in memory up to date. A damaged file is made anew by whoever records.
    """

    def __init__(self, file: Path, refill: Callable[[], None]) -> None:
        self._file = file
        self._refill = refill
        self.is_damaged = False
        self.connection = self._open()

    def close(self) -> None:
        """Close the database."""
        self.connection.close()

    def ask(self, question: Callable[[sqlite3.Connection], Answer]) -> Answer:
        """The answer of the file, else of memory."""
        try:
            return question(self.connection)
        except UNREADABLE as error:
            self.do_without_file(error)
            return question(self.connection)

    def do_without_file(self, error: Exception) -> None:
        """Go on in memory: the file is damaged, read-only, full, or locked for long."""
        self.is_damaged |= is_damage(error)
        self.connection.close()
        self.connection = in_memory()
        self._refill()

    def renew(self) -> None:
        """Start anew with an empty file. Call while nobody else writes."""
        self.connection.close()
        self.remove()
        self.is_damaged = False
        self.connection = self._open()

    def remove(self) -> None:
        """Remove the file, for the next one who opens it to make it anew."""
        for ending in ("", "-wal", "-shm"):
            with suppress(OSError):
                self._file.with_name(self._file.name + ending).unlink(missing_ok=True)

    def is_sound(self) -> bool:
        """Whether SQLite finds nothing wrong."""
        try:
            verdict = self.connection.execute("PRAGMA integrity_check(1)").fetchone()
        except FAILURES:
            return False
        return bool(verdict == ("ok",))

    def _open(self) -> sqlite3.Connection:
        try:
            self._file.parent.mkdir(exist_ok=True)
            database = connected(str(self._file))
            database.execute("PRAGMA journal_mode = WAL")
            database.execute("PRAGMA synchronous = NORMAL")
            database.execute("PRAGMA cell_size_check = ON")  # else damage reads as nothing there
            if not fits(database):
                with writing(database):
                    if not fits(database):  # nobody else was quicker
                        clear(database)
            return database
        except (*FAILURES, OSError) as error:
            self.is_damaged |= not isinstance(error, OSError) and is_damage(error)
            return in_memory()


def is_damage(error: Exception) -> bool:
    """Whether it tells that the file is damaged, which is more than busy or not writable."""
    if not isinstance(error, sqlite3.Error):
        return True
    return result_code(error) in _DAMAGE

"""SQLite files beside the repository: how they are opened, written, and brought up to date.

A file says in SQLite's `user_version` how many steps its tables have gone through. The first step
of a list makes the tables, each later one changes what the one before it left: a file of an older
program takes those that it misses, in one transaction. A file of a newer program is left alone.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from functools import cache
from pathlib import Path

from vault.model.errors import Unavailable

FAILURES = (sqlite3.Error, UnicodeDecodeError)
"""What SQLite fails with; the second where its message quotes from a damaged file."""
_BUSY_SECONDS = 30


def connected(place: Path | str, *, by_any_thread: bool = False) -> sqlite3.Connection:
    """Open a database in a file, which is made, or in `:memory:`. Raises FAILURES."""
    refuse_link(place)
    database = sqlite3.connect(
        place, timeout=_BUSY_SECONDS, isolation_level=None, check_same_thread=not by_any_thread
    )
    database.execute("PRAGMA trusted_schema = OFF")  # a vault may come from anybody
    return database


def refuse_link(place: Path | str) -> None:
    """Raise sqlite3.OperationalError where a file, or one that SQLite keeps beside it, is a link.

    A vault may come from anybody: its links lead to files that are none of its.
    """
    for ending in ("", "-wal", "-shm", "-journal"):
        if Path(f"{place}{ending}").is_symlink():
            raise sqlite3.OperationalError(f"{Path(place).name}{ending} is a link to elsewhere")


@contextmanager
def writing(database: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Write all of the block, or nothing. Raises FAILURES."""
    database.execute("BEGIN IMMEDIATE")
    try:
        yield database
        database.execute("COMMIT")
    except BaseException:
        with suppress(*FAILURES):
            if database.in_transaction:
                database.execute("ROLLBACK")
        raise


def version(database: sqlite3.Connection) -> int:
    """How many steps the tables of a database have gone through. Raises FAILURES."""
    return int(database.execute("PRAGMA user_version").fetchone()[0])


def set_version(database: sqlite3.Connection, steps: int) -> None:
    """Note how many steps the tables have gone through. Call within `writing`."""
    database.execute(f"PRAGMA user_version = {steps}")


def bring_up_to_date(database: sqlite3.Connection, steps: Sequence[str], file: Path) -> None:
    """Take the steps that a file misses, all of them or none.

    A step is SQL, with a `;` between its statements. Raises Unavailable for a
    file of a newer program, FAILURES where it cannot be read or written, or does more than the
    steps made it do.
    """
    if version(database) < len(steps):
        with writing(database):
            # Asked again: another process may have been quicker.
            for number in range(version(database), len(steps)):
                run(database, steps[number])
                set_version(database, number + 1)
    if version(database) > len(steps):
        raise Unavailable(
            "a newer axisvault wrote this file", file=str(file), hint="update this one"
        )
    for kind, name, text in _acting(database) - _made_to_act(tuple(steps)):
        raise sqlite3.DatabaseError(f"{kind} {name} is none of ours: {text[:60]!r}")


def _acting(database: sqlite3.Connection) -> frozenset[tuple[str, str, str]]:
    """What does something by itself when a table is read or written: views and triggers."""
    rows = database.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE type IN ('view', 'trigger')"
    )
    return frozenset(rows.fetchall())


@cache
def _made_to_act(steps: tuple[str, ...]) -> frozenset[tuple[str, str, str]]:
    with closing(connected(":memory:")) as database:
        for step in steps:
            run(database, step)
        return _acting(database)


def copy_whole(source: Path, target: Path) -> None:
    """Copy a database as it stands at one moment, while others write, into one new file.

    Raises FAILURES, for one that is damaged too.
    """
    with closing(connected(source)) as opened, closing(connected(target)) as copy:
        opened.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # else a second file belongs to it
        damage = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
        if damage != "ok":
            raise sqlite3.DatabaseError(f"{source.name} is damaged: {damage}")


def run(database: sqlite3.Connection, statements: str) -> None:
    """Execute several statements, with a `;` between them."""
    statement = ""
    for part in statements.split(";"):
        statement += f"{part};"
        if sqlite3.complete_statement(statement):  # else it is one of a trigger's
            database.execute(statement)
            statement = ""


def result_code(error: BaseException) -> int:
    """SQLite's primary result code of an error (sqlite.org/rescode.html); 0 if it has none."""
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF

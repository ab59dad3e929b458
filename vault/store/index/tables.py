"""The tables of the index, and the database they lie in."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from vault.store.index import values

_LAYOUT = 6
_TABLES = """
CREATE TABLE snapshots (
  seq INTEGER PRIMARY KEY,
  machine TEXT NOT NULL, axis TEXT NOT NULL,
  taken INTEGER NOT NULL,
  id TEXT NOT NULL,
  serial TEXT, channel INTEGER,
  text BLOB NOT NULL,
  UNIQUE (id, machine, axis)
);
CREATE INDEX in_time ON snapshots (machine, axis, taken, seq);
CREATE TABLE assessments (
  machine TEXT NOT NULL, axis TEXT NOT NULL,
  seen TEXT NOT NULL, document TEXT NOT NULL, crc INTEGER NOT NULL,
  PRIMARY KEY (machine, axis)
);
CREATE TABLE state (layout INTEGER NOT NULL, tip TEXT, newest INTEGER, assessed TEXT);
"""


def connected(place: str) -> sqlite3.Connection:
    """Open a database in a file, or `:memory:`."""
    return sqlite3.connect(place, timeout=30, isolation_level=None, check_same_thread=False)


def in_memory() -> sqlite3.Connection:
    """An empty index that lives as long as the process."""
    database = connected(":memory:")
    clear(database)
    return database


@contextmanager
def writing(database: sqlite3.Connection) -> Iterator[None]:
    """Write all of the block, or nothing."""
    database.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if database.in_transaction:
            database.execute("ROLLBACK")
        raise
    database.execute("COMMIT")


def fits(database: sqlite3.Connection) -> bool:
    """Whether the tables are those of this version."""
    try:
        row = database.execute("SELECT layout FROM state").fetchone()
    except sqlite3.OperationalError:
        return False
    return row is not None and row[0] == _LAYOUT


def clear(database: sqlite3.Connection) -> None:
    """Make the tables anew, empty."""
    for table in ("snapshots", "assessments", "state", *values.NAMES):
        database.execute(f"DROP TABLE IF EXISTS {table}")
    for statement in (_TABLES + values.TABLES).split(";"):
        if statement.strip():
            database.execute(statement)
    database.execute("INSERT INTO state VALUES (?, NULL, NULL, NULL)", (_LAYOUT,))

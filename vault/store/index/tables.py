"""The tables of the index, and the database they lie in."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache

from vault.store.index import acts, lines, texts, values
from vault.store.local import sqlite_file

_VERSION = 16  # a file of any other is emptied: all of it can be had from git
_TABLES = """
CREATE TABLE snapshots (
  seq INTEGER PRIMARY KEY,
  machine TEXT NOT NULL, axis TEXT NOT NULL,
  taken INTEGER NOT NULL,
  id TEXT NOT NULL,
  serial TEXT, channel INTEGER,
  text BLOB NOT NULL, crc INTEGER NOT NULL,
  redated TEXT
);
CREATE INDEX in_time ON snapshots (machine, axis, taken, seq);
CREATE INDEX by_id ON snapshots (substr(id, 1, 8));
CREATE TABLE assessments (
  machine TEXT NOT NULL, axis TEXT NOT NULL,
  seen TEXT NOT NULL, document TEXT NOT NULL, crc INTEGER NOT NULL,
  PRIMARY KEY (machine, axis)
);
CREATE TABLE state (
  tip TEXT, newest INTEGER, assessed TEXT, redated INTEGER NOT NULL, texts_at TEXT,
  typical BLOB
);
INSERT INTO state VALUES (NULL, NULL, NULL, 0, NULL, NULL);
"""


def connected(place: str) -> sqlite3.Connection:
    """Open a database in a file, or `:memory:`."""
    return sqlite_file.connected(place, by_any_thread=True)


def in_memory() -> sqlite3.Connection:
    """An empty index that lives as long as the process."""
    database = connected(":memory:")
    clear(database)
    return database


def fits(database: sqlite3.Connection) -> bool:
    """Whether it is of this version, and has its tables and nothing else.

    A vault may come from anybody: a view or a trigger can go on for ever.
    """
    return sqlite_file.version(database) == _VERSION and _schema(database) == _our_schema()


def _schema(database: sqlite3.Connection) -> frozenset[tuple[str, str, str]]:
    """All that was made; what SQLite makes by itself is left out."""
    rows = database.execute(
        "SELECT type, name, sql FROM sqlite_schema WHERE substr(name, 1, 7) <> 'sqlite_'"
    )
    return frozenset(rows.fetchall())


@cache
def _our_schema() -> frozenset[tuple[str, str, str]]:
    with closing(in_memory()) as database:
        return _schema(database)


def clear(database: sqlite3.Connection) -> None:
    """Make the tables anew, empty."""
    for kind, name, _ in sorted(_schema(database), key=str, reverse=True):  # views first
        if kind in ("view", "table"):  # indexes and triggers go with theirs
            quoted = str(name).replace('"', '""')
            database.execute(f'DROP {kind} "{quoted}"')
    sqlite_file.run(database, _TABLES + lines.TABLES + values.TABLES + texts.TABLES + acts.TABLES)
    sqlite_file.set_version(database, _VERSION)

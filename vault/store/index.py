"""The index: what git holds about snapshots, in SQLite for quick questions.

Derived: it can be deleted at any time, follows the branch by itself, and is rebuilt where it does
not fit. Where it cannot be written it lives in memory.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from vault.model.names import Address
from vault.model.snapshots import SnapshotRecord
from vault.store.clock import microseconds
from vault.store.repository import Repository
from vault.store.snapshot_text import read_snapshot

_LAYOUT = 1
_TABLES = """
CREATE TABLE snapshots (
  seq INTEGER PRIMARY KEY,
  machine TEXT NOT NULL, axis TEXT NOT NULL,
  taken INTEGER NOT NULL,
  id TEXT NOT NULL UNIQUE,
  serial TEXT, channel INTEGER,
  text BLOB NOT NULL
);
CREATE INDEX in_time ON snapshots (machine, axis, taken, seq);
CREATE TABLE state (layout INTEGER NOT NULL, tip TEXT);
"""
_COLUMNS = "seq, machine, axis, id, text"
_SNAPSHOTS = ":(glob)machines/*/*/snapshot.yaml"


@dataclass(frozen=True)
class Snapshot:
    """A snapshot as the index knows it: `id` is its commit, `text` its snapshot.yaml as taken."""

    seq: int
    address: Address
    id: str
    text: bytes

    @cached_property
    def record(self) -> SnapshotRecord:
        """The record, read on first use."""
        return read_snapshot(self.text, f"{self.id[:10]}:snapshot.yaml")


class Index:
    """Snapshots by axis, in the order of their taken-at (ties: in the order they were recorded)."""

    def __init__(self, repository: Repository, state: Path) -> None:
        self._repository = repository
        self._file = state / "index.sqlite"
        self._database = self._open()

    def close(self) -> None:
        """Close the database."""
        self._database.close()

    def _open(self) -> sqlite3.Connection:
        try:
            self._file.parent.mkdir(exist_ok=True)
            database = _connected(str(self._file))
            database.execute("PRAGMA journal_mode = WAL")
            database.execute("PRAGMA synchronous = NORMAL")
            if not _fits(database):
                with _writing(database):
                    if not _fits(database):  # nobody else was quicker
                        _clear(database)
            return database
        except (sqlite3.Error, OSError):
            database = _connected(":memory:")
            with _writing(database):
                _clear(database)
            return database

    def follow(self) -> str:
        """Bring the index to the branch's present commit and return that."""
        try:
            return self._follow()
        except sqlite3.Error:  # unreadable, read-only or locked for long: do without the file
            self._database.close()
            self._database = _connected(":memory:")
            with _writing(self._database):
                _clear(self._database)
            return self._follow()

    def _follow(self) -> str:
        tip = self._repository.tip()
        if self._tip() == tip:
            return tip
        with _writing(self._database):
            known = self._tip()  # again: somebody else may have brought it up meanwhile
            if known == tip:
                return tip
            if known is not None and not self._repository.is_ancestor(known, tip):
                _clear(self._database)
                known = None
            for address, commit, blob in walk(self._repository, known, tip):
                text = self._repository.object(blob) or b""
                self.add(address, commit, text, read_snapshot(text, f"{commit[:10]}:snapshot.yaml"))
            self._set_tip(tip)
        return tip

    def rebuild(self) -> int:
        """Start anew from git; returns the number of snapshots."""
        self._database.close()
        for ending in ("", "-wal", "-shm"):
            self._file.with_name(self._file.name + ending).unlink(missing_ok=True)
        self._database = self._open()
        self.follow()
        return self.count()

    @contextmanager
    def recording(self) -> Iterator[None]:
        """Hold additions back until the branch has moved; they vanish if the block fails."""
        with _writing(self._database):
            yield

    def add(self, address: Address, commit: str, text: bytes, record: SnapshotRecord) -> None:
        """Add a snapshot. Call within `recording`."""
        self._database.execute(
            "INSERT INTO snapshots (machine, axis, taken, id, serial, channel, text)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (
                address.machine,
                address.axis,
                microseconds(record.taken_at),
                commit,
                record.serial,
                record.channel,
                text,
            ),
        )

    def moved(self, tip: str) -> None:
        """Note that the additions are those up to this commit. Call within `recording`."""
        self._set_tip(tip)

    def count(self, address: Address | None = None) -> int:
        """Number of snapshots of an axis, or of all."""
        if address is None:
            row = self._database.execute("SELECT count(*) FROM snapshots").fetchone()
        else:
            row = self._database.execute(
                "SELECT count(*) FROM snapshots WHERE machine = ? AND axis = ?",
                (address.machine, address.axis),
            ).fetchone()
        return int(row[0])

    def snapshots(self, address: Address) -> Iterator[Snapshot]:
        """All snapshots of an axis, oldest first."""
        return self._found("ORDER BY taken, seq", address)

    def back(self, address: Address, steps: int) -> Snapshot | None:
        """The snapshot some steps before the latest."""
        order = f"ORDER BY taken DESC, seq DESC LIMIT 1 OFFSET {int(steps)}"
        return next(self._found(order, address), None)

    def first(self, address: Address) -> Snapshot | None:
        """The oldest snapshot."""
        return next(self._found("ORDER BY taken, seq LIMIT 1", address), None)

    def at(self, address: Address, moment: int) -> Snapshot | None:
        """The newest snapshot not taken after a moment, in microseconds since 1970."""
        order = f"AND taken <= {int(moment)} ORDER BY taken DESC, seq DESC LIMIT 1"
        return next(self._found(order, address), None)

    def by_id(self, address: Address, start: str) -> list[Snapshot]:
        """Snapshots of an axis whose commit id starts with these hex digits."""
        return list(self._found(f"AND id GLOB '{start}*' ORDER BY taken, seq", address))

    def holders(self, serial: str) -> list[Snapshot]:
        """Latest snapshots of the axes whose latest snapshot carries this serial number."""
        rows = self._database.execute(
            f"SELECT {_COLUMNS} FROM snapshots AS s WHERE serial = ? AND NOT EXISTS"
            " (SELECT 1 FROM snapshots AS n WHERE n.machine = s.machine AND n.axis = s.axis"
            " AND (n.taken, n.seq) > (s.taken, s.seq)) ORDER BY machine, axis",
            (serial,),
        )
        return [_snapshot(row) for row in rows]

    def axes(self) -> list[Address]:
        """Axes that have snapshots, by name."""
        rows = self._database.execute("SELECT DISTINCT machine, axis FROM snapshots ORDER BY 1, 2")
        return [Address(machine, axis) for machine, axis in rows]

    def everything(self) -> Iterator[Snapshot]:
        """All snapshots in the order they were recorded."""
        rows = self._database.execute(f"SELECT {_COLUMNS} FROM snapshots ORDER BY seq")
        return map(_snapshot, rows)

    def _found(self, rest: str, address: Address) -> Iterator[Snapshot]:
        rows = self._database.execute(
            f"SELECT {_COLUMNS} FROM snapshots WHERE machine = ? AND axis = ? {rest}",
            (address.machine, address.axis),
        )
        return map(_snapshot, rows)

    def _tip(self) -> str | None:
        row = self._database.execute("SELECT tip FROM state").fetchone()
        return row[0] if row else None

    def _set_tip(self, tip: str) -> None:
        self._database.execute("UPDATE state SET tip = ?", (tip,))


def walk(repository: Repository, old: str | None, new: str) -> Iterator[tuple[Address, str, str]]:
    """Snapshots recorded between two commits, ancestors first: axis, commit, blob of its record.

    A snapshot is a commit with at most one parent that changes the axis's snapshot.yaml; merges
    only re-link the newest one.
    """
    lines = repository.lines(
        "log", "--reverse", "--topo-order", "--full-history", "--no-merges", "--no-renames",
        "--raw", "--no-abbrev", "--format=commit %H", *([f"^{old}"] if old else []), new,
        "--", _SNAPSHOTS,
    )  # fmt: skip
    commit = ""
    for line in lines:
        if line.startswith("commit "):
            commit = line[7:]
        elif line.startswith(":"):
            fields, path = line.split("\t", 1)
            blob = fields.split(" ")[3]
            if blob.strip("0"):
                _, machine, axis, _ = path.split("/")
                yield Address(machine, axis), commit, blob


def _snapshot(row: tuple[int, str, str, str, bytes]) -> Snapshot:
    seq, machine, axis, commit, text = row
    return Snapshot(seq, Address(machine, axis), commit, text)


def _connected(place: str) -> sqlite3.Connection:
    return sqlite3.connect(place, timeout=30, isolation_level=None, check_same_thread=False)


@contextmanager
def _writing(database: sqlite3.Connection) -> Iterator[None]:
    database.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if database.in_transaction:
            database.execute("ROLLBACK")
        raise
    database.execute("COMMIT")


def _fits(database: sqlite3.Connection) -> bool:
    try:
        row = database.execute("SELECT layout FROM state").fetchone()
    except sqlite3.OperationalError:
        return False
    return row is not None and row[0] == _LAYOUT


def _clear(database: sqlite3.Connection) -> None:
    for table in ("snapshots", "state"):
        database.execute(f"DROP TABLE IF EXISTS {table}")
    for statement in _TABLES.split(";"):
        if statement.strip():
            database.execute(statement)
    database.execute("INSERT INTO state VALUES (?, NULL)", (_LAYOUT,))

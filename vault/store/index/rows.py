"""What the index has in its rows: snapshots, and assessments of axes."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any
from zlib import crc32

from vault.model.cached_property import cached_property
from vault.model.coverage import Coverage
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.snapshots import REDATED, SnapshotRecord
from vault.store.clock import microseconds, parse_time, time_text
from vault.store.files.snapshot_text import part, read_snapshot
from vault.store.files.yaml_text import read_mapping
from vault.store.index._reading import DamagedIndex, first_row, rows
from vault.store.index.kept_text import TYPICAL, kept_text, read_kept_text, typical_text

_COMPLETE = b"coverage:\n  kind: complete\n"
_ROW = "machine, axis, taken, id, serial, channel, text, crc"


@dataclass(frozen=True)
class Snapshot:
    """A snapshot as the index knows it: `id` is its commit, `text` its snapshot.yaml as taken.

    `redated` is when it was really taken, where somebody said so afterwards.
    """

    seq: int
    address: Address
    id: str
    text: bytes
    redated: str | None = None

    @cached_property
    def record(self) -> SnapshotRecord:
        """The record, read on first use; taken when somebody said so afterwards."""
        record = read_snapshot(self.text, f"{self.id[:10]}:snapshot.yaml")
        if self.redated is None:
            return record
        return replace(record, taken_at=parse_time(self.redated), taken_at_from=REDATED)

    @property
    def as_recorded(self) -> Snapshot:
        """The snapshot with the record as it was made."""
        return self if self.redated is None else replace(self, redated=None)

    @cached_property
    def coverage(self) -> Coverage | None:
        """What of the drive's set it has, as recorded; most need not be read for it."""
        if part(self.text, b"coverage") == _COMPLETE:
            return Coverage()
        return self.record.coverage

    @cached_property
    def family_part(self) -> bytes:
        """What the record says about the dictionary, unread: much quicker than the record."""
        return part(self.text, b"family")

    @cached_property
    def nameplate_part(self) -> bytes:
        """What the record says about the hardware, unread."""
        return part(self.text, b"nameplate")


@dataclass(frozen=True)
class Addition:
    """What the index enters about a snapshot; its values where they are at hand."""

    address: Address
    commit: str
    text: bytes
    record: SnapshotRecord
    parameters: bytes | None = None
    before: bytes | None = None

    @cached_property
    def row(self) -> tuple[Any, ...]:
        """The columns of its line, the text as it is said."""
        (machine, axis), record = self.address.key, self.record
        taken = microseconds(record.taken_at)
        return (
            machine, axis, taken, self.commit, record.serial, record.channel,
            self.text, crc32(self.text),
        )  # fmt: skip


def enter_snapshot(database: sqlite3.Connection, addition: Addition) -> int:
    """Enter a snapshot, without its values; returns its number. Call within a transaction."""
    state = first_row(database, (bytes | None,), "SELECT typical FROM state") or (None,)
    if (typical := state[0]) is None:
        typical = typical_text(addition.text)
        database.execute("UPDATE state SET typical = ?", (typical,))
    *row, text, crc = addition.row
    done = database.execute(
        f"INSERT INTO snapshots ({_ROW}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (*row, kept_text(text, typical), crc),
    )
    return int(done.lastrowid or 0)


def has_exactly(database: sqlite3.Connection, address: Address, wanted: Iterable[Snapshot]) -> bool:
    """Whether these are the snapshots of an axis, in this order, and no others."""
    kinds = (str, str, int, str, str | None, int | None, bytes, int, str | None, bytes)
    question = f"SELECT {_ROW}, redated, {TYPICAL} FROM snapshots WHERE machine = ? AND axis = ?"
    entered = [
        (*row, read_kept_text(text, typical), crc, redated)
        for *row, text, crc, redated, typical in rows(
            database, kinds, f"{question} ORDER BY taken, seq", *address.key
        )
    ]
    return entered == [
        (*Addition(s.address, s.id, s.text, s.record).row, s.redated) for s in wanted
    ]


def check_count(database: sqlite3.Connection) -> None:
    """Raise DamagedIndex where snapshots are missing: parts of the file may be older than others.

    They are numbered 1, 2, 3 and so on. Asked of `in_time`, which most questions go through.
    """
    state = first_row(
        database,
        (int, int, int),
        "SELECT ifnull(newest, 0), count(seq), ifnull(sum(seq), 0)"
        " FROM state LEFT JOIN snapshots INDEXED BY in_time",
    )
    newest, count, total = state or (0, 0, 0)
    if (count, total) != (newest, newest * (newest + 1) // 2):
        raise DamagedIndex(f"{count} of {newest} snapshots")


def snapshots(database: sqlite3.Connection, rest: str, *values: object) -> Iterator[Snapshot]:
    """Snapshots by the end of a question."""
    kinds = (int, str, str, str, bytes, int, str | None, bytes)
    columns = f"seq, machine, axis, id, text, crc, redated, {TYPICAL}"
    for seq, machine, axis, commit, kept, crc, redated, typical in rows(
        database, kinds, f"SELECT {columns} FROM snapshots {rest}", *values
    ):
        text = read_kept_text(kept, typical)
        if crc32(text) != crc or not is_commit(commit) or not _is_moment(redated):
            raise DamagedIndex("a snapshot is not as it was entered")
        yield Snapshot(seq, Address.of_key(machine, axis), commit, text, redated)


def _is_moment(text: str | None) -> bool:
    try:
        return text is None or time_text(parse_time(text)) == text
    except WrongUsage:
        return False


def is_commit(text: str) -> bool:
    """Whether a text can be the id of a commit."""
    return len(text) == 40 and text.isascii() and text.isalnum()


def write_assessments(
    database: sqlite3.Connection,
    assessments: Mapping[Address, tuple[str, str]],
    gone: Iterable[Address],
    all_at: str | None,
) -> None:
    """Keep what was seen and found by axis; `gone` are axes that are no more.

    Call it within a transaction.
    """
    database.executemany(
        "INSERT OR REPLACE INTO assessments VALUES (?, ?, ?, ?, ?)",
        [
            (*address.key, seen, text, crc32(text.encode()))
            for address, (seen, text) in assessments.items()
        ],
    )
    database.executemany(
        "DELETE FROM assessments WHERE machine = ? AND axis = ?",
        [address.key for address in gone],
    )
    database.execute("UPDATE state SET assessed = ?", (all_at,))


def read_assessments(
    database: sqlite3.Connection, machines: list[str] | None = None
) -> tuple[dict[Address, tuple[str, str]], str | None]:
    """What was seen and found by axis, of some machines or of all, and at what state all were
    assessed.

    Raises DamagedIndex where one is not as it was kept.
    """
    of = "" if machines is None else "WHERE machine IN (SELECT value FROM json_each(?))"
    assessments = {}
    for machine, axis, seen, document, crc in rows(
        database,
        (str, str, str, str, int),
        f"SELECT machine, axis, seen, document, crc FROM assessments {of}",
        *([] if machines is None else [json.dumps(machines)]),
    ):
        if crc32(document.encode()) != crc:
            raise DamagedIndex("an assessment is not as it was kept")
        assessments[Address.of_key(machine, axis)] = seen, document
    state = first_row(database, (str | None,), "SELECT assessed FROM state")
    return assessments, None if state is None else state[0]


def axes_of(database: sqlite3.Connection, machine: str | None = None) -> list[Address]:
    """Axes that have snapshots, by name; of a machine, or all."""
    of, names = _of_machine(machine)
    question = f"SELECT DISTINCT machine, axis FROM snapshots {of} ORDER BY 1, 2"
    return [Address.of_key(*found) for found in rows(database, (str, str), question, *names)]


def latest_of_all(
    database: sqlite3.Connection, machine: str | None = None
) -> dict[Address, tuple[str, int]]:
    """Latest snapshot of every axis, or of those of a machine: its id, and its taken-at."""
    of, names = _of_machine(machine)
    latest = rows(
        database, (str, str, str, int),
        "SELECT s.machine, s.axis, s.id, s.taken"
        f" FROM (SELECT DISTINCT machine, axis FROM snapshots {of}) AS a JOIN snapshots AS s"
        " ON s.seq = (SELECT seq FROM snapshots WHERE machine = a.machine AND axis = a.axis"
        " ORDER BY taken DESC, seq DESC LIMIT 1)",
        *names,
    )  # fmt: skip
    return {
        Address.of_key(machine, axis): (commit, taken) for machine, axis, commit, taken in latest
    }


def _of_machine(machine: str | None) -> tuple[str, tuple[str, ...]]:
    """What a question asks for beside the rest, and its values: one machine, or nothing."""
    return ("", ()) if machine is None else ("WHERE machine = ?", (machine,))


def latest_families(database: sqlite3.Connection) -> dict[Address, str]:
    """Family of the latest snapshot of every axis; of an axis whose family nobody knew, nothing."""
    latest = snapshots(
        database,
        "WHERE seq IN (SELECT (SELECT seq FROM snapshots WHERE machine = a.machine"
        " AND axis = a.axis ORDER BY taken DESC, seq DESC LIMIT 1)"
        " FROM (SELECT DISTINCT machine, axis FROM snapshots) AS a)",
    )
    families = ((snapshot.address, _family_in(snapshot.family_part)) for snapshot in latest)
    return {address: family for address, family in families if family is not None}


@lru_cache(maxsize=256)
def _family_in(family_part: bytes) -> str | None:
    found = read_mapping(family_part, "snapshot.yaml").get("family")
    return found.get("name") if isinstance(found, dict) else None

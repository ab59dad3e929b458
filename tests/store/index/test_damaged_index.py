"""An index that SQLite reads, but that nobody wrote so: answers come from git.

Exports and the family hazel are invented.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest

from vault.model.names import Address
from vault.store.index import values
from vault.store.index.acts import places_in_time
from vault.store.index.tables import in_memory
from vault.store.vault import Vault

LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Take = Callable[..., Any]
Export = Callable[..., str]

WITH_TABLES = "SELECT m.name, c.name FROM sqlite_schema AS m, pragma_table_info(m.name) AS c"
COLUMNS = in_memory().execute(f"{WITH_TABLES} WHERE m.type = 'table'").fetchall()
MADE = "SELECT type, name, sql FROM sqlite_schema ORDER BY 1, 2"
ODD = {
    "a blob": "x'ff00'", "a text": "'odd'", "a number": "-7", "a fraction": "2.5",
    "no commit id": "char(97, 0, 10)",
}  # fmt: skip


@pytest.fixture
def filled(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("2"), "2026-03-05")
    take(export_text("3"), "2026-03-09")
    take(export_text("4"), "2026-03-05")  # of the same moment
    take(export_text("9", serial="S-9"), "2026-03-08", to="m1/belt")
    vault.index.keep_assessments({LIFT: ("seen", "found")}, all_at="then")
    vault.index.fill_values()
    return vault


def answers(vault: Vault) -> list[Any]:
    """What there is to ask an index."""
    index = vault.index
    index.fill_values()
    first = next(iter(index.snapshots(LIFT)), None)
    start = "0" if first is None else first.id
    return [
        index.axes(), index.count(), index.count(LIFT), index.latest_of_all(),
        list(index.snapshots(LIFT)), list(index.newest_first(BELT)), index.nth_latest(LIFT, 1),
        index.by_id(LIFT, start[:8]), index.has(start), index.latest_with_serial("S-9"),
        index.value_changes(["lim/lag"]),
        index.value_changes_on(LIFT, "mov/speed", ["profile_velocity"]),
        index.codes_like("Following"), index.codes_like("following_error_window"),
        index.has_exactly(LIFT, index.snapshots(LIFT)),
    ]  # fmt: skip


def reopened(vault: Vault) -> Vault:
    return Vault.open(vault.repository.path)


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=[".".join(each) for each in COLUMNS])
def test_no_value_whatever_is_taken_for_a_fault_of_the_program(
    filled: Vault, tmp_path: Path, table: str, column: str
) -> None:
    answers(filled)
    file = filled.state / "index.sqlite"
    filled.index.close()
    shutil.copy(file, tmp_path / "good")
    for odd in ODD.values():
        shutil.copy(tmp_path / "good", file)
        with (
            closing(sqlite3.connect(file, isolation_level=None)) as database,
            suppress(sqlite3.Error),  # the table does not take it
        ):
            database.execute(f"UPDATE {table} SET {column} = {odd}")
        with reopened(filled) as again:
            answers(again)


@pytest.mark.parametrize(
    "change",
    [
        "snapshots SET text = CAST(text AS TEXT)", "snapshots SET text = x'00'",
        "snapshots SET id = 'odd' || seq", "snapshots SET seq = 9 WHERE axis = 'belt'",
        "value_changes SET line = 'odd'", "value_changes SET line = 99",
        "value_changes SET seq = 99 WHERE seq = 1",
        "snapshots SET text = substr(text, 1, length(text) - 1)",
        "snapshots SET text = CAST(text || x'00' AS BLOB)", "snapshots SET crc = crc + 1",
        "state SET typical = NULL", "state SET typical = x'00'",
        "lines SET numbers = CAST(numbers AS BLOB)", "lines SET shape = 'odd'",
        "lines SET shape = 99", "lines SET shape = shape % 4 + 1", "lines SET numbers = ''",
        "lines SET numbers = '1'", "lines SET numbers = numbers || ' 1'",
        "lines SET numbers = '1 1'", "lines SET id = id + 99",
        "shapes SET text = CAST(text AS BLOB)", "shapes SET check_sum = 'odd'",
        "shapes SET check_sum = check_sum + 1",
        "shapes SET text = replace(text, 'Following', 'Following ')",
        "shapes SET text = replace(text, char(10), '')",
        "filled SET seq = 'odd'", "filled SET seq = 99",
        "state SET tip = x'ff'", "state SET tip = char(97, 0)", "state SET newest = 'odd'",
    ],
)  # fmt: skip
def test_what_cannot_have_been_written_is_asked_of_git(filled: Vault, change: str) -> None:
    wanted = answers(filled)
    with closing(sqlite3.connect(filled.state / "index.sqlite")) as database, database:
        assert database.execute(f"UPDATE {change}").rowcount > 0
    with reopened(filled) as again:
        assert answers(again) == wanted


@pytest.mark.parametrize(
    "foreign",
    [
        "ALTER TABLE codes RENAME TO kept; CREATE VIEW codes AS SELECT * FROM kept",
        "CREATE TRIGGER gone AFTER INSERT ON snapshots BEGIN DELETE FROM snapshots; END",
        'CREATE TABLE "sqliteodd "" name" (a); CREATE VIEW odd AS SELECT 1',
        "DROP INDEX by_id",
    ],
)
def test_what_acts_by_itself_in_an_index_of_a_stranger_is_removed(
    filled: Vault, foreign: str
) -> None:
    """A view may have as many rows as it likes, for ever, and a trigger may do anything."""
    wanted = answers(filled)
    with closing(sqlite3.connect(filled.state / "index.sqlite")) as database:
        database.executescript(foreign)
    for _ in range(2):
        with reopened(filled) as again:
            assert answers(again) == wanted
            assert not again.index.is_damaged
            made = again.index.ask(lambda database: database.execute(MADE).fetchall())
            assert made == in_memory().execute(MADE).fetchall()


def test_a_text_by_which_records_are_kept_that_is_too_long_to_come_along_is_damage(
    filled: Vault,
) -> None:
    """Only its end counts for them: they could be read, each with megabytes beside it."""
    wanted = list(filled.index.snapshots(LIFT))
    longer = "CAST(zeroblob(2000) || typical AS BLOB)"
    filled.index._database.execute(f"UPDATE state SET typical = {longer}")
    assert list(filled.index.snapshots(LIFT)) == wanted
    assert filled.index.is_damaged


def test_places_in_time_are_not_told_by_a_damaged_record(filled: Vault) -> None:
    wanted = filled.index.ask(lambda database: places_in_time(database, LIFT))
    filled.index._database.execute("UPDATE snapshots SET text = x'00'")
    assert filled.index.ask(lambda database: places_in_time(database, LIFT)) == wanted
    assert filled.index.is_damaged


@pytest.mark.parametrize("change", ["document = 'other'", "document = x'00'", "crc = 'odd'"])
def test_an_assessment_that_is_not_as_it_was_kept_is_none(filled: Vault, change: str) -> None:
    assert filled.index.assessments() == ({LIFT: ("seen", "found")}, "then")
    filled.index._database.execute(f"UPDATE assessments SET {change}")
    assert filled.index.assessments() == ({}, None)


def test_without_a_line_in_state_everything_is_asked_of_git(filled: Vault) -> None:
    wanted = answers(filled)
    filled.index._database.execute("DELETE FROM state")
    with reopened(filled) as again:
        assert answers(again) == wanted
        assert again.index.assessments()[1] is None


def test_values_are_there_in_memory_too_whatever_question_met_the_damage(filled: Vault) -> None:
    filled.index.fill_values(LIFT)
    wanted = filled.index.value_changes_on(LIFT, "lim/lag", [])
    assert len(wanted) == 3
    filled.index._database.execute("UPDATE snapshots SET text = x'00'")
    assert len(list(filled.index.snapshots(LIFT))) == 3
    assert filled.index.is_damaged
    assert filled.index.value_changes_on(LIFT, "lim/lag", []) == wanted


def test_damage_that_shows_while_recording_loses_no_snapshot(
    filled: Vault, take: Take, export_text: Export
) -> None:
    """The values of the snapshot before are read to tell what changed."""
    filled.index._database.execute("UPDATE value_changes SET line = 'odd'")
    late = take(export_text("6"), "2026-03-06").snapshot.id
    assert filled.index.is_damaged
    assert [s.id for s in filled.index.snapshots(LIFT)].index(late) == 2
    with reopened(filled) as again:
        assert [s.id for s in again.index.snapshots(LIFT)].index(late) == 2
        assert not again.index.is_damaged
    take(export_text("7"), "2026-03-12")
    assert filled.index.count(LIFT) == 5
    assert not filled.index.is_damaged, "made anew by whoever records"


def test_flipped_bits_are_survived(filled: Vault, tmp_path: Path) -> None:
    file = filled.state / "index.sqlite"
    filled.index.close()
    good = file.read_bytes()
    draw = random.Random(20260301)
    for _ in range(150):
        content = bytearray(good)
        for _ in range(draw.choice((1, 8, 64))):
            content[draw.randrange(len(content))] ^= 1 << draw.randrange(8)
        for ending in ("-wal", "-shm"):
            file.with_name(file.name + ending).unlink(missing_ok=True)
        file.write_bytes(content)
        with reopened(filled) as again:
            answers(again)


def test_a_fault_of_the_program_is_no_damage(
    filled: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*_: object) -> None:
        raise TypeError("a fault of the program")

    monkeypatch.setattr(values, "value_changes", faulty)
    with pytest.raises(TypeError, match="a fault of the program"):
        filled.index.value_changes(["lim/lag"])
    assert not filled.index.is_damaged
    assert filled.index.count() == 4
    assert filled.index._database.execute("PRAGMA database_list").fetchone()[2]

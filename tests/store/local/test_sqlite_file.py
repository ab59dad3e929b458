"""Files of older and newer programs beside the repository: brought up to date, or left alone.

The tables are spelled out as an earlier version of the program made them; what is in them is
invented.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest

from vault.model.errors import Unavailable
from vault.store.local import accounts, outbox, sqlite_file
from vault.store.local.accounts import Accounts
from vault.store.local.outbox import Outbox
from vault.store.local.sqlite_file import bring_up_to_date, connected, version, writing

ACCOUNTS_1 = """
CREATE TABLE accounts (
  name TEXT PRIMARY KEY, person TEXT NOT NULL, role TEXT NOT NULL, password TEXT NOT NULL,
  created INTEGER NOT NULL
);
CREATE TABLE sessions (
  digest TEXT PRIMARY KEY, account TEXT NOT NULL, begun INTEGER NOT NULL, seen INTEGER NOT NULL
);
CREATE TABLE tokens (
  digest TEXT PRIMARY KEY, account TEXT NOT NULL, purpose TEXT NOT NULL, created INTEGER NOT NULL
);
CREATE TABLE attempts (
  id INTEGER PRIMARY KEY, at INTEGER NOT NULL, account TEXT NOT NULL, address TEXT NOT NULL,
  good INTEGER NOT NULL
);
CREATE INDEX attempts_at ON attempts (at);
CREATE TABLE keys (name TEXT PRIMARY KEY, content BLOB NOT NULL);
INSERT INTO accounts VALUES ('mira', 'Mira Okafor <mira@tileworks.example>', 'admin', 'hash', 1);
INSERT INTO keys VALUES ('session', x'0102');
PRAGMA user_version = 1;
"""
OUTBOX_1 = """
CREATE TABLE messages (
  id TEXT NOT NULL, channel TEXT NOT NULL,
  alert TEXT NOT NULL,
  queued INTEGER NOT NULL,
  attempts INTEGER NOT NULL DEFAULT 0,
  next INTEGER NOT NULL,
  error TEXT,
  sent INTEGER,
  PRIMARY KEY (id, channel)
);
CREATE INDEX waiting ON messages (next) WHERE sent IS NULL;
CREATE TABLE told (axis TEXT PRIMARY KEY, text TEXT NOT NULL);
INSERT INTO told VALUES ('m1/lift', '{"number": 3}');
PRAGMA user_version = 1;
"""


def one_account(state: Path) -> object:
    with Accounts(state) as opened:
        return [account.name for account in opened.all()], opened.key("session")


def one_axis(state: Path) -> object:
    with Outbox(state) as opened:
        return opened.last_announced("m1/lift")


@dataclass(frozen=True)
class Kind:
    """A file of the first version, what is in it as its module reads it, and a later step."""

    module: ModuleType
    first_version: str
    read: Callable[[Path], object]
    content: object
    step: str

    def made(self, state: Path) -> Path:
        path = state / str(self.module.FILE)
        with closing(sqlite3.connect(path)) as database:
            database.executescript(self.first_version)
        return path


KINDS = [
    Kind(
        accounts, ACCOUNTS_1, one_account, (["mira"], b"\x01\x02"),
        "ALTER TABLE accounts ADD COLUMN site TEXT; UPDATE accounts SET site = 'works'",
    ),
    Kind(
        outbox, OUTBOX_1, one_axis, '{"number": 3}',
        "CREATE TABLE later (axis TEXT); INSERT INTO later SELECT axis FROM told",
    ),
]  # fmt: skip
every_kind = pytest.mark.parametrize("kind", KINDS, ids=["accounts", "outbox"])


def state_of(path: Path) -> tuple[int, list[str]]:
    """Version and tables of a file, in a connection of its own."""
    with closing(sqlite3.connect(path)) as database:
        rows = database.execute("SELECT sql FROM sqlite_schema ORDER BY name").fetchall()
        return version(database), [str(sql) for (sql,) in rows]


@every_kind
def test_a_file_of_the_first_version_is_read(kind: Kind, tmp_path: Path) -> None:
    kind.made(tmp_path)
    assert kind.read(tmp_path) == kind.content


@every_kind
def test_a_new_file_has_the_tables_that_an_upgraded_one_has(kind: Kind, tmp_path: Path) -> None:
    (tmp_path / "old").mkdir()
    old = kind.made(tmp_path / "old")
    kind.read(tmp_path / "old")
    kind.read(tmp_path)
    assert state_of(tmp_path / old.name) == state_of(old)


@every_kind
def test_an_older_file_takes_the_steps_it_misses_and_keeps_what_it_has(
    kind: Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = kind.made(tmp_path)
    monkeypatch.setattr(kind.module, "_STEPS", (*kind.module._STEPS, kind.step))
    for _ in range(2):  # once only: a second time, each step would fail
        assert kind.read(tmp_path) == kind.content
    assert state_of(path)[0] == len(kind.module._STEPS)
    with closing(sqlite3.connect(path)) as database:
        question = "SELECT site FROM accounts" if kind.module is accounts else "SELECT * FROM later"
        assert database.execute(question).fetchall() in ([("works",)], [("m1/lift",)])


@every_kind
def test_a_step_that_fails_leaves_the_file_as_it_was(
    kind: Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = kind.made(tmp_path)
    before = state_of(path)
    steps = (*kind.module._STEPS, kind.step, "DROP TABLE no_such_table")
    with monkeypatch.context() as patch:
        patch.setattr(kind.module, "_STEPS", steps)
        with pytest.raises(Unavailable, match="no_such_table"):
            kind.read(tmp_path)
    assert state_of(path) == before
    assert kind.read(tmp_path) == kind.content


@every_kind
def test_a_newer_file_is_refused_by_its_name_and_left_alone(kind: Kind, tmp_path: Path) -> None:
    path = kind.made(tmp_path)
    with closing(sqlite3.connect(path)) as database:
        database.execute(f"PRAGMA user_version = {len(kind.module._STEPS) + 1}")
    before = state_of(path)
    with pytest.raises(Unavailable, match="a newer axisvault wrote this file") as raised:
        kind.read(tmp_path)
    assert (raised.value.file, raised.value.hint) == (str(path), "update this one")
    assert state_of(path) == before
    assert [found.name for found in tmp_path.glob(f"{path.name}.*")] == []


def test_who_comes_second_takes_no_step_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another process brings the file up to date between our first look and our turn."""
    path, steps = tmp_path / "file", ("CREATE TABLE one (a)", "CREATE TABLE two (a)")
    with closing(connected(path)) as ours, closing(connected(path)) as theirs:

        def late(database: sqlite3.Connection) -> int:
            monkeypatch.undo()
            before = version(database)
            bring_up_to_date(theirs, steps, path)
            return before

        monkeypatch.setattr(sqlite_file, "version", late)
        bring_up_to_date(ours, steps, path)
        assert version(ours) == 2


def test_a_block_that_fails_writes_nothing(tmp_path: Path) -> None:
    def fails(database: sqlite3.Connection) -> None:
        with writing(database):
            database.execute("CREATE TABLE one (a)")
            raise KeyError

    with closing(connected(tmp_path / "file")) as database:
        with pytest.raises(KeyError):
            fails(database)
        assert database.execute("SELECT count(*) FROM sqlite_schema").fetchone() == (0,)
        with writing(database):  # and the next one can begin
            database.execute("CREATE TABLE one (a)")

"""The index holds nothing that git does not: deleting, damaging or locking it loses nothing."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import every_snapshot
from vault.model.errors import Unavailable
from vault.model.names import Address
from vault.store.clock import microseconds, parse_time
from vault.store.index.recorded import recorded_between
from vault.store.vault import Vault

LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
DAYS = ("2026-03-05", "2026-03-01", "2026-03-03", "2026-03-03", "2026-03-09")


@pytest.fixture
def filled(vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]) -> Vault:
    """Five snapshots of the lift, two late and two of one moment, and one of the belt."""
    for number, day in enumerate(DAYS):
        take(export_text(speed=str(number)), day)
    take(export_text(serial="S-77"), "2026-03-04", to="m1/belt")
    return vault


def shown(vault: Vault) -> list[tuple[str, str, bytes]]:
    found = [(str(s.address), s.id, s.text) for s in vault.index.snapshots(LIFT)]
    return found + [(str(s.address), s.id, s.text) for s in vault.index.snapshots(BELT)]


def files(vault: Vault) -> list[Path]:
    return sorted(vault.state.glob("index.sqlite*"))


def reopened(vault: Vault) -> Vault:
    return Vault.open(vault.repository.path)


def test_snapshots_come_in_the_order_they_were_taken(filled: Vault) -> None:
    taken = [f"{s.record.taken_at:%Y-%m-%d}" for s in filled.index.snapshots(LIFT)]
    assert taken == sorted(DAYS)
    assert filled.index.count(LIFT) == 5
    assert filled.index.count() == 6
    assert filled.index.axes() == [BELT, LIFT]


def test_the_index_finds_a_snapshot_by_place_moment_and_id(filled: Vault) -> None:
    index = filled.index
    ordered = list(index.snapshots(LIFT))
    assert index.nth_latest(LIFT, 0) == ordered[-1]
    assert index.nth_latest(LIFT, 4) == ordered[0] == index.first(LIFT)
    assert index.nth_latest(LIFT, 5) is None
    third = microseconds(parse_time("2026-03-03"))
    assert index.latest_at(LIFT, third) == ordered[2]
    assert index.latest_at(LIFT, third - 1) == ordered[0]
    assert index.latest_at(LIFT, 0) is None
    assert index.taken_between(LIFT, third, third) == ordered[1:3]
    assert index.by_id(LIFT, ordered[3].id[:9]) == [ordered[3]]
    assert index.by_id(LIFT, "*") == ordered
    assert index.by_id(BELT, ordered[3].id) == []


def test_a_drive_is_found_where_it_was_last_seen(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    assert [s.address for s in filled.index.latest_with_serial("S-77")] == [BELT]
    take(export_text(serial="S-78"), "2026-03-08", to="m1/belt")
    assert filled.index.latest_with_serial("S-77") == []
    assert filled.index.latest_with_serial("'; DROP TABLE snapshots; --") == []


def test_the_index_equals_one_that_was_built_anew(filled: Vault) -> None:
    before = shown(filled)
    assert filled.index.rebuild() == 6
    assert shown(filled) == before
    recorded = recorded_between(filled.repository, None, filled.tip)
    assert {(a, commit) for a, commit, _ in before} == {
        (str(a), commit) for a, commit, _ in recorded
    }


def test_a_deleted_index_comes_back(filled: Vault) -> None:
    before = shown(filled)
    filled.close()
    shutil.rmtree(filled.state)
    with reopened(filled) as again:
        assert shown(again) == before
        assert files(again)


@pytest.mark.parametrize("content", [b"", b"junk" * 1000, b"SQLite format 3\0" + b"\xff" * 5000])
def test_an_index_that_is_no_database_is_no_problem(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str], content: bytes
) -> None:
    before = shown(filled)
    filled.close()
    for path in files(filled):
        path.unlink()
    (filled.state / "index.sqlite").write_bytes(content)
    with reopened(filled) as again:
        assert shown(again) == before
        take(export_text("9"), "2026-03-10", into=again)
        after = shown(again)
    with sqlite3.connect(filled.state / "index.sqlite") as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",), "made anew"
    with reopened(filled) as again:
        assert shown(again) == after


def test_damage_deep_in_the_index_is_no_problem(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    for number in range(30):
        take(export_text(place=str(number)), "2026-04-01")
    before = shown(filled)
    filled.close()
    content = bytearray((filled.state / "index.sqlite").read_bytes())
    for page in range(2, len(content) // 4096):
        content[page * 4096 : page * 4096 + 200] = b"\xee" * 200
    (filled.state / "index.sqlite").write_bytes(content)
    with reopened(filled) as again:
        assert shown(again) == before
        take(export_text("9"), "2026-04-02", into=again)
        after = shown(again)
    with reopened(filled) as again:
        assert shown(again) == after
        assert again.index.rebuild() == 37


def test_an_index_of_another_layout_is_built_anew(filled: Vault) -> None:
    before = shown(filled)
    with sqlite3.connect(filled.state / "index.sqlite") as database:
        database.execute("PRAGMA user_version = 99")
        database.execute("DELETE FROM snapshots")
    with reopened(filled) as again:
        assert shown(again) == before


def test_an_index_that_cannot_be_written_is_done_without(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    filled.close()
    for path in files(filled):
        path.unlink()
    (filled.state / "index.sqlite").mkdir()
    with reopened(filled) as again:
        assert [s.record.taken_at.day for s in again.index.snapshots(LIFT)] == [1, 3, 3, 5, 9]
        take(export_text("9"), "2026-03-10", into=again)
        assert again.index.count(LIFT) == 6
    with reopened(filled) as again:
        assert again.index.count(LIFT) == 6


def test_an_old_copy_of_the_index_catches_up(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str], tmp_path: Path
) -> None:
    filled.close()
    shutil.copy(filled.state / "index.sqlite", tmp_path / "old")
    with reopened(filled) as again:
        take(export_text("8"), "2026-03-02", into=again)
        take(export_text("9"), "2026-03-10", into=again)
        after = shown(again)
    for path in files(filled):
        path.unlink()
    shutil.copy(tmp_path / "old", filled.state / "index.sqlite")
    with reopened(filled) as again:
        assert shown(again) == after


def test_an_index_of_a_history_that_is_gone_is_built_anew(
    filled: Vault, git: Callable[..., str], take: Callable[..., Any], export_text: Any
) -> None:
    before = filled.tip
    remembered = shown(filled)
    take(export_text("9"), "2026-03-10")
    git("update-ref", "refs/heads/main", before)
    with reopened(filled) as again:
        assert shown(again) == remembered


def test_another_process_sees_what_was_recorded_after_it_opened(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    with reopened(filled) as other:
        take(export_text("9"), "2026-03-10")
        other.tip = other.index.follow()
        assert shown(other) == shown(filled)


def test_an_index_that_gives_out_while_recording_loses_nothing(
    filled: Vault, take: Callable[..., Any], export_text: Callable[..., str], git: Any
) -> None:
    before = git("rev-parse", "main")
    pages = filled.index._database.execute("PRAGMA page_count").fetchone()[0]
    filled.index._database.execute(f"PRAGMA max_page_count = {pages}")
    note = " ".join(sha256(bytes([n])).hexdigest() for n in range(200))  # which stays long
    with pytest.raises(Unavailable, match="is full"):
        take(export_text("9"), "2026-03-10", note=note)
    assert git("rev-parse", "main") == before
    take(export_text("9"), "2026-03-10")
    assert filled.index.count(LIFT) == 6
    with reopened(filled) as again:
        assert shown(again) == shown(filled)


def test_an_index_that_gives_out_after_the_branch_moved_catches_up(
    filled: Vault,
    take: Callable[..., Any],
    export_text: Callable[..., str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    moved = filled.index.branch_moved

    def moved_but_full(tip: str) -> None:
        moved(tip)
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(filled.index, "branch_moved", moved_but_full)
    found = take(export_text("9"), "2026-03-10")
    latest = filled.index.nth_latest(LIFT, 0)
    assert latest is not None
    assert latest.id == found.snapshot.id
    with reopened(filled) as again:
        assert again.index.count(LIFT) == 6


def test_one_damaged_record_does_not_hide_the_other_axes(
    filled: Vault, git: Callable[..., str]
) -> None:
    blob = git("hash-object", "-w", "--stdin", stdin=b"schema: something else\n").strip()
    base = git("ls-tree", "-r", "main")
    changed = [
        line.split("\t")[0].rsplit(" ", 1)[0] + f" {blob}\t" + line.split("\t")[1]
        if line.endswith("m1/belt/snapshot.yaml")
        else line
        for line in base.splitlines()
    ]
    git_with_index(git, filled, "\n".join(changed).encode())
    with reopened(filled) as again:
        assert again.index.count(LIFT) == 5


def git_with_index(git: Callable[..., str], vault: Vault, listing: bytes) -> None:
    """Commit a listing of `ls-tree -r` on top of main."""
    git("read-tree", "--empty")
    git("update-index", "--index-info", stdin=listing.strip() + b"\n")
    tree = git("write-tree").strip()
    commit = git("commit-tree", tree, "-p", "main", "-m", "By hand").strip()
    git("update-ref", "refs/heads/main", commit)


def test_an_axis_that_was_renamed_with_git_alone_does_not_hide_the_others(
    filled: Vault, git: Callable[..., str]
) -> None:
    listing = git("ls-tree", "-r", "main").replace("machines/m1/", "machines/m2/")
    git_with_index(git, filled, listing.encode())
    with reopened(filled) as again:
        assert again.index.count(LIFT) == 5
        assert again.index.count(Address("m2", "lift")) == 1


def test_an_index_that_a_slow_reader_set_back_loses_no_snapshot(
    filled: Vault, export_text: Callable[..., str]
) -> None:
    """A reader may rebuild it to an older commit just before a writer begins to record."""
    old = filled.repository.resolve(f"{filled.tip}~2")
    with filled.writing(), Vault.open(filled.repository.path) as reader:
        with closing(sqlite3.connect(filled.state / "index.sqlite")) as database:
            database.execute(
                "DELETE FROM snapshots WHERE seq > (SELECT max(seq) - 2 FROM snapshots)"
            )
            database.execute("UPDATE state SET tip = ?", (old,))
            database.commit()
        with filled.index.recording():
            pass
        recorded = {snapshot.id for snapshot in every_snapshot(filled)}
        reader.index.rebuild()
        assert recorded == {snapshot.id for snapshot in every_snapshot(reader)}

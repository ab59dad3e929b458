"""Taking many exports in, from a manifest or from folders."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from vault.jobs.inspect.history import history
from vault.jobs.intake import ingest_tree as module
from vault.jobs.intake import planned, time_taken
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.ingest_tree import TreeIngested, ingest_tree
from vault.jobs.intake.visit import parse_visit
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Unavailable, Unreadable
from vault.model.names import Address
from vault.store.git import packing
from vault.store.git.repository import Repository
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Export = Callable[..., str]
HEAD = "file,machine,axis,taken_at\n"


@pytest.fixture
def folder(tmp_path: Path, export_text: Export) -> Path:
    """Four exports of the lift, whose windows are 1 to 4 mm, and one of the belt."""
    place = tmp_path / "exports"
    place.mkdir()
    for lag in "1234":
        (place / f"{lag}.csv").write_text(export_text(lag))
    (place / "belt.csv").write_text(export_text("5", settings=900))
    return place


def run(vault: Vault, folder: Path, manifest: str | bytes | None = None) -> TreeIngested:
    if manifest is not None:
        content = manifest if isinstance(manifest, bytes) else manifest.encode()
        (folder / "manifest.csv").write_bytes(content)
    return ingest_tree(vault, folder, BY)


def windows(vault: Vault, address: Address = LIFT) -> str:
    return "".join(e.snapshot.record.export_name[0] for e in history(vault, address))


def said(outcome: TreeIngested) -> list[tuple[str, int | None, str]]:
    return [(Path(e.file or "").name, e.line, e.message) for e in outcome.failures]


def test_exports_are_recorded_in_the_order_they_were_taken(
    vault: Vault, folder: Path, git: Callable[..., str]
) -> None:
    outcome = run(
        vault,
        folder,
        HEAD + "3.csv,m1,lift,2026-03-03\nbelt.csv,m1,belt,2026-03-02\n"
        "1.csv,m1,lift,2026-03-01\n2.csv,m1,lift,2026-03-01T23:59:59.9999995+14:00\n",
    )
    assert (outcome.taken, outcome.failures) == (4, [])
    assert outcome.axes == {LIFT, BELT}
    assert windows(vault) == "213"
    assert git("rev-list", "--merges", "main") == "", "nothing came late"
    assert verify(vault).ok


def test_every_column_of_the_manifest_is_used(vault: Vault, folder: Path) -> None:
    outcome = run(
        vault,
        folder,
        "note,channel,by,work_order,occasion,family,taken_at,axis,machine,file\r\n"
        '"A note,\nof ""two"" lines\u2028or three",,Ada <ada@x>,WO-7,as-left,hazel,2026-03-01,'
        "lift,m1,1.csv\r\n",
    )
    assert outcome.failures == []
    record = next(vault.index.snapshots(LIFT)).record
    assert record.by == "Ada <ada@x>"
    assert (record.occasion, record.work_order, record.family) == ("as-left", "WO-7", "hazel")
    assert record.note == 'A note,\nof "two" linesor three'


def test_the_same_tree_can_be_taken_in_again(
    vault: Vault, folder: Path, git: Callable[..., str]
) -> None:
    manifest = HEAD + "1.csv,m1,lift,2026-03-01\n2.csv,m1,lift,2026-03-01\n3.csv,m1,lift,\n"
    assert run(vault, folder, manifest).taken == 3
    before = git("rev-parse", "main")
    again = run(vault, folder)
    assert (again.taken, again.already_there) == (0, 3)
    assert git("rev-parse", "main") == before
    more = run(vault, folder, manifest + "4.csv,m1,lift,2026-02-01\n")
    assert (more.taken, more.already_there) == (1, 3)
    assert windows(vault) == "4123"


@pytest.fixture
def day(monkeypatch: pytest.MonkeyPatch) -> Callable[..., datetime]:
    """Sets the clock of intake to a moment some days, hours and minutes after one noon."""

    def at(**after: int) -> datetime:
        moment = datetime(2026, 3, 5, 12, 0, 0, 123).astimezone() + timedelta(**after)
        for user in (time_taken, planned):
            monkeypatch.setattr(user, "now", lambda: moment)
        return moment

    return at


LATER = [{"minutes": 7}, {"hours": 3}, {"days": 1}, {"days": 40}]


@pytest.mark.parametrize("later", LATER)
def test_a_manifest_with_the_days_bare_date_can_be_taken_in_again(
    vault: Vault, folder: Path, day: Callable[..., datetime], later: dict[str, int]
) -> None:
    day()
    assert run(vault, folder, HEAD + "1.csv,m1,lift,2026-03-05\n").taken == 1
    day(**later)
    again = run(vault, folder)
    assert (again.taken, again.already_there, again.failures) == (0, 1, [])
    day(days=40)
    assert run(vault, folder, HEAD + "1.csv,m1,lift,2026-03-06\n").taken == 1, "of another day"


@pytest.mark.parametrize("later", LATER)
def test_files_named_by_the_day_can_be_taken_in_again(
    vault: Vault,
    tmp_path: Path,
    export_text: Export,
    day: Callable[..., datetime],
    later: dict[str, int],
) -> None:
    place = tmp_path / "tree/m1/lift"
    place.mkdir(parents=True)
    (place / "2026-03-05 routine.csv").write_text(export_text("2"))
    day()
    assert run(vault, tmp_path / "tree").taken == 1
    day(**later)
    again = run(vault, tmp_path / "tree")
    assert (again.taken, again.already_there) == (0, 1)


@pytest.mark.parametrize("later", LATER)
def test_a_file_dated_ahead_can_be_taken_in_again(
    vault: Vault, folder: Path, day: Callable[..., datetime], later: dict[str, int]
) -> None:
    stamp = (day() + timedelta(hours=1)).timestamp()
    os.utime(folder / "1.csv", (stamp, stamp))
    assert run(vault, folder, HEAD + "1.csv,m1,lift,\n").taken == 1
    assert next(vault.index.snapshots(LIFT)).record.taken_at_from == "now"
    day(**later)
    again = run(vault, folder)
    assert (again.taken, again.already_there) == (0, 1)


def test_the_same_settings_exported_on_another_day_by_a_clock_ahead_are_kept(
    vault: Vault, folder: Path, day: Callable[..., datetime]
) -> None:
    for after in (0, 1):
        stamp = (day(days=after) + timedelta(hours=1)).timestamp()
        os.utime(folder / "1.csv", (stamp, stamp))
        assert run(vault, folder, HEAD + "1.csv,m1,lift,\n").taken == 1


def test_another_export_of_a_day_on_which_one_was_dated_now_is_kept(
    vault: Vault, folder: Path, day: Callable[..., datetime]
) -> None:
    day()
    ingest(vault, folder / "1.csv", LIFT, parse_visit(BY))
    assert next(vault.index.snapshots(LIFT)).record.taken_at_from == "now"
    (folder / "evening.csv").write_bytes((folder / "1.csv").read_bytes())
    stamp = day(hours=6).timestamp()
    os.utime(folder / "evening.csv", (stamp, stamp))
    outcome = run(vault, folder, HEAD + "evening.csv,m1,lift,\n")
    assert (outcome.taken, outcome.unchanged) == (1, 1)


def test_a_file_dated_by_its_head_is_found_when_its_own_date_has_become_likelier(
    vault: Vault, folder: Path, day: Callable[..., datetime]
) -> None:
    (folder / "lift.dcf").write_text(
        "[FileInfo]\nModificationDate=02-01-2026\nModificationTime=03:20PM\n"
        "[2010]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nParameterValue=6\n"
    )
    stamp = (day() - timedelta(hours=1)).timestamp()
    os.utime(folder / "lift.dcf", (stamp, stamp))
    assert run(vault, folder, HEAD + "lift.dcf,m1,lift,\n").taken == 1
    assert next(vault.index.snapshots(LIFT)).record.taken_at.month == 2
    day(days=3)
    assert run(vault, folder).already_there == 1


def test_one_row_twice_is_taken_once(vault: Vault, folder: Path) -> None:
    outcome = run(vault, folder, HEAD + "1.csv,m1,lift,2026-03-01\n" * 2)
    assert (outcome.taken, outcome.already_there) == (1, 1)


def test_the_same_export_at_another_time_proves_that_the_axis_was_seen(
    vault: Vault, folder: Path
) -> None:
    outcome = run(vault, folder, HEAD + "1.csv,m1,lift,2026-03-01\n1.csv,m1,lift,2026-03-02\n")
    assert (outcome.taken, outcome.unchanged) == (2, 1)


def test_bad_rows_are_reported_with_their_line_and_the_others_kept(
    vault: Vault, folder: Path
) -> None:
    (folder / "5.csv").write_text("Drive;HZ-04\nCode;Value;Unit\nlim/lag;x;mm\n")
    outcome = run(
        vault,
        folder,
        HEAD.replace("taken_at", "taken_at,occasion,by,channel")
        + "1.csv,m1,lift,2026-03-01,,,\n"
        + "2.csv,m1,con,2026-03-01,,,\n"
        + ",m1,lift,2026-03-01,,,\n"
        + '"2.csv",m1,lift,"20\n26",,,\n'
        + "2.csv,m1,lift,2026-03-01,never,,\n"
        + "2.csv,m1,lift,2026-03-01,,nobody <,\n"
        + "2.csv,m1,lift,2026-03-01,,,two\n"
        + "2.csv,m1,lift,2026-03-01\n"
        + "2.csv,m1,lift,2026-03-01,,,,,more\n"
        + "5.csv,m1,lift,2026-03-02,,,\n"
        + "6.csv,m1,lift,2026-03-02,,,\n"
        + "3.csv,m1,lift,2026-03-04,,,\n",
    )
    assert outcome.taken == 2
    assert windows(vault) == "13"
    assert [(file, line) for file, line, _ in said(outcome)] == [
        *[("manifest.csv", line) for line in (3, 4, 6, 7, 8, 9, 10, 11)],
        ("5.csv", 3),
        ("6.csv", None),
    ]
    assert "cannot name a axis" in said(outcome)[0][2] or "con" in said(outcome)[0][2]
    assert "one of commissioning" in str(outcome.failures[3]), "with its hint"
    assert verify(vault).ok


@pytest.mark.parametrize(
    ("manifest", "line", "said"),
    [
        ("", 1, "no column 'file'"),
        ("file;machine;axis\n1.csv;m1;lift\n", 1, "no column 'file'"),
        ("file,machine\n", 1, "no column 'axis'"),
        ("file,machine,axis,colour\n", 1, "unknown column 'colour'"),
        (HEAD + '1.csv,m1,lift,"2026\n', 2, "no valid CSV"),
        (HEAD + '1.csv,m1,"li"ft,2026-03-01\n', 2, "no valid CSV"),
        (HEAD.encode() + b"1.csv,m1,lift,\n\xe4.csv,m1,lift,\n", 3, "not UTF-8"),
    ],
)
def test_a_manifest_that_is_none_stops_everything(
    vault: Vault, folder: Path, manifest: str | bytes, line: int, said: str
) -> None:
    with pytest.raises(Unreadable, match=said) as caught:
        run(vault, folder, manifest)
    assert caught.value.file == str(folder / "manifest.csv")
    assert caught.value.line == line
    assert vault.index.count() == 0


def test_a_manifest_or_folder_that_is_missing_is_named(vault: Vault, folder: Path) -> None:
    with pytest.raises(Unreadable, match="cannot be read: No such file"):
        ingest_tree(vault, folder, BY, folder / "other.csv")
    with pytest.raises(Unreadable, match="no such folder"):
        ingest_tree(vault, folder / "nowhere", BY)


def test_a_manifest_with_a_byte_order_mark_is_read(vault: Vault, folder: Path) -> None:
    manifest = b"\xef\xbb\xbf" + (HEAD + "1.csv,m1,lift,2026-03-01\n").encode()
    assert run(vault, folder, manifest).taken == 1


def test_without_manifest_the_folders_tell_machine_and_axis(
    vault: Vault, tmp_path: Path, export_text: Export
) -> None:
    place = tmp_path / "tree/m1/lift"
    place.mkdir(parents=True)
    (place / "2026-03-02 routine.csv").write_text(export_text("2"))
    (place / "2026-03-01.csv").write_text(export_text("1"))
    (place / ".hidden").write_text("junk")
    (place / "notes").mkdir()
    bad = tmp_path / "tree/m1/aux"
    bad.mkdir()
    (bad / "a.csv").write_text(export_text())
    outcome = run(vault, tmp_path / "tree")
    assert outcome.taken == 2
    assert [s.record.taken_at.day for s in vault.index.snapshots(LIFT)] == [1, 2]
    assert [file for file, _, _ in said(outcome)] == ["a.csv"]


def test_without_any_time_the_files_own_date_counts(vault: Vault, folder: Path) -> None:
    for name, day in (("1.csv", 20), ("2.csv", 10)):
        stamp = datetime(2026, 3, day, 12, tzinfo=UTC).timestamp()
        os.utime(folder / name, (stamp, stamp))
    run(vault, folder, HEAD + "1.csv,m1,lift,\n2.csv,m1,lift,\n")
    assert windows(vault) == "21"


def test_an_export_that_says_when_it_was_taken_is_believed_before_its_file(
    vault: Vault, folder: Path, export_text: Export
) -> None:
    for name, day in (("1.csv", 20), ("2.csv", 10)):
        (folder / name).write_text(export_text(name[0], saved=f"2020-01-{30 - day}T08:00:00Z"))
        stamp = datetime(2026, 3, 30 - day, 12, tzinfo=UTC).timestamp()
        os.utime(folder / name, (stamp, stamp))
    manifest = HEAD + "1.csv,m1,lift,\n2.csv,m1,lift,\n3.csv,m1,lift,2020-01-15\n"
    assert run(vault, folder, manifest).taken == 3
    assert windows(vault) == "132"
    assert run(vault, folder).already_there == 3
    assert verify(vault).ok


def test_names_that_differ_in_case_only_are_refused_within_one_tree(
    vault: Vault, folder: Path
) -> None:
    outcome = run(
        vault,
        folder,
        HEAD + "1.csv,m1,lift,2026-03-01\n2.csv,m1,Lift,2026-03-02\n3.csv,M1,belt,2026-03-03\n",
    )
    assert outcome.taken == 1
    assert ["upper and lower case" in why for _, _, why in said(outcome)] == [True, True]


def test_a_tree_larger_than_one_portion_is_taken_in(
    vault: Vault, folder: Path, monkeypatch: pytest.MonkeyPatch, git: Callable[..., str]
) -> None:
    monkeypatch.setattr(module, "_PORTION", 3)
    monkeypatch.setattr(module, "_HOUSEKEEPING_FROM", 7)
    rows = [f"{1 + n % 4}.csv,m1,lift,2026-03-{n + 1:02}\n" for n in range(8)]
    seen: list[tuple[int, int]] = []
    (folder / "manifest.csv").write_text(HEAD + "".join(rows))
    outcome = ingest_tree(vault, folder, BY, progress=lambda *step: seen.append(step))
    assert outcome.taken == 8
    assert seen == [(n, 8) for n in range(9)]
    assert git("count-objects", "-v").startswith("count: 0\n"), "packed"
    assert windows(vault) == "12341234"
    assert verify(vault).ok


def test_a_vault_that_cannot_be_packed_has_everything_all_the_same(
    vault: Vault, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_HOUSEKEEPING_FROM", 1)

    def full(repository: Repository) -> None:
        raise Damaged("git repack failed: no space left")

    monkeypatch.setattr(packing, "housekeeping", full)
    outcome = run(vault, folder, HEAD + "1.csv,m1,lift,2026-03-01\n")
    assert outcome.taken == 1
    assert outcome.warnings == ["the vault could not be packed: git repack failed: no space left"]


def test_a_vault_that_cannot_be_written_stops_everything(
    vault: Vault, folder: Path, git: Callable[..., str], tmp_path: Path
) -> None:
    before = git("rev-parse", "main")
    objects = tmp_path / "plant/objects"
    objects.rename(tmp_path / "away")
    objects.write_text("no folder")
    try:
        with pytest.raises((Unavailable, Damaged)):
            run(vault, folder, HEAD + "1.csv,m1,lift,2026-03-01\n2.csv,m1,lift,2026-03-02\n")
    finally:
        objects.unlink()
        (tmp_path / "away").rename(objects)
    assert git("rev-parse", "main") == before

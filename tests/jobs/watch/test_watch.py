"""Watching a folder, look by look: complete, taken once, put away. All exports are invented."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.store.local.test_lock import holder
from tests.sweeps import part_of
from vault.jobs.inspect.history import history
from vault.jobs.intake.planned import Planned
from vault.jobs.intake.report import Ingested
from vault.jobs.records.edit import set_site
from vault.jobs.verify.verify import verify
from vault.jobs.watch import drop_folder, folder_events, portion
from vault.jobs.watch import watcher as module
from vault.jobs.watch.drop_folder import DropFolder
from vault.jobs.watch.watcher import Dropped, Watcher
from vault.model.errors import Damaged, Unavailable, Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

ROOT = Path(__file__).parents[3]
BY = "Mira Okafor <mira@tileworks.example>"
LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Export = Callable[..., str]


@dataclass
class Looks:
    """A watched folder and its watcher, whose clock the test moves."""

    vault: Vault
    place: Path
    clock: float = 0.0
    told: list[Dropped] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.place.mkdir(exist_ok=True)
        self.start()

    def start(self) -> None:
        """Start the watcher, as anew after it was killed."""
        self.watcher = Watcher(
            self.vault.repository.path,
            self.place,
            BY,
            settle=3,
            tell=self.told.append,
            note=self.notes.append,
            patience=0.05,
        )

    def look(self, after: float = 3.0) -> float:
        self.clock += after
        return self.watcher.step(self.clock)

    def settle(self) -> None:
        """Two looks far enough apart for everything that does not change."""
        self.look()
        self.look()

    def drop(self, name: str, text: str | bytes, date: datetime | None = None) -> Path:
        path = self.place / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        if date is not None:
            os.utime(path, (date.timestamp(), date.timestamp()))
        return path

    def files(self) -> list[str]:
        """Every file in the folder, hidden ones apart."""
        found = (p for p in self.place.rglob("*") if not p.is_dir() or p.is_symlink())
        return sorted(
            str(p.relative_to(self.place)) for p in found if not p.name.startswith(".axisvault")
        )

    def outcomes(self) -> list[tuple[str, str, str | None]]:
        return [(d.file, d.outcome, d.moved_to) for d in self.told]

    def count(self) -> int:
        self.vault.refresh()
        return self.vault.index.count()


@pytest.fixture
def looks(vault: Vault, tmp_path: Path) -> Looks:
    return Looks(vault, tmp_path / "drop")


def test_a_file_in_machine_and_axis_is_taken_in_and_put_away(
    looks: Looks, export_text: Export
) -> None:
    text = export_text("1")
    looks.drop("m1/lift/a.csv", text, datetime(2026, 3, 1, 12, tzinfo=UTC))
    looks.settle()
    assert looks.outcomes() == [("m1/lift/a.csv", "taken", "done/m1/lift/a.csv")]
    assert looks.files() == ["done/m1/lift/a.csv"]
    assert (looks.place / "done/m1/lift/a.csv").read_text() == text.replace("\r\n", "\n")
    assert looks.count() == 1
    record = next(looks.vault.index.snapshots(LIFT)).record
    assert (record.by, record.export_name, record.occasion) == (BY, "a.csv", "routine")
    assert record.taken_at == datetime(2026, 3, 1, 12, tzinfo=UTC), "the file's own date"
    assert verify(looks.vault).ok


def test_the_exports_own_time_counts_before_the_files(looks: Looks, export_text: Export) -> None:
    text = export_text("1", saved="2020-01-05T08:00:00Z")
    looks.drop("m1/lift/2024-01-01.csv", text, datetime(2026, 3, 1, 12, tzinfo=UTC))
    looks.settle()
    looks.count()
    record = next(looks.vault.index.snapshots(LIFT)).record
    assert record.taken_at == datetime(2020, 1, 5, 8, tzinfo=UTC)


def test_a_file_that_grows_in_steps_is_taken_when_it_is_whole(
    looks: Looks, export_text: Export
) -> None:
    text = export_text("1").encode()
    path = looks.drop("m1/lift/a.csv", b"")
    for step in range(5):
        looks.look(100)
        assert looks.told == [], "empty, or not yet seen twice the same"
        path.write_bytes(text[: len(text) * (step + 1) // 5])
    looks.look(100)
    pause = looks.look(2.5)
    assert (looks.told, pause) == ([], 0.5)
    looks.look(0.5)
    assert [d.outcome for d in looks.told] == ["taken"]
    assert (looks.place / "done/m1/lift/a.csv").read_bytes() == text


def test_a_file_rewritten_at_the_same_size_settles_anew(looks: Looks, export_text: Export) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"), datetime(2026, 3, 1, tzinfo=UTC))
    looks.look()
    looks.drop("m1/lift/a.csv", export_text("2"), datetime(2026, 3, 2, tzinfo=UTC))
    looks.look()
    assert looks.told == []
    looks.look()
    assert [d.outcome for d in looks.told] == ["taken"]


@pytest.mark.parametrize(
    "date", [datetime(1990, 1, 1, tzinfo=UTC), datetime(2090, 1, 1, tzinfo=UTC)]
)
def test_a_clock_that_is_far_off_does_not_change_when_a_file_is_complete(
    looks: Looks, export_text: Export, date: datetime
) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"), date)
    looks.look()
    assert looks.told == []
    looks.look()
    assert [d.outcome for d in looks.told] == ["taken"]


def test_an_empty_file_is_waited_for(looks: Looks) -> None:
    looks.drop("m1/lift/a.csv", "")
    for _ in range(5):
        assert looks.look(1000) == module.LOOK_EVERY_SECONDS
    assert (looks.told, looks.files()) == ([], ["m1/lift/a.csv"])


@pytest.mark.parametrize(
    "name",
    [
        ".a.csv", "~$a.csv", "a.csv.part", "a.csv.PART", "a.tmp", "a.csv.crdownload",
        "a.csv.filepart", "a.csv~", "Thumbs.db", "a.csv.reason.txt",
    ],
)  # fmt: skip
def test_names_of_unfinished_files_are_left_alone_until_renamed(
    looks: Looks, export_text: Export, name: str
) -> None:
    path = looks.drop(f"m1/lift/{name}", export_text("1"))
    looks.settle()
    assert (looks.told, looks.files()) == ([], [f"m1/lift/{name}"])
    path.rename(path.with_name("a.csv"))
    looks.settle()
    assert looks.outcomes() == [("m1/lift/a.csv", "taken", "done/m1/lift/a.csv")]


def test_what_lies_in_hidden_folders_or_was_put_away_is_never_taken(
    looks: Looks, export_text: Export
) -> None:
    kept = ["$RECYCLE.BIN/lift/a.csv", ".trash/m1/a.csv", "done/lift/a.csv", "refused/lift/a.csv"]
    for name in kept:
        looks.drop(name, export_text("1"))
    looks.settle()
    assert (looks.told, looks.files()) == ([], kept)


def test_a_file_whose_place_tells_no_axis_is_refused_with_what_to_do(
    looks: Looks, export_text: Export
) -> None:
    places = ["a.csv", "m1/a.csv", "m1/con/a.csv", "m1/lift/deeper/a.csv"]
    for name in places:
        looks.drop(name, export_text("1"))
    looks.settle()
    assert sorted(looks.outcomes()) == [(name, "refused", f"refused/{name}") for name in places]
    reason = (looks.place / "refused/m1/a.csv.reason.txt").read_text()
    assert "its place tells no axis: it lay in m1 (drop it into MACHINE/AXIS/" in reason
    assert "the watched folder itself" in (looks.place / "refused/a.csv.reason.txt").read_text()
    assert looks.watcher.worst == WrongUsage.exit_code
    assert looks.count() == 0


def test_an_export_that_cannot_be_read_is_refused_with_its_line(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("m1/lift/bad.csv", export_text("x"))
    looks.drop("m1/lift/good.csv", export_text("1"))
    looks.settle()
    assert sorted(outcome for _, outcome, _ in looks.outcomes()) == ["refused", "taken"]
    bad = looks.place / "refused/m1/lift/bad.csv"
    assert bad.read_bytes() == export_text("x").encode()
    reason = bad.with_name("bad.csv.reason.txt").read_text()
    assert f"{looks.place}/m1/lift/bad.csv, line 3: " in reason
    error = next(d.error for d in looks.told if d.error)
    assert (type(error), error.line) == (Unreadable, 3)
    assert reason.startswith("refused  20")


def test_an_export_of_another_axis_is_refused_by_the_guard(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("m1/lift/a.csv", export_text("1", serial="S-1"))
    looks.settle()
    looks.drop("m1/belt/b.csv", export_text("1", serial="S-1"))
    looks.settle()
    assert looks.outcomes()[1:] == [("m1/belt/b.csv", "refused", "refused/m1/belt/b.csv")]
    reason = (looks.place / "refused/m1/belt/b.csv.reason.txt").read_text()
    assert "the drive with serial number S-1 was last seen at m1/lift" in reason
    assert looks.watcher.worst == 3


def test_names_that_differ_in_case_only_are_refused(looks: Looks, export_text: Export) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"), datetime(2026, 3, 1, tzinfo=UTC))
    looks.drop("m1/LIFT/b.csv", export_text("2"), datetime(2026, 3, 2, tzinfo=UTC))
    looks.settle()
    assert [(d.file, d.outcome) for d in looks.told] == [
        ("m1/lift/a.csv", "taken"),
        ("m1/LIFT/b.csv", "refused"),
    ]


def test_a_file_too_large_for_an_export_is_refused(looks: Looks) -> None:
    path = looks.drop("m1/lift/a.csv", "x")
    with path.open("r+b") as stream:
        stream.truncate(33 * 1024 * 1024)
    looks.settle()
    assert looks.outcomes() == [("m1/lift/a.csv", "refused", "refused/m1/lift/a.csv")]


def test_a_date_that_no_snapshot_can_have_is_a_reason_to_refuse(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"), datetime(1960, 1, 1, tzinfo=UTC))
    looks.settle()
    assert [d.outcome for d in looks.told] == ["refused"]
    assert "--taken-at" in (looks.place / "refused/m1/lift/a.csv.reason.txt").read_text()


def test_nothing_that_was_put_away_is_overwritten(looks: Looks, export_text: Export) -> None:
    for lag in "123":
        looks.drop("m1/lift/a.csv", export_text(lag), datetime(2026, 3, int(lag), tzinfo=UTC))
        looks.drop("m1/lift/bad.csv", f"bad {lag}")
        looks.settle()
    done = [looks.place / f"done/m1/lift/a{n}.csv" for n in ("", "-2", "-3")]
    assert [p.read_bytes() for p in done] == [export_text(lag).encode() for lag in "123"]
    refused = [looks.place / f"refused/m1/lift/bad{n}.csv" for n in ("", "-2", "-3")]
    assert [p.read_text() for p in refused] == ["bad 1", "bad 2", "bad 3"]
    assert all(p.with_name(p.name + ".reason.txt").is_file() for p in refused)
    assert looks.count() == 3


def test_an_alert_that_fails_holds_up_nothing(
    looks: Looks, export_text: Export, tmp_path: Path
) -> None:
    site = tmp_path / "vault.yaml"
    site.write_text(
        "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        f"alerts: [{{kind: file, name: log, path: {tmp_path / 'log.jsonl'}}}]\n"
    )
    set_site(looks.vault, site, BY)
    for path in looks.vault.state.glob("alerts.sqlite*"):
        path.unlink()
    (looks.vault.state / "alerts.sqlite").mkdir()
    looks.drop("m1/lift/a.csv", export_text("1"))
    looks.settle()
    assert looks.outcomes() == [("m1/lift/a.csv", "taken", "done/m1/lift/a.csv")]
    assert len(looks.notes) == 1
    assert "outbox of alerts cannot be used" in looks.notes[0]
    assert looks.watcher.worst == 6


def test_a_file_where_a_folder_should_be_made_is_no_obstacle(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("m1", "no export")
    looks.settle()
    (looks.place / "done").mkdir()
    (looks.place / "done/m1").write_text("put there by hand")
    looks.drop("m1/lift/a.csv", export_text("1"))
    looks.drop("m1/lift/b.csv", "bad")
    looks.settle()
    assert looks.files() == [
        "done/m1",
        "done/m1-2/lift/a.csv",
        "refused/m1",
        "refused/m1-2/lift/b.csv",
        "refused/m1-2/lift/b.csv.reason.txt",
        "refused/m1.reason.txt",
    ]


def test_a_refused_file_put_back_with_its_reason_is_judged_anew(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("m1/lift/a.csv", "bad")
    looks.settle()
    for name in ("a.csv", "a.csv.reason.txt"):
        (looks.place / "refused/m1/lift" / name).rename(looks.place / "m1/lift" / name)
    looks.settle()
    looks.drop("m1/lift/a.csv", export_text("1"))
    (looks.place / "refused/m1/lift/a.csv").unlink()
    looks.settle()
    assert [d.outcome for d in looks.told] == ["refused", "refused", "taken"]


ODD = ["two words.csv", "a\nb.csv", "grün.csv", "tab\t.csv", "'quoted' \"twice\".csv", "-rf.csv"]


@pytest.mark.parametrize("name", [*map(str.encode, ODD), b"bad \xff\xe4.csv", b"n" * 251 + b".csv"])
@pytest.mark.parametrize("text", ["good", "bad"])
def test_odd_names_are_handled(looks: Looks, export_text: Export, name: bytes, text: str) -> None:
    content = export_text("1").encode() if text == "good" else b"bad"
    folder = looks.place / "m1/lift"
    folder.mkdir(parents=True)
    (folder / os.fsdecode(name)).write_bytes(content)
    looks.settle()
    (told,) = looks.told
    assert told.outcome == ("taken" if text == "good" else "refused")
    assert told.file.encode().decode().isprintable()
    assert list(folder.iterdir()) == []
    away = looks.place / ("done" if text == "good" else "refused") / "m1/lift"
    (moved,) = (p for p in away.iterdir() if not p.name.endswith(".reason.txt"))
    assert moved.read_bytes() == content
    assert (os.fsencode(moved.name) == name) or len(name) > 200
    looks.count()
    assert verify(looks.vault).ok


def test_symbolic_links_are_not_followed(looks: Looks, export_text: Export, tmp_path: Path) -> None:
    outside = tmp_path / "outside/lift"
    outside.mkdir(parents=True)
    (outside / "a.csv").write_text(export_text("1"))
    (looks.place / "m1").symlink_to(outside.parent)
    (looks.place / "m2/lift").mkdir(parents=True)
    (looks.place / "m2/lift/b.csv").symlink_to(outside / "a.csv")
    looks.settle()
    looks.settle()
    assert (looks.told, looks.count()) == ([], 0)
    assert sorted(looks.notes) == [
        "m1: symbolic links are not followed",
        "m2/lift/b.csv: symbolic links are not followed",
    ]


def test_nothing_is_put_away_through_a_link_out_of_the_folder(
    looks: Looks, export_text: Export, tmp_path: Path
) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (looks.place / "done").symlink_to(outside)
    looks.drop("m1/lift/a.csv", export_text("1"))
    looks.settle()
    assert list(outside.iterdir()) == []
    assert looks.outcomes() == [("m1/lift/a.csv", "taken", None)]
    assert "cannot be moved: is a symbolic link" in looks.notes[-1]
    (looks.place / "done").unlink()
    looks.look(100)
    assert looks.outcomes()[1:] == [("m1/lift/a.csv", "already_there", "done/m1/lift/a.csv")]
    assert looks.count() == 1


def test_a_file_that_vanishes_is_forgotten(looks: Looks, export_text: Export) -> None:
    path = looks.drop("m1/lift/a.csv", export_text("1"))
    looks.look()
    path.unlink()
    looks.settle()
    assert (looks.told, looks.notes, looks.count()) == ([], [], 0)


def test_a_file_that_changes_while_it_is_read_is_looked_at_again(
    looks: Looks, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = looks.drop("m1/lift/a.csv", export_text("1")[:-30])
    read = portion.read_content

    def read_and_grow(source: Path) -> bytes:
        content = read(source)
        path.write_text(export_text("1"), newline="")
        return content

    looks.look()
    with monkeypatch.context() as growing:
        growing.setattr(portion, "read_content", read_and_grow)
        assert looks.look() <= 3.0, "it is soon looked at again"
    assert looks.told == []
    looks.settle()
    assert [d.outcome for d in looks.told] == ["taken"]
    assert (looks.place / "done/m1/lift/a.csv").read_bytes() == export_text("1").encode()


def test_a_file_that_changes_before_it_is_moved_is_taken_again_as_a_new_one(
    looks: Looks, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = looks.drop("m1/lift/a.csv", export_text("1"), datetime(2026, 3, 1, tzinfo=UTC))
    put_away = DropFolder.put_away

    def change_first(*arguments: object) -> Path | None:
        path.write_text(export_text("2"), newline="")
        return put_away(*arguments)  # type: ignore[arg-type]

    looks.look()
    with monkeypatch.context() as changing:
        changing.setattr(DropFolder, "put_away", change_first)
        looks.look()
    assert looks.outcomes() == [("m1/lift/a.csv", "taken", None)]
    looks.settle()
    assert looks.outcomes()[1:] == [("m1/lift/a.csv", "taken", "done/m1/lift/a.csv")]
    exports = [e.snapshot.record.export_sha256 for e in history(looks.vault, LIFT)]
    assert looks.count() == 2
    assert len(set(exports)) == len(exports)
    assert (looks.place / "done/m1/lift/a.csv").read_bytes() == export_text("2").encode()


def test_many_files_at_once_are_each_taken_once(
    looks: Looks, export_text: Export, git: Callable[..., str]
) -> None:
    files = part_of(500, 5)
    for n in range(files):
        text = export_text(f"{n // 100},{n % 100:02}")
        date = datetime(2026, 3, 1, n // 60, n % 60, tzinfo=UTC)
        looks.drop(f"m{n % 3}/axis-{n % 7}/{n:03}.csv", text, date)
    looks.settle()
    looks.settle()
    assert [d.outcome for d in looks.told] == ["taken"] * files
    assert len(list((looks.place / "done").rglob("*.csv"))) == files
    assert looks.count() == files
    assert git("rev-list", "--merges", "main") == "", "taken in order, nothing came late"
    assert git("count-objects", "-v").startswith("count: 0\n"), "packed"
    assert verify(looks.vault).ok


KILLED = """
import os, signal, sys
from pathlib import Path
from vault.jobs.watch.drop_folder import DropFolder
from vault.jobs.records.edit import set_site
from vault.jobs.watch.watcher import Watcher

moved, put_away = 0, DropFolder.put_away

def die(*arguments):
    global moved
    if moved == int(sys.argv[3]):
        os.kill(os.getpid(), signal.SIGKILL)
    moved += 1
    return put_away(*arguments)

DropFolder.put_away = die
Watcher(Path(sys.argv[1]), Path(sys.argv[2]), "Ada <ada@x>", settle=0).once()
"""


@pytest.mark.parametrize("moved", [0, 1, 2])
def test_a_kill_between_recording_and_moving_takes_nothing_twice(
    looks: Looks, export_text: Export, moved: int
) -> None:
    for day in (1, 2, 3):
        looks.drop(f"m1/lift/{day}.csv", export_text(str(day)), datetime(2026, 3, day, tzinfo=UTC))
    done = subprocess.run(
        [sys.executable, "-c", KILLED, looks.vault.repository.path, looks.place, str(moved)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.returncode == -signal.SIGKILL
    assert looks.count() == 3
    assert len(list((looks.place / "done").rglob("*.csv"))) == moved
    looks.start()
    looks.settle()
    assert [d.outcome for d in looks.told] == ["already_there"] * (3 - moved)
    assert looks.count() == 3
    assert looks.files() == [f"done/m1/lift/{day}.csv" for day in (1, 2, 3)]


def test_a_reason_left_by_a_crash_is_written_anew(looks: Looks) -> None:
    looks.drop("refused/m1/lift/a.csv.reason.txt", "half a rea")
    looks.drop("m1/lift/a.csv", "bad")
    looks.settle()
    assert looks.outcomes() == [("m1/lift/a.csv", "refused", "refused/m1/lift/a.csv")]
    reason = (looks.place / "refused/m1/lift/a.csv.reason.txt").read_text()
    assert reason.startswith("refused  20")


def test_leftovers_are_taken_at_the_next_start(looks: Looks, export_text: Export) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"))
    looks.look()
    looks.start()
    looks.look()
    assert looks.told == [], "a new start trusts no look of before"
    looks.look()
    assert [d.outcome for d in looks.told] == ["taken"]


def test_while_the_vault_is_busy_files_stay_and_are_taken_later(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"))
    looks.drop("a.csv", export_text("1"))
    with holder(looks.vault.state):
        for _ in range(4):
            looks.look(11)
        assert looks.told == []
        assert len(looks.notes) == 1, "said once"
        assert "another process has been writing" in looks.notes[0]
        assert looks.files() == ["a.csv", "m1/lift/a.csv"]
        assert looks.watcher.worst == Unavailable.exit_code
    looks.look(11)
    assert sorted(d.outcome for d in looks.told) == ["refused", "taken"]


def test_others_can_write_to_the_vault_in_between(
    looks: Looks, export_text: Export, take: Callable[..., object]
) -> None:
    for day in (1, 3):
        looks.drop("m1/lift/a.csv", export_text(str(day)), datetime(2026, 3, day, tzinfo=UTC))
        looks.settle()
        take(export_text("9"), f"2026-03-0{day + 1}", to="m1/belt")
    assert looks.count() == 4
    assert verify(looks.vault).ok


def test_an_axis_damaged_in_the_vault_holds_up_no_other(
    looks: Looks, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take_in_once = portion.take_in_once

    def damaged(vault: Vault, recorder: Any, planned: Planned, *rest: Any) -> Ingested | None:
        if planned.address == BELT:
            raise Damaged("the vault misses this file", file="m1/belt")
        return take_in_once(vault, recorder, planned, *rest)

    looks.drop("m1/belt/a.csv", export_text("1"))
    looks.drop("m1/lift/b.csv", export_text("1"))
    with monkeypatch.context() as broken:
        broken.setattr(portion, "take_in_once", damaged)
        looks.settle()
    assert looks.outcomes() == [("m1/lift/b.csv", "taken", "done/m1/lift/b.csv")]
    assert "misses this file" in looks.notes[-1]
    looks.look(11)
    assert looks.outcomes()[1:] == [("m1/belt/a.csv", "taken", "done/m1/belt/a.csv")]


def test_a_folder_on_another_device_gets_a_copy(
    looks: Looks, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = Path.rename

    def across(source: Path, target: Path) -> Path:
        if source.parent != target.parent:
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        return rename(source, target)

    monkeypatch.setattr(Path, "rename", across)
    date = datetime(2026, 3, 1, tzinfo=UTC)
    looks.drop("m1/lift/a.csv", export_text("1"), date)
    looks.drop("m1/lift/b.csv", "bad")
    looks.settle()
    assert looks.files() == [
        "done/m1/lift/a.csv",
        "refused/m1/lift/b.csv",
        "refused/m1/lift/b.csv.reason.txt",
    ]
    moved = looks.place / "done/m1/lift/a.csv"
    assert moved.read_bytes() == export_text("1").encode()
    assert moved.stat().st_mtime == date.timestamp()


def test_a_file_that_changes_while_it_is_copied_stays(
    looks: Looks, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = looks.drop("m1/lift/a.csv", export_text("1"))
    copy = drop_folder.shutil.copyfileobj

    def copy_and_change(given: object, to: object) -> None:
        copy(given, to)  # type: ignore[arg-type]
        path.write_text(export_text("2"), newline="")

    def across(source: Path, target: Path) -> Path:
        raise OSError(errno.EXDEV, "Invalid cross-device link")

    with monkeypatch.context() as changing:
        changing.setattr(Path, "rename", across)
        changing.setattr(drop_folder.shutil, "copyfileobj", copy_and_change)
        looks.settle()
    assert looks.outcomes() == [("m1/lift/a.csv", "taken", None)]
    assert looks.files() == ["m1/lift/a.csv"]


RULES = """\
schema: axisvault/watch/1
rules:
  - {folder: laptop-3/lift, to: m1/lift, occasion: as-left, by: Ada <ada@x>, work_order: 1182}
  - {folder: "hall-*/*/*"}
  - {folder: "**/belts", to: m1/belt, family: hazel}
"""


def test_rules_tell_what_a_folder_holds_and_the_first_that_fits_counts(
    looks: Looks, export_text: Export
) -> None:
    looks.drop("watch.yaml", RULES)
    places = {
        "laptop-3/lift/a.csv": LIFT,
        "hall-2/m7/belts/b.csv": Address("m7", "belts"),
        "x/y/belts/c.csv": BELT,
        "belts/d.csv": BELT,
    }
    for day, name in enumerate(places, 1):
        looks.drop(name, export_text("1"), datetime(2026, 3, day, tzinfo=UTC))
    looks.drop("m1/lift/e.csv", export_text("1"))
    looks.settle()
    found = {d.file: d.ingested.snapshot.address for d in looks.told if d.ingested}
    assert found == places
    looks.count()
    record = next(looks.vault.index.snapshots(LIFT)).record
    assert (record.occasion, record.work_order) == ("as-left", "1182")
    assert record.by == "Ada <ada@x>"
    assert [(d.file, d.outcome) for d in looks.told if d.error] == [("m1/lift/e.csv", "refused")]
    reason = (looks.place / "refused/m1/lift/e.csv.reason.txt").read_text()
    assert "no rule in watch.yaml is for the folder 'm1/lift'" in reason
    assert "watch.yaml" in looks.files()


@pytest.mark.parametrize(
    ("rule", "line", "said"),
    [
        ("  - {folder: a, to: lift}", 4, "rules.1.to: 'lift' names no axis"),
        ("  - folder: a\n    to: m1/lift\n    occasion: never", 6, "rules.1.occasion: unknown"),
        ("  - folder: ../a", 4, "rules.1.folder: '../a' does not lie in the watched folder"),
        ("  - to: m1/lift", 4, "rules.1.folder: is missing"),
        ("  - folder: a\n    colour: red", 5, "rules.1.colour: no such key"),
        ("  - folder: a\n    by: nobody <", 5, "rules.1.by: 'nobody <' names nobody"),
        ("  - folder: [a", 5, "no valid YAML"),
    ],
)
def test_a_wrong_rule_is_named_by_file_line_and_key(
    vault: Vault, tmp_path: Path, rule: str, line: int, said: str
) -> None:
    (tmp_path / "watch.yaml").write_text(
        f"schema: axisvault/watch/1\nrules:\n  - {{folder: x/y}}\n{rule}\n"
    )
    folder = tmp_path / "drop"
    folder.mkdir()
    (tmp_path / "watch.yaml").rename(folder / "watch.yaml")
    with pytest.raises(Unreadable) as caught:
        Watcher(vault.repository.path, folder, BY)
    assert caught.value.message.startswith(said)
    assert (caught.value.file, caught.value.line) == (str(folder / "watch.yaml"), line)


def test_while_the_rules_are_wrong_nothing_is_taken(looks: Looks, export_text: Export) -> None:
    looks.drop("watch.yaml", "schema: axisvault/watch/1\nrules: []\n")
    looks.drop("laptop-3/lift/a.csv", export_text("1"))
    looks.settle()
    looks.settle()
    assert looks.told == []
    assert len(looks.notes) == 1
    assert "until then nothing is taken in" in looks.notes[0]
    looks.drop("watch.yaml", RULES)
    looks.settle()
    assert [d.outcome for d in looks.told] == ["taken"]


def test_a_folder_that_is_gone_for_a_while_is_watched_on(
    looks: Looks, export_text: Export, tmp_path: Path
) -> None:
    looks.drop("m1/lift/a.csv", export_text("1"))
    looks.place.rename(tmp_path / "unmounted")
    looks.settle()
    assert looks.notes == ["the folder cannot be looked at: No such file or directory"]
    (tmp_path / "unmounted").rename(looks.place)
    looks.settle()
    assert [d.outcome for d in looks.told] == ["taken"]


def test_a_vault_inside_the_folder_or_around_it_is_wrong_usage(vault: Vault) -> None:
    plant = vault.repository.path
    for folder in (plant.parent, plant, plant / "axisvault"):
        with pytest.raises(WrongUsage, match="lie in each other"):
            Watcher(plant, folder, BY)
    with pytest.raises(Unreadable, match="no such folder"):
        Watcher(plant, plant.parent / "nowhere", BY)


def test_only_one_watches_a_folder(looks: Looks) -> None:
    other = Watcher(looks.vault.repository.path, looks.place, BY, settle=0)
    with looks.watcher._only_watcher(), pytest.raises(Unavailable, match="another process watches"):
        other.once()
    other.once()


class Running:
    """A watcher at work in a thread, which has nothing but events to go by."""

    def __init__(self, looks: Looks, poll: float | None) -> None:
        self.looks = looks
        self.pause = 0.0
        looks.watcher._settle = 0.01
        looks.watcher._settling._seconds = 0.01
        step = looks.watcher.step

        def noted(moment: float) -> float:
            self.pause = step(moment)
            return self.pause

        looks.watcher.step = noted  # type: ignore[method-assign]
        self.thread = threading.Thread(target=looks.watcher.run, args=(poll,))

    def until(self, condition: Callable[[], bool]) -> None:
        for _ in range(6000):
            if condition():
                return
            time.sleep(0.01)
        pytest.fail(f"it never came: {self.looks.files()}, {self.looks.notes}")

    def idle(self) -> bool:
        return self.pause >= 3600


@pytest.fixture
def running(
    looks: Looks, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[float | None], Running]]:
    monkeypatch.setattr(module, "LOOK_EVERY_SECONDS", 3600.0)
    started: list[Running] = []

    def start(poll: float | None) -> Running:
        started.append(Running(looks, poll))
        started[0].thread.start()
        return started[0]

    yield start
    looks.watcher.stop()
    started[0].thread.join(60)
    assert not started[0].thread.is_alive()


def drop_some(running: Running, export_text: Export) -> None:
    """Drop files in several ways, each when the watcher has nothing to do but wait for news."""
    looks = running.looks
    for n, name in enumerate(["m1/lift/a.csv", "m1/lift/b.csv", "m2/new/c.csv", "m2/new/d.csv"]):
        running.until(running.idle)
        date = datetime(2026, 3, 1 + n, tzinfo=UTC)
        if n % 2:
            looks.drop("m1/lift/x.part", export_text(str(n)), date).rename(looks.place / name)
        else:
            looks.drop(name, export_text(str(n)), date)
        running.until(lambda wanted=n + 1: len(looks.told) == wanted)  # type: ignore[misc]
        assert (looks.place / "done" / name).is_file()
    assert [d.outcome for d in looks.told] == ["taken"] * 4


def test_events_of_the_system_lead_to_a_look(
    running: Callable[[float | None], Running], export_text: Export, looks: Looks
) -> None:
    drop_some(running(None), export_text)
    assert looks.notes == []


def test_polling_leads_to_a_look(
    running: Callable[[float | None], Running], export_text: Export
) -> None:
    drop_some(running(0.05), export_text)


def test_where_the_system_gives_no_events_it_polls_and_says_so(
    running: Callable[[float | None], Running],
    export_text: Export,
    looks: Looks,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def used_up() -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("watchdog.observers.Observer", used_up)
    monkeypatch.setattr(folder_events, "_FALLBACK_SECONDS", 0.05)
    drop_some(running(None), export_text)
    assert len(looks.notes) == 1
    assert "polled every 0.05 s" in looks.notes[0]


def test_a_folder_that_comes_back_is_heard_again(
    running: Callable[[float | None], Running],
    looks: Looks,
    export_text: Export,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "_RETRY_SECONDS", 0.05)
    at_work = running(0.05)
    at_work.until(at_work.idle)
    looks.place.rename(tmp_path / "unmounted")
    looks.watcher._wake_up.call()
    at_work.until(lambda: bool(looks.notes))
    (tmp_path / "unmounted").rename(looks.place)
    at_work.until(at_work.idle)
    drop_some(at_work, export_text)

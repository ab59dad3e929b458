"""`axisvault watch` as a process: stopped, killed, started again. All exports are invented."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import every_snapshot
from tests.store.local.test_lock import holder
from tests.sweeps import part_of
from vault.jobs.verify.verify import verify
from vault.store.vault import Vault

ROOT = Path(__file__).parents[2]
BY = "Mira Okafor <mira@tileworks.example>"
Export = Callable[..., str]
Cli = Callable[..., Any]


@pytest.fixture
def drop(tmp_path: Path) -> Path:
    folder = tmp_path / "drop"
    folder.mkdir()
    return folder


def put(folder: Path, name: str, text: str, minute: int = 0) -> None:
    """Drop a file under a name that is left alone, then rename it, as good programs do."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(path.name + ".part")
    draft.write_text(text, newline="")
    moment = datetime(2026, 3, 1, minute // 60, minute % 60, tzinfo=UTC).timestamp()
    os.utime(draft, (moment, moment))
    draft.rename(path)


@contextmanager
def watching(
    tmp_path: Path, *options: str, to: Any = subprocess.PIPE
) -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen(
        [sys.executable, "-m", "vault", "watch", str(tmp_path / "drop"), *options],
        stdout=to,
        stderr=subprocess.PIPE,
        text=True,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "AXISVAULT": str(tmp_path / "plant"),
            "AXISVAULT_BY": BY,
            "TZ": "UTC",
        },
    )
    with process:
        try:
            yield process
        finally:
            process.kill()


def until(condition: Callable[[], bool]) -> None:
    for _ in range(12000):
        if condition():
            return
        time.sleep(0.01)
    pytest.fail("it never came")


def in_done(drop: Path) -> int:
    return sum(1 for path in (drop / "done").rglob("*.csv"))


FILES = part_of(500, 10)


def test_many_files_and_kills_in_the_middle_make_exactly_as_many_snapshots(
    vault: Vault, drop: Path, tmp_path: Path, export_text: Export, git: Callable[..., str]
) -> None:
    def drop_in(n: int) -> None:
        text = export_text(f"{n // 100},{n % 100:02}")
        put(drop, f"m{n % 3}/axis-{n % 7}/{n:03}.csv", text, n)

    for n in range(FILES - 1):
        drop_in(n)
    for least in (1, FILES // 4, FILES // 2):
        with watching(tmp_path, "--settle", "0.1", to=subprocess.DEVNULL) as process:
            until(lambda least=least: in_done(drop) >= least)  # type: ignore[misc]
            process.send_signal(signal.SIGKILL)
            process.wait()
    drop_in(FILES - 1)  # else the others may all be done, and the last one asked to end too early
    with watching(tmp_path, "--settle", "0.1", to=subprocess.DEVNULL) as process:
        until(lambda: in_done(drop) >= FILES)
        process.send_signal(signal.SIGTERM)
        assert process.wait() == 0
    assert [p for p in drop.rglob("*.csv") if not p.is_relative_to(drop / "done")] == []
    vault.tip = vault.index.follow()
    names = [snapshot.record.export_name for snapshot in every_snapshot(vault)]
    assert sorted(names) == [f"{n:03}.csv" for n in range(FILES)], "all, and none twice"
    assert verify(vault).ok
    assert git("fsck", "--strict", "--no-dangling") == ""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_it_cleanly(
    vault: Vault, drop: Path, tmp_path: Path, export_text: Export, number: signal.Signals
) -> None:
    put(drop, "m1/lift/a.csv", export_text("1"))
    with watching(tmp_path, "--settle", "0.1", "--poll", "0.1", "--json") as process:
        assert process.stdout is not None
        first = json.loads(process.stdout.readline())
        put(drop, "m1/lift/b.csv", "bad")
        second = json.loads(process.stdout.readline())
        process.send_signal(number)
        rest, complaints = process.communicate()
    assert (process.returncode, rest) == (0, "")
    assert complaints == f"axisvault: watching {drop}; Ctrl-C ends it\n"
    assert first["file"] == "m1/lift/a.csv"
    assert (first["outcome"], first["moved_to"]) == ("taken", "done/m1/lift/a.csv")
    assert (first["ingest"]["axis"], first["error"]) == ("m1/lift", None)
    assert (second["outcome"], second["moved_to"]) == ("refused", "refused/m1/lift/b.csv")
    assert (second["ingest"], second["error"]["code"]) == (None, 4)
    assert second["error"]["file"] == f"{drop}/m1/lift/b.csv"


def test_once_takes_what_is_complete_and_ends_with_the_worst_failure(
    vault: Vault, drop: Path, cli: Cli, export_text: Export
) -> None:
    put(drop, "m1/lift/a.csv", export_text("1", serial="S-1"), 1)
    done = cli("watch", drop, "--once", "--settle", "0.1")
    assert done.code == 0
    assert "dated as its date says" in done.stderr
    vault.tip = vault.index.follow()
    (snapshot,) = every_snapshot(vault)
    assert done.stdout == f"m1/lift/a.csv: taken in, m1/lift, snapshot {snapshot.id[:10]}\n"
    put(drop, "m1/lift/a.csv", export_text("1", serial="S-1"), 1)
    put(drop, "m1/belt/b.csv", export_text("1", serial="S-1"), 2)
    put(drop, "m1/lift/c.csv", export_text("x"), 3)
    done = cli("watch", drop, "--once", "--settle", "0.1")
    assert done.code == 4
    lines = done.stdout.splitlines()
    assert lines[0] == "m1/lift/a.csv: the vault has it already"
    assert lines[1].startswith(f"m1/belt/b.csv: refused: {drop}/m1/belt/b.csv: the drive with")
    assert lines[2].startswith(f"m1/lift/c.csv: refused: {drop}/m1/lift/c.csv, line 3: ")
    done = cli("watch", drop, "--once", "--settle", "0.1", "--json")
    assert (done.code, done.stdout, done.stderr) == (0, "", "")


def test_names_that_are_no_utf_8_can_be_printed(
    vault: Vault, drop: Path, cli: Cli, export_text: Export
) -> None:
    put(drop, os.fsdecode(b"m1/lift/\xe4\n.csv"), export_text("1"))
    put(drop, os.fsdecode(b"m1/lift/\xe4\n.bad"), "bad")
    done = cli("watch", drop, "--once", "--settle", "0.1", "--json")
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert sorted(document["file"] for document in found) == [
        "m1/lift/\\udce4\\n.bad",
        "m1/lift/\\udce4\\n.csv",
    ]


def test_a_vault_that_is_busy_holds_files_up_and_loses_none(
    vault: Vault, drop: Path, tmp_path: Path, export_text: Export
) -> None:
    put(drop, "m1/lift/a.csv", export_text("1"))
    with holder(vault.state), watching(tmp_path, "--settle", "0.1") as process:
        assert process.stderr is not None
        process.stderr.readline()
        assert "another process has been writing" in process.stderr.readline()
        process.send_signal(signal.SIGTERM)
        assert process.wait() == 0
    assert (drop / "m1/lift/a.csv").is_file()
    with watching(tmp_path, "--settle", "0.1"):
        until(lambda: in_done(drop) == 1)


def test_wrong_calls_say_what_to_do(vault: Vault, drop: Path, cli: Cli, tmp_path: Path) -> None:
    missing = cli("watch", tmp_path / "nowhere")
    assert (missing.code, missing.stderr) == (
        4,
        f"axisvault: {tmp_path}/nowhere: there is no such folder\n",
    )
    (drop / "watch.yaml").write_text("schema: axisvault/watch/1\nrules:\n  - {folder: a, to: b}\n")
    wrong = cli("watch", drop)
    assert wrong.code == 4
    assert wrong.stderr.startswith(f"axisvault: {drop}/watch.yaml, line 3: rules.0.to: 'b' names")
    (drop / "watch.yaml").unlink()
    none = cli("--vault", tmp_path / "other", "watch", drop)
    assert (none.code, none.stderr.startswith("axisvault: there is no vault at")) == (2, True)
    assert cli("watch", drop, "--settle", "-1").code == 2


def test_help_loads_nothing_of_it(cli: Cli, vault: Vault) -> None:
    told = cli("watch", "--help").stdout
    assert "one for each file, since the command does not end" in " ".join(told.split())
    seen = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "vault", "--help"],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "watch" in seen.stdout
    assert "watchdog" not in seen.stderr
    assert "vault.cli.watch" not in seen.stderr

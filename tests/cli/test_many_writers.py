"""Many processes at one vault, and processes that are killed at any moment."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import every_snapshot
from tests.sweeps import part_of
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store.vault import Vault

ROOT = Path(__file__).parents[2]
BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
Export = Callable[..., str]
Git = Callable[..., str]

# One technician's laptop: takes its exports in one by one, the vault opened anew for each.
WRITER = """
import sys
from pathlib import Path
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.model.names import Address
from vault.store.vault import Vault

plant, folder, writer = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
for path in sorted(folder.glob(f"{writer}-*.csv")):
    number = int(path.stem.split("-")[1])
    who = parse_visit(f"Writer {writer} <w{writer}@tileworks.example>",
                taken_at=f"2026-03-{1 + number:02}T0{writer}:00:00Z")
    with Vault.open(plant) as vault:
        ingest(vault, path, Address("m1", f"axis-{number % 5}"), who)
"""


EACH = part_of(25, 5)


def test_eight_processes_take_their_exports_in_at_once(
    vault: Vault, tmp_path: Path, export_text: Export, git: Git
) -> None:
    folder = tmp_path / "exports"
    folder.mkdir()
    for writer in range(8):
        for number in range(EACH):
            text = export_text(f"{writer + 1},{number:02}")
            (folder / f"{writer}-{number:02}.csv").write_text(text)
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path / "plant"), str(folder), str(writer)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        for writer in range(8)
    ]
    told = [(process.communicate()[0].decode(), process.returncode) for process in processes]
    assert told == [("", 0)] * 8
    vault.tip = vault.index.follow()
    snapshots = every_snapshot(vault)
    assert len(snapshots) == 8 * EACH
    names = {snapshot.record.export_name for snapshot in snapshots}
    assert names == {path.name for path in folder.iterdir()}
    assert verify(vault).problems == []
    assert git("fsck", "--strict", "--no-dangling") == ""
    assert vault.index.rebuild() == 8 * EACH
    assert list(map(str, vault.index.axes())) == [f"m1/axis-{n}" for n in range(5)]


def take_in(plant: Path, path: Path, number: int) -> None:
    """One ingest as a process of its own would do it, start-up apart."""
    moment = f"2026-03-{1 + number % 28:02}T00:{number // 28:02}:00Z"
    with Vault.open(plant) as vault:
        ingest(vault, path, LIFT, parse_visit(BY, taken_at=moment))


def start(plant: Path, path: Path, number: int) -> int:
    """Fork a child that ingests, with a process group of its own for the git it starts."""
    child = os.fork()
    if child:
        return child
    status = 1
    try:  # pragma: no cover
        os.setsid()
        take_in(plant, path, number)
        status = 0
    finally:
        os._exit(status)


def wait_for_orphans(group: int) -> None:
    """Let the git processes end whose parent was killed; Linux's /proc knows them."""
    for _ in range(6000):
        living = False
        for stat in Path("/proc").glob("[0-9]*/stat"):
            try:
                state, _, process_group = stat.read_text().rpartition(")")[2].split()[:3]
            except OSError:
                continue
            living |= int(process_group) == group and state != "Z"
        if not living:
            return
        time.sleep(0.01)
    pytest.fail("a git process outlives its parent")


@pytest.mark.parametrize("victim", ["the program alone", "everything, as in a power cut"])
def test_a_process_killed_fifty_times_at_any_moment_leaves_a_valid_vault(
    vault: Vault, tmp_path: Path, export_text: Export, git: Git, victim: str
) -> None:
    plant, path = tmp_path / "plant", tmp_path / "lift.csv"
    vault.close()
    path.write_text(export_text())
    take_in(plant, path, 0)
    rng = random.Random(victim)
    known, trial, killed, usual = 1, 0, 0, 0.05
    while killed < part_of(50):
        trial += 1
        path.write_text(export_text(f"1,{trial % 100:02}"))
        child = start(plant, path, 2 * trial)
        time.sleep(rng.uniform(0, usual))
        if victim == "the program alone":
            os.kill(child, signal.SIGKILL)
        else:
            try:
                os.killpg(child, signal.SIGKILL)
            except ProcessLookupError:  # so early that it has no group yet
                os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        killed += os.WIFSIGNALED(status)
        wait_for_orphans(child)
        recorded = int(git("rev-list", "--count", "--no-merges", "main")) - 2
        assert recorded in (known, known + 1), "the export is in, or it is not"
        if trial % 10 == 0:
            assert git("fsck", "--strict", "--no-dangling") == ""
        began = time.monotonic()
        take_in(plant, path, 2 * trial + 1)
        usual = time.monotonic() - began
        known = recorded + 1
    assert git("fsck", "--strict", "--no-dangling") == ""
    with Vault.open(plant) as again:
        assert again.index.count(LIFT) == known
        assert verify(again).problems == []
        again.reindex()
        assert again.index.count(LIFT) == known
        assert verify(again).problems == []


def test_what_killed_processes_left_behind_disturbs_nobody(
    vault: Vault, tmp_path: Path, export_text: Export, git: Git, take: Callable[..., Any]
) -> None:
    take(export_text("1"), "2026-03-01")
    for name in (
        "objects/pack/tmp_pack_Ab12Cd", "objects/pack/tmp_idx_Ab12Cd", "objects/ab/tmp_obj_Ab12Cd",
        "fast_import_crash_4711", "HEAD.lock", "refs/heads/main.lock", "axisvault/lock",
    ):  # fmt: skip
        path = tmp_path / "plant" / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"half a file")
        os.utime(path, (0, 0))
    take(export_text("2"), "2026-03-02")
    assert verify(vault).problems == []
    vault.reindex()
    left = [
        p.name for p in (tmp_path / "plant").rglob("*") if "tmp_" in p.name or "crash" in p.name
    ]
    assert left == []
    assert git("fsck", "--strict", "--no-dangling") == ""

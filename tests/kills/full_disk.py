"""A disk that fills up: commands fail in clear words, lose nothing, and leave nothing behind.

The vault lies on a small file system in memory, which takes the right to mount one.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random

from tests.kills.campaign import Report, problems_of, run_step
from tests.kills.plant import Commands, build
from vault.store.vault import Vault

_SIZE = 24 * 2**20
_BETWEEN = 3  # commands on a disk that is as full
_MOST_GROWTH = 512 * 1024  # of a vault that nothing came into, by what may stay for a day


def can_mount() -> bool:
    """Whether a file system in memory can be mounted here."""
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder],
            capture_output=True, check=False,
        )  # fmt: skip
        if done.returncode:
            return False
        subprocess.run(["umount", folder], check=True)
        return True


@contextmanager
def small_disk() -> Iterator[Path]:
    """A folder on a file system of its own that has some megabytes."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={_SIZE}", "tmpfs", folder], check=True)
        try:
            yield Path(folder)
        finally:
            subprocess.run(["umount", "--lazy", folder], check=True)


def fill(levels: int, start: int) -> Report:
    """Run commands with so many different amounts of room left, from none to half a megabyte."""
    random, report = Random(start), Report()
    with small_disk() as disk, tempfile.TemporaryDirectory() as files:
        folder = Path(files)
        plant = build(folder)
        shutil.move(plant, disk / "plant")
        plant.symlink_to(disk / "plant")
        commands, kept = Commands(folder, random), set[str]()
        for step in commands.first():
            if run_step(plant, step, folder, None) == 0:
                kept.update(step.exports)
        for level in range(levels):
            room = 0 if level == 0 else int(512 * 1024 * (level / levels) ** 2)
            _at_level(disk, plant, folder, room, commands, kept, report)
            if report.problems:
                break
    report.snapshots = len(kept)
    return report


def _at_level(
    disk: Path,
    plant: Path,
    folder: Path,
    room: int,
    commands: Commands,
    kept: set[str],
    report: Report,
) -> None:
    before, count = _size(plant), _snapshots(plant)
    ballast = disk / "ballast"
    with ballast.open("wb") as file:
        file.truncate(0)
    free = shutil.disk_usage(disk).free
    if free > room:
        ballast.write_bytes(b"\0" * (free - room))
    for _ in range(_BETWEEN):
        step = commands.next()
        code = run_step(plant, step, folder, None)
        name = step.words[0]
        if code == 0 or (step.words[:2] == ("restore", "check") and code == 1):
            report.ended[name] += 1
            kept.update(step.exports)
        else:
            report.killed[name] += 1
            told = (folder / "told").read_text(errors="replace")
            if code not in range(1, 7) or "Traceback" in told:
                report.problems.append(f"{room} bytes left, {' '.join(step.words)}: {code} {told}")
    ballast.unlink()
    found = problems_of(plant, kept)
    report.problems += [f"after {room} bytes were left: {problem}" for problem in found]
    if _snapshots(plant) == count and _size(plant) - before > _MOST_GROWTH:
        report.problems.append(f"{room} bytes left: {_size(plant) - before} bytes stayed behind")


def _snapshots(plant: Path) -> int:
    with Vault.open(plant) as vault:
        return vault.index.count()


def _size(plant: Path) -> int:
    return sum(path.stat().st_size for path in plant.resolve().rglob("*") if path.is_file())

"""Running commands in children that are killed, and looking at what they leave."""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from tests.kills.plant import Commands, Step, build
from vault import cli
from vault.jobs.verify.verify import verify
from vault.store.clock import now
from vault.store.vault import Vault

_KILLS_A_VAULT = 40
_LONGEST = 60.0
_FIRST_GUESS = 0.3  # seconds that a command takes, until one of its kind was seen to end


@dataclass(slots=True)
class Report:
    """What came of a campaign: kills by command, and what was lost or not as it was recorded."""

    killed: Counter[str] = field(default_factory=Counter)
    ended: Counter[str] = field(default_factory=Counter)
    problems: list[str] = field(default_factory=list)
    snapshots: int = 0

    @property
    def kills(self) -> int:
        """How many commands were killed before they ended."""
        return sum(self.killed.values())


def run(count: int, start: int, told: Callable[[str], None] = lambda text: None) -> Report:
    """Kill so many commands, each at a moment by chance, and verify after every one."""
    random, report = Random(start), Report()
    lengths: dict[str, float] = {}
    while report.kills < count and not report.problems:
        folder = Path(tempfile.mkdtemp(prefix="kills-"))
        try:
            _one_vault(folder, min(_KILLS_A_VAULT, count - report.kills), random, report, lengths)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        told(f"{report.kills:,} kills, {report.snapshots:,} snapshots kept")
    return report


def _one_vault(
    folder: Path, count: int, random: Random, report: Report, lengths: dict[str, float]
) -> None:
    plant = build(folder)
    commands, kept = Commands(folder, random), set[str]()
    for step in commands.first():
        code = run_step(plant, step, folder, None)
        if code:
            raise RuntimeError(f"{step.words}: {code}: {(folder / 'told').read_text()}")
        kept.update(step.exports)
    until = report.kills + count
    while report.kills < until:
        step = commands.next()
        name = " ".join(step.words[:2]) if step.words[0] in ("golden", "note") else step.words[0]
        length = lengths.get(name, _FIRST_GUESS)
        begun = time.monotonic()
        code = run_step(plant, step, folder, random.uniform(0, length * 1.2), random.random() < 0.5)
        if code is None:
            report.killed[name] += 1
        else:
            report.ended[name] += 1
            lengths[name] = max(length * 0.95, time.monotonic() - begun)
            if code == 0 or (step.words[:2] == ("restore", "check") and code == 1):
                kept.update(step.exports)
        report.problems += [f"after {' '.join(step.words)}: {p}" for p in problems_of(plant, kept)]
        if report.problems:
            return
    report.snapshots += len(kept)


def run_step(
    plant: Path, step: Step, folder: Path, kill_after: float | None, with_children: bool = True
) -> int | None:
    """The exit code of a command; None where it was killed before it ended.

    With `with_children` the git processes that it started are killed too; else they see that their
    end of a pipe is closed.
    """
    child = os.fork()
    if child == 0:
        _be_the_command(plant, step, folder)
    end = time.monotonic() + (_LONGEST if kill_after is None else kill_after)
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.0005)
    with suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL) if with_children else os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return None if code < 0 else code


def _be_the_command(plant: Path, step: Step, folder: Path) -> None:
    """Run it in this process, which ends with it."""
    code = 70
    try:
        os.setsid()
        out = os.open(folder / "told", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        for handle in (1, 2):
            os.dup2(out, handle)
        os.chdir(folder)
        code = cli.run(["--vault", str(plant), *step.words])
    except BaseException as error:  # nothing may go back into the campaign
        os.write(2, repr(error).encode())
    finally:
        os._exit(code)


def problems_of(plant: Path, kept: set[str]) -> Iterator[str]:
    """What is lost, or not as it was recorded."""
    try:
        with Vault.open(plant) as vault:
            there = {
                snapshot.record.export_sha256
                for axis in vault.index.axes()
                for snapshot in vault.index.snapshots(axis)
            }
            yield from (f"an export is lost: {digest}" for digest in kept - there)
            found = verify(vault).problems
            yield from (f"{one.kind}, {one.where}: {one.details}" for one in found)
            if any(s.record.taken_at > now() for a in vault.index.axes() for s in
                   vault.index.snapshots(a)):  # fmt: skip
                yield "a snapshot lies in the future"
    except Exception as error:
        yield repr(error)


def lines(report: Report, what: str = "killed") -> Iterator[str]:
    """The report as a table; `what` became of the commands that did not end well."""
    yield f"{'command':<16} {what:>8} {'ended':>8}"
    for name in sorted(report.killed | report.ended):
        yield f"{name:<16} {report.killed[name]:>8,} {report.ended[name]:>8,}"
    kept, found = report.snapshots, len(report.problems)
    yield f"{report.kills:,} {what}, {kept:,} snapshots kept, {found} found."
    yield from report.problems

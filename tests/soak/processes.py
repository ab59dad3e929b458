"""Processes of a soak: acts that end, and those that go on; where they hang, what they hold."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from tests.soak.copies import ROOT, Copy

LONGEST = 180.0
"""Seconds after which an act is held to wait for ever: three times the wait for a busy vault."""


@dataclass(frozen=True, slots=True)
class Ended:
    """How an act ended; `code` is None where we killed it, `hung` says where it was found."""

    code: int | None
    printed: str
    complaint: str
    seconds: float
    hung: str = ""


def run(
    copy: Copy,
    *words: str,
    kill_after: float | None = None,
    with_children: bool = False,
    longest: float = LONGEST,
) -> Ended:
    """Run a command on a copy, which may be killed; one that does not end tells where it is."""
    begun = time.monotonic()
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        process = _start(copy, words, out, err)
        hung, code = "", None
        try:
            code = process.wait(longest if kill_after is None else kill_after)
        except subprocess.TimeoutExpired:
            if kill_after is None:
                hung = where(process.pid)
            _kill(process, with_children=with_children or kill_after is None)
        seconds = time.monotonic() - begun
        printed, complaint = _content(out), _content(err)
    if hung:
        hung += f"\n{complaint}"
    return Ended(code, printed, complaint, seconds, hung)


def _start(
    copy: Copy, words: tuple[str, ...], out: IO[bytes], err: IO[bytes]
) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "vault", *words], stdin=subprocess.DEVNULL, stdout=out, stderr=err,
        cwd=ROOT, env=copy.environment(), start_new_session=True,
    )  # fmt: skip


def _content(file: IO[bytes]) -> str:
    file.seek(0)
    return file.read().decode("utf-8", "replace")


def _kill(process: subprocess.Popen[bytes], *, with_children: bool) -> None:
    """End a process, which leads a group of its own, as a power cut or an operator would."""
    with suppress(ProcessLookupError):
        (os.killpg if with_children else os.kill)(process.pid, signal.SIGKILL)
    process.wait()


def where(pid: int) -> str:
    """Where a process is, and what its children do; its own threads go to its standard error."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGUSR1)
    time.sleep(1)
    return "\n".join(
        f"{one} {_read(one, 'cmdline')} waits in {_read(one, 'wchan')}" for one in family(pid)
    )


def family(pid: int) -> list[int]:
    """A process and those below it, as Linux's /proc knows them; itself alone elsewhere."""
    parents: dict[int, list[int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError, ValueError):
            parent = int(stat.read_text().rpartition(")")[2].split()[1])
            parents.setdefault(parent, []).append(int(stat.parent.name))
    found = [pid]
    for one in found:
        found += parents.get(one, [])
    return found


def _read(pid: int, name: str) -> str:
    with suppress(OSError):
        return Path(f"/proc/{pid}/{name}").read_bytes().replace(b"\0", b" ").decode().strip()
    return "?"


def of_folder(folder: Path) -> Iterator[tuple[int, str]]:
    """Processes, but for this one, that have something below a folder on their command line."""
    for process in Path("/proc").glob("[0-9]*"):
        pid = int(process.name)
        words = _read(pid, "cmdline")
        if f"{folder}/" in words and pid != os.getpid():
            yield pid, words


@dataclass(frozen=True, slots=True)
class Sample:
    """What a process held at a moment of the soak: memory in KiB, open files, threads, children."""

    second: float
    memory: int
    files: int
    threads: int
    children: int


def sample(pid: int, second: float) -> Sample | None:
    """What a process holds now; None where that cannot be told."""
    try:
        status = Path(f"/proc/{pid}/status").read_text()
        files = len(list(Path(f"/proc/{pid}/fd").iterdir()))
    except OSError:
        return None
    numbers = dict(re.findall(r"^(VmRSS|Threads):\s+(\d+)", status, re.MULTILINE))
    if "VmRSS" not in numbers:  # it has ended, and nobody asked how
        return None
    rest = len(family(pid)) - 1
    return Sample(second, int(numbers["VmRSS"]), files, int(numbers["Threads"]), rest)


@dataclass(slots=True)
class Life:
    """One process from its start to its end, and what it held meanwhile."""

    name: str
    samples: list[Sample] = field(default_factory=list)


@dataclass(slots=True)
class Service:
    """A process that goes on until it is stopped: `watch` or `serve` of a copy.

    What it prints is added to two logs. `steady` ones are never killed, so that they grow old.
    """

    copy: Copy
    name: str
    words: tuple[str, ...]
    logs: Path
    steady: bool = False
    process: subprocess.Popen[bytes] | None = None
    lives: list[Life] = field(default_factory=list)
    starts: int = 0
    kills: int = 0
    began_at: int = 0

    @property
    def out(self) -> Path:
        """What it printed, of all its lives."""
        return self.logs / f"{self.name}.out"

    @property
    def err(self) -> Path:
        """What it complained of, of all its lives."""
        return self.logs / f"{self.name}.err"

    @property
    def is_alive(self) -> bool:
        """Whether it runs."""
        return self.process is not None and self.process.poll() is None

    def start(self) -> None:
        """Run it anew."""
        with self.out.open("ab") as out, self.err.open("ab") as err:
            self.began_at = out.tell()
            self.process = _start(self.copy, self.words, out, err)
        self.starts += 1
        self.lives.append(Life(f"{self.name} {self.starts}"))

    def kill(self, *, with_children: bool) -> None:
        """End it as a power cut does."""
        self.kills += 1
        if self.process is not None:
            _kill(self.process, with_children=with_children)
        self.kills += 1  # who asked while it died has not asked in vain

    def look(self, second: float) -> None:
        """Note what it holds."""
        if self.is_alive and self.process is not None:
            found = sample(self.process.pid, second)
            if found is not None:
                self.lives[-1].samples.append(found)

    def stop(self, longest: float = 60.0) -> str:
        """Ask it to end; returns what is wrong with how it did."""
        if self.process is None:
            return f"{self.name} never ran"
        self.process.send_signal(signal.SIGTERM)
        try:
            code = self.process.wait(longest)
        except subprocess.TimeoutExpired:
            hung = where(self.process.pid)
            _kill(self.process, with_children=True)
            return f"{self.name} did not end within {longest:g} s: {hung}\n{tail(self.err)}"
        return f"{self.name} ended with {code}: {tail(self.err)}" if code else ""

    @property
    def address(self) -> str | None:
        """Where a viewer listens in this life; None until it says so."""
        if not self.is_alive:
            return None
        found = re.search(rb"http://127\.0\.0\.1:\d+/", self.out.read_bytes()[self.began_at :])
        return found[0].decode() if found else None


def tail(path: Path, most: int = 4000) -> str:
    """The end of a file."""
    try:
        content = path.read_bytes()
    except OSError:
        return ""
    return content[-most:].decode("utf-8", "replace")


def until(condition: Callable[[], bool], longest: float) -> bool:
    """Wait for something; says whether it came."""
    end = time.monotonic() + longest
    while not condition():
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def end(pid: int) -> None:
    """End a process that a process of ours left behind."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)

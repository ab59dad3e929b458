"""The viewer as people run it: a process of its own on loopback, and what its log says."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import TextIO

from tests.bench.measure import CHECKOUT

_ANSWERED = re.compile(r"\S+ [A-Z]+ .* \d{3} \d+ ms")
_QUEUED = re.compile(r"Task queue depth is (\d+)")
_MOST_LINES = 10


@dataclass(frozen=True, slots=True)
class Served:
    """A viewer that runs."""

    process: subprocess.Popen[str]
    port: int
    log: Path

    @property
    def is_there(self) -> bool:
        """Whether its process lives."""
        return self.process.poll() is None


@contextmanager
def served(vault: Path, log: Path) -> Iterator[Served]:
    """`axisvault serve` on a free port until the block ends; its log goes into a file.

    Raises RuntimeError where it does not begin.
    """
    command = [sys.executable, "-m", "vault", "--vault", str(vault), "serve", "--port", "0"]
    with log.open("w") as err:
        process = subprocess.Popen(
            command, cwd=CHECKOUT, stdout=subprocess.PIPE, stderr=err, text=True
        )
        try:
            assert process.stdout is not None
            found = re.search(r":(\d+)/", process.stdout.readline())
            if found is None:
                raise RuntimeError(f"the viewer does not begin: {log.read_text()[-500:]}")
            Thread(target=_drain, args=(process.stdout,), daemon=True).start()
            yield Served(process, int(found[1]), log)
        finally:
            process.terminate()
            try:
                process.wait(60)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _drain(stream: TextIO) -> None:
    for _ in stream:
        pass


def log_faults(log: Path) -> list[str]:
    """Lines of the log that are neither an answer nor a queue: what went wrong in the viewer."""
    odd = Counter(
        line
        for line in log.read_text(errors="replace").splitlines()
        if line.strip() and not _ANSWERED.fullmatch(line) and not _QUEUED.search(line)
    )
    lines = [f"the viewer's log, {count} times: {line[:300]}" for line, count in odd.items()]
    more = [f"and {len(lines) - _MOST_LINES} more lines"] if len(lines) > _MOST_LINES else []
    return lines[:_MOST_LINES] + more


def deepest_queue(log: Path) -> int:
    """How many requests waited for a thread at most."""
    return max(map(int, _QUEUED.findall(log.read_text(errors="replace"))), default=0)

"""Memory and open files of the viewer over time, out of /proc, and whether they grow."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from statistics import median

_PAGE = os.sysconf("SC_PAGE_SIZE")
_TICKS = os.sysconf("SC_CLK_TCK")
_PROC = Path("/proc")
CAN_SAMPLE = (_PROC / "self/statm").exists()
"""Whether this system tells these: Linux does."""

SHORTEST = 180.0
"""Seconds of a run below which growth is not judged: so long caches fill up."""


@dataclass(frozen=True, slots=True)
class Sample:
    """The viewer at a moment, seconds after the load began.

    `memory` is resident bytes of its process, `git_memory` those of the git processes behind it
    that are theirs alone: what they map of a pack is in memory once, for all of them. `processor`
    is the seconds of a processor that it took so far. `files` are open ones that are no connection,
    `gone` those of viewer and git that are deleted and still open.
    """

    at: float
    memory: int
    git_memory: int
    processor: float
    files: int
    connections: int
    gone: int
    threads: int
    git_processes: int


def sampled(process: int, at: float) -> Sample | None:
    """Look at a process and its children; None where it is no more, or nothing can be told."""
    try:
        opened = _opened(process)
        stat = (_PROC / f"{process}/stat").read_text().rpartition(")")[2].split()
        children = _children(process)
        return Sample(
            at,
            _memory(process),
            sum(map(_own_memory, children)),
            (int(stat[11]) + int(stat[12])) / _TICKS,  # proc(5): utime, stime
            sum(not name.startswith("socket:") for name in opened),
            sum(name.startswith("socket:") for name in opened),
            sum(
                name.endswith("(deleted)") for one in (process, *children) for name in _opened(one)
            ),
            int(stat[17]),  # proc(5): num_threads
            len(children),
        )
    except OSError:
        return None


def _memory(process: int) -> int:
    with suppress(OSError):
        return int((_PROC / f"{process}/statm").read_text().split()[1]) * _PAGE
    return 0


def _own_memory(process: int) -> int:
    """Resident bytes that lie in no file, as proc(5) has them."""
    with suppress(OSError):
        for line in (_PROC / f"{process}/status").read_text().splitlines():
            if line.startswith("RssAnon:"):
                return int(line.split()[1]) * 1024
    return 0


def _opened(process: int) -> list[str]:
    names = []
    with suppress(OSError):
        for entry in (_PROC / f"{process}/fd").iterdir():
            with suppress(OSError):  # closed in between
                names.append(str(entry.readlink()))
    return names


def _children(process: int) -> list[int]:
    found: list[int] = []
    for task in (_PROC / f"{process}/task").iterdir():
        with suppress(OSError):
            found += map(int, (task / "children").read_text().split())
    return found


@dataclass(frozen=True, slots=True)
class Growth:
    """A quantity after the first third of the run, and at its end: medians of a fifth of the rest.

    `most` is what it may grow by.
    """

    name: str
    unit: str
    early: float
    late: float
    most: float

    @property
    def is_too_much(self) -> bool:
        """Whether it grew by more than that."""
        return self.late - self.early > self.most


Quantity = tuple[str, str, Callable[[Sample], float], float, float]
_QUANTITIES: tuple[Quantity, ...] = (
    # Name, unit, what, and what it may grow by: a share, or so much where that is more. The viewer
    # opens its vaults anew after five minutes, which bounds what git keeps. Two exports that are
    # being stored have a vault, some files and a thread each.
    ("memory of the viewer", "MB", lambda one: one.memory / 1e6, 0.1, 8.0),
    ("memory of its git processes", "MB", lambda one: one.git_memory / 1e6, 0.5, 64.0),
    ("open files", "", lambda one: one.files, 0.05, 16.0),
    ("connections", "", lambda one: one.connections, 0.05, 8.0),
    ("deleted files still open", "", lambda one: one.gone, 0.0, 16.0),
    ("threads", "", lambda one: one.threads, 0.0, 6.0),
    ("git processes", "", lambda one: one.git_processes, 0.0, 6.0),
)


def growth(samples: Sequence[Sample]) -> list[Growth]:
    """What each quantity grew by once the first third was over."""
    if not samples:
        return []
    rest = [one for one in samples if one.at >= samples[-1].at / 3]
    few = max(1, len(rest) // 5)
    found = []
    for name, unit, of, share, least in _QUANTITIES:
        early, late = median(map(of, rest[:few])), median(map(of, rest[-few:]))
        found.append(Growth(name, unit, early, late, max(least, share * early)))
    return found

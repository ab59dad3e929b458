"""When is a file complete? When it looks the same in two looks that lie far enough apart.

Only sizes and dates of one file are compared with each other, never a file's date with our clock:
the two may be of different machines.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple


class Stamp(NamedTuple):
    """How a file looks from outside: bytes, date in nanoseconds, and which file it is."""

    size: int
    changed: int
    number: int


@dataclass(slots=True)
class _Seen:
    stamp: Stamp
    since: float
    not_before: float


class Settling:
    """Remembers how files looked. Moments are seconds of a clock that never goes back."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._seen: dict[Path, _Seen] = {}

    def complete(self, files: Mapping[Path, Stamp], moment: float) -> list[Path]:
        """The files that are complete, given all that a look found."""
        seen_now: dict[Path, _Seen] = {}
        ready: list[Path] = []
        for path, stamp in files.items():
            seen = self._seen.get(path)
            if seen is None or seen.stamp != stamp:
                seen_now[path] = _Seen(stamp, moment, moment + self._seconds)
                continue
            seen_now[path] = seen
            if stamp.size and moment >= seen.not_before:
                ready.append(path)
        self._seen = seen_now
        return ready

    def restart(self, path: Path) -> None:
        """Let a file settle anew from the next look on, since it was not what it looked like."""
        if path in self._seen:
            self._seen[path].stamp = Stamp(-1, 0, 0)

    def postpone(self, path: Path, until: float) -> None:
        """Leave a file alone until a moment."""
        if path in self._seen:
            self._seen[path].not_before = until

    def next_moment(self) -> float | None:
        """When the next file may be complete; None where none is waited for."""
        waiting = [seen.not_before for seen in self._seen.values() if seen.stamp.size]
        return min(waiting, default=None)

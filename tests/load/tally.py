"""What everybody noted during the run: answers, exports, and what went wrong."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from threading import Lock
from time import monotonic

_MOST_TOLD = 12


@dataclass(frozen=True, slots=True)
class Answered:
    """A page that was answered: its kind, when it was asked for, and the seconds that it took."""

    kind: str
    at: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Written:
    """An export that somebody took in: its axis, the digest of its bytes, how, and what came of it.

    `snapshot` is None where nobody was told that it is stored. `asked` is how many seconds somebody
    was busy with it, from choosing the file to reading that it is stored.
    """

    axis: str
    digest: str
    way: str
    at: float
    asked: float
    snapshot: str | None


@dataclass(slots=True)
class Tally:
    """Shared by all threads of a run."""

    begun: float = field(default_factory=monotonic)
    answers: list[Answered] = field(default_factory=list)
    writes: list[Written] = field(default_factory=list)
    late: int = 0
    """Pages that were asked for later than planned, since the one before had not come."""
    _faults: Counter[str] = field(default_factory=Counter)
    _lock: Lock = field(default_factory=Lock)

    @property
    def now(self) -> float:
        """Seconds since the load began."""
        return monotonic() - self.begun

    def answered(self, kind: str, at: float, seconds: float) -> None:
        """Note a page."""
        with self._lock:
            self.answers.append(Answered(kind, at, seconds))

    def wrote(self, written: Written) -> None:
        """Note an export."""
        with self._lock:
            self.writes.append(written)

    def was_late(self) -> None:
        """Note that somebody asked later than planned."""
        with self._lock:
            self.late += 1

    def fault(self, words: str) -> None:
        """Note what went wrong."""
        with self._lock:
            self._faults[words] += 1

    @property
    def fault_count(self) -> int:
        """How often something went wrong."""
        with self._lock:
            return self._faults.total()

    @property
    def faults(self) -> list[str]:
        """What went wrong, the most frequent first, and how often."""
        with self._lock:
            told = [
                f"{count} times: {words}" if count > 1 else words
                for words, count in self._faults.most_common()
            ]
        more = [f"and {len(told) - _MOST_TOLD} more"] if len(told) > _MOST_TOLD else []
        return told[:_MOST_TOLD] + more

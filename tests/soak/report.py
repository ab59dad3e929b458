"""What came of a soak: acts with their latency, what befell the copies, what was found wrong."""

from __future__ import annotations

import statistics
import threading
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field

from tests.soak.processes import Life

_MOST_ALIKE = 5  # problems of one kind that are told in full
_QUARTER = 4


@dataclass(frozen=True, slots=True)
class Done:
    """An act: when it began, what it was, on which copy, how long it took, and how it ended."""

    second: float
    kind: str
    copy: str
    seconds: float
    outcome: str


@dataclass(slots=True)
class Report:
    """Everything that is told of a soak. Threads add to it."""

    seed: int
    minutes: float
    acts: list[Done] = field(default_factory=list)
    faults: Counter[str] = field(default_factory=Counter)
    found: defaultdict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    lives: list[Life] = field(default_factory=list)
    figures: dict[str, int] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def did(self, done: Done) -> None:
        """Note an act."""
        with self._lock:
            self.acts.append(done)

    def befell(self, fault: str) -> None:
        """Note what befell a copy."""
        with self._lock:
            self.faults[fault] += 1

    def counted(self, what: str) -> None:
        """Note one more of something."""
        with self._lock:
            self.figures[what] = self.figures.get(what, 0) + 1

    def wrong(self, kind: str, details: str) -> None:
        """Note what is wrong."""
        with self._lock:
            self.found[kind].append(details)

    @property
    def problems(self) -> list[str]:
        """All that is wrong, of what is alike a few in full."""
        told = []
        for kind, details in sorted(self.found.items()):
            told += [f"{kind}: {text}" for text in details[:_MOST_ALIKE]]
            if len(details) > _MOST_ALIKE:
                told.append(f"{kind}: {len(details) - _MOST_ALIKE} more")
        return told

    def lines(self) -> Iterator[str]:
        """It as a table."""
        yield f"{'act':<22} {'ended':>6} {'killed':>6} {'refused':>7} {'median':>8} {'longest':>8}"
        for kind, acts in self.by_kind().items():
            outcomes = Counter(act.outcome for act in acts)
            ended = [act.seconds for act in acts if act.outcome != "killed"] or [0.0]
            yield (
                f"{kind:<22} {outcomes['ended']:>6,} {outcomes['killed']:>6,} "
                f"{outcomes['refused']:>7,} {statistics.median(ended):>6.2f} s {max(ended):>6.2f} s"
            )
        yield ""
        yield from (f"{count:>6,} {name}" for name, count in sorted(self.faults.items()))
        yield ""
        for life in self.lives:
            if len(life.samples) >= _QUARTER:
                yield grown(life)
        yield from (f"{count:>6,} {name}" for name, count in self.figures.items())
        yield from self.remarks
        yield f"{len(self.acts):,} acts, {sum(map(len, self.found.values()))} found."
        if self.problems:
            yield f"With --seed {self.seed}:"
            yield from self.problems

    def by_kind(self) -> dict[str, list[Done]]:
        """Acts of each kind."""
        kinds: defaultdict[str, list[Done]] = defaultdict(list)
        for act in self.acts:
            kinds[act.kind].append(act)
        return dict(sorted(kinds.items()))

    def document(self) -> dict[str, object]:
        """It as JSON."""
        return {
            "seed": self.seed,
            "minutes": self.minutes,
            "acts": [asdict(act) for act in self.acts],
            "faults": dict(self.faults),
            "processes": [asdict(life) for life in self.lives],
            "figures": self.figures,
            "remarks": self.remarks,
            "problems": self.problems,
        }


def grown(life: Life) -> str:
    """What a process held in the second quarter of its life and in the last one."""
    early, late = quarters(life)
    return (
        f"{life.name:<10} {life.samples[-1].second - life.samples[0].second:>5.0f} s: memory "
        f"{early[0] // 1024} MB, then {late[0] // 1024} MB; open files {early[1]}, then {late[1]}; "
        f"threads {early[2]}, then {late[2]}; processes below it {early[3]}, then {late[3]}"
    )


def quarters(life: Life) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Medians of memory in KiB, open files, threads, children: of the second and last quarter."""
    count = len(life.samples) // _QUARTER
    parts = life.samples[count : 2 * count], life.samples[-count:]
    early, late = (
        tuple(
            int(statistics.median(getattr(one, name) for one in part))
            for name in ("memory", "files", "threads", "children")
        )
        for part in parts
    )
    return early, late

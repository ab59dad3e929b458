"""The campaign: where files are cut, what became of the pieces, and the table of it."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.cuts.judging import OUTCOMES, Bench, Outcome
from tests.cuts.subjects import Subject

LAST_ROWS = 60
_SECTION = re.compile(rb"(?m)^\[")


def places(subject: Subject, count: int, seed: int, most: int | None = None) -> list[int]:
    """Where a file is cut: at every section, or at the last rows, and at some bytes by chance.

    Of the sections or rows no more than `most`, by chance.
    """
    content = subject.content
    if subject.is_table:
        wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
        end = b"\n\0" if wide else b"\n"
        starts = [found.end() for found in re.finditer(re.escape(end), content)]
        marked = [at for at in starts if at < len(content)][-LAST_ROWS:]
    else:
        marked = [found.start() for found in _SECTION.finditer(content)]
    every = range(1, len(content))
    dice = random.Random(f"{seed} {subject.name}")
    if most is not None and most < len(marked):
        marked = dice.sample(marked, most)
    chosen = dice.sample(every, min(count, len(every)))
    return sorted({at for at in (*marked, *chosen) if at})


@dataclass
class Tally:
    """Counts by kind of file and by what the axis had before, and every silent case."""

    counts: dict[tuple[str, str], Counter[Outcome]] = field(default_factory=dict)
    files: Counter[str] = field(default_factory=Counter)
    silent: list[str] = field(default_factory=list)

    def note(self, subject: Subject, before: str, at: int, outcome: Outcome) -> None:
        """One piece more."""
        self.counts.setdefault((subject.kind, before), Counter())[outcome] += 1
        if outcome == "silent":
            near = subject.content[max(0, at - 40) : at]
            self.silent.append(f"{subject.kind} {subject.name}, {before}, byte {at}: {near!r}")

    @property
    def text(self) -> str:
        """The table, then the silent cases."""
        heads = ("files", "of", "before", "cases", *OUTCOMES)
        rows = [heads]
        for (kind, before), counts in self.counts.items():
            told = (f"{counts[one]:,}" for one in OUTCOMES)
            rows.append((f"{self.files[kind]}", kind, before, f"{counts.total():,}", *told))
        for before in dict.fromkeys(before for _, before in self.counts):
            total: Counter[Outcome] = sum(
                (c for (_, b), c in self.counts.items() if b == before), Counter()
            )
            told = (f"{total[one]:,}" for one in OUTCOMES)
            files = f"{self.files.total()}"
            rows.append((files, "all", before, f"{total.total():,}", *told))
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = ["  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]
        return "\n".join([*lines, "", *(f"silent: {one}" for one in self.silent)]).rstrip()


def run(
    subjects: Iterable[Subject],
    count: int,
    seed: int,
    told: Callable[[str], None] = lambda text: None,
    *,
    most: int | None = None,
) -> Tally:
    """Cut files, and judge every piece."""
    tally = Tally()
    with TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        for subject in subjects:
            tally.files[subject.kind] += 1
            with bench.judge(subject) as judge:
                for at in places(subject, count, seed, most):
                    for before, outcome in judge.judged(at).items():
                        tally.note(subject, before, at, outcome)
            told(f"{subject.kind}: {subject.name}")
    return tally

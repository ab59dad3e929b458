"""What people and timers do on a copy, by the command line: drawn by chance, judged by its end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from random import Random

from tests.soak.copies import Copy, Plant
from tests.soak.exports import AXES, Put

_CODES = ("lim/lag", "mov/speed", "set/19")
_ACCEPT = ("--accept", "policy", "--accept", "golden")
_NUMBERS = count(1)  # of files and texts, all through a process


@dataclass(frozen=True, slots=True)
class Act:
    """A command line, the exit codes that are right on a calm copy, and the export it takes in."""

    kind: str
    words: tuple[str, ...]
    right: tuple[int, ...] = (0,)
    export: Put | None = None


class People:
    """Draws what is done next on a copy."""

    def __init__(self, plant: Plant, copy: Copy, random: Random) -> None:
        self._plant, self._copy, self._random = plant, copy, random
        self._makers: tuple[tuple[int, Callable[[], Act]], ...] = (
            (6, self._take), (3, self._give), (1, self._look), (5, self._ingest), (4, self._note),
            (1, self._redate), (3, self._approve), (1, self._approve_many), (3, self._waive),
            (1, self._withdraw), (3, self._fault), (2, self._axis), (4, self._drift),
            (2, self._alerts), (1, self._audit), (2, self._history), (1, self._verify),
            (1, self._reindex), (1, self._backup),
        )  # fmt: skip

    def next(self) -> Act:
        """Another act."""
        weights = [weight for weight, _ in self._makers]
        (_, make), *_ = self._random.choices(self._makers, weights)
        return make()

    def _axis_name(self) -> str:
        return self._random.choice(AXES)

    def _take(self) -> Act:
        """From the next one of the ring; what both changed is kept as it is on one of them."""
        keep = self._random.choice(("here", "there"))
        words = ("sync", "take", self._plant.partner(self._copy), "--keep", keep, *_ACCEPT)
        return Act("sync take", words)

    def _give(self) -> Act:
        return Act("sync give", ("sync", "give", str(self._plant.bundle(self._copy))))

    def _look(self) -> Act:
        return Act("sync look", ("sync", "look", self._plant.partner(self._copy)))

    def _ingest(self) -> Act:
        put = self._plant.exports.good(late=self._random.random() < 0.3)
        path = self._plant.folder / "files" / put.name
        path.write_bytes(put.content)
        return Act("ingest", ("ingest", str(path), "--to", put.axis), export=put)

    def _note(self) -> Act:
        text = f"note {next(_NUMBERS)} of {self._copy.name}"
        return Act("note add", ("note", "add", self._axis_name(), text))

    def _redate(self) -> Act:
        which = f"{self._axis_name()}@{self._random.choice(('first', 'latest', 'previous'))}"
        day = self._random.randint(1, 28)
        taken = f"2025-0{self._random.randint(1, 9)}-{day:02}T08:00:00Z"
        return Act("note add --taken-at", ("note", "add", which, "clock", "--taken-at", taken))

    def _approve(self) -> Act:
        words = ("golden", "approve", self._axis_name(), "--reason", "soak")
        return Act("golden approve", words)

    def _approve_many(self) -> Act:
        return Act("golden approve *", ("golden", "approve", "*/lift", "--reason", "soak"))

    def _waive(self) -> Act:
        code = self._random.choice(_CODES)
        until = f"2099-01-{self._random.randint(1, 31):02}"
        words = ("golden", "waive", self._axis_name(), code, "--until", until, "--reason", "soak")
        return Act("golden waive", words, (0, 2, 3))  # where there is no baseline

    def _withdraw(self) -> Act:
        words = ("golden", "withdraw", self._axis_name(), "--reason", "soak")
        return Act("golden withdraw", words, (0, 2, 3))

    def _fault(self) -> Act:
        note = f"fault {next(_NUMBERS)} of {self._copy.name}"
        words = ("fault", "add", self._axis_name(), "--code", "8611h", "--note", note)
        return Act("fault add", words)

    def _axis(self) -> Act:
        path = self._plant.folder / "files" / f"axis-{next(_NUMBERS)}.yaml"
        path.write_text(f"schema: axisvault/axis/1\ntitle: {path.stem}\n")
        return Act("axis set", ("axis", "set", self._axis_name(), str(path)))

    def _drift(self) -> Act:
        return Act("drift --alert", ("drift", "--alert", "--json"), (0, 1))

    def _alerts(self) -> Act:
        return Act("alerts send", ("alerts", "send", "--now"))

    def _audit(self) -> Act:
        return Act("audit", ("audit", self._axis_name()))

    def _history(self) -> Act:
        return Act("history", ("history", self._axis_name(), "--json"))

    def _verify(self) -> Act:
        return Act("verify --new", ("verify", "--new"))

    def _reindex(self) -> Act:
        return Act("reindex", ("reindex",))

    def _backup(self) -> Act:
        path = self._plant.folder / "files" / f"{self._copy.name}.backup"
        return Act("backup", ("backup", str(path)))

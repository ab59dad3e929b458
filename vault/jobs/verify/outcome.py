"""What a verification tells: problems, remarks, and the first snapshot that cannot be trusted."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from vault.model.errors import VaultError
from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.store.index.rows import Snapshot
    from vault.store.proof.witness import Witness


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that is not as it should be: what kind, where, and in words."""

    kind: str
    where: str
    details: str
    snapshot: Snapshot | None = None


@dataclass(frozen=True, slots=True)
class LostHistory:
    """What the history does not hold any more: since when, and the first snapshot of it."""

    details: str
    snapshot: str | None
    axis: str | None
    taken_at: str | None


@dataclass(frozen=True, slots=True)
class Untrusted:
    """The first snapshot that cannot be trusted, as far as it is known, and why."""

    snapshot: str | None
    axis: str | None
    taken_at: str | None
    why: str


@dataclass(slots=True)
class Verified:
    """Outcome of a verification; remarks are no problems (an older normalisation, say).

    `tip` and `witness` (lines, and the hash that stands for them all) are worth writing down.
    """

    snapshots: int = 0
    tip: str = ""
    witness: Witness | None = None
    lost: LostHistory | None = None
    problems: list[Problem] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def first_untrusted(self) -> Untrusted | None:
        """What the history lost goes first: everything after it was written anew."""
        if self.lost is not None:
            lost = self.lost
            return Untrusted(lost.snapshot, lost.axis, lost.taken_at, lost.details)
        named = [(p.snapshot, p) for p in self.problems if p.snapshot is not None]
        if not named:
            return None
        snapshot, problem = min(named, key=lambda pair: pair[0].seq)
        try:
            taken: str | None = time_text(snapshot.record.taken_at)
        except VaultError:
            taken = None
        return Untrusted(snapshot.id, str(snapshot.address), taken, problem.details)


def problem_of(kind: str, snapshot: Snapshot, details: str) -> Problem:
    """A problem of one snapshot."""
    return Problem(kind, f"{snapshot.address}@{snapshot.id[:10]}", details, snapshot)

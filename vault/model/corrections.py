"""What people add afterwards: notes, when a snapshot was really taken, names, and retirement.

Entries are only ever appended. The record that one is about stays as it was made, and verifies.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from vault.model.written_form import day_text, minute_text

CorrectionKind = Literal["note", "taken-at", "renamed", "retired", "in-use"]
STANDING_KINDS = ("renamed", "retired", "in-use")
"""Kinds that say what an axis or a machine is called, and whether it is in use."""


@dataclass(frozen=True, slots=True)
class Correction:
    """An entry: who wrote it, when and why; `snapshot` is the commit it is about, if it is of one.

    One of kind `taken-at` says when that snapshot was really taken, one of kind `renamed` what the
    axis, or the machine, is called since.
    """

    kind: CorrectionKind
    by: str
    at: datetime
    text: str
    snapshot: str | None = None
    taken_at: datetime | None = None
    name: str | None = None

    @property
    def title(self) -> str:
        """What was added, without its text."""
        if self.kind in STANDING_KINDS:
            return _TITLES[self.kind].format(name=self.name)
        about = f" on snapshot {self.snapshot[:10]}" if self.snapshot is not None else ""
        if self.taken_at is None:
            return f"note{about}"
        return f"put right{about}: it was taken {minute_text(self.taken_at)}"

    @property
    def beside(self) -> str:
        """It as it stands beside the snapshot that it is about."""
        name = self.by.partition(" <")[0]
        return f"Added on {day_text(self.at)} by {name}: {self.text}"


_TITLES = {
    "renamed": "renamed: it is called {name} now",
    "retired": "retired",
    "in-use": "in use again",
}


@dataclass(frozen=True, slots=True)
class Standing:
    """What an axis or a machine is called, and whether it is in use, by what was added of it.

    `renamed` are the entries that gave it a name, in their order; `retired` the one that took it
    out of use, None while it is in use.
    """

    renamed: tuple[Correction, ...] = ()
    retired: Correction | None = None

    @property
    def name(self) -> str | None:
        """The name that it was given last; None where it has the one it began with."""
        return self.renamed[-1].name if self.renamed else None


def standing(corrections: Iterable[Correction]) -> Standing:
    """What holds by the entries of an axis or a machine: of several the last one."""
    entries = [entry for entry in corrections if entry.kind in STANDING_KINDS]
    renamed = tuple(entry for entry in entries if entry.kind == "renamed")
    in_use = [entry for entry in entries if entry.kind != "renamed"][-1:]
    retired = next((entry for entry in in_use if entry.kind == "retired"), None)
    return Standing(renamed, retired)


def joined_corrections(
    ours: Iterable[Correction], theirs: Iterable[Correction]
) -> list[Correction]:
    """Entries that two copies of a vault have, by when they were made: each once."""
    return sorted({*ours, *theirs}, key=place)


def place(entry: Correction) -> tuple[datetime, str, str, str, str, str]:
    """Where an entry stands among others: by when it was made."""
    return entry.at, entry.by, entry.snapshot or "", entry.text, entry.kind, entry.name or ""


def times_put_right(corrections: Iterable[Correction]) -> dict[str, datetime]:
    """When snapshots were really taken, by their commit: of several entries the last one holds."""
    return {
        entry.snapshot: entry.taken_at
        for entry in corrections
        if entry.snapshot is not None and entry.taken_at is not None
    }

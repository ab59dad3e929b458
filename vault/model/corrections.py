"""What people add to an axis afterwards: notes, and when a snapshot was really taken.

Entries are only ever appended. The record that one is about stays as it was made, and verifies.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from vault.model.written_form import minute_text

CorrectionKind = Literal["note", "taken-at"]


@dataclass(frozen=True, slots=True)
class Correction:
    """An entry: who wrote it, when and why; `snapshot` is the commit it is about, if it is of one.

    One of kind `taken-at` says when that snapshot was really taken.
    """

    kind: CorrectionKind
    by: str
    at: datetime
    text: str
    snapshot: str | None = None
    taken_at: datetime | None = None

    @property
    def title(self) -> str:
        """What was added, without its text."""
        about = f" on snapshot {self.snapshot[:10]}" if self.snapshot is not None else ""
        if self.taken_at is None:
            return f"note{about}"
        return f"put right{about}: it was taken {minute_text(self.taken_at)}"


def joined_corrections(
    ours: Iterable[Correction], theirs: Iterable[Correction]
) -> list[Correction]:
    """Entries that two copies of a vault have, by when they were made: each once."""
    return sorted({*ours, *theirs}, key=place)


def place(entry: Correction) -> tuple[datetime, str, str, str]:
    """Where an entry stands among others: by when it was made."""
    return entry.at, entry.by, entry.snapshot or "", entry.text


def times_put_right(corrections: Iterable[Correction]) -> dict[str, datetime]:
    """When snapshots were really taken, by their commit: of several entries the last one holds."""
    return {
        entry.snapshot: entry.taken_at
        for entry in corrections
        if entry.snapshot is not None and entry.taken_at is not None
    }

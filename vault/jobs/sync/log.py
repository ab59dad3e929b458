"""When the vault took from another copy of it, or gave to one.

A merge is told by its commit, in every copy. What needed none (the branch only moved forward, or
was given away) is noted beside the index of the vault that did it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from vault.model.errors import VaultError
from vault.model.wording import plural
from vault.store.clock import parse_time, time_text
from vault.store.git.history import merges_with_trailer

if TYPE_CHECKING:
    from pathlib import Path

    from vault.store.vault import Vault

TRAILER, KEPT = "Synced-From", "Kept"
_FILE = "sync.jsonl"


@dataclass(frozen=True, slots=True)
class SyncEvent:
    """`what` is `took` or `gave`; `merge` the commit that joined both histories, if one had to."""

    at: datetime
    by: str
    what: str
    partner: str
    tip: str
    snapshots: int
    axes: int
    merge: str | None = None

    @property
    def title(self) -> str:
        """The event in words."""
        if self.what == "gave":
            return f"Sync: everything given to {self.partner}"
        return took_title(self.partner, self.snapshots, self.axes)


@dataclass(frozen=True, slots=True)
class SyncMerge:
    """A merge of two histories, as every copy of the vault has it; `kept` says what was decided."""

    commit: str
    at: datetime
    by: str
    title: str
    kept: tuple[str, ...]


def took_title(partner: str, snapshots: int, axes: int) -> str:
    """What was taken, in words."""
    if not snapshots:
        return f"Sync: records taken from {partner}"
    what = f"{plural(snapshots, 'snapshot')} of {plural(axes, 'axis', 'axes')}"
    return f"Sync: {what} taken from {partner}"


def is_sync(message: str) -> bool:
    """Whether a merge's message is that of a sync, and not of a late entry."""
    return any(line.startswith(f"{TRAILER}: ") for line in message.splitlines())


def note(state: Path, event: SyncEvent) -> None:
    """Append an event. Where that cannot be written, what was done is done all the same."""
    line = json.dumps({**asdict(event), "at": time_text(event.at)}, separators=(",", ":"))
    with suppress(OSError), (state / _FILE).open("ab") as file:
        file.write(f"\n{line}\n".encode())  # a line that a crash has torn must not swallow it
        file.flush()
        os.fsync(file.fileno())


def sync_events(state: Path) -> list[SyncEvent]:
    """Every event of this copy, oldest first; lines that cannot be read are passed over."""
    try:
        lines = (state / _FILE).read_bytes().splitlines()
    except OSError:
        return []
    return [event for line in lines if (event := _event(line)) is not None]


def _event(line: bytes) -> SyncEvent | None:
    try:
        found = json.loads(line)
        merge = found["merge"]
        return SyncEvent(
            parse_time(found["at"]), str(found["by"]), str(found["what"]), str(found["partner"]),
            str(found["tip"]), int(found["snapshots"]), int(found["axes"]),
            None if merge is None else str(merge),
        )  # fmt: skip
    except (ValueError, KeyError, TypeError, VaultError):
        return None


def sync_merges(vault: Vault) -> Iterator[SyncMerge]:
    """Every merge of two histories, oldest first."""
    for merge, kept in merges_with_trailer(vault.repository, vault.tip, TRAILER, KEPT):
        yield SyncMerge(merge.commit, merge.at, merge.by, merge.subject, kept)

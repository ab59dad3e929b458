"""When the vault was backed up last, noted beside it: what it says holds for this copy alone."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from vault.model.errors import VaultError
from vault.store.clock import parse_time, time_text

_FILE = "last-backup.json"


@dataclass(frozen=True, slots=True)
class LastBackup:
    """When a backup was written, into which file, and how many snapshots it holds."""

    at: datetime
    file: str
    snapshots: int


def note_backup(state: Path, backup: LastBackup) -> None:
    """Note a backup. Where that cannot be written, it is written all the same."""
    said = {"at": time_text(backup.at), "file": backup.file, "snapshots": backup.snapshots}
    draft = state / f"{_FILE}.new"
    with suppress(OSError):
        draft.unlink(missing_ok=True)  # a link there leads to somebody else's file
        with draft.open("x", encoding="utf-8") as file:
            file.write(json.dumps(said) + "\n")
        draft.replace(state / _FILE)


def last_backup(state: Path) -> LastBackup | None:
    """The last backup that was written from this copy; None where none is known."""
    try:
        said = json.loads((state / _FILE).read_bytes())
        return LastBackup(parse_time(said["at"]), str(said["file"]), int(said["snapshots"]))
    except (OSError, ValueError, KeyError, TypeError, VaultError):
        return None

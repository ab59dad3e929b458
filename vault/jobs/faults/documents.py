"""The JSON objects of fault logs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json
from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.jobs.faults.log import FaultsAdded
    from vault.model.fault_log import FaultEntry


def fault_json(entry: FaultEntry, name: str | None) -> Json:
    """A fault of the log; `name` is null where nothing is known about its code."""
    return {
        "at": time_text(entry.at),
        "code": entry.code,
        "name": name,
        "note": entry.note,
        "by": entry.by,
        "source": entry.source,
    }


def faults_added_json(axis: str, found: FaultsAdded) -> Json:
    """What became of faults that were given."""
    return {
        "axis": axis,
        "added": [fault_json(entry, None) for entry in found.added],
        "already_there": found.known,
        "skipped": [
            {"line": one.line, "text": one.text, "reason": one.reason} for one in found.skipped
        ],
        "warnings": list(found.warnings),
    }

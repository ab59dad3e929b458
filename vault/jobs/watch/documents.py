"""The JSON object of a watched folder."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from vault.jobs.intake.documents import ingest_json
from vault.jobs.state.documents import error_json

if TYPE_CHECKING:
    from vault.jobs.watch.watcher import Dropped


def dropped_json(dropped: Dropped) -> dict[str, Any]:
    """What became of a dropped file; `ingest` is the object that `ingest` prints."""
    return {
        "file": dropped.file,
        "outcome": dropped.outcome,
        "moved_to": dropped.moved_to,
        "ingest": ingest_json(dropped.ingested) if dropped.ingested is not None else None,
        "error": error_json(dropped.error)["error"] if dropped.error is not None else None,
    }

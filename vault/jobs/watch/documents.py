"""JSON of a watched folder: one document for each file that was dropped."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.intake.documents import IngestDocument, ingest_document
from vault.jobs.state.document_parts import FailureDocument, failure_document

if TYPE_CHECKING:
    from vault.jobs.watch.watcher import Dropped


class DroppedDocument(TypedDict):
    """What became of a dropped file: `watch`, which prints one a line."""

    file: str
    """The file as it was dropped, relative to the folder."""

    outcome: str
    """`taken`, `already_there` or `refused`."""

    moved_to: str | None
    """Where it lies now, null where it could not be moved yet."""

    ingest: IngestDocument | None
    """What was taken in, null where nothing was."""

    error: FailureDocument | None
    """Why it was refused, null where it was not."""


def dropped_document(dropped: Dropped) -> DroppedDocument:
    """What became of a dropped file."""
    ingested, error = dropped.ingested, dropped.error
    return {
        "file": dropped.file,
        "outcome": dropped.outcome,
        "moved_to": dropped.moved_to,
        "ingest": ingest_document(ingested) if ingested is not None else None,
        "error": failure_document(error) if error is not None else None,
    }

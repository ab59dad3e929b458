"""JSON of the logbook of an axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.faults.documents import FaultDocument, fault_document
from vault.jobs.faults.log import named_faults
from vault.jobs.inspect.history import history
from vault.jobs.logbook.entries import LinkKind, LogKind
from vault.jobs.records.axis_edits import axis_edits
from vault.jobs.state.document_parts import (
    NoteDocument,
    SnapshotDocument,
    SurroundingDocument,
    note_document,
    snapshot_document,
    surrounding_document,
)
from vault.jobs.state.documents import SummaryDocument, summary_document
from vault.meaning.sentences import sentences
from vault.model.names import Side
from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.jobs.inspect.history import HistoryEntry
    from vault.jobs.logbook.entries import Logbook, LogEntry
    from vault.store.vault import Vault


class HistorySnapshotDocument(SnapshotDocument):
    """A snapshot of an axis, and what it changed."""

    addenda: list[NoteDocument]
    """What people added about it afterwards, oldest first; the record itself never changes."""

    summary: SummaryDocument | None
    """Counts of what it changed against the one before, null for the first."""

    sentences: list[str]
    """What it changed, in words."""


class AxisEditDocument(TypedDict):
    """An edit of the record of an axis as built."""

    commit: str
    """The commit that made it."""

    at: str
    """When it was made."""

    by: str
    """Who made it."""

    is_first: bool
    """Whether nothing was recorded before it."""

    changes: list[SurroundingDocument]
    """What it changed."""


class LogLinkDocument(TypedDict):
    """What a text in an entry of a logbook stands for."""

    text: str
    """The text, as the sentences have it."""

    kind: LinkKind
    """`snapshot`, `parameter`, `axis`, `plan`, `check` (the verdict of a restore), `fault`,
    `baseline`, `record` (of the axis as built), `order` (a work order), `trial` or `trace`."""

    target: str
    """It whole: the id of a snapshot, a code, `machine/axis`, the number of a plan or an order."""


class LogEntryDocument(TypedDict):
    """One thing that happened to an axis."""

    kind: LogKind
    """`snapshot`, `restore`, `approval`, `waiver`, `record`, `trial`, `trace`, `fault`, `alert` or
    `note`."""

    at: str
    """When it happened; of a snapshot when it was taken."""

    by: str | None
    """Who did it; null where nobody did, as where a waiver ends."""

    side: Side
    """Whose set of the axis it is about: `drive`, or `controller`."""

    title: str
    """What happened, in a few words."""

    sentences: list[str]
    """What is told of it: what to be warned of first, then what it changed."""

    links: list[LogLinkDocument]
    """What is named in it."""

    snapshot: str | None
    """The snapshot that it is, or is about; null where there is none."""

    commit: str | None
    """The commit that records it; null where none does."""

    addenda: list[NoteDocument]
    """What people added about the snapshot afterwards, oldest first."""


class HistoryDocument(TypedDict):
    """What happened to an axis: `history`."""

    axis: str
    """`machine/axis`."""

    snapshots: list[HistorySnapshotDocument]
    """Its snapshots, oldest first."""

    edits: list[AxisEditDocument]
    """Edits of its record, oldest first."""

    faults: list[FaultDocument]
    """Its fault log, oldest first."""

    notes: list[NoteDocument]
    """What people added afterwards, about the axis or one of its snapshots, oldest first."""

    log: list[LogEntryDocument]
    """A page of everything that happened to the axis, newest first."""

    log_counts: dict[str, int]
    """How many entries there are of each kind, on this page or not."""

    log_older: int
    """How many entries that were asked for are older than those on this page."""

    problems: list[str]
    """What of the logbook could not be read."""


def history_document(vault: Vault, book: Logbook) -> HistoryDocument:
    """The snapshots of an axis, the edits of its record, faults and notes, each oldest first, and
    a page of its logbook.
    """
    address = book.address
    return {
        "axis": str(address),
        "snapshots": [_history_snapshot_document(entry) for entry in history(vault, address)],
        "edits": [
            {
                "commit": edit.commit,
                "at": time_text(edit.at),
                "by": edit.by,
                "is_first": edit.is_first,
                "changes": [surrounding_document(change) for change in edit.changes],
            }
            for edit in axis_edits(vault, address)
        ],
        "faults": [
            fault_document(entry, code.name if code else None)
            for entry, code in named_faults(vault, address)
        ],
        "notes": [note_document(entry) for entry in vault.corrections(address)],
        "log": [_log_entry_document(entry) for entry in book.entries],
        "log_counts": {str(kind): count for kind, count in book.counts.items()},
        "log_older": book.older,
        "problems": list(book.problems),
    }


def _log_entry_document(entry: LogEntry) -> LogEntryDocument:
    return {
        "kind": entry.kind,
        "at": time_text(entry.at),
        "by": entry.by or None,
        "side": entry.side,
        "title": entry.title,
        "sentences": [*map(str, entry.remarks), *entry.texts],
        "links": [
            {"text": link.text, "kind": link.kind, "target": link.target} for link in entry.links
        ],
        "snapshot": entry.snapshot or None,
        "commit": entry.commit or None,
        "addenda": [note_document(note) for note in entry.addenda],
    }


def _history_snapshot_document(entry: HistoryEntry) -> HistorySnapshotDocument:
    comparison = entry.comparison
    return {
        **snapshot_document(entry.snapshot),
        "addenda": [note_document(one) for one in entry.addenda],
        "summary": summary_document(comparison) if comparison is not None else None,
        "sentences": sentences(comparison) if comparison is not None else [],
    }

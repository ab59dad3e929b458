"""JSON of the history of an axis, and of one of its parameters."""

from __future__ import annotations

from typing import TYPE_CHECKING, NotRequired

from typing_extensions import TypedDict

from vault.jobs.faults.documents import FaultDocument, fault_document
from vault.jobs.state.document_parts import (
    NoteDocument,
    PhysicalDocument,
    SnapshotDocument,
    SurroundingDocument,
    note_document,
    reading_document,
    snapshot_document,
    surrounding_document,
)
from vault.jobs.state.documents import SummaryDocument, summary_document
from vault.meaning.changes import Kind
from vault.meaning.sentences import sentences
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.inspect.history import HistoryEntry, ParameterStep
    from vault.jobs.records.axis_edits import AxisEdit
    from vault.meaning.faults import FaultCode
    from vault.model.corrections import Correction
    from vault.model.fault_log import FaultEntry


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


def history_document(
    axis: str,
    entries: Iterable[HistoryEntry],
    edits: Iterable[AxisEdit],
    faults: Iterable[tuple[FaultEntry, FaultCode | None]],
    notes: Iterable[Correction],
) -> HistoryDocument:
    """The snapshots of an axis, the edits of its record, faults and notes, each oldest first."""
    return {
        "axis": axis,
        "snapshots": [_history_snapshot_document(entry) for entry in entries],
        "edits": [
            {
                "commit": edit.commit,
                "at": time_text(edit.at),
                "by": edit.by,
                "is_first": edit.is_first,
                "changes": [surrounding_document(change) for change in edit.changes],
            }
            for edit in edits
        ],
        "faults": [fault_document(entry, code.name if code else None) for entry, code in faults],
        "notes": [note_document(entry) for entry in notes],
    }


def _history_snapshot_document(entry: HistoryEntry) -> HistorySnapshotDocument:
    comparison = entry.comparison
    return {
        **snapshot_document(entry.snapshot),
        "addenda": [note_document(one) for one in entry.addenda],
        "summary": summary_document(comparison) if comparison is not None else None,
        "sentences": sentences(comparison) if comparison is not None else [],
    }


class ParameterStepDocument(TypedDict):
    """One parameter in one snapshot; where it is not there, `value` is null, and all is missing
    that describes a value."""

    snapshot: str
    """Id of the snapshot."""

    taken_at: str
    """When it was taken."""

    by: str
    """Who took it."""

    occasion: str
    """Why it was taken."""

    changed: bool
    """Whether it is another one than in the snapshot before."""

    kind: Kind | None
    """What became of it since the snapshot before; null where nothing did, and for the first."""

    value: str | None
    """The raw content times its scale, in `unit`."""

    raw: NotRequired[str]
    """What the drive holds."""

    unit: NotRequired[str | None]
    """Unit of `value`."""

    label: NotRequired[str | None]
    """What a choice is called."""

    physical: NotRequired[PhysicalDocument | None]
    """Its size on the machine as built."""

    stated: NotRequired[PhysicalDocument | None]
    """The size that the parameter set itself believes in."""

    text: NotRequired[str]
    """The value in words."""

    really: NotRequired[str | None]
    """The size on the machine as built, where that is not what the set believes."""


class ParameterHistoryDocument(TypedDict):
    """One parameter over time: `history --parameter`."""

    axis: str
    """`machine/axis`."""

    parameter: str
    """The code or role that was asked for."""

    values: list[ParameterStepDocument]
    """What each snapshot has, oldest first."""


def parameter_history_document(
    axis: str, parameter: str, steps: Iterable[ParameterStep]
) -> ParameterHistoryDocument:
    """One parameter over time, oldest first."""
    return {
        "axis": axis,
        "parameter": parameter,
        "values": [_step_document(step) for step in steps],
    }


def _step_document(step: ParameterStep) -> ParameterStepDocument:
    record = step.snapshot.record
    absent: ParameterStepDocument = {
        "snapshot": step.snapshot.id,
        "taken_at": time_text(record.taken_at),
        "by": record.by,
        "occasion": record.occasion,
        "changed": step.changed,
        "kind": step.kind,
        "value": None,
    }
    return absent if step.reading is None else {**absent, **reading_document(step.reading)}

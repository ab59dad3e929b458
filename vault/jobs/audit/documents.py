"""JSON of audits, and of fault logs with what may have ended each fault."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from typing_extensions import TypedDict

from vault.jobs.audit.actions import Action
from vault.jobs.audit.audit import FaultSeen
from vault.jobs.audit.suspect_documents import AuditSuspectDocument, suspect_document
from vault.jobs.faults.documents import FaultDocument, fault_document
from vault.jobs.state.document_parts import (
    CoverageDocument,
    NoteDocument,
    SnapshotDocument,
    coverage_document,
    note_document,
    snapshot_document,
)
from vault.jobs.state.documents import (
    SummaryDocument,
    summary_document,
)
from vault.jobs.verify.documents import ProblemDocument, problem_documents
from vault.meaning.sentences import sentences
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.audit.audit import Audit, AuditEntry, FaultAt, SnapshotEntry
    from vault.jobs.audit.last_known_good import ReferenceState
    from vault.jobs.audit.repeats import FaultRepeats
    from vault.meaning.faults import FaultCode
    from vault.model.fault_log import FaultEntry
    from vault.model.names import Address

PeriodDocument = TypedDict("PeriodDocument", {"from": str, "to": str})
"""From when to when."""


class SnapshotEntryDocument(SnapshotDocument):
    """A snapshot in the period of an audit."""

    kind: Literal["snapshot"]
    """Tells it from other entries."""

    axis: str
    """`machine/axis`."""

    recorded_at: str
    """When it was recorded."""

    late: bool
    """Whether a later state stood already when it was recorded."""

    even_so: str | None
    """Why it was taken in although a guard objected."""

    addenda: list[NoteDocument]
    """What people added about it afterwards, oldest first; the record itself never changes."""

    summary: SummaryDocument | None
    """Counts of what it changed against the one before, null for the first."""

    sentences: list[str]
    """What it changed, in words."""


class FaultEntryDocument(FaultDocument):
    """A fault of the log in the period of an audit."""

    kind: Literal["fault"]
    """Tells it from other entries."""

    axis: str
    """`machine/axis`."""

    snapshot: None
    """Null: it is no snapshot."""


class ActDocument(TypedDict):
    """What somebody did in the period of an audit: edits, approvals, waivers, syncs."""

    kind: Literal["act"]
    """Tells it from other entries."""

    axis: str | None
    """`machine/axis`, null for the site's."""

    snapshot: None
    """Null: it is no snapshot."""

    at: str
    """When."""

    by: str
    """Who."""

    commit: str
    """The commit that records it; empty where none does."""

    title: str
    """It in one line."""

    sentences: list[str]
    """More about it."""


class AuditedFaultDocument(TypedDict):
    """The fault that an audit is about."""

    code: str
    """The code as the drive shows it."""

    name: str
    """What it is called."""

    at: str
    """When it tripped."""

    axis: str | None
    """The axis that tripped, null where nobody knows which one of several."""

    asked: str | None
    """The time that was asked about, null where none was."""

    distance: str | None
    """How far from it the fault of the log lies, in words; null where it is just then."""


class ReferenceDocument(TypedDict):
    """What the state of an axis at the fault is held against."""

    axis: str
    """`machine/axis`."""

    snapshot: str | None
    """Id of the snapshot."""

    known_good: bool
    """Whether it is known to have been good."""

    why: str
    """Why it was chosen."""

    coverage: CoverageDocument
    """What of the drive's set it has."""


class RepeatsDocument(TypedDict):
    """One fault code over time, and what may have ended it."""

    code: str
    """The code as it was noted last."""

    name: str | None
    """What it is called; null where nothing is known about it."""

    count: int
    """How often it tripped."""

    first: str
    """When for the first time."""

    last: str
    """When for the last time."""

    ended_by: str | None
    """Id of the snapshot whose changes may have ended it."""

    sentence: str
    """It in words."""


class ChainDocument(TypedDict):
    """Whether the history that an audit rests on is as it was recorded."""

    verified: bool
    """Whether nothing is wrong with it."""

    details: list[ProblemDocument]
    """What is wrong."""


class AuditDocument(TypedDict):
    """What happened around a fault, and what explains it: `audit`, report.json of its evidence."""

    axis: str
    """The machine or axis that was asked about."""

    axes: list[str]
    """The axes that were looked at."""

    period: PeriodDocument
    """From when to when."""

    entries: list[SnapshotEntryDocument | FaultEntryDocument | ActDocument]
    """Snapshots, faults and acts of the period, oldest first."""

    fault: AuditedFaultDocument | None
    """The fault, null where none was asked about."""

    last_known_good: str | None
    """Id of the last snapshot before the fault that is known to have been good."""

    held_against: list[ReferenceDocument]
    """What the state at the fault is held against, by axis."""

    explained: bool | None
    """Whether anything explains the fault, null where none was asked about."""

    suspects: list[AuditSuspectDocument]
    """What can explain it, best explanation first."""

    repeats: list[RepeatsDocument]
    """How often that code came, by axis."""

    chain: ChainDocument
    """Whether the history is as it was recorded."""


class FaultLogDocument(TypedDict):
    """The fault log of an axis: `fault list`."""

    axis: str
    """`machine/axis`."""

    faults: list[FaultDocument]
    """Oldest first."""

    repeats: list[RepeatsDocument]
    """What may have ended each code, the latest first."""


def audit_document(audit: Audit) -> AuditDocument:
    """What happened around a fault, and what explains it."""
    good = audit.last_known_good
    return {
        "axis": audit.place,
        "axes": [str(axis) for axis in audit.axes],
        "period": {"from": time_text(audit.start), "to": time_text(audit.end)},
        "entries": [_entry_document(entry) for entry in audit.entries],
        "fault": None if audit.fault is None else _audited_fault_document(audit.fault),
        "last_known_good": good.id if good is not None else None,
        "held_against": [
            _reference_document(axis, reference)
            for axis, reference in audit.references.items()
            if reference is not None
        ],
        "explained": None if audit.fault is None else bool(audit.suspects),
        "suspects": [suspect_document(suspect) for suspect in audit.suspects],
        "repeats": [_repeats_document(repeats) for repeats in audit.repeats],
        "chain": {
            "verified": audit.chain.ok,
            "details": problem_documents(audit.chain.problems),
        },
    }


def _entry_document(
    entry: AuditEntry,
) -> SnapshotEntryDocument | FaultEntryDocument | ActDocument:
    if isinstance(entry, FaultSeen):
        return {
            "kind": "fault",
            "axis": str(entry.axis),
            "snapshot": None,
            **fault_document(entry.fault, entry.code.name if entry.code is not None else None),
        }
    if isinstance(entry, Action):
        return {
            "kind": "act",
            "axis": str(entry.axis) if entry.axis is not None else None,
            "snapshot": None,
            "at": time_text(entry.at),
            "by": entry.by,
            "commit": entry.commit,
            "title": entry.title,
            "sentences": list(entry.sentences),
        }
    return _snapshot_entry_document(entry)


def _snapshot_entry_document(entry: SnapshotEntry) -> SnapshotEntryDocument:
    comparison = entry.comparison
    return {
        "kind": "snapshot",
        "axis": str(entry.axis),
        **snapshot_document(entry.snapshot),
        "recorded_at": time_text(entry.recorded_at),
        "late": entry.is_late,
        "even_so": entry.snapshot.record.override_reason,
        "addenda": [note_document(one) for one in entry.addenda],
        "summary": summary_document(comparison) if comparison is not None else None,
        "sentences": sentences(comparison) if comparison is not None else [],
    }


def _audited_fault_document(fault: FaultAt) -> AuditedFaultDocument:
    return {
        "code": fault.fault.code,
        "name": fault.fault.name,
        "at": time_text(fault.at),
        "axis": str(fault.axis) if fault.axis is not None else None,
        "asked": time_text(fault.asked) if fault.asked is not None else None,
        "distance": fault.distance,
    }


def _reference_document(axis: Address, reference: ReferenceState) -> ReferenceDocument:
    snapshot = reference.state.snapshot
    return {
        "axis": str(axis),
        "snapshot": snapshot.id if snapshot is not None else None,
        "known_good": reference.is_good,
        "why": reference.why,
        "coverage": coverage_document(reference.state.coverage),
    }


def _repeats_document(repeats: FaultRepeats) -> RepeatsDocument:
    return {
        "code": repeats.code,
        "name": repeats.name,
        "count": repeats.count,
        "first": time_text(repeats.first),
        "last": time_text(repeats.last),
        "ended_by": repeats.ended_by.id if repeats.ended_by is not None else None,
        "sentence": repeats.sentence,
    }


def fault_log_document(
    axis: str,
    faults: Iterable[tuple[FaultEntry, FaultCode | None]],
    again: Iterable[FaultRepeats],
) -> FaultLogDocument:
    """The fault log of an axis, and what may have ended each code."""
    return {
        "axis": axis,
        "faults": [fault_document(entry, code.name if code else None) for entry, code in faults],
        "repeats": [_repeats_document(repeats) for repeats in again],
    }

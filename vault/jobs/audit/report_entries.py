"""The entries of an audit as its report tells them, on paper and on the page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from vault.jobs.audit.actions import Action
from vault.jobs.audit.audit import FaultSeen
from vault.meaning.sentences import sentences
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.audit.audit import Audit, AuditEntry, SnapshotEntry


@dataclass(frozen=True, slots=True)
class ReportEntry:
    """When, what, who, notes and sentences. `axis` is empty where only one was asked about, or it
    is the site's; `commit` is empty where none records it."""

    at: datetime
    title: str
    by: str
    axis: str
    commit: str = ""
    notes: tuple[str, ...] = ()
    sentences: tuple[str, ...] = ()


def report_entries(audit: Audit) -> list[ReportEntry]:
    """All entries, in the order of the audit."""
    return [_report_entry(entry, len(audit.axes) > 1) for entry in audit.entries]


def _report_entry(entry: AuditEntry, with_axis: bool) -> ReportEntry:
    axis = str(entry.axis) if with_axis and entry.axis is not None else ""
    if isinstance(entry, FaultSeen):
        name = f": {entry.code.name}" if entry.code is not None else ""
        notes = (entry.fault.note,) if entry.fault.note else ()
        title = f"Fault {entry.fault.code}{name}"
        return ReportEntry(entry.at, title, entry.fault.by, axis, notes=notes)
    if isinstance(entry, Action):
        return ReportEntry(
            entry.at, entry.title, entry.by, axis, entry.commit, sentences=entry.sentences
        )
    record = entry.snapshot.record
    return ReportEntry(
        entry.at,
        f"Export, {record.occasion}",
        record.by,
        axis,
        entry.snapshot.id,
        tuple(_notes(entry)),
        tuple(_sentences(entry)),
    )


def _notes(entry: SnapshotEntry) -> list[str]:
    record = entry.snapshot.record
    why, late = record.override_reason, minute_text(entry.recorded_at)
    notes = (
        f"work order {record.work_order}" if record.work_order else None,
        record.note,
        *(one.beside for one in entry.addenda),
        f"late entry: recorded {late}" if entry.is_late else None,
        f"taken in although a guard objected: {why}" if why else None,
        *map(str, record.told_coverage.told()),
    )
    return [note for note in notes if note]


def _sentences(entry: SnapshotEntry) -> list[str]:
    if entry.comparison is None:
        return ["The first snapshot of this axis."]
    if entry.comparison.is_unchanged:
        return ["No setting changed."]
    return sentences(entry.comparison)

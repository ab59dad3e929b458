"""The JSON objects of audits, and of fault logs with what may have ended each fault."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.audit.acts import Act
from vault.jobs.audit.audit import FaultSeen
from vault.jobs.faults.documents import fault_json
from vault.jobs.state.documents import Json, change_json, snapshot_json
from vault.meaning.sentences import sentences
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.audit.audit import Audit, Entry
    from vault.jobs.audit.repeats import Repeats
    from vault.jobs.audit.suspects import AuditSuspect
    from vault.meaning.faults import FaultCode
    from vault.model.fault_log import FaultEntry


def audit_json(found: Audit) -> Json:
    """What happened around a fault, and what explains it."""
    good = found.last_known_good
    return {
        "axis": found.place,
        "axes": [str(axis) for axis in found.axes],
        "period": {"from": time_text(found.start), "to": time_text(found.end)},
        "entries": [_entry_json(entry) for entry in found.entries],
        "fault": None
        if found.fault is None
        else {
            "code": found.fault.fault.code,
            "name": found.fault.fault.name,
            "at": time_text(found.fault.at),
            "axis": str(found.fault.axis) if found.fault.axis is not None else None,
        },
        "last_known_good": good.id if good is not None else None,
        "held_against": [
            {
                "axis": str(axis),
                "snapshot": one.state.snapshot.id if one.state.snapshot else None,
                "known_good": one.is_good,
                "why": one.why,
            }
            for axis, one in found.references.items()
            if one is not None
        ],
        "explained": None if found.fault is None else bool(found.suspects),
        "suspects": [_suspect_json(one) for one in found.suspects],
        "repeats": [repeats_json(one) for one in found.repeats],
        "chain": {
            "verified": found.chain.ok,
            "details": [
                {"kind": p.kind, "where": p.where, "details": p.details}
                for p in found.chain.problems
            ],
        },
    }


def _entry_json(entry: Entry) -> Json:
    """One entry, of kind snapshot, fault or act; what it does not have is null."""
    if isinstance(entry, FaultSeen):
        fault = fault_json(entry.fault, entry.code.name if entry.code is not None else None)
        return {"kind": "fault", "axis": str(entry.axis), "snapshot": None, **fault}
    if isinstance(entry, Act):
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
    compared, record = entry.comparison, entry.snapshot.record
    return {
        "kind": "snapshot",
        "axis": str(entry.axis),
        **snapshot_json(entry.snapshot),
        "recorded_at": time_text(entry.recorded_at),
        "late": entry.is_late,
        "even_so": record.override_reason,
        "summary": compared.summary() if compared is not None else None,
        "sentences": sentences(compared) if compared is not None else [],
    }


def _suspect_json(one: AuditSuspect) -> Json:
    return {
        "axis": str(one.axis),
        "code": one.code,
        "score": f"{one.score:.3f}",
        "why": one.why,
        "sentence": one.sentence,
        "indirect": one.through,
        "snapshot": one.since.id if one.since is not None else None,
        "change": change_json(one.change) if one.change is not None else None,
        "complaint": one.complaint.rule if one.complaint is not None else None,
    }


def faults_json(
    axis: str,
    known: Iterable[tuple[FaultEntry, FaultCode | None]],
    again: Iterable[Repeats],
) -> Json:
    """The fault log of an axis, and what may have ended each code."""
    return {
        "axis": axis,
        "faults": [fault_json(entry, code.name if code else None) for entry, code in known],
        "repeats": [repeats_json(one) for one in again],
    }


def repeats_json(one: Repeats) -> Json:
    """What became of one code of a fault log."""
    return {
        "code": one.code,
        "name": one.name,
        "count": one.count,
        "first": time_text(one.first),
        "last": time_text(one.last),
        "ended_by": one.ended_by.id if one.ended_by is not None else None,
        "sentence": one.sentence,
    }

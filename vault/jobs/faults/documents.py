"""The JSON objects of fault logs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.faults.log import FaultsAdded, Repeats
    from vault.meaning.faults import FaultCode
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

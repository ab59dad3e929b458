"""The JSON objects of an axis over time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.as_json import (
    Json,
    fault_json,
    reading_json,
    snapshot_json,
    surrounding_json,
)
from vault.meaning.sentences import sentences
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.axis_edits import AxisEdit
    from vault.jobs.history import Entry, Step
    from vault.meaning.faults import FaultCode
    from vault.model.fault_log import FaultEntry


def history_json(
    axis: str,
    entries: Iterable[Entry],
    edits: Iterable[AxisEdit],
    faults: Iterable[tuple[FaultEntry, FaultCode | None]],
) -> Json:
    """The snapshots of an axis, the edits of its record and its faults, each oldest first."""
    return {
        "axis": axis,
        "snapshots": [
            {
                **snapshot_json(entry.snapshot),
                "summary": entry.comparison.summary() if entry.comparison else None,
                "sentences": sentences(entry.comparison) if entry.comparison else [],
            }
            for entry in entries
        ],
        "edits": [
            {
                "commit": edit.commit,
                "at": time_text(edit.at),
                "by": edit.by,
                "is_first": edit.is_first,
                "changes": [surrounding_json(change) for change in edit.changes],
            }
            for edit in edits
        ],
        "faults": [fault_json(entry, code.name if code else None) for entry, code in faults],
    }


def steps_json(axis: str, parameter: str, steps: Iterable[Step]) -> Json:
    """One parameter over time, oldest first."""
    return {
        "axis": axis,
        "parameter": parameter,
        "values": [
            {
                "snapshot": step.snapshot.id,
                "taken_at": time_text(step.snapshot.record.taken_at),
                "by": step.snapshot.record.by,
                "occasion": step.snapshot.record.occasion,
                "changed": step.changed,
                "kind": step.kind,
                **reading_json(step.reading),
            }
            for step in steps
        ],
    }

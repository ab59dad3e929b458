"""The JSON objects of one set, its history, one value and many axes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.faults.documents import fault_json
from vault.jobs.state.documents import (
    Json,
    meaning_json,
    parameter_json,
    physical_json,
    reading_json,
    scalar,
    snapshot_json,
    surrounding_json,
)
from vault.meaning.sentences import sentences
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.inspect.find import Found
    from vault.jobs.inspect.history import Entry, Step
    from vault.jobs.inspect.show import Shown
    from vault.jobs.inspect.spread import Spread
    from vault.jobs.records.history_of_edits import AxisEdit
    from vault.jobs.state.selectors import State
    from vault.meaning.faults import FaultCode
    from vault.model.fault_log import FaultEntry


def show_json(state: State, parameters: Iterable[Shown]) -> Json:
    """One parameter set."""
    record = state.record
    return {
        "axis": str(state.address) if state.address else state.name,
        "snapshot": state.snapshot.id if state.snapshot else None,
        "taken_at": time_text(record.taken_at) if record else None,
        "occasion": record.occasion if record else None,
        "by": record.by if record else None,
        "work_order": record.work_order if record else None,
        "note": record.note if record else None,
        "family": state.family_name,
        "nameplate": dict(state.nameplate),
        "parameters": [_shown_json(p) for p in parameters],
    }


def _shown_json(found: Shown) -> Json:
    parameter = found.parameter
    return {
        "code": parameter.code,
        "name": parameter.name,
        "role": parameter.role,
        "group": found.group,
        "value": scalar(parameter.value),
        "unit": parameter.unit,
        "label": parameter.label,
        "raw": scalar(parameter.raw),
        "access": found.access,
        "physical": physical_json(found.reading.physical),
        **meaning_json(found.reading),
    }


def spread_json(found: Spread) -> Json:
    """Axes side by side; `rows` are those on which they differ."""
    return {
        "axes": list(found.axes),
        "same": len(found.rows) - len(found.differing),
        "rows": [
            {
                "key": row.key,
                "name": row.name,
                "group": row.group,
                "reference": row.reference,
                "basis": row.basis,
                "odd": list(row.odd),
                "values": {
                    axis: {
                        "code": cell.parameter.code,
                        **reading_json(cell.reading),
                    }
                    for axis, cell in row.cells.items()
                },
            }
            for row in found.differing
        ],
    }


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


def find_json(found: Iterable[Found]) -> Json:
    """Axes that have or had a value; `until` is null for what is there now."""
    return {"found": [_found_json(entry) for entry in found]}


def _found_json(entry: Found) -> Json:
    return {
        "axis": entry.axis,
        "code": entry.parameter.code,
        "name": entry.parameter.name,
        "role": entry.parameter.role,
        **(parameter_json(entry.parameter, None) or {}),
        "snapshot": entry.snapshot,
        "since": time_text(entry.since),
        "until": None if entry.until is None else time_text(entry.until),
    }

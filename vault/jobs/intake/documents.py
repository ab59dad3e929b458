"""The JSON objects of taking exports in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json, error_json, snapshot_json

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.jobs.intake.ingest import Ingested
    from vault.jobs.intake.ingest_tree import TreeIngested


def ingest_json(found: Ingested) -> Json:
    """What became of an export."""
    record = found.snapshot.record
    return {
        **snapshot_json(found.snapshot),
        "axis": str(found.snapshot.address),
        "parameters": found.parameters,
        "skipped": [{"line": s.line, "text": s.text, "reason": s.reason} for s in record.skipped],
        "unchanged": found.unchanged,
        "changes": found.comparison.summary() if found.comparison else {},
        "drift": _drift_json(found.drift),
        "warnings": list(found.warnings),
    }


def _drift_json(found: AxisDrift | None) -> Json:
    if found is None:
        return {"status": "no_golden", "count": 0, "worst": None}
    return {"status": found.status, "count": found.count, "worst": found.worst}


def ingest_tree_json(found: TreeIngested) -> Json:
    """What became of a tree of exports."""
    return {
        "taken": found.taken,
        "already_there": found.already_there,
        "unchanged": found.unchanged,
        "axes": sorted(map(str, found.axes)),
        "failures": [error_json(e)["error"] for e in found.failures],
        "warnings": found.warnings,
    }

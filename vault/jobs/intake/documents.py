"""The JSON objects of taking exports in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json, error_json, snapshot_json

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.jobs.intake.ingest_tree import TreeIngested
    from vault.jobs.intake.report import Ingested


def ingest_json(ingested: Ingested) -> Json:
    """What became of an export."""
    record = ingested.snapshot.record
    return {
        **snapshot_json(ingested.snapshot),
        "axis": str(ingested.snapshot.address),
        "parameters": ingested.parameters,
        "skipped": [{"line": s.line, "text": s.text, "reason": s.reason} for s in record.skipped],
        "unchanged": ingested.unchanged,
        "changes": ingested.comparison.summary() if ingested.comparison else {},
        "drift": _drift_json(ingested.drift),
        "warnings": list(ingested.warnings),
    }


def _drift_json(drift: AxisDrift | None) -> Json:
    if drift is None:
        return {"status": "no_golden", "count": 0, "worst": None}
    return {"status": drift.status, "count": drift.count, "worst": drift.worst}


def ingest_tree_json(outcome: TreeIngested) -> Json:
    """What became of a tree of exports."""
    return {
        "taken": outcome.taken,
        "already_there": outcome.already_there,
        "unchanged": outcome.unchanged,
        "axes": sorted(map(str, outcome.axes)),
        "failures": [error_json(e)["error"] for e in outcome.failures],
        "warnings": outcome.warnings,
    }

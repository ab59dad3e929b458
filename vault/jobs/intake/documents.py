"""JSON of taking exports in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.baseline.axis_drift import Status
from vault.jobs.baseline.documents import UnkeptFloorDocument, unkept_floor_document
from vault.jobs.state.document_parts import (
    EmptyDocument,
    FailureDocument,
    SkippedLineDocument,
    SnapshotDocument,
    failure_document,
    skipped_documents,
    snapshot_document,
)
from vault.jobs.state.documents import SummaryDocument, summary_document

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.jobs.intake.ingest_tree import TreeIngested
    from vault.jobs.intake.report import Ingested


class StandingDocument(TypedDict):
    """How an axis stands to its golden baseline, in short."""

    status: Status
    """As in the drift of an axis."""

    count: int
    """How many parameters drifted."""

    worst: str | None
    """The worst consequence of these, as in a change."""

    floors: list[UnkeptFloorDocument]
    """Floors of the axis record that it is not shown to keep; none are looked at where nothing is
    approved."""


class IngestDocument(SnapshotDocument):
    """An export that was taken in: `ingest`."""

    axis: str
    """`machine/axis`."""

    parameters: int
    """How many parameters it has."""

    skipped: list[SkippedLineDocument]
    """Lines that were left out."""

    unchanged: bool
    """Whether the values equal those of the snapshot before."""

    changes: SummaryDocument | EmptyDocument
    """Counts of what changed against the snapshot before; empty for the first."""

    drift: StandingDocument
    """How the axis stands now."""

    warnings: list[str]
    """What a reader should know."""


class IngestTreeDocument(TypedDict):
    """A tree of exports that was taken in: `ingest-tree`."""

    taken: int
    """How many exports were taken in."""

    already_there: int
    """How many the vault had already."""

    unchanged: int
    """How many of those taken in have the values of the snapshot before."""

    axes: list[str]
    """Axes that they are of."""

    failures: list[FailureDocument]
    """What could not be taken in."""

    warnings: list[str]
    """What a reader should know."""


def ingest_document(ingested: Ingested) -> IngestDocument:
    """What became of an export."""
    comparison = ingested.comparison
    return {
        **snapshot_document(ingested.snapshot),
        "axis": str(ingested.snapshot.address),
        "parameters": ingested.parameters,
        "skipped": skipped_documents(ingested.snapshot.record.skipped),
        "unchanged": ingested.unchanged,
        "changes": summary_document(comparison) if comparison is not None else {},
        "drift": _standing_document(ingested.drift),
        "warnings": list(ingested.warnings),
    }


def _standing_document(drift: AxisDrift | None) -> StandingDocument:
    if drift is None:
        return {"status": "no_golden", "count": 0, "worst": None, "floors": []}
    return {
        "status": drift.status,
        "count": drift.count,
        "worst": drift.worst,
        "floors": [unkept_floor_document(one) for one in drift.floors],
    }


def ingest_tree_document(outcome: TreeIngested) -> IngestTreeDocument:
    """What became of a tree of exports."""
    return {
        "taken": outcome.taken,
        "already_there": outcome.already_there,
        "unchanged": outcome.unchanged,
        "axes": sorted(map(str, outcome.axes)),
        "failures": [failure_document(error) for error in outcome.failures],
        "warnings": outcome.warnings,
    }

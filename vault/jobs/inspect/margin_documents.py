"""JSON of the margins of an axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import CoverageDocument, coverage_document, time_or_none
from vault.jobs.state.margin_documents import MarginDocument, margin_document, number_text
from vault.model.quantities import plain

if TYPE_CHECKING:
    from vault.jobs.inspect.margins import AxisMargin, AxisMargins


class AxisMarginDocument(MarginDocument):
    """A margin of an axis."""

    golden: str | None
    """Its ratio at the golden baseline; null where there is none, or it cannot be told."""

    floor: str | None
    """What it must at least be by the axis record, null where nobody said."""


class MarginsDocument(TypedDict):
    """What an axis has, held against what it must cover: `margins`."""

    axis: str
    """`machine/axis`; for a file the selector."""

    snapshot: str | None
    """Id of the snapshot, null for a file."""

    taken_at: str | None
    """When it was taken, null for a file."""

    golden: str | None
    """Id of the snapshot that is the golden baseline, null where there is none."""

    coverage: CoverageDocument
    """What of the drive's set it has: what it lacks may be there in the drive."""

    margins: list[AxisMarginDocument]
    """Worst first: those that protect, then those that keep the axis running, then those that
    cannot be told. What has no sense for the axis is missing."""


def margins_document(found: AxisMargins) -> MarginsDocument:
    """All margins of a state."""
    state, golden = found.state, found.golden
    return {
        "axis": str(state.address) if state.address else state.name,
        "snapshot": state.snapshot.id if state.snapshot else None,
        "taken_at": time_or_none(state.record.taken_at if state.record else None),
        "golden": golden.snapshot.id if golden is not None and golden.snapshot else None,
        "coverage": coverage_document(state.coverage),
        "margins": [_axis_margin_document(row) for row in found.rows],
    }


def _axis_margin_document(row: AxisMargin) -> AxisMarginDocument:
    return {
        **margin_document(row.margin),
        "golden": number_text(row.golden.ratio) if row.golden is not None else None,
        "floor": plain(row.floor) if row.floor is not None else None,
    }

"""JSON of the margins of an axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.behaviour.facts import Bound, Kind
from vault.jobs.state.document_parts import CoverageDocument, coverage_document, time_or_none
from vault.jobs.state.margin_documents import MarginDocument, margin_document, number_text
from vault.model.quantities import plain
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.inspect.margin_history import MarginStep, MarginTimeline
    from vault.jobs.inspect.margins import AxisMargin, AxisMargins
    from vault.jobs.inspect.spread import MarginSpread
    from vault.meaning.margin_spread import MarginRow


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


class MarginStepDocument(TypedDict):
    """A margin from a snapshot on."""

    snapshot: str
    """Id of the snapshot."""

    taken_at: str
    """When that was taken."""

    by: str
    """Who took it: `Name <mail>`."""

    occasion: str
    """Why it was taken."""

    ratio: str | None
    """As in a margin; null also where it has no sense for the axis as it was."""

    bound: Bound | None
    """As in a margin; null where it has no sense for the axis as it was."""


class MarginTimelineDocument(TypedDict):
    """A margin over time."""

    name: str
    """Its name."""

    title: str
    """What is held against what, in words."""

    kind: Kind
    """As in a margin."""

    golden: str | None
    """Its ratio at the golden baseline; null where there is none, or it cannot be told."""

    steps: list[MarginStepDocument]
    """The first snapshot that has it, and each at which it was another than before."""


class MarginHistoryDocument(TypedDict):
    """The margins of an axis over time: `margins --over-time`."""

    axis: str
    """`machine/axis`."""

    margins: list[MarginTimelineDocument]
    """In the order of the latest state; what has no sense any more comes last."""


def margin_history_document(
    axis: str, timelines: Iterable[MarginTimeline]
) -> MarginHistoryDocument:
    """Margins over time."""
    return {"axis": axis, "margins": [_timeline_document(each) for each in timelines]}


def _timeline_document(timeline: MarginTimeline) -> MarginTimelineDocument:
    golden = timeline.golden
    return {
        "name": timeline.name,
        "title": timeline.title,
        "kind": timeline.kind,
        "golden": number_text(golden.ratio) if golden is not None else None,
        "steps": [_step_document(step) for step in timeline.steps],
    }


def _step_document(step: MarginStep) -> MarginStepDocument:
    record, margin = step.snapshot.record, step.margin
    return {
        "snapshot": step.snapshot.id,
        "taken_at": time_text(record.taken_at),
        "by": record.by,
        "occasion": record.occasion,
        "ratio": number_text(margin.ratio) if margin is not None else None,
        "bound": margin.bound if margin is not None else None,
    }


class SpreadMarginValueDocument(TypedDict):
    """A margin of one axis, in short."""

    ratio: str | None
    """As in a margin."""

    bound: Bound
    """As in a margin."""

    have: str | None
    """As in a margin."""

    need: str | None
    """As in a margin."""

    unit: str | None
    """As in a margin."""

    missing: list[str]
    """As in a margin."""


class SpreadMarginDocument(TypedDict):
    """One margin on many axes."""

    name: str
    """Its name."""

    title: str
    """What is held against what, in words."""

    kind: Kind
    """`protects` where people or machine depend on it on one of the axes."""

    median: str | None
    """The median of the ratios that can be told, null where none can."""

    odd: list[str]
    """Axes that are short or far from the others: by a quarter of the median, where most of them
    are nearer to it, and not both beyond four."""

    short: list[str]
    """Axes that are below 1, or may be."""

    values: dict[str, SpreadMarginValueDocument]
    """By axis; one for which the margin has no sense is missing."""


class MarginSpreadDocument(TypedDict):
    """The margins of many axes side by side: `spread --margins`."""

    axes: list[str]
    """The axes that fit the pattern."""

    margins: list[SpreadMarginDocument]
    """Every margin; those with odd axes first, and of these those that protect."""

    coverage: dict[str, CoverageDocument]
    """What the latest snapshot of each axis has of the drive's set."""


def margin_spread_document(spread: MarginSpread) -> MarginSpreadDocument:
    """Margins of many axes side by side."""
    return {
        "axes": list(spread.axes),
        "margins": [_spread_row_document(row) for row in spread.rows],
        "coverage": {axis: coverage_document(held) for axis, held in spread.coverage.items()},
    }


def _spread_row_document(row: MarginRow) -> SpreadMarginDocument:
    return {
        "name": row.name,
        "title": row.title,
        "kind": row.kind,
        "median": number_text(row.median),
        "odd": list(row.odd),
        "short": list(row.short),
        "values": {
            axis: {
                "ratio": number_text(margin.ratio),
                "bound": margin.bound,
                "have": number_text(margin.have),
                "need": number_text(margin.need),
                "unit": margin.unit,
                "missing": list(margin.missing),
            }
            for axis, margin in row.cells.items()
        },
    }


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

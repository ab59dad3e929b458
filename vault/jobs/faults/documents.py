"""JSON of fault logs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import SkippedLineDocument, skipped_documents
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from vault.jobs.faults.log import FaultsAdded
    from vault.jobs.faults.of_all_axes import AxisFault
    from vault.model.fault_log import FaultEntry


class FaultDocument(TypedDict):
    """One fault of the log of an axis."""

    at: str
    """When it tripped."""

    code: str
    """The code as it was noted."""

    name: str | None
    """What it is called; null where nothing is known about the code."""

    note: str | None
    """What people saw."""

    by: str
    """Who noted it."""

    source: str | None
    """The file it was read from, null where it was noted by hand."""


class AxisFaultDocument(FaultDocument):
    """A fault of one of many axes."""

    axis: str
    """`machine/axis`."""


class SiteFaultsDocument(TypedDict):
    """The faults of all axes: `fault list`."""

    faults: list[AxisFaultDocument]
    """Those that were asked for, newest first."""

    counts: dict[str, int]
    """How many there are of each code."""


class FaultsAddedDocument(TypedDict):
    """What became of faults that were given: `fault add`, `fault import`."""

    axis: str
    """`machine/axis`."""

    added: list[FaultDocument]
    """What is in the log now and was not; without names."""

    already_there: int
    """How many were in the log already."""

    skipped: list[SkippedLineDocument]
    """Lines that were left out."""

    warnings: list[str]
    """What a reader should know."""


def fault_document(entry: FaultEntry, name: str | None) -> FaultDocument:
    """A fault of the log."""
    return {
        "at": time_text(entry.at),
        "code": entry.code,
        "name": name,
        "note": entry.note,
        "by": entry.by,
        "source": entry.source,
    }


def faults_added_document(axis: str, outcome: FaultsAdded) -> FaultsAddedDocument:
    """What became of faults that were given."""
    return {
        "axis": axis,
        "added": [fault_document(entry, None) for entry in outcome.added],
        "already_there": outcome.known,
        "skipped": skipped_documents(outcome.skipped),
        "warnings": list(outcome.warnings),
    }


def site_faults_document(
    found: Iterable[AxisFault], counts: Mapping[str, int]
) -> SiteFaultsDocument:
    """The faults of all axes."""
    return {
        "faults": [
            {**fault_document(one.entry, one.code.name if one.code else None),
             "axis": str(one.axis)}
            for one in found
        ],
        "counts": dict(counts),
    }  # fmt: skip

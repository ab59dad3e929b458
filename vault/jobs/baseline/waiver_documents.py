"""JSON of the waivers of all axes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.baseline.documents import WaiverDocument, waiver_document

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.baseline.ending_waivers import EndingWaiver


class EndingWaiverDocument(WaiverDocument):
    """A waiver that ends soon, or has ended."""

    axis: str
    """`machine/axis`."""

    has_ended: bool
    """Whether it holds no more: the parameter counts as drift again, where it differs."""


class EndingWaiversDocument(TypedDict):
    """Waivers that somebody has to look at: `golden waivers`."""

    waivers: list[EndingWaiverDocument]
    """Those that end within the days that were asked for, and those that have ended and still
    stand in their baseline; the earliest end first."""

    days: int
    """How many days were looked ahead."""


def ending_waivers_document(found: Iterable[EndingWaiver], days: int) -> EndingWaiversDocument:
    """Waivers that end, or have ended."""
    return {
        "waivers": [
            {**waiver_document(one.waiver), "axis": str(one.axis), "has_ended": one.has_ended}
            for one in found
        ],
        "days": days,
    }

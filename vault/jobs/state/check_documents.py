"""JSON of plausibility. Exact numbers are strings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import (
    CoverageDocument,
    FindingDocument,
    coverage_document,
    finding_document,
)

if TYPE_CHECKING:
    from vault.jobs.state.cross_checks import CheckedState
    from vault.meaning.checks import Complaint


class ComplaintDocument(TypedDict):
    """One thing that is not plausible."""

    rule: str
    """Name of the rule, by which it can be accepted."""

    consequence: str
    """What it is about, as in a change."""

    sentence: str
    """It in words."""

    look_at: list[str]
    """Codes of parameters, or places of the axis record, to look at."""

    findings: list[FindingDocument]
    """The figures it rests on."""


class BesideDocument(TypedDict):
    """The other side's set of the axis that a set was held against."""

    axis: str
    """`machine/axis:controller` beside the drive's set, `machine/axis` beside the controller's."""

    snapshot: str
    """Id of its snapshot."""

    sentence: str
    """Which one it is, in words."""


class CheckDocument(TypedDict):
    """What is not plausible about a state: `check`."""

    axis: str
    """The selector that was asked about."""

    findings: list[ComplaintDocument]
    """What was found, worst first; empty where everything is plausible."""

    coverage: CoverageDocument
    """What of the drive's set the state has: what it lacks was not checked."""

    beside: BesideDocument | None
    """The other side's set that it was held against, null where the axis has none."""


def complaint_document(complaint: Complaint) -> ComplaintDocument:
    """One thing that is not plausible."""
    return {
        "rule": complaint.rule,
        "consequence": complaint.consequence,
        "sentence": complaint.sentence,
        "look_at": list(complaint.look_at),
        "findings": [finding_document(finding) for finding in complaint.findings],
    }


def check_document(checked: CheckedState) -> CheckDocument:
    """What is not plausible about a state."""
    return {
        "axis": checked.state.name,
        "findings": [complaint_document(complaint) for complaint in checked.complaints],
        "coverage": coverage_document(checked.state.coverage),
        "beside": _beside(checked),
    }


def _beside(checked: CheckedState) -> BesideDocument | None:
    found = checked.beside
    if found is None or found.snapshot is None:
        return None
    return {
        "axis": str(found.address),
        "snapshot": found.snapshot.id,
        "sentence": checked.told_beside,
    }

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
    from collections.abc import Iterable

    from vault.jobs.state.selectors import State
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


class CheckDocument(TypedDict):
    """What is not plausible about a state: `check`."""

    axis: str
    """The selector that was asked about."""

    findings: list[ComplaintDocument]
    """What was found, worst first; empty where everything is plausible."""

    coverage: CoverageDocument
    """What of the drive's set the state has: what it lacks was not checked."""


def check_document(state: State, complaints: Iterable[Complaint]) -> CheckDocument:
    """What is not plausible about a state."""
    return {
        "axis": state.name,
        "findings": [
            {
                "rule": c.rule,
                "consequence": c.consequence,
                "sentence": c.sentence,
                "look_at": list(c.look_at),
                "findings": [finding_document(finding) for finding in c.findings],
            }
            for c in complaints
        ],
        "coverage": coverage_document(state.coverage),
    }

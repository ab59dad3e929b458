"""JSON of what a plan asks of people: corrections to decide on, and the sheet to work by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.restore.sheet_parts import Kind, SheetSection
from vault.jobs.restore.sheet_sections import sections
from vault.meaning.sentences import value_text

if TYPE_CHECKING:
    from vault.jobs.restore.plan import RestorePlan
    from vault.meaning.loading import Prepared


class ProposedDocument(TypedDict):
    """A correction that is proposed, made or not."""

    code: str
    """Code of the parameter."""

    name: str
    """Its name."""

    before: str
    """What the target has, in words."""

    after: str
    """What it is corrected to, in words."""

    reason: str
    """Why."""

    made: bool
    """Whether the load file has it."""


class SheetLineDocument(TypedDict):
    """A sentence of the sheet."""

    kind: Kind
    """What is done with it: read, ticked, filled in (`blank`), or heeded (`warning`)."""

    text: str
    """The sentence."""


class SheetSectionDocument(TypedDict):
    """A step of the sheet."""

    name: str
    """Its name, which stays."""

    title: str
    """Its title."""

    lines: list[SheetLineDocument]
    """Its sentences."""

    heads: list[str]
    """Heads of its table, empty where it has none."""

    rows: list[list[str]]
    """Rows of its table; a cell ☐ is to be ticked."""


def proposed_documents(plan: RestorePlan) -> list[ProposedDocument]:
    """The corrections that a plan proposes, one by one."""
    return [_proposed_document(row, row.target.code not in plan.left) for row in plan.proposed]


def _proposed_document(row: Prepared, is_made: bool) -> ProposedDocument:
    return {
        "code": row.target.code,
        "name": row.target.name,
        "before": value_text(row.target),
        "after": value_text(row.loaded or row.offered),
        "reason": row.reason,
        "made": is_made,
    }


def sheet_documents(plan: RestorePlan) -> list[SheetSectionDocument]:
    """The sheet, step by step."""
    return [_section_document(section) for section in sections(plan)]


def _section_document(section: SheetSection) -> SheetSectionDocument:
    return {
        "name": section.name,
        "title": section.title,
        "lines": [{"kind": line.kind, "text": line.text} for line in section.lines],
        "heads": list(section.heads),
        "rows": [list(row) for row in section.rows],
    }

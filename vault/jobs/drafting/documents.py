"""JSON of a drafted dictionary."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import SkippedLineDocument, skipped_documents

if TYPE_CHECKING:
    from vault.jobs.drafting.describe_family import Described
    from vault.jobs.drafting.draft import Draft, ExportRead
    from vault.jobs.drafting.parameters import DraftParameter
    from vault.jobs.drafting.raw_table import Guess


class SuggestionDocument(TypedDict):
    """A role that may be meant."""

    role: str
    """The role."""

    confidence: float
    """How sure that is, from 0 to 1."""

    reason: str
    """Why."""


class DraftParameterDocument(TypedDict):
    """A parameter as a draft has it."""

    code: str
    """Its code in the exports."""

    name: str
    """Its name, as the exports state it."""

    unit: str | None
    """Its unit, in our spelling."""

    type: str
    """Its data type: `DECIMAL` for numbers of which no step is known."""

    role: str | None
    """The role that it is given: never one whose change can be a hazard."""

    suggested: list[SuggestionDocument]
    """Roles that it may have, best first."""

    confirm: bool
    """Whether the first of them waits for a person."""


class GuessDocument(TypedDict):
    """What a file leaves open."""

    about: str
    """The key of the dictionary's part `export`."""

    chosen: str
    """What was chosen."""

    others: list[str]
    """What else it may be."""

    confidence: float
    """How sure that is, from 0 to 1."""

    reason: str
    """Why."""


class DraftedExportDocument(TypedDict):
    """What a draft reads of one export."""

    file: str
    """Its name."""

    entries: int
    """How many parameters were read."""

    problems: list[SkippedLineDocument]
    """All lines that were refused."""


class DraftDocument(TypedDict):
    """A dictionary as it is proposed: `family draft`."""

    name: str
    """What the family is called."""

    container: str
    """What holds the export: `text`, `workbook`, `xml`, `json`, `zip`."""

    encoding: str | None
    """How its text is encoded; null where that is no question."""

    dialect: dict[str, object]
    """The part `export` of the dictionary."""

    parameters: list[DraftParameterDocument]
    """All parameters, in the order of the exports."""

    questions: list[GuessDocument]
    """What is not sure, least sure first."""

    exports: list[DraftedExportDocument]
    """What is read of each export with it."""

    belongs_to: list[str]
    """Families of the vault as whose export the first one goes already."""

    file: str
    """The dictionary as text."""


def draft_document(draft: Draft, content: bytes) -> DraftDocument:
    """A drafted dictionary; `content` is its text."""
    return {
        "name": draft.name,
        "container": draft.container,
        "encoding": draft.encoding,
        "dialect": dict(draft.export),
        "parameters": list(map(_parameter, draft.parameters)),
        "questions": list(map(_guess, draft.questions)),
        "exports": list(map(_export, draft.reads)),
        "belongs_to": list(draft.belongs_to),
        "file": content.decode(),
    }


def _parameter(parameter: DraftParameter) -> DraftParameterDocument:
    return {
        "code": parameter.code,
        "name": parameter.name,
        "unit": parameter.unit,
        "type": parameter.type,
        "role": parameter.role,
        "suggested": [
            {"role": one.role, "confidence": one.confidence, "reason": one.reason}
            for one in parameter.suggested
        ],
        "confirm": parameter.confirm,
    }


def _guess(guess: Guess) -> GuessDocument:
    return {
        "about": guess.about,
        "chosen": guess.chosen,
        "others": list(guess.others),
        "confidence": guess.confidence,
        "reason": guess.reason,
    }


def _export(read: ExportRead) -> DraftedExportDocument:
    return {
        "file": read.file,
        "entries": read.entries,
        "problems": skipped_documents(read.problems),
    }


class DescribedDocument(TypedDict):
    """What a device description added: `family describe`."""

    name: str
    """The family."""

    description: str
    """What the file is."""

    title: str
    """The device that it describes."""

    added: dict[str, list[str]]
    """By code, the keys that were added."""

    remarks: dict[str, list[str]]
    """By code, what was left out, and why."""

    skipped: list[SkippedLineDocument]
    """Lines of the description that could not be understood."""

    unchanged: bool
    """Whether nothing was added."""

    commit: str
    """The commit of the dictionary."""


def described_document(described: Described) -> DescribedDocument:
    """What a device description added."""
    return {
        "name": described.added.name,
        "description": described.what,
        "title": described.title,
        "added": {code: list(keys) for code, keys in described.keys.items()},
        "remarks": {code: list(texts) for code, texts in described.remarks.items()},
        "skipped": skipped_documents(described.skipped),
        "unchanged": described.added.unchanged,
        "commit": described.added.commit,
    }

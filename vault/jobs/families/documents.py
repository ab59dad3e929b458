"""JSON of what helps to write a dictionary."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import (
    FailureDocument,
    SkippedLineDocument,
    failure_document,
    skipped_documents,
)
from vault.model import choices

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from vault.jobs.families.confirm_roles import RoleSaid
    from vault.jobs.families.learn import Learnt
    from vault.jobs.families.roles import RoleEntry
    from vault.jobs.families.try_dictionary import Tried, TriedExport
    from vault.jobs.records.edit import RecordAdded


class RoleDocument(TypedDict):
    """A role: what a parameter means, whatever the family."""

    role: str
    """What a dictionary writes under `role`."""

    title: str
    """What it is called for people."""

    group: str
    """Where it is shown."""

    kind: str
    """What kind of quantity it is."""

    unit: str | None
    """The unit it is in where nothing else says."""

    object: str | None
    """Address of its standard object."""

    numbered: bool
    """Whether there may be more of it, as `role.2`."""

    volatile: bool
    """Whether it is a live value."""

    confirm: bool
    """Whether a change of it can be a hazard, so that a person must say that it is this role."""

    choices: dict[str, str]
    """What its numbers mean: of a standard object the standard's, else only names to be used."""

    names: dict[str, list[str]]
    """Names that it goes by, by language."""


class RolesDocument(TypedDict):
    """Roles: `family roles`."""

    word: str | None
    """What they were asked for with."""

    roles: list[RoleDocument]
    """By group, or best first where there is a word."""


def role_document(entry: RoleEntry) -> RoleDocument:
    """A role."""
    role = entry.role
    table = choices.table(role.choices) if role.choices else {}
    return {
        "role": role.name,
        "title": role.title,
        "group": role.group,
        "kind": role.kind,
        "unit": role.unit,
        "object": role.object,
        "numbered": role.numbered,
        "volatile": role.volatile,
        "confirm": entry.needs_confirmation,
        "choices": {str(number): label for number, label in table.items()},
        "names": {language: list(names) for language, names in entry.names.items()},
    }


def roles_document(word: str | None, entries: Iterable[RoleEntry]) -> RolesDocument:
    """Roles."""
    return {"word": word, "roles": [role_document(entry) for entry in entries]}


class WrittenBackDocument(TypedDict):
    """Whether an export comes back byte for byte when its own values are put into it."""

    same: bool | None
    """Whether it does; null where the format does not put values into an export that there is."""

    reason: str | None
    """Why it does not, or cannot be; null where it does."""


class TriedExportDocument(TypedDict):
    """What a dictionary makes of one export."""

    file: str
    """The export."""

    whole: bool
    """Whether everything in it was read."""

    error: FailureDocument | None
    """Why it would be refused whole; null where only lines of it, or nothing, are refused."""

    format: str
    """The format that it was read as."""

    encoding: str | None
    """How its text is encoded; null where it is none, or could not be read."""

    channel: int | None
    """Which of its axes was read; null where it is of one."""

    nameplate: dict[str, str]
    """What it says about the hardware."""

    read: int
    """How many parameters were read."""

    refused: list[SkippedLineDocument]
    """Every line that cannot be taken, and why."""

    unknown: list[str]
    """Codes that the dictionary does not have."""

    warnings: list[str]
    """What a reader should know."""

    recognised: bool
    """Whether it is known to be of this family by itself."""

    not_fitting: list[str]
    """What under `recognise` does not fit it."""

    other_families: list[str]
    """Other families of the vault that it looks like too: then its family must be named."""

    written_back: WrittenBackDocument | None
    """Whether its own values can be put into it; null where it could not be read."""

    without_role: int
    """How many of its parameters have no role."""

    suggested: int
    """How many of those have one under `suggest` that waits for a person."""


class TriedDocument(TypedDict):
    """What a dictionary makes of exports: `family try`."""

    family: str
    """Name of the dictionary."""

    open: bool
    """Whether it takes in parameters that it does not know."""

    whole: bool
    """Whether everything was read."""

    remarks: list[SkippedLineDocument]
    """What is wrong with the dictionary although it reads: line, key and reason."""

    exports: list[TriedExportDocument]
    """In the order in which they were named."""

    failures: list[FailureDocument]
    """Other dictionaries of the vault that cannot be asked."""


def tried_document(tried: Tried) -> TriedDocument:
    """A dictionary, and what it makes of exports."""
    file = tried.dictionary
    return {
        "family": file.name,
        "open": file.family.open,
        "whole": tried.is_whole,
        "remarks": skipped_documents(file.problems),
        "exports": [_tried_export(one, file.family.export.format) for one in tried.exports],
        "failures": [failure_document(error) for error in tried.failures],
    }


def _tried_export(tried: TriedExport, form: str) -> TriedExportDocument:
    back = tried.written_back
    return {
        "file": tried.file,
        "whole": tried.is_whole,
        "error": None if tried.error is None else failure_document(tried.error),
        "format": form,
        "encoding": tried.encoding,
        "channel": tried.channel,
        "nameplate": dict(tried.nameplate),
        "read": tried.read,
        "refused": skipped_documents(tried.refused),
        "unknown": list(tried.unknown),
        "warnings": list(tried.warnings),
        "recognised": tried.is_recognised,
        "not_fitting": list(tried.not_fitting),
        "other_families": list(tried.other_families),
        "written_back": None if back is None else {"same": back.is_same, "reason": back.reason},
        "without_role": tried.without_role,
        "suggested": tried.suggested,
    }


class LearntDocument(TypedDict):
    """A parameter that may be a live value."""

    code: str
    """Its code."""

    name: str
    """Its name."""

    differs: int
    """In how many visits it differs."""

    visits: int
    """In how many it was seen twice."""

    example: str
    """Two values of one visit."""


class LearningDocument(TypedDict):
    """What may be live values: `family learn`."""

    name: str
    """The family."""

    proposed: list[LearntDocument]
    """Read-only parameters without a role that differ within visits."""

    confirmed: list[str]
    """Codes that are live values from now on."""

    commit: str | None
    """The commit of the new dictionary; null where none was made."""


def learning_document(
    name: str, proposed: Iterable[Learnt], confirmed: Sequence[str], commit: str | None
) -> LearningDocument:
    """What may be live values."""
    return {
        "name": name,
        "proposed": [
            {
                "code": one.code,
                "name": one.name,
                "differs": one.differs,
                "visits": one.visits,
                "example": one.example,
            }
            for one in proposed
        ],
        "confirmed": list(confirmed),
        "commit": commit,
    }


class ValueOfAxisDocument(TypedDict):
    """What a parameter is in the newest snapshot of an axis."""

    axis: str
    """`machine/axis`."""

    value: str
    """As people read it, with its unit."""


class RoleSaidDocument(TypedDict):
    """What a person said of a parameter's role."""

    code: str
    """Its code."""

    name: str
    """Its name."""

    before: str | None
    """The role that it had, null for none."""

    suggested: str | None
    """What had been suggested, null where nothing was."""

    role: str | None
    """The role that it has now, null for none."""

    consequence: str
    """What a change of it counts as from now on."""

    values: list[ValueOfAxisDocument]
    """What it is on the axes of the family now."""


class RolesConfirmedDocument(TypedDict):
    """Roles that a person confirmed: `family confirm`."""

    name: str
    """The family."""

    roles: list[RoleSaidDocument]
    """By parameter, as they were said."""

    unchanged: bool
    """Whether the dictionary said so already."""

    commit: str
    """The commit that has the dictionary with these roles."""


def roles_confirmed_document(
    said: Iterable[RoleSaid], added: RecordAdded
) -> RolesConfirmedDocument:
    """Roles that a person confirmed."""
    return {
        "name": added.name,
        "roles": [
            {
                "code": one.code,
                "name": one.name,
                "before": one.before,
                "suggested": one.suggested,
                "role": one.role,
                "consequence": one.consequence,
                "values": [{"axis": value.axis, "value": value.value} for value in one.values],
            }
            for one in said
        ],
        "unchanged": added.unchanged,
        "commit": added.commit,
    }

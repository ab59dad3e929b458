"""JSON of what helps to write a dictionary."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.model import choices

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.families.roles import RoleEntry


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

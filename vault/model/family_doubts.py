"""What of a dictionary is valid and still wrong: for whoever puts one into a vault.

A dictionary that lies in a vault already goes on reading; there the same are remarks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.model import roles
from vault.model.near_names import did_you_mean

if TYPE_CHECKING:
    from vault.model.families import Family, ParameterDefinition

_WHOLE_KINDS = ("choice", "bits", "flag")


@dataclass(frozen=True, slots=True)
class FamilyDoubt:
    """A reason, and the path of keys where it lies."""

    reason: str
    path: tuple[str | int, ...]


def doubts(family: Family) -> Iterator[FamilyDoubt]:
    """Every doubt about a dictionary, in the order of the file."""
    yield from _of_parameters(family, family.parameters, ("parameters",))
    for number in range(len(family.variants)):
        path = ("variants", number, "parameters")
        yield from _of_parameters(family, family.variant_definitions(number), path)
    for code in family.always:
        if code not in family.parameters:
            reason = f"{code} must always be there, and is no parameter" + did_you_mean(
                code, family.parameters
            )
            yield FamilyDoubt(reason, ("always", family.always.index(code)))


def _of_parameters(
    family: Family, parameters: Mapping[str, ParameterDefinition], path: tuple[str | int, ...]
) -> Iterator[FamilyDoubt]:
    for code, parameter in parameters.items():
        for reason, key in _of_parameter(family, parameter):
            yield FamilyDoubt(reason, (*path, code, key))


def _of_parameter(family: Family, parameter: ParameterDefinition) -> Iterator[tuple[str, str]]:
    role = roles.find(parameter.role) if parameter.role else None
    if role is not None and role.kind in _WHOLE_KINDS and not parameter.data_type.is_number:
        yield (
            f"a {role.kind} ({parameter.role}) cannot be of the text type {parameter.type}; "
            f"did you mean {role.data_type}?",
            "type",
        )
    known = [name for name, _ in roles.GROUPS]
    if parameter.group is not None and parameter.group not in (*known, *family.groups):
        meant = did_you_mean(parameter.group, [*known, *family.groups])
        declare = " A group of your own" if meant else "; a group of your own"
        yield (
            f"unknown group {parameter.group!r}{meant}{declare} is declared under groups: "
            "{NAME: Title}",
            "group",
        )

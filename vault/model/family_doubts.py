"""What of a dictionary is valid and still wrong: for whoever puts one into a vault.

A dictionary that lies in a vault already goes on reading; there the same are remarks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from vault.model import roles
from vault.model.bounds import OutOfBounds, reckonable, reckonable_whole
from vault.model.near_names import did_you_mean
from vault.model.patterns import pattern_problem
from vault.model.role_units import UNITS_OF, fits

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect
    from vault.model.families import Family, ParameterDefinition

ENCODINGS = (
    "utf-8", "utf-8-sig", "utf-16", "ascii", "windows-1250", "windows-1251", "windows-1252",
    "windows-1253", "windows-1254", "windows-1257", "iso-8859-1", "iso-8859-2", "iso-8859-5",
    "iso-8859-7", "iso-8859-9", "iso-8859-15", "latin-1", "cp437", "cp850", "cp852", "cp932",
    "shift-jis", "euc-jp", "gb2312", "gbk", "gb18030", "big5", "euc-kr", "cp949",
)  # fmt: skip
"""Encodings that a new dictionary may name: those of text, and none that runs something else."""

_WHOLE_KINDS = ("choice", "bits", "flag")


@dataclass(frozen=True, slots=True)
class FamilyDoubt:
    """A reason, and the path of keys where it lies."""

    reason: str
    path: tuple[str | int, ...]


def doubts(family: Family) -> Iterator[FamilyDoubt]:
    """Every doubt about a dictionary, in the order of the file."""
    yield from _of_export(family.export)
    yield from _of_parameters(family, family.parameters, ("parameters",))
    for number in range(len(family.variants)):
        path = ("variants", number, "parameters")
        yield from _of_parameters(family, family.variant_definitions(number), path)
    for code in () if family.open else family.always:
        if code not in family.parameters:
            reason = f"{code} must always be there, and is no parameter" + did_you_mean(
                code, family.parameters
            )
            yield FamilyDoubt(reason, ("always", family.always.index(code)))


def _of_export(dialect: ExportDialect) -> Iterator[FamilyDoubt]:
    for number, encoding in enumerate(dialect.encoding):
        if encoding.lower().replace("_", "-") not in ENCODINGS:
            known = ", ".join(ENCODINGS)
            reason = f"unknown encoding {encoding!r}; known: {known}"
            yield FamilyDoubt(reason, ("export", "encoding", number))
    if not dialect.encoding:
        yield FamilyDoubt("name at least one encoding", ("export", "encoding"))
    if len(dialect.quote) > 1 or dialect.quote in (*"\r\n \0", dialect.delimiter):
        reason = (
            f"{dialect.quote!r} cannot quote: one character, and not the delimiter; '' for none"
        )
        yield FamilyDoubt(reason, ("export", "quote"))
    if dialect.time_format is not None and not _is_time_format(dialect.time_format):
        reason = f"no time can be read by {dialect.time_format!r}"
        yield FamilyDoubt(reason, ("export", "time_format"))
    for place, pattern in dialect.recognise.items():
        if (problem := pattern_problem(pattern)) is not None:
            yield FamilyDoubt(problem, ("export", "recognise", place))


def _is_time_format(text: str) -> bool:
    """Whether a time that is written so reads back."""
    try:
        return bool(datetime.strptime(datetime(2024, 2, 29, 13, 5, 7).strftime(text), text))
    except (ValueError, re.error, OverflowError, LookupError):
        return False


def _of_parameters(
    family: Family, parameters: Mapping[str, ParameterDefinition], path: tuple[str | int, ...]
) -> Iterator[FamilyDoubt]:
    for code, parameter in parameters.items():
        for reason, key in _of_parameter(family, parameter):
            yield FamilyDoubt(reason, (*path, code, key))


def _of_parameter(family: Family, parameter: ParameterDefinition) -> Iterator[tuple[str, str]]:
    numbers = (("scale", parameter.scale), ("default", parameter.default))
    for key, number in (*numbers, *(("range", end) for end in parameter.range)):
        try:
            if isinstance(number, Decimal):
                reckonable(number)
            elif isinstance(number, int):
                reckonable_whole(number)
        except OutOfBounds as error:
            yield str(error), key
    role = roles.find(parameter.role) if parameter.role else None
    if role is not None and role.kind in _WHOLE_KINDS and not parameter.data_type.is_number:
        yield (
            f"a {role.kind} ({parameter.role}) cannot be of the text type {parameter.type}; "
            f"did you mean {role.data_type}?",
            "type",
        )
    if role is not None and parameter.unit is not None and not fits(role, parameter.unit):
        *others, last = UNITS_OF[role.kind][1]
        meant = f"{', '.join(others)} or {last}" if others else last
        yield f"{parameter.role} cannot be in {parameter.unit}; did you mean {meant}?", "unit"
    known = [name for name, _ in roles.GROUPS]
    if parameter.group is not None and parameter.group not in (*known, *family.groups):
        meant = did_you_mean(parameter.group, [*known, *family.groups])
        declare = " A group of your own" if meant else "; a group of your own"
        yield (
            f"unknown group {parameter.group!r}{meant}{declare} is declared under groups: "
            "{NAME: Title}",
            "group",
        )

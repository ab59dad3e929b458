"""First stage: what a file is, by its format and the family of the drive that it came from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from vault.formats.describe.description import KINDS
from vault.formats.describe.registry import is_description
from vault.formats.file_kind import file_kind
from vault.formats.registry import Format, RecognisesFamilies, format_named, format_names
from vault.formats.zipped import Member, Zipped, in_archive, is_packed, members
from vault.jobs.export.content import MAX_PARAMETERS, check_lines, has_no_lines
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import SELF_DESCRIBING
from vault.model.internal_errors import told_apart
from vault.model.patterns import fits_glob, is_found
from vault.model.wording import plural
from vault.store.vault import FamilyFile

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

# Of a table each line is a parameter, of the other formats a parameter takes up to a dozen; what
# has more would fill the memory before it could be refused.
_LINES_EACH, _LINES_OF_TABLE = 12, 2
_BY_LINES = ("delimited", "keyed", "fixed")
_TOLD = 5  # files of an archive that the text of an error names


@dataclass(frozen=True, slots=True)
class Recognised:
    """A file that is an export: its bytes, its name for people, and what reads it.

    `family` is None where the format itself says what its parameters are.
    """

    content: bytes
    file: str
    format: Format
    family: FamilyFile | None


def recognise(
    content: bytes,
    file: str,
    family: FamilyFile | None = None,
    *,
    known: Iterable[FamilyFile] = (),
    usual: str | None = None,
    channel: int | None = None,
) -> Recognised:
    """Tell what a file is. A family that is given is believed.

    Else it is found among the `known` ones by what the file looks like, where the one called
    `usual` goes first; a file that describes itself needs none. `channel` is the axis whose
    nameplate counts. Raises Unreadable for what is no export and for what is too long, WrongUsage
    where a person has to name the family, or to unpack an archive that holds several exports.
    """
    if is_packed(content):
        return _in_archive(content, file, family, [*known], usual, channel)
    _check_length(content, file, _LINES_EACH)
    if not has_no_lines(content):
        check_lines(content, file)
    broken: list[VaultError] = []
    if family is None:
        family = _family_by_looks(content, file, known, usual, channel, broken)
    if family is not None and family.family.export.format not in SELF_DESCRIBING:
        _check_described(content, file)
    if family is None:
        try:
            return Recognised(content, file, _format_by_looks(content, file), None)
        except WrongUsage as error:  # it may be of a family whose dictionary cannot be asked
            told = "; ".join(map(str, [error.message, *broken]))
            raise WrongUsage(told, file=file, hint=error.hint) from error
    if family.family.export.format in _BY_LINES:
        check_lines(content, file)
        _check_length(content, file, _LINES_OF_TABLE)
    return Recognised(content, file, format_named(family.family.export.format), family)


def _in_archive(
    content: bytes,
    file: str,
    family: FamilyFile | None,
    known: Sequence[FamilyFile],
    usual: str | None,
    channel: int | None,
) -> Recognised:
    """Tell which one of the files in an archive is an export, and what it is."""
    found: dict[str, Recognised] = {}
    refused: dict[str, VaultError] = {}
    parts = members(content, file=file)
    if family is not None:
        parts = tuple(part for part in parts if _is_member(part, family))
        looked = [p for p in parts if looks_like(p.content, p.name, family.family.export, channel)]
        parts = parts if len(parts) == 1 else tuple(looked)
    for part in parts:
        fitting = [one for one in known if _is_member(part, one)]
        named = in_archive(file, part.name)
        try:
            found[part.name] = recognise(
                part.content, named, family, known=fitting, usual=usual, channel=channel
            )
        except VaultError as error:
            refused[part.name] = error
    if len(found) == 1:
        ((name, inside),) = found.items()
        if family is None and inside.family is not None:  # as it is read again, later
            return _in_archive(content, file, inside.family, known, usual, channel)
        return replace(inside, content=content, file=file, format=Zipped(inside.format, name))
    if found:
        raise WrongUsage(
            f"{plural(len(found), 'export')} in this archive: {', '.join(found)}",
            file=file,
            hint="unpack it and take in one after the other; a dictionary may name its own with "
            "`member: NAME` under export",
        )
    if len(refused) == 1:
        raise next(iter(refused.values()))
    told = [f"{name}: {error.message}" for name, error in refused.items()]
    more = f"; {plural(len(told) - _TOLD, 'more file')}" if len(told) > _TOLD else ""
    raise Unreadable(
        f"no file in this archive is an export{': ' * bool(told)}{'; '.join(told[:_TOLD])}{more}",
        file=file,
        hint="draft a dictionary from it: axisvault family draft FILE --name NAME",
    )


def _is_member(part: Member, family: FamilyFile) -> bool:
    """Whether a file of an archive may be of a family, by the name that the dictionary gives."""
    try:
        pattern = family.family.export.member
    except VaultError:  # told where its files are looked at
        return True
    return pattern is None or any(
        fits_glob(name, pattern) for name in (part.name, PurePosixPath(part.name).name)
    )


def _check_described(content: bytes, file: str) -> None:
    """Refuse a description for the table that its reader, whom anybody may name, would make it."""
    if (kind := is_description(content, file)) is not None:
        reason = f"this is {KINDS[kind]}"
        hint = "export the parameters with their values from the drive's own tool"
        raise Unreadable(reason, file=file, line=1, hint=hint)


def _check_length(content: bytes, file: str, lines_each: int) -> None:
    lines = max(content.count(b"\n"), content.count(b"\r"))
    if lines > lines_each * MAX_PARAMETERS:
        most = plural(MAX_PARAMETERS, "parameter")
        raise Unreadable(f"{plural(lines, 'line')}; exports up to {most} are read", file=file)


def _format_by_looks(content: bytes, file: str) -> Format:
    """The format of a file of no known family. Raises Unreadable or WrongUsage where none fits."""
    kind = file_kind(content, file)
    if kind is not None:
        raise Unreadable(f"this is {kind.what}", file=file, line=1, hint=kind.next_step)
    fitting = [f for f in map(format_named, format_names()) if f.recognises(content, file)]
    for candidate in fitting:
        if not isinstance(candidate, RecognisesFamilies):
            return candidate
    if fitting:
        raise WrongUsage(
            "this text belongs to no family of the vault",
            file=file,
            hint="name its family with --family, or draft its dictionary: "
            "axisvault family draft FILE --name NAME",
        )
    raise Unreadable(
        "this is no export that we know",
        file=file,
        line=1,
        hint="export the parameters as a table, as XML, JSON or a DCF; of a new family draft a "
        "dictionary first: axisvault family draft FILE --name NAME",
    )


def _family_by_looks(
    content: bytes,
    file: str,
    known: Iterable[FamilyFile],
    usual: str | None,
    channel: int | None,
    broken: list[VaultError],
) -> FamilyFile | None:
    fitting: dict[str, FamilyFile] = {}
    for one in known:
        with told_apart(broken.append, f"dictionary {one.name}"):
            if looks_like(content, file, one.family.export, channel):
                fitting[one.name] = one
    if usual in fitting:
        return fitting[usual]
    if len(fitting) > 1:
        names = ", ".join(fitting)
        raise WrongUsage(
            f"this may be an export of several families: {names}", file=file, hint="--family NAME"
        )
    return next(iter(fitting.values()), None)


def looks_like(content: bytes, file: str, dialect: ExportDialect, channel: int | None) -> bool:
    """Say whether an export looks like one of the family that has a dialect.

    Where the format describes itself, the family must recognise something in the nameplate.
    """
    candidate = format_named(dialect.format)
    try:
        if isinstance(candidate, RecognisesFamilies):
            return candidate.matches(content, dialect)
        if not dialect.recognise or not candidate.recognises(content, file):
            return False
        listing = candidate.read(content, file=file, dialect=dialect, channel=channel)
    except VaultError:
        return False
    return all(
        is_found(pattern, listing.nameplate.get(field, ""))
        for field, pattern in dialect.recognise.items()
    )

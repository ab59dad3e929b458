"""First stage: what a file is, by its format and the family of the drive that it came from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.formats.file_kind import file_kind
from vault.formats.registry import Format, RecognisesFamilies, format_named, format_names
from vault.jobs.export.content import MAX_PARAMETERS
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.model.patterns import is_found
from vault.model.wording import plural
from vault.store.vault import FamilyFile

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

# Of a table each line is a parameter, of the other formats a parameter takes up to a dozen; what
# has more would fill the memory before it could be refused.
_LINES_EACH, _LINES_OF_TABLE = 12, 2
_BY_LINES = ("delimited", "keyed", "fixed")


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
    where a person has to name the family.
    """
    _check_length(content, file, _LINES_EACH)
    broken: list[VaultError] = []
    if family is None:
        family = _family_by_looks(content, file, known, usual, channel, broken)
    if family is None:
        try:
            return Recognised(content, file, _format_by_looks(content, file), None)
        except WrongUsage as error:  # it may be of a family whose dictionary cannot be asked
            told = "; ".join(map(str, [error.message, *broken]))
            raise WrongUsage(told, file=file, hint=error.hint) from error
    if family.family.export.format in _BY_LINES:
        _check_length(content, file, _LINES_OF_TABLE)
    return Recognised(content, file, format_named(family.family.export.format), family)


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
            hint="name its family with --family, or add it: axisvault family add FILE",
        )
    raise Unreadable(
        "this is no export that we know",
        file=file,
        line=1,
        hint="export the parameters as a table or as a DCF; for a table of a new family add its "
        "dictionary first: axisvault family add FILE",
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

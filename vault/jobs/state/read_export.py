"""From a file on disk to a normalised parameter set: limits, format, family, channel."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.formats.registry import Format, RecognisesFamilies, format_named, format_names
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import ExportContent, SkippedLine
from vault.model.normalise import VERSION, Normalised, normalise
from vault.model.wording import plural
from vault.store.vault import FamilyFile

if TYPE_CHECKING:
    from vault.model.families import Family

MAX_BYTES = 32 * 1024 * 1024
MAX_PARAMETERS = 100_000
# Of a table each line is a parameter, of the other formats a parameter takes up to a dozen; what
# has more would fill the memory before it could be refused.
_LINES_EACH, _LINES_OF_TABLE = 12, 2


@dataclass(frozen=True, slots=True)
class ReadExport:
    """An export that was read: its bytes, what they say, and the dictionary used."""

    file: str
    content: bytes
    export: ExportContent
    normalised: Normalised
    family: FamilyFile | None

    @property
    def dictionary(self) -> Family | None:
        """The family's dictionary."""
        return self.family.family if self.family else None


def file_bytes(path: Path) -> bytes:
    """Content of an export. Raises Unreadable where it is missing, empty or too large."""
    file = str(path)
    try:
        if path.is_dir():
            raise Unreadable("this is a folder, not an export", file=file)
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise Unreadable(
                f"{size // 2**20} MiB: exports up to {MAX_BYTES // 2**20} MiB are read",
                file=file,
                line=1,
            )
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise Unreadable(f"the file cannot be read: {error.strerror}", file=file) from error
    if len(content) > MAX_BYTES:
        raise Unreadable(f"the file is longer than {MAX_BYTES // 2**20} MiB", file=file, line=1)
    if not content.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    return content


def read_export(
    content: bytes,
    file: str,
    family: FamilyFile | None,
    *,
    known: Iterable[FamilyFile] = (),
    usual: str | None = None,
    channel: int | None = None,
    partial: bool = False,
    version: int = VERSION,
) -> ReadExport:
    """Read and normalise an export, by the rules of a version.

    Without a family it is found among the `known` ones, where the `usual` one goes first; a file
    that describes itself needs none.
    Raises Unreadable with file and line where the file, or without `partial` any line of it,
    cannot be understood.
    """
    _check_lines(content, file, _LINES_EACH)
    if family is None:
        family = _recognised(content, file, known, usual, channel)
    if family is not None and family.family.export.format == "delimited":
        _check_lines(content, file, _LINES_OF_TABLE)
    reader = _format(content, file, family)
    dictionary = family.family if family else None
    dialect = dictionary.export if dictionary else None
    export = reader.read(content, file=file, dialect=dialect, channel=channel)
    if len(export.entries) > MAX_PARAMETERS:
        found = plural(len(export.entries), "parameter")
        raise Unreadable(f"{found}; exports up to {MAX_PARAMETERS} are read", file=file)
    normalised = normalise(export, dictionary, version)
    _check_dictionary(export, normalised, family, file)
    if normalised.skipped and not partial:
        raise _first_skipped(normalised.skipped, file)
    if not normalised.parameters:
        raise Unreadable("the file holds no parameter", file=file, line=1)
    return ReadExport(file, content, export, normalised, family)


def _check_lines(content: bytes, file: str, each: int) -> None:
    lines = max(content.count(b"\n"), content.count(b"\r"))
    if lines > each * MAX_PARAMETERS:
        most = plural(MAX_PARAMETERS, "parameter")
        raise Unreadable(f"{plural(lines, 'line')}; exports up to {most} are read", file=file)


def _format(content: bytes, file: str, family: FamilyFile | None) -> Format:
    if family is not None:
        return format_named(family.family.export.format)
    found = [r for r in map(format_named, format_names()) if r.recognises(content, file)]
    for reader in found:
        if not isinstance(reader, RecognisesFamilies):
            return reader
    if found:
        raise WrongUsage(
            "this text belongs to no family of the vault",
            file=file,
            hint="name its family with --family, or add it: axisvault family add FILE",
        )
    raise Unreadable("this is no export that we know", file=file, line=1)


def _recognised(
    content: bytes, file: str, known: Iterable[FamilyFile], usual: str | None, channel: int | None
) -> FamilyFile | None:
    found = {c.name: c for c in known if _matches(content, file, c, channel)}
    if usual in found:
        return found[usual]
    if len(found) > 1:
        names = ", ".join(found)
        raise WrongUsage(
            f"this may be an export of several families: {names}", file=file, hint="--family NAME"
        )
    return next(iter(found.values()), None)


def _matches(content: bytes, file: str, candidate: FamilyFile, channel: int | None) -> bool:
    """Say whether an export looks like one of the family's.

    Where the format describes itself, the family must recognise something in the nameplate.
    """
    dialect = candidate.family.export
    reader = format_named(dialect.format)
    try:
        if isinstance(reader, RecognisesFamilies):
            return reader.matches(content, dialect)
        if not dialect.recognise or not reader.recognises(content, file):
            return False
        nameplate = reader.read(content, file=file, dialect=dialect, channel=channel).nameplate
    except VaultError:
        return False
    return all(
        re.search(pattern, nameplate.get(field, "")) for field, pattern in dialect.recognise.items()
    )


def _check_dictionary(
    export: ExportContent, normalised: Normalised, family: FamilyFile | None, file: str
) -> None:
    if family is None or normalised.unknown_codes * 2 <= len(export.entries):
        return
    known = family.family.definitions(export.nameplate.get("firmware"))
    first = next(e for e in export.entries if e.code not in known)
    count = len(export.entries)
    unknown = plural(normalised.unknown_codes, f"of {count} codes is", f"of {count} codes are")
    raise Unreadable(
        f"{unknown} not in family {family.name}, the first is {first.code}",
        file=file,
        line=first.line,
        hint="is this an export of another family?",
    )


def _first_skipped(skipped: tuple[SkippedLine, ...], file: str) -> Unreadable:
    first, more = skipped[0], len(skipped) - 1
    others = f"; {plural(more, 'more line')} like this" if more else ""
    return Unreadable(
        f"{first.reason}{others}",
        file=file,
        line=first.line,
        hint="nothing was taken in; --partial takes the rest and records what was left out",
    )

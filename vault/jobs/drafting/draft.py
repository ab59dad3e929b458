"""A dictionary that reads given exports, with every guess, its confidence and its reason."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from vault.formats.file_kind import file_kind
from vault.formats.registry import format_named
from vault.formats.zipped import in_archive, is_packed, members
from vault.jobs.drafting.columns import find_columns
from vault.jobs.drafting.dialects import Candidate, candidate_of, listings_of, plain_encoding
from vault.jobs.drafting.keyed_tables import keyed_tables
from vault.jobs.drafting.parameters import DraftParameter, draft_parameters, unit_questions
from vault.jobs.drafting.plate import Plate
from vault.jobs.drafting.raw_table import Guess, RawTable
from vault.jobs.drafting.recognition import find_recognition, other_families
from vault.jobs.drafting.record_tables import record_paths, record_tables
from vault.jobs.drafting.refusals import check_is_export, mostly_refused, nothing_found
from vault.jobs.drafting.text_tables import delimited_tables, fixed_tables, read_text
from vault.jobs.drafting.workbook_tables import sheet_names, workbook_tables
from vault.jobs.export.content import has_no_lines
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import Listing, SkippedLine
from vault.model.export_dialect import ExportDialect
from vault.model.families import NAME_PATTERN
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.formats.describe.description import Description
    from vault.model.names import Side
    from vault.store.vault import FamilyFile

_SURE = 0.95
_SHOWN_ROWS = 12
_LEAST_ROWS = 3
# Our own choice: no drive has so many, and a text of more lines takes minutes.
_MOST_PARAMETERS, _LINES_EACH = 20_000, 5
_MOST_MEMBERS = 20  # each is looked at in every way that it may be meant


@dataclass(frozen=True, slots=True)
class ExportFile:
    """An export to draft from: its bytes and its name for people."""

    content: bytes
    file: str


@dataclass(frozen=True, slots=True)
class ExportRead:
    """What a draft makes of one export: how many parameters, and the lines that are refused."""

    file: str
    entries: int
    problems: tuple[SkippedLine, ...]
    channels: tuple[int, ...] = ()
    nameplate: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Draft:
    """A dictionary as it is proposed.

    `export` are the keys of its part `export`, `guesses` all that was chosen there; `belongs_to`
    names families of the vault whose exports look so too. `first_rows` begin a little above the
    headings, of which there are `heading_rows` up to the first row of data; `places` are the
    columns of them that were chosen, by our names. `unknown_labels` stand above the table and are
    no field of the nameplate that we know, with their texts.
    """

    name: str
    title: str
    container: str
    encoding: str | None
    export: Mapping[str, Any]
    parameters: tuple[DraftParameter, ...]
    guesses: tuple[Guess, ...]
    reads: tuple[ExportRead, ...]
    first_rows: tuple[tuple[str, ...], ...] = ()
    first_lines: tuple[int, ...] = ()
    heading_rows: range = range(0)
    places: Mapping[str, int] = field(default_factory=dict)
    belongs_to: tuple[str, ...] = ()
    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    unknown_labels: Mapping[str, str] = field(default_factory=dict)

    @property
    def questions(self) -> tuple[Guess, ...]:
        """What a person should look at: all that is not sure, least sure first."""
        doubtful = [guess for guess in self.guesses if guess.confidence < _SURE]
        return tuple(sorted(doubtful, key=lambda guess: guess.confidence))

    @property
    def to_confirm(self) -> tuple[DraftParameter, ...]:
        """Parameters with a role to confirm, by how much depends on it."""
        waiting = (parameter for parameter in self.parameters if parameter.confirm)
        return tuple(sorted(waiting, key=lambda parameter: -parameter.urgency))


def draft(
    exports: Sequence[ExportFile],
    name: str,
    *,
    title: str = "",
    descriptions: Sequence[Description] = (),
    answers: Mapping[str, str] | None = None,
    others: Iterable[FamilyFile] = (),
    side: Side = "drive",
) -> Draft:
    """Propose a dictionary by which all the exports read.

    `answers` are what a person has said already, by the names of the guesses (`decimal`,
    `columns.value`, `sheet`). `others` are the families of the vault; `side` is whose settings the
    exports hold. Raises Unreadable for a file
    in which no parameters are found, with what it is instead.
    """
    if not exports:
        raise WrongUsage("give at least one export to draft from")
    if not re.fullmatch(NAME_PATTERN, name):
        hint = "small letters, digits, dots, dashes"
        raise WrongUsage(f"{name[:80]!r} is no name for a family", hint=hint)
    for export in exports:
        _check_length(export)
        for part in _opened(export):
            check_is_export(part.content, part.file)
    said = dict(answers or {})
    first, *rest = exports
    ways = [way for part in _opened(first) for way in _ways(part, said)]
    if not ways:
        raise nothing_found(first.content, first.file)
    chosen, container, encoding = max(ways, key=lambda way: _worth_of_all(way[0], rest))
    if refused := _mostly_refused(chosen):
        raise mostly_refused(first.file, chosen.dialect.format, refused)
    if is_packed(first.content):
        container = f"archive around {container}"
    exports = [_part_of(chosen.dialect, one) for one in exports]
    listings = [chosen.listings, *(_listings(chosen.dialect, one) for one in exports[1:])]
    reads = tuple(
        _read_of(export, found, chosen.dialect)
        for export, found in zip(exports, listings, strict=True)
    )
    recognised, how = find_recognition(
        chosen.dialect,
        [export.content for export in exports],
        [one[0] for one in listings if one],
        [chosen.plate, *(_plate(found) for found in listings[1:])],
    )
    keys = {**chosen.keys}
    if recognised:
        keys["recognise"] = recognised
    table = chosen.found.table
    begin = max(chosen.found.header - 3, 0)
    _check_count(first, chosen.listings)
    everything = [listing for found in listings for listing in found]
    parameters = draft_parameters(everything, descriptions, chosen.found.headings["value"], side)
    return Draft(
        name=name,
        title=title or _title(name, chosen.plate),
        container=container,
        encoding=encoding,
        export=keys,
        parameters=parameters,
        guesses=(*chosen.guesses, *how, *unit_questions(parameters)),
        reads=reads,
        first_rows=tuple(table.rows[begin : begin + _SHOWN_ROWS]),
        first_lines=tuple(table.lines[begin : begin + _SHOWN_ROWS]),
        heading_rows=range(max(chosen.found.header, 0) - begin, chosen.found.first - begin),
        places=chosen.found.places,
        belongs_to=other_families(exports[0].content, others),
        choices={
            "columns": tuple(_headings(chosen)),
            "sheet": _sheets(exports[0]),
            "record": _records(exports[0], container, encoding),
        },
        unknown_labels=chosen.plate.others,
    )


def unread_table(export: ExportFile, answers: Mapping[str, str]) -> RawTable | None:
    """The longest table of a file in which no parameters are found, for a person to say what it is.

    None where it is none, or a description of a device.
    """
    kind = file_kind(export.content, export.file)
    if kind is not None and kind.describes:
        return None
    found: list[RawTable] = []
    with suppress(VaultError):
        for part in _opened(export):
            found += _tables(part, answers)[0]
    lists = [table for table in found if sum(len(row) > 1 for row in table.rows) >= _LEAST_ROWS]
    return max(lists, key=lambda table: len(table.rows), default=None)


def _check_length(export: ExportFile) -> None:
    """Refuse a text that would take minutes to look at in every way that it may be meant."""
    lines = max(export.content.count(b"\n"), export.content.count(b"\r"))
    if lines > _LINES_EACH * _MOST_PARAMETERS and not has_no_lines(export.content):
        raise Unreadable(
            f"{plural(lines, 'line')}; no dictionary is drafted from more than "
            f"{_LINES_EACH * _MOST_PARAMETERS:,}",
            file=export.file,
        )


def _check_count(export: ExportFile, listings: Sequence[Listing]) -> None:
    count = max(len(listing.entries) for listing in listings)
    if count > _MOST_PARAMETERS:
        raise Unreadable(
            f"{plural(count, 'parameter')}; a dictionary is drafted with up to "
            f"{_MOST_PARAMETERS:,}",
            file=export.file,
        )


def _mostly_refused(chosen: Candidate) -> tuple[SkippedLine, ...]:
    """The lines that are refused, where they are more than those that are read."""
    entries = sum(len(listing.entries) for listing in chosen.listings)
    lines = dict.fromkeys(line for listing in chosen.listings for line in listing.skipped)
    refused = tuple(line for line in lines if line.reason != "no value")
    return refused if len(refused) > entries else ()


def _headings(chosen: Candidate) -> Iterator[str]:
    found = chosen.found
    row = found.table.headings or found.table.rows[found.header]
    yield from (cell for cell in row if cell)


def _sheets(export: ExportFile) -> tuple[str, ...]:
    if not format_named("sheet").recognises(export.content, export.file):
        return ()
    return sheet_names(export.content, export.file)


def _records(export: ExportFile, container: str, encoding: str | None) -> tuple[str, ...]:
    if not container.endswith(("XML", "JSON")):
        return ()
    return record_paths(export.content, export.file, (plain_encoding(encoding or "utf-8"),))


def _title(name: str, plate: Plate) -> str:
    return f"Drives {plate.texts['drive']}" if plate.texts.get("drive") else f"Drive family {name}"


def _worth_of_all(candidate: Candidate, rest: Sequence[ExportFile]) -> float:
    worth = candidate.worth
    for export in rest:
        found = _listings(candidate.dialect, _part_of(candidate.dialect, export))
        worth += sum(len(one.entries) - 1.5 * len(one.skipped) for one in found)
    return worth


def _opened(export: ExportFile) -> list[ExportFile]:
    """What lies in an archive; the export itself where it is none."""
    if not is_packed(export.content):
        return [export]
    inside = members(export.content, file=export.file)
    if len(inside) > _MOST_MEMBERS:
        raise Unreadable(
            f"{plural(len(inside), 'file')} in this archive: up to {_MOST_MEMBERS} are looked at",
            file=export.file,
            hint="unpack it, and draft from the export in it",
        )
    return [ExportFile(one.content, in_archive(export.file, one.name)) for one in inside]


def _part_of(dialect: ExportDialect, export: ExportFile) -> ExportFile:
    """The file of an archive of which a dialect reads most; the export itself where it is none."""
    parts = _opened(export)
    if len(parts) == 1:
        return parts[0]
    return max(parts, key=lambda part: sum(len(one.entries) for one in _listings(dialect, part)))


_Way = tuple[Candidate, str, str | None]


def _ways(export: ExportFile, answers: Mapping[str, str]) -> Iterator[_Way]:
    """All the ways to read an export, with what holds it, and how its text is encoded."""
    try:
        tables, container, encoding, guess = _tables(export, answers)
        for table in tables:
            columns = find_columns(table, answers)
            if columns is None:
                continue
            found = candidate_of(columns, export.content, export.file, encoding, answers)
            if found is None or found.reads <= 0:
                continue
            if guess is not None:
                found = replace(found, guesses=(guess, *found.guesses))
            yield found, container, encoding
    except Unreadable:
        if file_kind(export.content, export.file) is None:
            raise


def _tables(
    export: ExportFile, answers: Mapping[str, str]
) -> tuple[Iterator[RawTable], str, str | None, Guess | None]:
    if format_named("sheet").recognises(export.content, export.file):
        found = workbook_tables(export.content, export.file, answers.get("sheet"))
        return found, "workbook", None, None
    text, encoding, guess = read_text(export.content, export.file, answers.get("encoding"))
    if (start := text.lstrip("\ufeff \t\r\n")[:1]) in ("<", "{") or _is_json_list(text, start):
        container = "XML" if start == "<" else "JSON"
        wanted = answers.get("record")
        found = record_tables(export.content, export.file, (plain_encoding(encoding),), wanted)
        return found, container, None if start == "<" else encoding, guess
    return _of_text(text, answers), "text", encoding, guess


def _is_json_list(text: str, start: str) -> bool:
    """Whether a text is a list of JSON; a heading of INI text begins as one does."""
    return start == "[" and re.match(r"\s*\[\s*[{\[]", text.lstrip("\ufeff")) is not None


def _of_text(text: str, answers: Mapping[str, str]) -> Iterator[RawTable]:
    wanted = answers.get("format")
    if wanted in (None, "delimited"):
        yield from delimited_tables(text, answers.get("delimiter"))
    if wanted in (None, "keyed"):
        yield from keyed_tables(text, answers.get("assign"))
    if wanted in (None, "fixed"):
        yield from fixed_tables(text)


def _listings(dialect: ExportDialect, export: ExportFile) -> tuple[Listing, ...]:
    return listings_of(export.content, export.file, dialect)


def _read_of(export: ExportFile, listings: Sequence[Listing], dialect: ExportDialect) -> ExportRead:
    if not listings:
        reason = f"this export does not read as the first one does ({dialect.format})"
        return ExportRead(export.file, 0, (SkippedLine(1, "", reason),))
    problems = tuple(dict.fromkeys(line for listing in listings for line in listing.skipped))
    channels = tuple(one.channel for one in listings if one.channel is not None)
    entries = sum(len(listing.entries) for listing in listings)
    plate = dict(listings[0].nameplate)
    if listings[0].taken_at:
        plate["taken_at"] = listings[0].taken_at
    return ExportRead(export.file, entries, problems, channels, plate)


def _plate(listings: Sequence[Listing]) -> Plate:
    texts = listings[0].nameplate if listings else {}
    return Plate({}, None, texts, None)

"""Exports with their columns at positions of the line, as printed lists have them.

Positions count characters, from 1. Ruled lines, which hold no letter and no digit, are left out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from functools import partial
from string import hexdigits
from typing import TYPE_CHECKING

from vault.formats.axis_columns import (
    matches_by_axis,
    reads_by_axis,
    writes_back_by_axis,
    writes_by_axis,
)
from vault.formats.line_scan import (
    LineScan,
    Placed,
    head_lines,
    listing_of,
    looks_like,
    places_of,
    scan_content,
)
from vault.formats.nameplate import NameplateLine, label_line, labelled, plain_label
from vault.formats.rows import Row, without_section_first
from vault.formats.text_back import put_back
from vault.formats.text_whole import is_count
from vault.formats.written_lines import written_lines
from vault.model.errors import WrongUsage
from vault.model.export_dialect import positions

if TYPE_CHECKING:
    from vault.model.export import Listing, Scalar
    from vault.model.export_dialect import ExportDialect

_OF_NUMBERS, _OF_HEX, _SIGNS = "0123456789.,'", hexdigits, "+-\u2212\u2013"
_LABEL_END = re.compile(r"[:=]")
_GAP = re.compile(r"(?<=\S) {2,}(?=\S)")


def recognises(content: bytes, file: str) -> bool:
    """Say whether a column begins at one position in most of the first lines: a weak sign."""
    lines = head_lines(content)
    begins = Counter(gap.end() for line in lines for gap in _GAP.finditer(line))
    most = max(begins.values(), default=0)
    return most >= 3 and most * 2 > len(lines)


@matches_by_axis
def matches(content: bytes, dialect: ExportDialect) -> bool:
    """Say whether the first 64 KiB hold the header line, rows, and all that is to be recognised.

    A dialect that has neither a header line nor `recognise` fits no file.
    """
    if not (dialect.header or dialect.recognise):
        return False
    return looks_like(content, dialect, FixedScan)


@reads_by_axis
def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of an export; see `Format` in the registry. No value refers to a node id."""
    scan, encoding = scan_content(content, dialect, file, FixedScan)
    return listing_of(scan, format="fixed", file=file, channel=channel, encoding=encoding)


@writes_back_by_axis
def write_back(
    original: bytes,
    values: Mapping[str, Scalar],
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    drop: Collection[str] = (),
) -> bytes:
    """Put values into an export, by code; see `WritesBack` in the registry.

    Raises WrongUsage that names code and width where a column does not hold its new value.
    """
    scan, _ = scan_content(original, dialect, file, FixedScan)
    return put_back(
        original,
        lambda lines: places_of(FixedScan(lines, scan.dialect), _putting),
        values,
        file=file,
        dialect=scan.dialect,
        channel=channel,
        drop=drop,
    )


def _putting(line: str, placed: Placed, dialect: ExportDialect) -> Callable[[str], str]:
    place = positions(dialect.columns["value"])
    width = None if place.stop is None else place.stop - place.start
    return partial(_fitted, line[placed.start : placed.end], width)


def _fitted(cell: str, width: int | None, new: str) -> str:
    """A cell with another text in it, at the side where the one before stood."""
    if width is not None and len(new) > width:
        raise ValueError(f"{new!r} is wider than its column of {width} characters")
    before = len(cell) - len(cell.lstrip())
    if before and len(cell) == width and cell == cell.rstrip():
        return new.rjust(width)
    most = before if width is None else min(before, width - len(new))
    return f"{' ' * most}{new}".ljust(len(cell))


@writes_by_axis
def write(listing: Listing, *, dialect: ExportDialect | None) -> bytes:
    """Write an export that reads back with the same values and nameplate.

    Names are cut to the width of their column. Raises WrongUsage without a dialect, and for what
    its column does not hold or what would read back as another.
    """
    if dialect is None:
        raise WrongUsage("this text is written with a family's dictionary")
    return written_lines(listing, dialect, _lines(listing, dialect), FixedScan)


def _lines(listing: Listing, dialect: ExportDialect) -> Iterator[tuple[str, str]]:
    rule, separator = dialect.channel, dialect.nameplate_separator or ":"
    for label, name, value in labelled(listing, dialect):
        yield f"nameplate {name}", label_line(label, separator, value)
    if dialect.header:
        yield "the header line", dialect.header
    number = "" if listing.channel is None else str(listing.channel)
    if rule and rule.section and number:
        yield "the section", rule.section.replace("{n}", number)
    section = ""
    for entry, cells in without_section_first(listing.entries, dialect):
        if dialect.section and "section" not in dialect.columns and cells["section"] != section:
            section = cells["section"]
            yield f"section {section}", dialect.section.replace("{name}", section)
        columns = {place: cells[column] for column, place in dialect.columns.items()}
        if "name" in dialect.columns:
            place = dialect.columns["name"]
            part = positions(place)
            told = " ".join(cells["name"].split())
            columns[place] = told[: None if part.stop is None else part.stop - part.start]
        if rule and rule.column:
            columns[rule.column] = number
        yield entry.code, _laid_out(entry.code, columns)


def _laid_out(code: str, columns: Mapping[str, str]) -> str:
    line = ""
    for place, text in sorted(columns.items(), key=lambda column: positions(column[0]).start):
        part = positions(place)
        if part.stop is not None and len(text) > part.stop - part.start:
            width = part.stop - part.start
            raise WrongUsage(f"{code}: {text!r} is wider than its column of {width} characters")
        line = line.ljust(part.start) + text
    return line.rstrip()


class FixedScan(LineScan):
    """The lines of an export with its columns at positions."""

    def __init__(self, lines: list[str], dialect: ExportDialect) -> None:
        rule = dialect.channel
        self.separators = dialect.nameplate_separator or LineScan.separators
        self._header = _without_blanks(dialect.header or "")
        self._is_below = not self._header
        self._columns = {column: positions(place) for column, place in dialect.columns.items()}
        if rule and rule.column:
            self._columns["channel"] = positions(rule.column)
        starts = {part.start for part in self._columns.values()}
        stops = {part.stop for part in self._columns.values()}
        self._edges = [  # where two columns meet a text may stand beside another
            (edge, column)
            for column, part in self._columns.items()
            for edge, others in ((part.start, stops), (part.stop, starts))
            if edge and edge not in others and column != "name"
        ]
        super().__init__(lines, dialect)

    def take(self, at: int, text: str) -> None:
        """Take a row apart; what stands above the header line is none."""
        if self._header and _without_blanks(text) == self._header:
            self._is_below = True
        elif not self._is_below:
            label, _, value = _LABEL_END.sub("\t", text, count=1).partition("\t")
            if is_count(plain_label(label)):
                line = NameplateLine(self.channel, at + 1, plain_label(label), value.strip(), text)
                self.nameplate.append(line)
        elif any(map(str.isalnum, text)):
            if reason := self._misfit(text):
                self.skip(at, reason)
                return
            cells = {column: text[part].strip() for column, part in self._columns.items()}
            if self.dialect.section and not cells.get("section"):
                cells["section"] = self.section
            part = self._columns["value"]
            start, end = (min(place, len(text)) for place in (part.start, part.stop or len(text)))
            self.rows.append(Placed(Row(cells, at + 1, channel=self.channel), start, end))

    def _misfit(self, text: str) -> str:
        """Why positions say nothing in this line; empty where they do."""
        if "\t" in text:
            return "the line holds a tab, so that positions cannot be told"
        for edge, column in self._edges:
            if edge < len(text) and not (text[edge - 1].isspace() or text[edge].isspace()):
                return f"a text runs over an edge of the column of its {column}"
        value = self._columns["value"]
        is_full_of_hex = re.match("[+-]?0[xX]", text[value]) is not None
        parts = _OF_HEX if is_full_of_hex else _OF_NUMBERS
        for edge in filter(None, (value.start, value.stop)):
            before, behind = text[edge - 1 : edge], text[edge : edge + 1]
            if behind and before in parts + _SIGNS and behind in parts:
                return "a number may run over an edge of the column of its value"
        return ""


def _without_blanks(text: str) -> str:
    return "".join(text.split()).casefold()

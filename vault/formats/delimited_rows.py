"""The lines of delimited text: what is nameplate, table, comment, section or broken.

Quoting follows RFC 4180 through the standard library's `csv`, in its strict mode. Unlike its
rule 4, spaces around a cell are padding and no part of it (common practice, no source).
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from vault.formats.headings import heading
from vault.formats.nameplate import NameplateLine, labels_of, plain_label
from vault.formats.rows import channel_number, is_text_type
from vault.formats.text_encoding import CUT_SHORT, HALF_CHARACTER
from vault.model.errors import WrongUsage
from vault.model.export import SkippedLine

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_COLUMNS = ("code", "value", "name", "unit", "type", "access", "low", "high", "default")
_NAMEPLATE_REACH = 50  # lines a quoted nameplate value may span
_REREADS = 5  # times over, that the lines of a file may be read again after broken quotes

csv.field_size_limit(max(csv.field_size_limit(), 100 * 1024 * 1024))


@dataclass(frozen=True, slots=True)
class Table:
    """Where the columns of a table are; absent ones point behind the last heading."""

    width: int
    value: int
    pick: itemgetter[Any]


def _plain(heading: str) -> str:
    return heading.strip().casefold()


class Layout:
    """A dialect made ready: headings and labels in comparable form, patterns compiled."""

    def __init__(self, dialect: ExportDialect) -> None:
        rule = dialect.channel
        self.dialect = dialect
        self.delimiter = dialect.delimiter
        self.separator: str = dialect.nameplate_separator or dialect.delimiter
        self.headings = [_plain(dialect.columns.get(c, "")) or None for c in _COLUMNS]
        self.headings.append(_plain(rule.column) if rule and rule.column else None)
        self.labels = labels_of(dialect)
        padding = rf"[\s{re.escape(self.delimiter)}]*"  # spreadsheets fill up short rows
        self.section = heading(rule.section, padding) if rule and rule.section else None
        self.naming: re.Pattern[str] | None = None
        if dialect.section:
            self.naming = heading(
                dialect.section, padding, rf"[^\r\n{re.escape(self.delimiter)}]+?"
            )
        self.has_sections = self.naming is not None or "section" in dialect.columns
        if self.has_sections:
            self.headings.append(_plain(dialect.columns.get("section", "")) or None)
        self.csv: dict[str, Any] = {"delimiter": self.delimiter, **self._quoting()}

    def _quoting(self) -> dict[str, Any]:
        if not self.dialect.quote:
            return {"quoting": csv.QUOTE_NONE, "quotechar": None}
        return {"quotechar": self.dialect.quote}

    def is_aside(self, line: str) -> bool:
        """True for blank lines and comments."""
        comment = self.dialect.comment
        return line.isspace() or bool(comment and line.lstrip(" ").startswith(comment))

    def is_like_section(self, line: str) -> bool:
        """Whether a line begins as the headings do that go before codes."""
        begin = (self.dialect.section or "").partition("{name}")[0].strip()
        return bool(begin) and line.lstrip(" ").startswith(begin)

    def may_be_in(self, text: str) -> bool:
        """False when the needed headings cannot be in the text: spares looking line by line."""
        folded = text.casefold()
        needed = (heading or "" for heading in self.headings[:2])
        return all(h in folded for h in needed if h.isprintable() and self.dialect.quote not in h)

    def table(self, row: Sequence[str]) -> Table | None:
        """The columns of a header row; None when the row is none."""
        found = [_plain(cell) for cell in row]
        if self.headings[0] not in found or self.headings[1] not in found:
            return None
        width = max(place for place, heading in enumerate(found, 1) if heading)
        places = [found.index(h) if h and h in found else width for h in self.headings]
        return Table(width, places[1], itemgetter(*places))

    def header_ahead(self, lines: list[str], at: int) -> bool:
        """Say whether the section that starts there has a header row of its own."""
        section = self.section
        ends = (n for n in range(at, len(lines)) if section and section.match(lines[n]))
        own = csv.reader(lines[at : next(ends, len(lines))], **self.csv)
        return any(self.table(row) for row in own)

    def record(self, lines: list[str], at: int) -> tuple[list[str], int]:
        """One row above the table and where the next one starts; broken quotes are text."""
        reader = csv.reader(lines[at : at + _NAMEPLATE_REACH], strict=True, **self.csv)
        try:
            return next(reader), at + reader.line_num
        except csv.Error:
            return lines[at].rstrip("\r\n").split(self.delimiter), at + 1

    def separated(self, lines: list[str], at: int) -> tuple[str, str, int]:
        """Label and value of a line with the nameplate separator, and the next line's place."""
        label, _, value = lines[at].partition(self.separator)
        value, quote = value.strip(" "), self.dialect.quote
        unfilled = value.rstrip(f"\r\n {self.delimiter}")  # spreadsheets fill up short rows
        options: dict[str, Any] = {**self.csv, "delimiter": self.separator}
        for text in (value, unfilled) if quote and value.startswith(quote) else ():
            following = lines[at + 1 : at + _NAMEPLATE_REACH]
            reader = csv.reader([text, *following], strict=True, **options)
            try:
                cells = next(reader)
            except csv.Error:
                continue
            if len(cells) == 1:
                return label, cells[0], at + reader.line_num
        return label, unfilled, at + 1

    def quoted(self, cell: str, *, force: bool = False) -> str:
        """A cell as it stands in the file. RFC 4180 clause 2, rules 5 to 7."""
        quote = self.dialect.quote
        special = (self.delimiter, "\r", "\n", quote) if quote else (self.delimiter, "\r", "\n")
        if not force and not any(mark in cell for mark in special):
            return cell
        if not quote:
            raise WrongUsage(f"{cell!r} would need quotes, and this dialect has none")
        return f"{quote}{cell.replace(quote, quote * 2)}{quote}"

    def row(self, cells: Sequence[str]) -> str:
        """A row as it stands in the file, never to be mistaken for a comment or a section."""
        quoted = [self.quoted(cell) for cell in cells]
        line = self.delimiter.join(quoted)
        if quoted[0] == cells[0] and (
            self.is_aside(line)
            or (self.section and self.section.match(line))
            or self.is_like_section(line)
        ):
            quoted[0] = self.quoted(cells[0], force=True)
            line = self.delimiter.join(quoted)
        return line


@dataclass(slots=True)
class _Source(Iterator[str]):
    """The lines a csv reader draws from; the place can be looked at and set back."""

    lines: list[str]
    at: int = 0
    ended: bool = False

    def __next__(self) -> str:
        if self.at >= len(self.lines):
            self.ended = True
            raise StopIteration
        self.at += 1
        return self.lines[self.at - 1]


@dataclass(slots=True)
class Scan:
    """One pass over the lines: what is nameplate, what is a row, and of which channel."""

    lines: list[str]
    layout: Layout
    channels: set[int] = field(default_factory=set)
    nameplate: list[NameplateLine] = field(default_factory=list)
    rows: list[tuple[int, int | None, tuple[str, ...]]] = field(default_factory=list)
    skipped: list[tuple[int | None, SkippedLine]] = field(default_factory=list)
    section: int | None = None
    name: str | None = ""  # of the section; None below a heading that cannot be read
    rereads: int = 0  # lines read again so far
    header: tuple[int, int] = (0, 0)  # places of the last header row and of what follows it

    def run(self, *, header_only: bool = False) -> bool:
        """Go through the lines; False when no header row was found."""
        layout, lines, source = self.layout, self.lines, _Source(self.lines)
        reader = csv.reader(source, strict=True, **layout.csv)
        table: Table | None = None
        found = False
        while source.at < len(lines):
            start = source.at
            if layout.is_aside(lines[start]):
                source.at += 1
            elif layout.section and (heading := layout.section.match(lines[start])):
                source.at += 1
                self.section = int(heading[1])
                self.channels.add(self.section)
                self.name = ""
                if table and layout.header_ahead(lines, source.at):
                    table = None
            elif layout.naming and (heading := layout.naming.match(lines[start])):
                source.at += 1
                self.name = heading[1].strip()
            elif table is None:
                table, source.at = self._above_table(start)
                if table is not None:
                    found, self.header = True, (start, source.at)
                if found and header_only:
                    break
            else:
                try:
                    row = next(reader)
                except csv.Error as error:
                    self._broken(source, start, error)
                else:
                    table = self._take(row, table, start, last=source.at == len(lines))
        return found

    def _above_table(self, at: int) -> tuple[Table | None, int]:
        layout = self.layout
        own = layout.separator != layout.delimiter
        if own:
            label, value, following = layout.separated(self.lines, at)
        if not own or plain_label(label) not in layout.labels:
            row, behind = layout.record(self.lines, at)
            if table := layout.table(row):
                return table, behind
            if not own:
                label, value, following = row[0], "".join(row[1:2]), behind
        if value := value.strip():
            spelled = self.lines[at].rstrip("\r\n")
            line = NameplateLine(self.section, at + 1, plain_label(label), value, spelled)
            self.nameplate.append(line)
        return None, following

    def _skip(self, at: int, reason: str, channel: int | None) -> None:
        text = self.lines[at].rstrip("\r\n")
        self.skipped.append((channel, SkippedLine(at + 1, text, reason)))

    def _broken(self, source: _Source, start: int, error: csv.Error) -> None:
        """Set a row with broken quotes aside, and read what it swallowed again."""
        if source.ended:
            reason = f"a quote opened here is never closed: {CUT_SHORT}"
        else:
            reason = f"quotes are broken in this row: {error}"
        self.rereads += (swallowed := source.at - start - 1)
        if self.rereads <= _REREADS * len(self.lines):  # else hostile files take for ever
            source.at, source.ended = start + 1, False
        elif swallowed:
            reason += f"; it swallows the lines up to {source.at}"
        self._skip(start, reason, self.section)

    def _take(self, row: list[str], table: Table, start: int, *, last: bool) -> Table:
        """Keep a row of the table; returns the table that the next row belongs to."""
        if not any(map(str.strip, row)):
            return table
        if reason := self._misfit(row, table.width, last):
            self._skip(start, reason, self.section)
            if self._may_be_heading(row, start):
                self.name = None
            return table
        cells = tuple(map(str.strip, table.pick([*row[: table.width], ""])))
        if not cells[0] or not (cells[1] or is_text_type(cells[4])):
            reason = "no value" if cells[0] else "no code"
            self._skip(start, reason, self._channel(cells[9], start)[0])
            if self._may_be_heading(row, start):
                self.name = None
        elif self._is_broken_heading(start):
            self._skip(start, "this is no heading as the dictionary has it", self.section)
            self.name = None
        elif cells[0].casefold() in self.layout.headings and (again := self.layout.table(row)):
            return again
        else:
            channel, valid = self._channel(cells[9], start)
            if self.layout.has_sections:
                name = cells[10] or self.name
                if name is None:
                    self._skip(start, "the heading above it cannot be read", channel)
                    return table
                cells = (f"{name}/{cells[0]}" if name else cells[0], *cells[1:10])
            if valid:
                self.rows.append((start + 1, channel, cells))
            else:
                self._skip(start, f"no channel number in {cells[9]!r}", None)
        return table

    def _may_be_heading(self, row: list[str], start: int) -> bool:
        """Whether a line that is no row begins as headings do, in quotes or without."""
        return any(map(self.layout.is_like_section, (row[0], self.lines[start])))

    def _is_broken_heading(self, start: int) -> bool:
        """Whether a line with a code and a value begins as headings do that are not words."""
        line = self.lines[start]
        return self.layout.is_like_section(line) and not line.lstrip(" ")[0].isalnum()

    def _misfit(self, row: list[str], width: int, last: bool) -> str:
        """Why a row does not fit under its header; empty where it does."""
        length = len(row)
        if last and not self.lines[-1].endswith(("\n", "\r")):
            if length < width:
                return f"{CUT_SHORT}: {length} of {width} columns and no line end"
            if self.lines[-1].endswith(HALF_CHARACTER):
                return f"{CUT_SHORT} within a character"
        if length < width:
            return f"too few columns: {length} of {width}"
        if length > width and any(map(str.strip, row[width:])):
            return f"too many columns: {length} instead of {width}"
        return ""

    def _channel(self, cell: str, at: int) -> tuple[int | None, bool]:
        if not cell:
            return self.section, True
        channel = channel_number(cell)
        if channel is None:
            return None, False
        self.channels.add(channel)
        return channel, True

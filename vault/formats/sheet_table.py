"""The table of parameters in a sheet: where its headings stand, what each row holds, its nameplate.

A heading is a text of the header row, or, where two header rows stand one above the other, the
text of the upper and of the lower one with a blank between them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from vault.formats.headings import told_twice
from vault.formats.rows import Row, channel_number
from vault.formats.workbook_cells import Cell, Sheet
from vault.model.export import SkippedLine

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_HEADER_REACH = 1000  # rows in which the header row is looked for
_TOLD = 3


def plain(text: str) -> str:
    """A heading or label in comparable form: case, blanks and line breaks do not count."""
    return " ".join(text.split()).casefold()


def plain_label(text: str) -> str:
    """A label of the nameplate in comparable form, without the colon behind it."""
    return plain(text).rstrip(":=").rstrip()


class Header(NamedTuple):
    """A header row: the sheet's column of each of ours, and the number of its last row."""

    columns: Mapping[str, int]
    last_row: int


class PlateCell(NamedTuple):
    """A text of the nameplate, with its label in comparable form and where it stands."""

    channel: int | None
    label: str
    cell: Cell
    text: str
    row: int
    column: int


@dataclass(slots=True)
class TableRow:
    """A row of the table as the readers of all formats take it, and what only a sheet has.

    `code` and `value` are the places of its code and its value. `shown` is how the sheet displays
    a number that it holds, `is_percent` whether the row has its value a hundredfold.
    """

    row: Row
    code: tuple[int, int]
    value: tuple[int, int]
    shown: str = ""
    is_percent: bool = False


@dataclass(slots=True)
class Table:
    """What a sheet holds for a dialect."""

    sheet: Sheet
    rows: list[TableRow] = field(default_factory=list)
    bad: list[tuple[int | None, SkippedLine]] = field(default_factory=list)
    plate: list[PlateCell] = field(default_factory=list)
    remarks: list[SkippedLine] = field(default_factory=list)
    channels: set[int] = field(default_factory=set)
    without: list[tuple[int, int]] = field(default_factory=list)


class Layout:
    """A dialect made ready for sheets."""

    def __init__(self, dialect: ExportDialect) -> None:
        self.dialect = dialect
        self.headings = {name: plain(text) for name, text in dialect.columns.items()}
        rule = dialect.channel
        if rule and rule.column:
            self.headings["channel"] = plain(rule.column)
        self.labels = {plain_label(label): name for label, name in dialect.nameplate.items()}
        self.channel_heading = _heading(rule.section, "{n}", r"(\d{1,9})") if rule else None
        self.section_heading = _heading(dialect.section, "{name}", "(.+?)")

    def columns(self, cells: Mapping[str, int]) -> dict[str, int]:
        """The columns of a row of headings; empty where code and value are not among them."""
        found = {name: cells[text] for name, text in self.headings.items() if text in cells}
        return found if "code" in found and "value" in found else {}

    def header(self, sheet: Sheet, number: int) -> Header | None:
        """The header that begins in a row; None where none does."""
        row = sheet.row(number)
        if not row:
            return None
        below = sheet.row(number + 1)
        single: dict[str, int] = {}
        joined: dict[str, int] = {}
        for at in sorted({*row, *below}):
            upper = row[at].text if at in row else ""
            is_one = sheet.origin(number, at) == sheet.origin(number + 1, at)
            lower = below[at].text if at in below and not is_one else ""
            single.setdefault(plain(upper), at)
            joined.setdefault(plain(f"{upper} {lower}"), at)
        alone = self.columns(single)
        both = self.columns(joined)
        if len(both) > len(alone):
            return Header(both, number + 1)
        return Header(alone, number) if alone else None

    def find_header(self, sheet: Sheet) -> int:
        """Number of the row in which the first header begins; 0 where there is none."""
        numbers = sorted(sheet.rows)[:_HEADER_REACH]
        return next((number for number in numbers if self.header(sheet, number)), 0)


def _heading(pattern: str | None, mark: str, stands_for: str) -> re.Pattern[str] | None:
    if pattern is None:
        return None
    before, after = (re.escape(" ".join(part.split())) for part in pattern.split(mark))
    return re.compile(rf"{before}\s*{stands_for}\s*{after}", re.IGNORECASE | re.ASCII)


def read_table(sheet: Sheet, layout: Layout) -> Table:
    """Go through a sheet, row by row."""
    return _Scan(sheet, layout).run()


def plate_cells(sheet: Sheet, number: int, channel: int | None) -> Iterator[PlateCell]:
    """Label and text pairs of a row: side by side, or `Label: text` in one cell."""
    cells = list(sheet.row(number).items())
    for index, (at, cell) in enumerate(cells):
        if not isinstance(cell.value, str):
            continue
        label, colon, text = cell.text.partition(":")
        if colon and text.strip():
            yield PlateCell(channel, plain_label(label), Cell(text), text.strip(), number, at)
        origin = sheet.origin(number, at)
        for other, following in cells[index + 1 :]:
            if sheet.origin(number, other) != origin:
                label = plain_label(cell.text)
                yield PlateCell(channel, label, following, following.text, number, other)
                break


class _Scan:
    def __init__(self, sheet: Sheet, layout: Layout) -> None:
        self.sheet, self.layout = sheet, layout
        self.table = Table(sheet)
        self.header: Header | None = None
        self.channel: int | None = None
        self.section = ""

    def run(self) -> Table:
        numbers = sorted(self.sheet.rows)
        behind = 0
        for index, number in enumerate(numbers):
            if number <= behind:
                continue
            if self._is_heading(number):
                if self.header and self._has_own_header(numbers, index + 1):
                    self.header = None
            elif (again := self._header_at(number)) is not None:
                self.header, behind = again, again.last_row
                self._tell_twice(number)
            elif self.header is None:
                self.table.plate += plate_cells(self.sheet, number, self.channel)
            else:
                self._take(number, self.header.columns)
        self._tell_without()
        return self.table

    def _tell_twice(self, number: int) -> None:
        row = self.sheet.row(number)
        for name in ("code", "value"):
            heading = self.layout.headings[name]
            found = {self.sheet.origin(number, at) for at in row if plain(row[at].text) == heading}
            if len(found) > 1:
                reason = told_twice(self.layout.dialect.columns[name], len(found))
                self.table.remarks.append(SkippedLine(number, "", reason))

    def _header_at(self, number: int) -> Header | None:
        if self.header is not None:  # only a row with the same headings is a header again
            code = self.sheet.row(number).get(self.header.columns["code"])
            text = plain(code.text) if code is not None else ""
            if not text or not any(h.endswith(text) for h in self.layout.headings.values()):
                return None
        return self.layout.header(self.sheet, number)

    def _has_own_header(self, numbers: list[int], index: int) -> bool:
        for number in numbers[index:]:
            if self.layout.header(self.sheet, number) is not None:
                return True
            if self._heading_at(number, self.layout.channel_heading):
                return False
        return False

    def _heading_at(self, number: int, pattern: re.Pattern[str] | None) -> str:
        """What a heading names, in a row that holds nothing else."""
        if pattern is None:
            return ""
        row = self.sheet.row(number)
        if len({self.sheet.origin(number, at) for at in row}) != 1:
            return ""
        found = pattern.fullmatch(" ".join(next(iter(row.values())).text.split()))
        return found[1] if found else ""

    def _is_heading(self, number: int) -> bool:
        if channel := self._heading_at(number, self.layout.channel_heading):
            self.channel, self.section = int(channel), ""
            self.table.channels.add(self.channel)
            return True
        if self.header and (section := self._heading_at(number, self.layout.section_heading)):
            self.section = section
            return True
        return False

    def _take(self, number: int, columns: Mapping[str, int]) -> None:
        sheet, table = self.sheet, self.table
        row = sheet.row(number)
        code, value = row.get(columns["code"]), row.get(columns["value"])
        code_at = sheet.origin(number, columns["code"])
        value_at = sheet.origin(number, columns["value"])
        if code_at == value_at and code is not None:
            return  # a title across the table
        if code is None and value is None:
            table.without.append((number, min(row)))
            return
        unit = row[columns["unit"]].text if columns.get("unit") in row else ""
        cells: dict[str, str | int | Decimal] = {}
        place = sheet.place(*value_at)
        for name, at in columns.items():
            cell = row.get(at)
            if cell is None:
                continue
            if reason := _fault(name, cell):
                told = Row({"code": code.text if code else ""}, number, sheet.place(number, at))
                table.bad.append((self._owner(row, columns), told.skipped(reason)))
                return
            cells[name] = self._content(name, cell, unit, number, at)
        is_percent = value is not None and value.is_percent and self._in_percent(unit)
        if is_percent:
            cells["unit"] = "%"
        if self.section and "section" not in cells:
            cells["section"] = self.section
        shown = value.shown if value else ""
        found = Row(cells, number, place, self.channel)
        table.rows.append(TableRow(found, code_at, value_at, shown, is_percent))

    def _in_percent(self, unit: str) -> bool:
        """Whether what is displayed as a percentage is one: its unit is %, or not stated."""
        return self.layout.dialect.holds == "value" and unit in ("", "%")

    def _owner(self, row: Mapping[int, Cell], columns: Mapping[str, int]) -> int | None:
        cell = row.get(columns.get("channel", 0))
        number = channel_number(cell.text) if cell else None
        return self.channel if number is None else number

    def _content(
        self, name: str, cell: Cell, unit: str, number: int, at: int
    ) -> str | int | Decimal:
        """A cell as a row has it; what is displayed as a percentage is one where the unit is %."""
        if isinstance(cell.value, str):
            return cell.value
        if name not in ("value", "low", "high", "default"):
            return cell.text
        if not cell.is_percent:
            return cell.value
        if self._in_percent(unit):
            return in_percent(cell.value)
        if name == "value":
            place = self.sheet.place(number, at)
            reason = f"{place} is displayed as a percentage, its unit is {unit or 'another'}: "
            reason += f"{cell.value} was read, as the cell holds it"
            self.table.remarks.append(SkippedLine(number, place, reason))
        return cell.value

    def _tell_without(self) -> None:
        if found := self.table.without:
            reason = f"{told_places(self.sheet, found)}: neither a code nor a value, not read"
            self.table.remarks.append(SkippedLine(found[0][0], "", reason))


def _fault(name: str, cell: Cell) -> str:
    if name == "code" and cell.is_date:
        return f"the code is a date, {cell.value}: the program of the sheet made one of it"
    return cell.fault


def in_percent(number: int | Decimal) -> int | Decimal:
    """A number as its display with a percent sign has it, exactly."""
    percent = Decimal(number).scaleb(2)
    return int(percent) if percent == percent.to_integral_value() else percent


def told_places(sheet: Sheet, places: list[tuple[int, int]]) -> str:
    """How many cells or rows, and the first of them."""
    shown = ", ".join(sheet.place(*one) for one in places[:_TOLD])
    more = ", …" if len(places) > _TOLD else ""
    return f"{shown}{more}"

"""Workbooks in OpenDocument form, read from their content part.

Names of elements and attributes are those of OpenDocument 1.2 part 1, chapters 9 and 19, from
memory. Rows and cells that are stored once for many are expanded only where they hold something.
"""

from __future__ import annotations

import re
from decimal import Decimal

from vault.formats.workbook_cells import (
    MOST_CELLS,
    MOST_ROWS,
    Cell,
    Sheet,
    Workbook,
    exact_number,
)
from vault.formats.workbook_safety import Container, parse_xml
from vault.model.errors import Unreadable

_MIMETYPE = b"application/vnd.oasis.opendocument.spreadsheet"
_CONTENT = "content.xml"
_MOST_COLUMNS = 16_384
_NUMBERS = ("float", "currency", "percentage")
# What stands in a cell and is none of its text: notes, readings, pictures and frames.
_BESIDE = frozenset(
    ["annotation", "custom-shape", "frame", "note", "rect", "ruby-text", "shape", "table"]
)
_NO_KEPT_VALUE = (
    "a formula without a kept value: open the workbook in its program and save it again"
)
_DURATION = re.compile(r"PT(\d{1,6})H(\d{1,2})M(\d{1,2}(?:[.,]\d+)?)S", re.ASCII)


def is_ods(content: bytes) -> bool:
    """Say whether an archive states that it is a spreadsheet (part 3, 3.3; from memory)."""
    if _MIMETYPE in content[:256]:  # where the standard wants it, though the rest be cut off
        return True
    try:
        parts = Container(content)
        return "mimetype" in parts and parts.member("mimetype").startswith(_MIMETYPE)
    except Unreadable:
        return False


def read_ods(content: bytes) -> Workbook:
    """Read all sheets. Raises Unreadable for what is damaged, hostile or too large."""
    parts = Container(content)
    manifest = "META-INF/manifest.xml"
    if "encrypted-package" in parts or (
        manifest in parts and b"encryption-data" in parts.member(manifest)
    ):
        raise parts.refusal("the workbook is encrypted", "save it without a password")
    remarks = []
    if any(name.startswith(("Basic/", "Scripts/")) for name in parts.members):
        remarks.append("the workbook holds macros: they were not run")
    book = Workbook("ods", [], remarks)
    _Reader(book).read(parts.member(_CONTENT))
    return book


class _Reader:
    """One pass over the content part."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._hidden_styles: set[str] = set()
        self._style = ""
        self._sheet: Sheet | None = None
        self._inside: list[str] = []
        self._row = self._column = self._count = 0
        self._row_repeats = self._cell_repeats = 1
        self._is_hidden = False
        self._cells: list[tuple[int, int, Cell]] = []
        self._given: dict[str, str] | None = None
        self._lines: list[str] = []
        self._depth = 0  # of what stands in a cell and is none of its text

    def read(self, content: bytes) -> None:
        parse_xml(content, _CONTENT, start=self._start, end=self._end, text=self._characters)

    def _refusal(self, reason: str) -> Unreadable:
        name = self._sheet.name if self._sheet else ""
        return Unreadable(f"{name}, row {self._row}: {reason}", line=self._row)

    def _start(self, name: str, given: dict[str, str]) -> None:
        self._inside.append(name)
        if self._given is not None:
            self._within_cell(name, given)
        elif name == "style":
            self._style = given.get("name", "")
        elif name == "table-properties" and given.get("display") == "false":
            self._hidden_styles.add(self._style)
        elif name == "table":
            is_hidden = given.get("style-name", "") in self._hidden_styles
            self._sheet = Sheet(given.get("name", ""), is_hidden, member=_CONTENT)
            self._book.sheets.append(self._sheet)
            self._row = 1
        elif name == "table-row" and self._sheet is not None:
            self._row_repeats = self._repeats(given, "number-rows-repeated")
            self._column = 1
            self._cells.clear()
            self._is_hidden = given.get("visibility") in ("collapse", "filter")
        elif name in ("table-cell", "covered-table-cell") and self._sheet is not None:
            self._cell_repeats = self._repeats(given, "number-columns-repeated")
            self._given, self._lines = given, []
            self._merge(given)

    def _repeats(self, given: dict[str, str], key: str) -> int:
        text = given.get(key, "1")
        if not re.fullmatch(r"[1-9]\d{0,7}", text, re.ASCII):
            raise self._refusal(f"{text[:20]!r} is no count")
        return int(text)

    def _merge(self, given: dict[str, str]) -> None:
        rows = self._repeats(given, "number-rows-spanned")
        columns = self._repeats(given, "number-columns-spanned")
        if (rows, columns) != (1, 1) and self._sheet is not None:
            last = (self._row + rows - 1, self._column + columns - 1)
            self._sheet.merged.append((self._row, self._column, *last))

    def _within_cell(self, name: str, given: dict[str, str]) -> None:
        if name in _BESIDE:
            self._depth += 1
        elif not self._depth and name == "p":
            self._lines.append("")
        elif not self._depth and self._lines:
            if name == "s":
                self._lines[-1] += " " * min(1000, self._repeats(given, "c"))
            elif name in ("tab", "line-break"):
                self._lines[-1] += "\t" if name == "tab" else "\n"

    def _characters(self, piece: str) -> None:
        if self._given is not None and not self._depth and "p" in self._inside and self._lines:
            self._lines[-1] += piece

    def _end(self, name: str) -> None:
        self._inside.pop()
        if self._given is not None and name in _BESIDE:
            self._depth -= 1
        elif name in ("table-cell", "covered-table-cell") and not self._depth:
            self._keep(self._given or {})
            self._given = None
        elif self._given is not None:
            return
        elif name == "table-row" and self._sheet is not None:
            self._end_row(self._sheet)
        elif name == "table":
            self._sheet = None

    def _keep(self, given: dict[str, str]) -> None:
        cell = self._cell(given, "\n".join(self._lines))
        if cell is not None:
            if self._column + self._cell_repeats > _MOST_COLUMNS + 1:
                raise self._refusal(f"rows of up to {_MOST_COLUMNS} cells are read")
            self._cells.append((self._column, self._cell_repeats, cell))
        self._column += self._cell_repeats

    def _end_row(self, sheet: Sheet) -> None:
        if self._cells:
            width = sum(repeats for _, repeats, _ in self._cells)
            self._count += width * self._row_repeats
            if self._count > MOST_CELLS:
                raise self._refusal(f"sheets of up to {MOST_CELLS} cells are read")
            if len(sheet.rows) + self._row_repeats > MOST_ROWS:
                raise self._refusal(f"sheets of up to {MOST_ROWS} rows are read")
            rows = range(self._row, self._row + self._row_repeats)
            if self._is_hidden:
                sheet.hidden_rows.update(rows)
            for row in rows:
                for first, repeats, cell in self._cells:
                    for column in range(first, first + repeats):
                        sheet.put(row, column, cell)
        self._row += self._row_repeats

    def _cell(self, given: dict[str, str], text: str) -> Cell | None:
        kind, is_formula = given.get("value-type", ""), "formula" in given
        if not kind:
            if is_formula:
                return Cell("", fault=_NO_KEPT_VALUE, is_formula=True)
            return None if text == "" else Cell(text)
        if _is_error(text) and is_formula:
            return Cell(text, fault=f"the cell holds the error {text[:40]}", is_formula=True)
        if kind in _NUMBERS:
            number = exact_number(given.get("value", ""))
            if number is None:
                return Cell(text, fault="it holds no number", is_formula=is_formula)
            shown = text if _is_plain(text, number) else ""
            return Cell(number, shown, "", is_formula, is_percent=kind == "percentage")
        if kind == "boolean":
            return Cell(given.get("boolean-value", "false"), is_formula=is_formula)
        if kind == "date":
            return Cell(given.get("date-value", text), is_formula=is_formula, is_date=True)
        if kind == "time":
            return Cell(_time(given.get("time-value", text)), is_formula=is_formula, is_date=True)
        return Cell(given.get("string-value", text), is_formula=is_formula)


def _is_error(text: str) -> bool:
    return text.startswith(("#N/A", "#DIV/0!", "#REF!", "#NAME?", "#VALUE!", "#NUM!", "Err:"))


def _is_plain(text: str, number: int | Decimal) -> bool:
    """Whether a display is the number in another spelling, as `1.10` and `0012`."""
    if text == str(number) or not re.fullmatch(r"-?\d+(\.\d+)?", text, re.ASCII):
        return False
    return Decimal(text) == number


def _time(text: str) -> str:
    found = _DURATION.fullmatch(text)
    if found is None:
        return text
    return f"{int(found[1]):02}:{int(found[2]):02}:{found[3].replace(',', '.').zfill(2)}"

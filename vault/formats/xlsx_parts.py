"""Workbooks in Office Open XML (ECMA-376), read from the XML of their own parts.

Numbers are taken from the file's text, formulas by the value that was kept with them. Names of
elements and attributes are those of part 1, SpreadsheetML, from memory.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from decimal import Decimal
from posixpath import dirname, join, normpath
from typing import NamedTuple

from vault.formats.workbook_cells import (
    BUILT_IN,
    MOST_CELLS,
    MOST_ROWS,
    Cell,
    Sheet,
    Workbook,
    column_number,
    exact_number,
    is_date_format,
    number_cell,
)
from vault.formats.workbook_safety import Container, parse_xml
from vault.model.errors import Unreadable

PLACE = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9]\d{0,6})", re.ASCII)
_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")
_LONGEST_FORMAT = 1000  # programs take 255 characters (common practice, no source)
_NO_KEPT_VALUE = (
    "a formula without a kept value: open the workbook in its program and save it again"
)


class _Target(NamedTuple):
    kind: str
    path: str
    is_external: bool


def read_xlsx(content: bytes) -> Workbook:
    """Read all sheets. Raises Unreadable for what is damaged, hostile or too large."""
    parts = Container(content)
    book_path = next(
        (t.path for t in _targets(parts, "").values() if t.kind == "officeDocument"), ""
    )
    if book_path.endswith(".bin"):
        raise parts.refusal("a workbook in binary form (xlsb) is not read", "save it as .xlsx")
    sheets, is_1904 = _sheets(parts, book_path)
    targets = _targets(parts, book_path)
    by_kind = {target.kind: target.path for target in targets.values()}
    strings = _strings(parts, by_kind.get("sharedStrings", ""))
    formats = _formats(parts, by_kind.get("styles", ""))
    book = Workbook("xlsx", [], _remarks(parts, targets))
    for name, is_hidden, key in sheets:
        target = targets.get(key)
        if target is None or target.is_external:
            raise parts.refusal(f"sheet {name!r} is not in the file")
        sheet = Sheet(name, is_hidden, member=target.path)
        book.sheets.append(sheet)
        if target.kind == "worksheet":
            _SheetReader(sheet, strings, formats, is_1904).read(parts.member(target.path))
    return book


def _targets(parts: Container, source: str) -> dict[str, _Target]:
    """What a part refers to, by id (part 2, 9.3: relationships)."""
    folder = dirname(source)
    path = join(folder, "_rels", source.rpartition("/")[2] + ".rels")
    found: dict[str, _Target] = {}
    if path not in parts:
        return found

    def start(name: str, given: dict[str, str]) -> None:
        if name == "Relationship":
            kind, target = given.get("Type", ""), given.get("Target", "")
            inside = target.lstrip("/") if target.startswith("/") else join(folder, target)
            found[given.get("Id", "")] = _Target(
                kind.rpartition("/")[2], normpath(inside), given.get("TargetMode") == "External"
            )

    parse_xml(parts.member(path), path, start=start, end=_nothing)
    return found


def _nothing(_: str) -> None:
    """What ends is of no interest."""


def _sheets(parts: Container, path: str) -> tuple[list[tuple[str, bool, str]], bool]:
    sheets: list[tuple[str, bool, str]] = []
    is_1904 = False

    def start(name: str, given: dict[str, str]) -> None:
        nonlocal is_1904
        if name == "sheet":
            is_hidden = given.get("state", "visible") != "visible"
            sheets.append((given.get("name", ""), is_hidden, given.get("id", "")))
        elif name == "workbookPr":
            is_1904 = _is_true(given.get("date1904"))

    parse_xml(parts.member(path), path, start=start, end=_nothing)
    return sheets, is_1904


def _is_true(text: str | None) -> bool:
    return text in ("1", "true", "on")


def _remarks(parts: Container, targets: dict[str, _Target]) -> list[str]:
    remarks = []
    kinds = {target.kind for target in targets.values()}
    macros = kinds & {"vbaProject", "xlMacrosheet", "xlIntlMacrosheet"}
    if macros or any(name.endswith("vbaProject.bin") for name in parts.members):
        remarks.append("the workbook holds macros: they were not run")
    if "externalLink" in kinds:
        remarks.append(
            "the workbook refers to other files: they were not opened, and what it kept of them "
            "was read"
        )
    return remarks


def _unescaped(text: str) -> str:
    """Characters that XML cannot hold (part 1, 22.9.2.19)."""
    if "_x" not in text:
        return text
    return _ESCAPE.sub(lambda found: chr(int(found[1], 16)), text)


def _strings(parts: Container, path: str) -> list[str]:
    """The shared texts; runs of several styles are joined, readings of them (`rPh`) left out."""
    found: list[str] = []
    pieces: list[str] = []
    inside: list[str] = []
    if path not in parts:
        return found

    def start(name: str, _: dict[str, str]) -> None:
        inside.append(name)
        if name == "si":
            pieces.clear()

    def end(name: str) -> None:
        inside.pop()
        if name == "si":
            found.append(_unescaped("".join(pieces)))
            if len(found) > MOST_CELLS:
                raise parts.refusal(f"more than {MOST_CELLS} texts: this is no export")

    def text(piece: str) -> None:
        if inside[-1] == "t" and "rPh" not in inside:
            pieces.append(piece)

    parse_xml(parts.member(path), path, start=start, end=end, text=text)
    return found


def _formats(parts: Container, path: str) -> list[str]:
    """Format codes of numbers by the style of a cell."""
    codes: dict[int, str] = dict(BUILT_IN)
    styles: list[int] = []
    within: list[str] = []
    if path not in parts:
        return []

    def start(name: str, given: dict[str, str]) -> None:
        number = given.get("numFmtId", "0")
        key = int(number) if number.isascii() and number.isdigit() and len(number) < 9 else 0
        if name == "numFmt" and within[-1:] == ["numFmts"]:
            codes[key] = given.get("formatCode", "")
            if len(codes[key]) > _LONGEST_FORMAT:
                raise parts.refusal("a display of a number is too long: this is no export")
        elif name == "xf" and within[-1:] == ["cellXfs"]:
            styles.append(key)
        within.append(name)

    def end(_: str) -> None:
        within.pop()

    parse_xml(parts.member(path), path, start=start, end=end)
    return [codes.get(key, "") for key in styles]


class _SheetReader:
    """One pass over the XML of a sheet."""

    def __init__(self, sheet: Sheet, strings: list[str], formats: list[str], is_1904: bool) -> None:
        self._sheet, self._strings, self._formats = sheet, strings, formats
        self._is_1904 = is_1904
        self._row = self._column = self._count = 0
        self._given: dict[str, str] = {}
        self._in_cell = self._is_formula = self._has_value = False
        self._inside: list[str] = []
        self._pieces: list[str] = []

    def read(self, content: bytes) -> None:
        part = self._sheet.member
        parse_xml(content, part, start=self._start, end=self._end, text=self._characters)

    def _refusal(self, reason: str) -> Unreadable:
        place = self._sheet.place(max(1, self._row), max(1, self._column))
        return Unreadable(f"{place}: {reason}", line=max(1, self._row))

    def _start(self, name: str, given: dict[str, str]) -> None:
        self._inside.append(name)
        if self._in_cell:
            self._is_formula = self._is_formula or name == "f"
            self._has_value = self._has_value or name == "v"
        elif name == "c":
            self._begin_cell(given)
        elif name == "row":
            number = given.get("r", "")
            self._row = self._whole(number) if number else self._row + 1
            self._column = 0
            if self._row > 2**20:
                raise self._refusal("the row has no number that a sheet has")
            if _is_true(given.get("hidden")):
                self._sheet.hidden_rows.add(self._row)
        elif name == "mergeCell":
            self._merge(given.get("ref", ""))

    def _whole(self, text: str) -> int:
        if not re.fullmatch(r"[1-9]\d{0,6}", text, re.ASCII):
            raise self._refusal(f"{text[:20]!r} is no number of a row")
        return int(text)

    def _begin_cell(self, given: dict[str, str]) -> None:
        self._column += 1
        if place := given.get("r"):
            found = PLACE.fullmatch(place)
            if found is None:
                raise self._refusal(f"{place[:20]!r} is no place of a cell")
            self._column, self._row = column_number(found[1]), int(found[2])
        self._count += 1
        if self._count > MOST_CELLS:
            raise self._refusal(f"sheets of up to {MOST_CELLS} cells are read")
        self._given, self._in_cell = given, True
        self._is_formula = self._has_value = False
        self._pieces.clear()

    def _merge(self, area: str) -> None:
        first, _, last = area.partition(":")
        found = [PLACE.fullmatch(corner) for corner in (first, last or first)]
        if found[0] is None or found[1] is None:
            raise self._refusal(f"{area[:30]!r} are no merged cells")
        rows = sorted(int(corner[2]) for corner in found if corner)
        columns = sorted(column_number(corner[1]) for corner in found if corner)
        self._sheet.merged.append((rows[0], columns[0], rows[1], columns[1]))

    def _characters(self, piece: str) -> None:
        if self._in_cell:
            name = self._inside[-1]
            if name == "v" or (name == "t" and "rPh" not in self._inside):
                self._pieces.append(piece)

    def _end(self, name: str) -> None:
        self._inside.pop()
        if name != "c" or not self._in_cell:
            return
        self._in_cell = False
        text = "".join(self._pieces)
        cell = self._cell(text)
        if cell is None:
            return
        if self._row not in self._sheet.rows and len(self._sheet.rows) >= MOST_ROWS:
            raise self._refusal(f"sheets of up to {MOST_ROWS} rows are read")
        self._sheet.put(self._row, self._column, cell)

    def _cell(self, text: str) -> Cell | None:
        kind, is_formula = self._given.get("t", "n"), self._is_formula
        if kind == "s":
            index = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else -1
            if not 0 <= index < len(self._strings):
                raise self._refusal("it refers to a text that the workbook does not hold")
            return Cell(self._strings[index], is_formula=is_formula)
        if kind in ("str", "inlineStr"):
            if is_formula and not self._has_value:
                return Cell("", fault=_NO_KEPT_VALUE, is_formula=True)
            return Cell(_unescaped(text), is_formula=is_formula)
        if kind == "e":
            return Cell(text, fault=f"the cell holds the error {text}", is_formula=is_formula)
        if kind == "b":
            return Cell("true" if _is_true(text.strip()) else "false", is_formula=is_formula)
        if kind == "d":
            return Cell(text.strip(), is_formula=is_formula, is_date=True)
        if not text.strip():
            return Cell("", fault=_NO_KEPT_VALUE, is_formula=True) if is_formula else None
        number = exact_number(text)
        if number is None:
            return Cell(text, fault=f"{text[:40]!r} is no number of a cell", is_formula=is_formula)
        code = self._format()
        if is_date_format(code) and (moment := date_text(number, self._is_1904)):
            return Cell(moment, is_formula=is_formula, is_date=True)
        return number_cell(number, code, is_formula=is_formula)

    def _format(self) -> str:
        style = self._given.get("s", "0")
        index = int(style) if style.isascii() and style.isdigit() and len(style) < 9 else 0
        return self._formats[index] if index < len(self._formats) else ""


def date_text(number: int | Decimal, is_1904: bool) -> str | None:
    """A serial number of days as RFC 3339 text; None where it is no date (part 1, 18.17.4).

    Without a day it is a time, without a part of a day a date. Day 60 of the system of 1900 is a
    29 February that there never was.
    """
    if not 0 <= number < 2_958_466:
        return None
    days, part = divmod(Decimal(number), 1)
    begin = datetime(1904, 1, 1) if is_1904 else datetime(1899, 12, 30 if days >= 60 else 31)
    moment = begin + timedelta(
        days=int(days), milliseconds=int((part * 86_400_000).to_integral_value())
    )
    if not days and not is_1904 and part:
        return moment.time().isoformat()
    return moment.date().isoformat() if not part else moment.isoformat()

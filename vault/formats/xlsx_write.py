"""Values put back into a workbook: its cells replaced, every other part of the file as it was."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from vault.formats.rows import read_value
from vault.formats.sheet_table import TableRow
from vault.formats.workbook_cells import Cell, Sheet
from vault.formats.workbook_safety import Container
from vault.formats.xlsx_cells import Place, SheetText
from vault.formats.zip_members import replaced_members
from vault.model.errors import WrongUsage
from vault.model.export import Scalar

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_CHAIN = "xl/calcChain.xml"
_NAMES_CHAIN = {
    "[Content_Types].xml": rb"<(?:\w+:)?Override\b[^>]*?/xl/calcChain\.xml[^>]*?/>",
    "xl/_rels/workbook.xml.rels": rb"<(?:\w+:)?Relationship\b[^>]*?calcChain\.xml[^>]*?/>",
}
_NUMBER_AT_START = re.compile(r"[-+\u2212\u2013]?[\d.,'\u00a0\u202f ]*\d")
_WORDS = {"true": True, "false": False, "1": True, "0": False}


class Writer:
    """Changes to one sheet, gathered first and then made in one go."""

    def __init__(self, content: bytes, sheet: Sheet, dialect: ExportDialect, file: str) -> None:
        self._content, self._sheet, self._dialect = content, sheet, dialect
        self._file = file
        self._parts = Container(content)
        signature = next((n for n in self._parts.members if n.startswith("_xmlsignatures/")), None)
        if signature is not None:
            reason = "the workbook is signed, and would not be any more"
            raise WrongUsage(reason, file=file, hint="save a copy of it without the signature")
        self._text = SheetText(self._parts.member(sheet.member), sheet.member, file)
        self._changes: dict[Place, int | Decimal | str | bool | None] = {}
        self._owners: dict[Place, str] = {}

    def put(self, row: TableRow, code: str, value: Scalar, written: Scalar) -> None:
        """Put a value into the row of a code, which holds `written` now."""
        cell = self._sheet.rows.get(row.value[0], {}).get(row.value[1])
        place = self._sheet.place(*row.value)
        is_same = value == written and isinstance(value, str) == isinstance(written, str)
        if is_same and not (cell and cell.is_formula):
            self._own(row.value, code, place, None)
            return
        new = self._content_of(row, cell, value, code, place)
        self._own(row.value, code, place, new)
        self._changes[row.value] = new

    def _own(self, place: Place, code: str, name: str, new: object) -> None:
        other = self._owners.setdefault(place, code)
        if other != code and self._changes.get(place) != new:
            reason = f"{other} and {code} share the merged cell {name}, and differ"
            raise WrongUsage(reason, file=self._file)

    def empty(self, row: TableRow, code: str, others: Collection[Place]) -> None:
        """Take a row out: its cells of code and value are emptied."""
        for place in (row.code, row.value):
            if place in others:
                reason = f"{code} shares the merged cell {self._sheet.place(*place)} with others"
                raise WrongUsage(reason, file=self._file)
            if place in self._text.cells:
                self._changes[place] = None

    def _content_of(
        self, row: TableRow, cell: Cell | None, value: Scalar, code: str, place: str
    ) -> int | Decimal | str | bool:
        """What the cell is to hold, in the kind of what it holds."""
        found = self._text.cells.get(row.value)
        if found is not None and found.kind == "b":
            word = _WORDS.get(str(value).strip().lower())
            if word is None:
                reason = f"{code}: cell {place} is true or false, and cannot be {value}"
                raise WrongUsage(reason, file=self._file)
            return word
        if isinstance(value, str) or cell is None:
            return value
        if cell.is_date:
            raise WrongUsage(f"{code}: cell {place} holds a date, no number", file=self._file)
        if isinstance(cell.value, str):
            return self._spelled(cell.value, value, code, place)
        return Decimal(value).scaleb(-2) if row.is_percent else value

    def _spelled(self, text: str, value: int | Decimal, code: str, place: str) -> str:
        """A number in a cell of text, with the decimal mark and the unit that it has there."""
        new = f"{Decimal(value):f}".replace(".", self._dialect.decimal)
        found = _NUMBER_AT_START.match(text.strip())
        if found and self._dialect.unit_in_value:
            new += text.strip()[found.end() :]
        if read_value(new, self._dialect)[0] != value:
            reason = f"{code}: {value} cannot be spelled as the text {text!r} in cell {place}"
            raise WrongUsage(reason, file=self._file)
        return new

    def written(self, kept: Mapping[str, Place]) -> bytes:
        """The file with all changes. `kept` are the codes that keep their value, and where.

        Raises WrongUsage where one of them is a formula, and may become another value, and where a
        formula that is to be replaced is also that of other cells.
        """
        if not self._changes:
            return self._content
        formulas = {place for place, cell in self._text.cells.items() if cell.formula is not None}
        for code, place in kept.items():
            self._own(place, code, self._sheet.place(*place), None)
            if place in formulas:
                cell = self._sheet.place(*place)
                reason = f"{code} is a formula in {cell}, and may change with what is put in"
                hint = "give its value too, or save the workbook with values instead of formulas"
                raise WrongUsage(reason, file=self._file, hint=hint)
        for place in self._changes:
            if reason := self._text.shares_formula(place):
                cell = self._sheet.place(*place)
                reason = f"the formula in {cell} cannot be replaced by a value: {reason}"
                hint = "save the workbook with values instead of formulas"
                raise WrongUsage(reason, file=self._file, hint=hint)
        members: dict[str, bytes | None] = {self._sheet.member: self._text.replaced(self._changes)}
        if formulas & self._changes.keys() and _CHAIN in self._parts:
            members |= self._without_chain()
        return replaced_members(self._content, members, file=self._file)

    def _without_chain(self) -> dict[str, bytes | None]:
        """Take out the order of calculation, which names cells with formulas and is made anew."""
        members: dict[str, bytes | None] = {_CHAIN: None}
        for name, pattern in _NAMES_CHAIN.items():
            content, count = re.subn(pattern, b"", self._parts.member(name))
            if count != 1:
                reason = f"part {name} names the order of calculation in a way that is not known"
                hint = "save the workbook with values instead of formulas"
                raise WrongUsage(reason, file=self._file, hint=hint)
            members[name] = content
        return members

"""Cells replaced in the XML of a sheet by their bytes, every other byte as it was.

A number stays a number and keeps its style; a text is written into its cell (an inline string), so
that the shared texts stay as they are. Element names are those of ECMA-376 part 1, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from xml.parsers import expat
from xml.sax.saxutils import escape

from vault.formats.workbook_cells import column_name, column_number
from vault.formats.xlsx_parts import PLACE
from vault.model.errors import WrongUsage

Place = tuple[int, int]
"""Row and column, from 1."""

_TAG = re.compile(rb"<([^\s/>]+)((?:[^>\"']|\"[^\"]*\"|'[^']*')*?)\s*/?>")
_ATTRIBUTE = re.compile(rb"\s+([^\s=/>]+)\s*=\s*(?:\"[^\"]*\"|'[^']*')")
# What a cell says of its old content: type, and metadata of a formula or of a rich value.
_OF_CONTENT = (b"t", b"cm", b"vm")
_LOOKS_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f]")
_NO_CHARACTER = re.compile("[\ud800-\udfff\ufffe\uffff]")
_MOST_TEXT = 32_767  # characters that a cell holds (common practice, no source)


@dataclass(slots=True)
class Formula:
    """A formula: its kind, and the cells that it is for."""

    kind: str
    area: str


@dataclass(slots=True)
class CellText:
    """A cell in the bytes of its sheet."""

    start: int
    end: int
    kind: str
    formula: Formula | None = None


class SheetText:
    """The XML of a sheet with the places of its cells; it has been read before, and is safe."""

    def __init__(self, content: bytes, part: str, file: str) -> None:
        self._content, self._part, self._file = content, part, file
        self.cells: dict[Place, CellText] = {}
        self._groups: list[tuple[Place, Formula]] = []
        self._row = self._column = 0
        self._open: CellText | None = None
        self._place: Place = (0, 0)
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.XmlDeclHandler = self._declared
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        if content.startswith((b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<")):
            raise self._refusal("its text is not UTF-8")
        self._parser.Parse(content, True)

    def _refusal(self, reason: str) -> WrongUsage:
        return WrongUsage(f"part {self._part}: {reason}", file=self._file)

    def _declared(self, _version: str, encoding: str | None, _alone: int) -> None:
        if encoding is not None and encoding.lower() not in ("utf-8", "us-ascii"):
            raise self._refusal("its text is not UTF-8")

    def _start(self, name: str, given: dict[str, str]) -> None:
        local = name.rpartition(" ")[2]
        if local == "row":
            self._row, self._column = int(given.get("r", self._row + 1)), 0
        elif local == "c":
            self._column += 1
            if found := PLACE.fullmatch(given.get("r", "")):
                self._row, self._column = int(found[2]), column_number(found[1])
            self._place = (self._row, self._column)
            self._open = CellText(self._parser.CurrentByteIndex, 0, given.get("t", "n"))
        elif local == "f" and self._open is not None:
            formula = Formula(given.get("t", "normal"), given.get("ref", ""))
            self._open.formula = formula
            if formula.area:
                self._groups.append((self._place, formula))

    def _end(self, name: str) -> None:
        if name.rpartition(" ")[2] != "c" or self._open is None:
            return
        at = self._parser.CurrentByteIndex
        if self._content.startswith(b"</", at):
            self._open.end = self._content.index(b">", at) + 1
        elif (tag := _TAG.match(self._content, at)) is not None:  # <c/> ends where it begins
            self._open.end = tag.end()
        else:
            raise self._refusal("its encoding is another than it declares")
        self.cells[self._place] = self._open
        self._open = None

    def shares_formula(self, place: Place) -> str:
        """Why the formula of a cell cannot be taken out; empty where it can, or there is none."""
        for own, formula in self._groups:
            if formula.kind in ("array", "dataTable") and _is_in(place, formula.area):
                return f"it belongs to the formula of {formula.area}"
            if own == place and formula.kind == "shared" and ":" in formula.area:
                return f"the cells {formula.area} share its formula"
        return ""

    def replaced(self, changes: Mapping[Place, int | Decimal | str | bool | None]) -> bytes:
        """The XML with other content of some cells; None empties one.

        Raises WrongUsage for a cell that is not there or cannot hold it.
        """
        parts, at = [], 0
        for place in sorted(changes, key=lambda one: self._cell(one).start):
            cell = self._cell(place)
            parts += [self._content[at : cell.start], self._spelled(place, cell, changes[place])]
            at = cell.end
        return b"".join([*parts, self._content[at:]])

    def _cell(self, place: Place) -> CellText:
        if place not in self.cells:
            raise self._refusal(f"there is no cell {_name(place)} to put a value in")
        return self.cells[place]

    def _spelled(
        self, place: Place, cell: CellText, value: int | Decimal | str | bool | None
    ) -> bytes:
        tag = _TAG.match(self._content, cell.start)
        assert tag is not None
        kept = b"".join(
            found[0] for found in _ATTRIBUTE.finditer(tag[2]) if found[1] not in _OF_CONTENT
        )
        name = tag[1].decode()
        prefix = name.rpartition(":")[0]
        prefix = f"{prefix}:" if prefix else ""
        begin = f"<{name}".encode() + kept
        if value is None:
            return begin + b"/>"
        if isinstance(value, bool):
            kind, inner = ' t="b"', f"<{prefix}v>{int(value)}</{prefix}v>"
        elif isinstance(value, str):
            text = _inline(value, place)
            kind = ' t="inlineStr"'
            inner = f'<{prefix}is><{prefix}t xml:space="preserve">{text}</{prefix}t></{prefix}is>'
        else:
            kind, inner = "", f"<{prefix}v>{_number(value, place)}</{prefix}v>"
        return begin + f"{kind}>{inner}</{name}>".encode()


def _name(place: Place) -> str:
    return f"{column_name(place[1])}{place[0]}"


def _is_in(place: Place, area: str) -> bool:
    first, _, last = area.partition(":")
    corners = [PLACE.fullmatch(corner) for corner in (first, last or first)]
    rows = sorted(int(corner[2]) for corner in corners if corner)
    columns = sorted(column_number(corner[1]) for corner in corners if corner)
    if len(rows) < 2:
        return False
    return rows[0] <= place[0] <= rows[1] and columns[0] <= place[1] <= columns[1]


def _number(value: int | Decimal, place: Place) -> str:
    """A number as a cell has it: what a double does not keep is refused."""
    exact = Decimal(value)
    try:
        kept = Decimal(repr(float(exact))) if exact != int(exact) else Decimal(int(float(exact)))
    except (OverflowError, ValueError):
        kept = None
    if kept != exact:
        reason = f"cell {_name(place)} cannot hold {exact} exactly: cells keep about 15 digits"
        raise WrongUsage(reason)
    return str(int(exact)) if exact == int(exact) and abs(exact) < 10**15 else str(exact)


def _inline(text: str, place: Place) -> str:
    if len(text) > _MOST_TEXT:
        raise WrongUsage(f"cell {_name(place)} cannot hold a text of {len(text)} characters")
    if found := _NO_CHARACTER.search(text):
        raise WrongUsage(f"cell {_name(place)} cannot hold the character {found[0]!r}")
    text = _LOOKS_ESCAPED.sub("_x005F_", text)
    text = _CONTROL.sub(lambda one: f"_x{ord(one[0]):04X}_", text)
    return escape(text)

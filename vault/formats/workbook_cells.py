"""A workbook in memory, whatever form its file has: sheets, their cells, and what to tell of them.

Cells are kept by row and column, both from 1, and only those that hold something: a sheet of a
million empty rows costs nothing. Nothing is calculated, run or fetched.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from math import isfinite

from vault.model.errors import Unreadable

MOST_ROWS = 120_000
MOST_CELLS = 1_500_000
_ESCAPED = re.compile(r'"[^"]*"|\\.|_.|\*.|\[[^\]]*\]')
_ZEROS = re.compile(r"(0+)(?:\.(0+))?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Cell:
    """What one cell holds: text as it stands, numbers exactly, truth values as words.

    `shown` is how a number is displayed where that differs (`1.10`, `0012`), `fault` why there is
    no value. Dates and times are RFC 3339 text; `is_percent` marks a number displayed a
    hundredfold with a percent sign.
    """

    value: str | int | Decimal
    shown: str = ""
    fault: str = ""
    is_formula: bool = False
    is_percent: bool = False
    is_date: bool = False

    @property
    def text(self) -> str:
        """What a reader of the sheet sees, without blanks around it."""
        return self.shown or str(self.value).strip()


Area = tuple[int, int, int, int]
"""First row, first column, last row, last column of merged cells."""


@dataclass(slots=True)
class Sheet:
    """One sheet; `rows` maps the numbers of rows and, in each, of columns to cells."""

    name: str
    is_hidden: bool = False
    rows: dict[int, dict[int, Cell]] = field(default_factory=dict)
    merged: list[Area] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    formulas: list[tuple[int, int]] = field(default_factory=list)
    member: str = ""
    _origins: dict[int, dict[int, tuple[int, int]]] | None = None

    def put(self, row: int, column: int, cell: Cell) -> None:
        """Keep a cell that the file holds."""
        if cell.is_formula:
            self.formulas.append((row, column))
        if cell.value != "" or cell.fault:
            self.rows.setdefault(row, {})[column] = cell

    def _merged_cells(self, row: int) -> Mapping[int, tuple[int, int]]:
        """The first cell of each merged cell in a row, by column."""
        if self._origins is None:
            self._origins = {}
            count = 0
            for top, left, bottom, right in self.merged:
                for one in range(top, min(bottom, top + MOST_ROWS) + 1):
                    count += right - left + 1
                    if count > MOST_CELLS:
                        raise Unreadable(f"sheet {self.name!r} has too many merged cells")
                    of_row = self._origins.setdefault(one, {})
                    of_row.update(dict.fromkeys(range(left, right + 1), (top, left)))
        return self._origins.get(row, {})

    def origin(self, row: int, column: int) -> tuple[int, int]:
        """Where the value of a cell stands: of merged cells, in the first."""
        return self._merged_cells(row).get(column, (row, column))

    def row(self, number: int) -> dict[int, Cell]:
        """Cells of a row by column, those that are merged filled with the value of the first."""
        cells = self.rows.get(number, {})
        if not (merged := self._merged_cells(number)):
            return cells
        cells = dict(cells)
        for column, (row, first) in merged.items():
            if (found := self.rows.get(row, {}).get(first)) is not None:
                cells[column] = found
        return dict(sorted(cells.items()))

    def place(self, row: int, column: int) -> str:
        """A cell by sheet, column and row, as formulas name it: `Parameters!B7`."""
        return f"{self.name}!{column_name(column)}{row}"

    @property
    def last_row(self) -> int:
        """Number of the last row that holds something; 0 for an empty sheet."""
        return max(self.rows, default=0)


@dataclass(slots=True)
class Workbook:
    """All sheets in their order, and remarks about the file as a whole. `form` is its ending."""

    form: str
    sheets: list[Sheet]
    remarks: list[str] = field(default_factory=list)


def column_name(number: int) -> str:
    """Letters of a column counted from 1: 27 is AA."""
    letters = ""
    while number > 0:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Number of a column by its letters, counted from 1."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def exact_number(text: str) -> int | Decimal | None:
    """The number that a cell's text means; None for what is none.

    Workbooks hold doubles, and some programs write all 17 digits of one: 0.1 as
    0.10000000000000001. More digits than a double keeps are read as the shortest that give the
    same double; integers are kept as they are written.
    """
    try:
        number = Decimal(text.strip())
    except ArithmeticError:
        return None
    if not number.is_finite() or not -324 <= number.adjusted() <= 308:
        return None
    if len(number.as_tuple().digits) > 15 and not re.fullmatch(r"\s*[-+]?\d+\s*", text):
        double = float(number)
        number = Decimal(repr(double)) if isfinite(double) else number
    whole = number.to_integral_value()
    if number == whole and number.adjusted() < 40:
        return int(whole)
    return number


@lru_cache(maxsize=512)
def _bare(code: str) -> str:
    """The part of a format code for numbers above nought, without texts and escapes in it."""
    return _ESCAPED.sub("", code.split(";")[0])


def number_cell(number: int | Decimal, code: str, *, is_formula: bool) -> Cell:
    """A number in the display that a format code gives it (ECMA-376 part 1, 18.8.31)."""
    bare = _bare(code)
    shown = ""
    if (zeros := _ZEROS.fullmatch(bare)) and "[" not in code:
        places = len(zeros[2] or "")
        exact = Decimal(number)
        rounded = round(exact, places) if exact.adjusted() < 15 else exact
        if rounded == exact:  # else the display hides digits
            sign, digits = ("-" if rounded < 0 else ""), f"{abs(rounded):.{places}f}"
            width = len(zeros[1]) + (places + 1 if places else 0)
            shown = sign + digits.zfill(width)
            shown = "" if shown == str(number) else shown
    return Cell(number, shown, is_formula=is_formula, is_percent="%" in bare)


@lru_cache(maxsize=512)
def is_date_format(code: str) -> bool:
    """Whether a format code displays a date or a time (ECMA-376 part 1, 18.8.31)."""
    if re.search(r"\[(?:h+|m+|s+)\]", code, re.IGNORECASE):
        return True
    bare = _bare(code)
    return "general" not in bare.lower() and re.search(r"[dmyhs]", bare, re.IGNORECASE) is not None


# Displays that files name by number alone (ECMA-376 part 1, 18.8.30).
BUILT_IN: Mapping[int, str] = {
    1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00",
    14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM",
    19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss", 22: "m/d/yy h:mm", 45: "mm:ss",
    46: "[h]:mm:ss", 47: "mm:ss.0",
    **dict.fromkeys((*range(27, 37), *range(50, 59)), "yyyy-mm-dd"),
}  # fmt: skip

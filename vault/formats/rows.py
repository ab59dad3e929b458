"""From the texts of a record, whatever holds it, to an entry: numbers, units, codes, faults.

The readers of `keyed`, `fixed`, `records` and `sheet` take a file apart into rows; what a row says
is read here, by the family's dialect, so that each of them answers alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.model.datatypes import TYPES
from vault.model.errors import AxisToChoose, WrongUsage
from vault.model.export import Entry, Scalar, SkippedLine
from vault.model.numerals import marked_number, parse_number
from vault.model.quantities import UnknownUnit, canonical_unit

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_SHOWN = 80
_LONGEST_UNIT = 40
_LONGEST_REMEMBERED = 40
_INTEGERS = re.compile(r"\d+", re.ASCII)
# A unit begins with a letter or a sign, or as 1/s; digits in it are exponents, as in mm/s2. So
# neither a date, a version nor a range is a number with a unit. A number with a mark of its base
# ends at a blank: `1F4h` is no `1` in a unit `F4h`.
_UNIT = r"(?=[^\W\d_]|[%‰°])(?:[^\W\d]|[%‰°·*/^().\s-]|(?<=[ms^-])[1-4])+"
_NUMBER_AND_UNIT = re.compile(
    r"((?:0[xX]|16#|[28]#|0[bB])[0-9A-Fa-f_]+(?=\s)|\d[0-9A-Fa-f]*[hHbB](?=\s)"
    r"|[-+\u2212\u2013]?[\d.,'\u00a0\u202f ]*?\d[.,]?(?:[eE][+-]?\d+)?)"
    rf"((?:\s+1/|\s*){_UNIT}|\s*\[(?:1/)?{_UNIT}\])"
)
_RFC_3339 = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)?", re.ASCII)


_Cell = str | int | Decimal


@dataclass(frozen=True, slots=True)
class Row:
    """One parameter as a file holds it: its cells by our column names, and where it stands.

    A cell is a text as the file spells it, or a number where the file itself types it as one.
    `line` counts from 1 (of a workbook: the row); `place` is a path or a cell where a line does not
    say it all, and stands before the text of a line that is left out. `channel` is the axis that a
    heading above it names.
    """

    cells: Mapping[str, str | int | Decimal]
    line: int
    place: str = ""
    channel: int | None = None

    def text(self, column: str) -> str:
        """Text of a cell without blanks around it, empty where there is none."""
        cell = self.cells.get(column, "")
        return cell.strip() if isinstance(cell, str) else str(cell)

    def skipped(self, reason: str) -> SkippedLine:
        """This row as one that could not be understood."""
        told = " ".join(filter(None, (self.place, self.text("code"), self.text("value"))))
        return SkippedLine(self.line, told[:_SHOWN], reason)


@dataclass(frozen=True, slots=True)
class Rows:
    """What the rows of a file amount to, for one axis."""

    entries: tuple[Entry, ...]
    skipped: tuple[SkippedLine, ...]
    channel: int | None
    channels: tuple[int, ...]


def needed(dialect: ExportDialect | None, what: str, file: str) -> ExportDialect:
    """The dialect that `what` is read with. Raises WrongUsage where there is none."""
    if dialect is None:
        reason = f"{what} is read with a family's dictionary"
        raise WrongUsage(reason, file=file, hint="--family NAME")
    return dialect


def read_rows(rows: Iterable[Row], dialect: ExportDialect, channel: int | None, file: str) -> Rows:
    """Entries of one axis, and the rows that cannot be understood, each with its reason.

    The channel of a row is what its `channel` cell says, else that of the heading above; rows
    without one are of all axes. Raises WrongUsage where an axis must be chosen or is not there.
    """
    kept: list[tuple[int | None, Row]] = []
    bad: list[tuple[int | None, SkippedLine]] = []
    for row in rows:
        own, reason = channel_of(row)
        if reason:
            bad.append((None, row.skipped(reason)))
        else:
            kept.append((own, row))
    channels = tuple(sorted({own for own, _ in kept if own is not None}))
    chosen = choose(channels, channel, file)
    entries: dict[str, Entry] = {}
    for own, row in kept:
        if own is not None and own != chosen:
            continue
        found = entry_of(row, dialect)
        if isinstance(found, SkippedLine):
            bad.append((own, found))
        elif (first := entries.setdefault(found.code, found)) is not found:
            reason = f"{found.code} is given already in line {first.line}"
            bad.append((own, row.skipped(reason)))
    skipped = sorted((one for _, one in bad), key=lambda one: one.line)
    return Rows(tuple(entries.values()), tuple(skipped), chosen, channels)


def channel_of(row: Row) -> tuple[int | None, str]:
    """The axis that a row is of, None for all of them; and a reason where that cannot be told."""
    cell = row.text("channel")
    if not cell:
        return row.channel, ""
    number = channel_number(cell)
    return number, f"no channel number in {cell!r}" if number is None else ""


def channel_number(cell: str) -> int | None:
    """The number of an axis in a text such as `Axis 2`; None where there is none.

    Of several numbers, as in `X20 Axis 2` and `1-2`, nobody can tell which one is meant.
    """
    numbers = {text.lstrip("0") or "0" for text in _INTEGERS.findall(cell)}
    number = numbers.pop() if len(numbers) == 1 else ""
    return int(number) if 0 < len(number) < 10 else None


def time_text(text: str, form: str | None) -> str:
    """RFC 3339 text of a time that is written as `form` has it, else as RFC 3339 itself.

    Raises ValueError.
    """
    if form:
        return datetime.strptime(text, form).isoformat()
    if not _RFC_3339.fullmatch(text):
        raise ValueError(text)
    return datetime.fromisoformat(text.upper()).isoformat()


def choose(channels: tuple[int, ...], wanted: int | None, file: str) -> int | None:
    """The axis to read. Raises WrongUsage where it must be chosen, or is not there."""
    listed = ", ".join(map(str, channels))
    if wanted is None:
        if len(channels) > 1:
            raise AxisToChoose(channels, file=file)
        return channels[0] if channels else None
    if wanted not in channels:
        there = f"it holds {listed}" if channels else "it tells no channels apart"
        raise WrongUsage(f"the export has no channel {wanted}: {there}", file=file)
    return wanted


def code_of(row: Row) -> str:
    """The code of a row, behind the section that it stands in."""
    section, code = row.text("section"), row.text("code")
    return f"{section}/{code}" if section and code else code


def entry_of(row: Row, dialect: ExportDialect) -> Entry | SkippedLine:
    """What a row says; a skipped line where it lacks its code or its value."""
    code, kind = code_of(row), row.text("type")
    if not code or not (row.text("value") or is_text_type(kind)):
        return row.skipped("no value" if code else "no code")
    name, unit, access = row.text("name"), row.text("unit"), row.text("access")
    value, low, high, default = (
        row.cells.get(column, "") for column in ("value", "low", "high", "default")
    )
    found = entry_from(dialect, row.line, code, value, name, unit, kind, access, low, high, default)
    return row.skipped(found) if isinstance(found, str) else found


def is_text_type(kind: str) -> bool:
    """Whether values of a type are texts, which may be empty, whatever they look like."""
    data_type = TYPES.get(kind)
    return data_type is not None and not data_type.is_number


def entry_from(
    dialect: ExportDialect,
    line: int,
    code: str,
    value: _Cell,
    name: str,
    unit: str,
    kind: str,
    access: str,
    low: _Cell,
    high: _Cell,
    default: _Cell,
) -> Entry | str:
    """An entry of its cells; the reason as a text where the units in them do not go together."""
    is_text = is_text_type(kind)
    written, spelled, behind = read_value(value, dialect, is_text=is_text)
    first, of_first = _bound(low, dialect)
    last, of_last = _bound(high, dialect)
    usual, of_usual = _bound(default, dialect, is_text=is_text)
    if behind or of_first or of_last or of_usual:
        units = {"value": behind, "low": of_first, "high": of_last, "default": of_usual}
        if reason := units_differ(unit, written, units):
            return reason
    return Entry(
        code,
        written,
        line,
        name,
        unit or behind,
        kind if kind in TYPES else None,
        access_of(access),
        first,
        last,
        usual,
        spelled,
    )


# Words of exports for what may be written (common practice, no source).
_ACCESS = {
    "r": "ro", "read": "ro", "read only": "ro", "read-only": "ro", "readonly": "ro", "w": "wo",
    "r/w": "rw", "rw/": "rw", "read/write": "rw", "read-write": "rw", "readwrite": "rw",
    "write": "rw", "constant": "const",
}  # fmt: skip


def access_of(cell: str) -> str | None:
    """What may be done with a parameter, in our words where the export's is known."""
    word = cell.casefold()
    return _ACCESS.get(word, word) or None


def _bound(
    cell: _Cell, dialect: ExportDialect, *, is_text: bool = False
) -> tuple[Scalar | None, str]:
    if cell == "" or (isinstance(cell, str) and not cell.strip()):
        return None, ""
    value, _, unit = read_value(cell, dialect, is_text=is_text)
    return value, unit


def units_differ(stated: str, value: Scalar, behind: Mapping[str, str]) -> str:
    """Why the units of a row do not go together; empty where they do.

    `stated` is the unit in a place of its own, `behind` what stands behind the value and its
    bounds, by column. Bounds are in the unit of their value, or without one.
    """
    unit = stated or behind["value"]
    for column, other in behind.items():
        if other and not isinstance(value, str) and not _is_same_unit(unit, other):
            of_value = f"in {unit!r}" if unit else "without a unit"
            if column == "value":
                return f"the value is in {other!r}, and its unit is {unit!r}"
            return f"its {column} is in {other!r}, and the value {of_value}"
    return ""


@lru_cache(maxsize=1024)
def _is_same_unit(left: str, right: str) -> bool:
    if left == right:
        return True
    try:
        return canonical_unit(left) == canonical_unit(right)
    except UnknownUnit:
        return False


@lru_cache(maxsize=1024)
def _is_unit(text: str) -> bool:
    try:
        return canonical_unit(text) is not None
    except UnknownUnit:
        return False


def read_value(
    cell: str | int | Decimal, dialect: ExportDialect, *, is_text: bool = False
) -> tuple[Scalar, str, str]:
    """Value of a cell: what it is, its spelling where a number loses it, and its unit.

    The unit is empty unless the dialect has it behind the number. A serial number `0012` is text,
    and `24h` where it may be hours as well as a hexadecimal number.
    """
    if not isinstance(cell, str):
        return cell, "", ""
    text = cell.strip()
    if is_text:
        return text, "", ""
    value, spelled = number_or_text(
        text, dialect.decimal, dialect.thousands, dialect.hex_and_binary
    )
    if not isinstance(value, str):
        is_open = dialect.unit_in_value and dialect.hex_and_binary and text.lstrip("+-")[0] != "0"
        return (text, "", "") if is_open and number_and_unit(text)[1] else (value, spelled, "")
    if dialect.unit_in_value:
        number, unit = number_and_unit(text)
        if unit and (found := number_in(number, dialect)) is not None:
            return found, "", unit.strip().removeprefix("[").removesuffix("]")
    return value, spelled, ""


def number_and_unit(text: str) -> tuple[str, str]:
    """What may be the number of a text, and the unit behind it with the blanks between them.

    Without a blank it must be a unit that is known: the `O mm` of `15O mm` is a misread nought.
    """
    if (parted := _NUMBER_AND_UNIT.fullmatch(text)) is None:
        return text, ""
    behind = text[len(parted[1].rstrip()) :]
    if not behind[0].isspace() and (len(behind) > _LONGEST_UNIT or not _is_unit(behind)):
        return text, ""
    return parted[1].strip(), behind


def number_or_text(
    text: str, decimal: str, thousands: str, marked: bool = False
) -> tuple[Scalar, str]:
    """A number where the whole text is one, and its spelling where the number loses it.

    `marked` takes numbers with a mark of their base. A serial number `0012` is text.
    """
    convert = _remembered if len(text) <= _LONGEST_REMEMBERED else _number_or_text
    return convert(text, decimal, thousands, marked)


def _number_or_text(text: str, decimal: str, thousands: str, marked: bool) -> tuple[Scalar, str]:
    if len(text) > 1 and text[0] == "0" and text.isdigit():
        return text, ""
    number = _number(text, decimal, thousands, marked)
    if number is None:
        return text, ""
    return number, "" if isinstance(number, int) and str(number) == text else text


# Bulk loading meets the same few thousand cells over and over.
_remembered = lru_cache(maxsize=1 << 14)(_number_or_text)


def number_in(text: str, dialect: ExportDialect) -> int | Decimal | None:
    """The number that a text is, one with noughts before it too; None where it is none."""
    return _number(text, dialect.decimal, dialect.thousands, dialect.hex_and_binary)


def _number(text: str, decimal: str, thousands: str, marked: bool) -> int | Decimal | None:
    try:
        number = marked_number(text) if marked else None
        return parse_number(text, decimal, thousands) if number is None else number
    except ValueError:  # more digits than Python converts
        return None


def cells_of(entry: Entry, dialect: ExportDialect) -> dict[str, str]:
    """What an entry says, by our column names, as texts that read back as the same.

    The unit stands behind the value where the dialect has it there and has no place of its own.
    """
    mark = dialect.decimal

    def cell(value: Scalar | None) -> str:
        if value is None or isinstance(value, str):
            return value or ""
        return str(value).replace(".", mark)

    spelled = entry.text  # of the file it came from: good while it still says the same
    if not spelled or read_value(spelled, dialect)[0] != entry.written:
        spelled = cell(entry.written)
    if dialect.unit_in_value and entry.unit and "unit" not in dialect.columns:
        spelled += "" if isinstance(entry.written, str) else f" {entry.unit}"
    section, code = "", entry.code
    if dialect.section or "section" in dialect.columns:
        section, _, code = code.rpartition("/")
    return {
        "code": code,
        "value": spelled,
        "name": entry.name,
        "unit": entry.unit,
        "low": cell(entry.low),
        "high": cell(entry.high),
        "default": cell(entry.default),
        "access": entry.access or "",
        "type": entry.data_type or "",
        "section": section,
    }


def without_section_first(
    entries: Iterable[Entry], dialect: ExportDialect
) -> list[tuple[Entry, dict[str, str]]]:
    """Entries with their cells; those that stand in no section before the others."""
    rows = [(entry, cells_of(entry, dialect)) for entry in entries]
    return sorted(rows, key=lambda row: bool(row[1]["section"]))

"""Exports as workbooks: a sheet with a table of parameters, in .xlsx, .xls or .ods.

Cells are read exactly (`vault.formats.workbook_cells`): formulas by the value that was kept with
them, truth values as words, dates as RFC 3339 text. `line` is the number of the row; a row that is
left out names its cell, as `Parameters!B7`. Values are put back into .xlsx alone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.formats.axis_columns import matches_by_axis, reads_by_axis, writes_back_by_axis
from vault.formats.ods_parts import is_ods, read_ods
from vault.formats.rows import needed, read_rows, time_text
from vault.formats.sheet_table import (
    Layout,
    PlateCell,
    Table,
    plain,
    plain_label,
    plate_cells,
    read_table,
    told_places,
)
from vault.formats.workbook_cells import Area, Sheet, Workbook
from vault.formats.workbook_safety import CFB_SIGNATURE, ZIP_SIGNATURE
from vault.formats.xls_cells import read_xls
from vault.formats.xlsx_parts import read_xlsx
from vault.formats.xlsx_write import Writer
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Listing, Scalar, SkippedLine
from vault.model.patterns import is_found

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

HEAD_ROWS = 40
"""How many rows of a sheet may be a nameplate, or be known by a pattern."""

_MOST_COLUMNS = 256


def recognises(content: bytes, file: str) -> bool:
    """Say whether the bytes are a workbook, by the names of its members or streams."""
    return bool(_form(content))


def _form(content: bytes) -> str:
    if content.startswith(ZIP_SIGNATURE):
        # Names of members stand as they are in the directory at the end (ZIP APPNOTE 4.3.12).
        if b"xl/workbook." in content:
            return "xlsx"
        return "ods" if b"content.xml" in content and is_ods(content) else ""
    if content.startswith(CFB_SIGNATURE):
        names = ("Workbook", "Book", "EncryptedPackage")
        return "xls" if any(name.encode("utf-16-le") in content for name in names) else ""
    return ""


def open_workbook(content: bytes, file: str) -> Workbook:
    """All sheets of a workbook. Raises Unreadable for what is none, damaged or not to be trusted.

    The result is shared and must not be changed.
    """
    try:
        return _opened(content)
    except Unreadable as error:
        error.file = file or None
        raise


# A workbook is read once for each family that it may be of: the last one is kept.
@lru_cache(maxsize=1)
def _opened(content: bytes) -> Workbook:
    form = _form(content)
    if form == "xlsx":
        return read_xlsx(content)
    if form == "ods":
        return read_ods(content)
    if form == "xls":
        return read_xls(content)
    raise Unreadable("this is no workbook", line=1)


@matches_by_axis
def matches(content: bytes, dialect: ExportDialect) -> bool:
    """Say whether a workbook has the dialect's header row and all it recognises.

    A key of `dialect.recognise` is a nameplate label or field, or `text` for any cell or row of the
    first 40 rows of the sheet; its regular expression is searched there.
    """
    if not _form(content):
        return False
    try:
        book = open_workbook(content, "")
        layout = Layout(dialect)
        sheet, others = _sheet(book, layout, "")
    except (Unreadable, WrongUsage):
        return False
    plate = [*_plate_above(sheet, layout), *_plate_beside(others)]
    for key, pattern in dialect.recognise.items():
        if key == "text":
            texts = _head_texts(sheet)
        else:
            label = plain_label(key)
            texts = (
                one.text
                for one in plate
                if one.label == label or layout.labels.get(one.label) == key
            )
        if not any(is_found(pattern, text) for text in texts):
            return False
    return True


def _head_texts(sheet: Sheet) -> Iterator[str]:
    for number in sorted(sheet.rows)[:HEAD_ROWS]:
        texts = [cell.text for cell in sheet.row(number).values()]
        yield from texts
        yield " ".join(texts)


def _sheet(book: Workbook, layout: Layout, file: str) -> tuple[Sheet, list[Sheet]]:
    """The sheet with the table, and those without one. Raises Unreadable where none has it."""
    having = [sheet for sheet in book.sheets if layout.find_header(sheet)]
    others = [sheet for sheet in book.sheets if not any(sheet is one for one in having)]
    wanted = layout.dialect.sheet
    if wanted is not None:
        names = ", ".join(repr(sheet.name) for sheet in book.sheets)
        if not any(plain(sheet.name) == plain(wanted) for sheet in book.sheets):
            reason = f"the workbook has no sheet {wanted!r}: it has {names}"
            raise Unreadable(reason, file=file, line=1)
        having = [sheet for sheet in having if plain(sheet.name) == plain(wanted)]
    if not having:
        headings = f"{layout.dialect.columns['code']!r} and {layout.dialect.columns['value']!r}"
        where = f"of sheet {wanted!r}" if wanted is not None else "of any sheet"
        raise Unreadable(
            f"no row {where} holds the headings {headings}",
            file=file,
            line=1,
            hint="this may be an export of another family: name it with --family",
        )
    return having[0], others


def _plate_above(sheet: Sheet, layout: Layout) -> Iterator[PlateCell]:
    header = layout.find_header(sheet)
    for number in sorted(number for number in sheet.rows if number < header):
        yield from plate_cells(sheet, number, None)


def _plate_beside(others: list[Sheet]) -> Iterator[PlateCell]:
    """What sheets without a table say, where the sheet itself does not."""
    for sheet in others:
        for number in sorted(sheet.rows)[:HEAD_ROWS]:
            yield from plate_cells(sheet, number, None)


@reads_by_axis
def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of a workbook. A sheet has no values that refer to a node id.

    Bad rows go to `skipped` and do not hide the good ones. Raises Unreadable where the workbook is
    damaged, encrypted, hostile or holds no table of this dialect, WrongUsage without a dialect,
    when several channels are there and none was chosen, or when the chosen one is missing.
    """
    dialect = needed(dialect, "a workbook", file)
    book, layout = open_workbook(content, file), Layout(dialect)
    sheet, others = _sheet(book, layout, file)
    table = read_table(sheet, layout)
    rows = read_rows((one.row for one in table.rows), dialect, channel, file)
    bad = [bad for owner, bad in table.bad if owner is None or owner == rows.channel]
    nameplate, taken_at = _nameplate(table, others, layout, rows.channel, bad)
    skipped = sorted((*rows.skipped, *bad), key=lambda one: one.line)
    shown = {one.row.line: one.shown for one in table.rows if one.shown}
    entries = tuple(
        replace(entry, text=shown[entry.line]) if entry.line in shown else entry
        for entry in rows.entries
    )
    return Listing(
        format="sheet",
        entries=entries,
        nameplate=nameplate,
        skipped=tuple(skipped),
        holds=dialect.holds,
        channel=rows.channel,
        channels=rows.channels,
        taken_at=taken_at,
        remarks=(*_remarks(book, sheet, layout), *table.remarks),
    )


def _remarks(book: Workbook, sheet: Sheet, layout: Layout) -> Iterator[SkippedLine]:
    """What to know of the workbook as a whole; nothing was left out by it."""
    for reason in book.remarks:
        yield SkippedLine(1, "", reason)
    if sheet.formulas:
        row, count = sheet.formulas[0][0], len(sheet.formulas)
        cells = "1 cell is a formula" if count == 1 else f"{count} cells are formulas"
        reason = f"{cells} ({told_places(sheet, sheet.formulas)}): the values kept in the file "
        yield SkippedLine(row, "", reason + "were read, nothing was calculated")
    if sheet.is_hidden:
        yield SkippedLine(1, "", f"sheet {sheet.name!r} is hidden; it was read")
    hidden = sorted(number for number in sheet.hidden_rows if number in sheet.rows)
    if hidden:
        places = told_places(sheet, [(number, 1) for number in hidden])
        told = "1 row is" if len(hidden) == 1 else f"{len(hidden)} rows are"
        yield SkippedLine(hidden[0], "", f"{told} hidden ({places}); what they hold was read")
    if layout.dialect.sheet is None:
        also = [one.name for one in book.sheets if one is not sheet and layout.find_header(one)]
        if also:
            names = ", ".join(map(repr, also))
            reason = f"sheet {sheet.name!r} was read; {names} has such a table too: name the sheet "
            yield SkippedLine(1, "", reason + "in the dictionary, `sheet` under `export`")


def _nameplate(
    table: Table,
    others: list[Sheet],
    layout: Layout,
    chosen: int | None,
    bad: list[SkippedLine],
) -> tuple[dict[str, str], str | None]:
    """Nameplate fields, the channel's own before shared ones, and the time among them.

    What cannot be understood goes to `bad`.
    """
    found: dict[str, tuple[Sheet, PlateCell]] = {}
    above = [(table.sheet, one) for one in table.plate]
    beside = [(sheet, one) for sheet in others for one in _plate_beside([sheet])]
    for scope in (None,) if chosen is None else (chosen, None):
        for sheet, one in (*above, *beside):
            name = layout.labels.get(one.label)
            if name and one.text and one.channel == scope:
                found.setdefault(name, (sheet, one))
    taken_at = None
    for name, (sheet, one) in list(found.items()):
        reason = one.cell.fault
        if name == "taken_at" and not reason:
            try:
                form = None if one.cell.is_date else layout.dialect.time_format
                taken_at = time_text(one.text, form)
            except ValueError:
                form = layout.dialect.time_format or "RFC 3339"
                reason = f"{one.text!r} is not a time as {form} has it"
        if reason:
            place = sheet.place(one.row, one.column)
            bad.append(SkippedLine(one.row, f"{place} {one.text}", reason))
        if reason or name == "taken_at":
            del found[name]
    return {name: one.text for name, (_, one) in found.items()}, taken_at


@dataclass(frozen=True, slots=True)
class SheetCells:
    """One sheet as it stands, for who looks for a table in it.

    `rows` begin with row 1 and column 1 and end with the last that holds something, up to the
    limit that was asked for; None is an empty cell. `formulas` counts cells, `last_row` is the
    number of the last row that holds something.
    """

    name: str
    is_hidden: bool
    rows: tuple[tuple[str | int | Decimal | None, ...], ...]
    merged: tuple[Area, ...]
    formulas: int
    last_row: int


def sheets(content: bytes, file: str, *, most_rows: int = 5000) -> tuple[SheetCells, ...]:
    """Every sheet of a workbook, merged cells with the value of the first in each.

    Raises Unreadable as `read` does.
    """
    return tuple(_sheet_cells(sheet, most_rows) for sheet in open_workbook(content, file).sheets)


def _sheet_cells(sheet: Sheet, most_rows: int) -> SheetCells:
    rows = []
    for number in range(1, min(sheet.last_row, most_rows) + 1):
        cells = {at: one for at, one in sheet.row(number).items() if at <= _MOST_COLUMNS}
        width = max(cells, default=0)
        rows.append(tuple(cells[at].value if at in cells else None for at in range(1, width + 1)))
    return SheetCells(
        sheet.name,
        sheet.is_hidden,
        tuple(rows),
        tuple(sheet.merged),
        len(sheet.formulas),
        sheet.last_row,
    )


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
    """Put values into an .xlsx workbook, by code; every other part of the file stays as it is.

    A number cell stays one, a text is written into its cell; styles stay. A formula gives way to
    the value, and with it the workbook's order of calculation (its program makes that anew). The
    cells of code and value of `drop` are emptied. Raises WrongUsage for a code that is not there, a
    value that its cell cannot hold, a formula that is left beside changed values, and another form
    of workbook.
    """
    dialect = needed(dialect, "a workbook", file)
    book, layout = open_workbook(original, file), Layout(dialect)
    if book.form != "xlsx":
        reason = f"values cannot be put into a workbook in the form of .{book.form}"
        hint = "save it as .xlsx, take that in, and restore from it"
        raise WrongUsage(reason, file=file, hint=hint)
    sheet, _ = _sheet(book, layout, file)
    table = read_table(sheet, layout)
    entries = {
        entry.code: entry
        for entry in read_rows((one.row for one in table.rows), dialect, channel, file).entries
    }
    for code in (*values, *drop):
        if code not in entries:
            raise WrongUsage(f"the workbook has no {code} to put a value in", file=file)
    by_line = {one.row.line: one for one in table.rows}
    rows = {code: by_line[entry.line] for code, entry in entries.items()}
    writer = Writer(original, sheet, dialect, file)
    for code, value in values.items():
        if code not in drop:
            writer.put(rows[code], code, value, entries[code].written)
    dropped = [rows[code] for code in drop]
    others = {
        place
        for one in table.rows
        if not any(one is row for row in dropped)
        for place in (one.code, one.value)
    }
    for code in drop:
        writer.empty(rows[code], code, others)
    kept = {code: row.value for code, row in rows.items() if code not in {*values, *drop}}
    return writer.written(kept)

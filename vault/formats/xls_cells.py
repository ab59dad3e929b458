"""Workbooks in the older binary form (BIFF in a compound file), read through calamine.

It tells neither which values are formulas nor which rows are hidden, and errors come as empty
cells; so does what is told of them here.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from io import BytesIO

from python_calamine import (
    CalamineError,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from vault.formats.workbook_cells import MOST_CELLS, MOST_ROWS, Cell, Sheet, Workbook, exact_number
from vault.model.errors import Unreadable

_REMARK = (
    "the older form of workbooks: which values are formulas is not told, and cells with an error "
    "are read as empty"
)


def read_xls(content: bytes) -> Workbook:
    """Read all sheets. Raises Unreadable for what is encrypted, damaged or too large."""
    if "EncryptedPackage".encode("utf-16-le") in content:
        raise _encrypted()
    try:
        with CalamineWorkbook.from_filelike(BytesIO(content)) as opened:
            book = Workbook("xls", [], [_REMARK])
            for index, about in enumerate(opened.sheets_metadata):
                is_hidden = about.visible is not SheetVisibleEnum.Visible
                sheet = Sheet(about.name, is_hidden)
                book.sheets.append(sheet)
                if about.typ is SheetTypeEnum.WorkSheet:
                    _read_sheet(opened, index, sheet)
    except PasswordError as error:
        raise _encrypted() from error
    except (CalamineError, OSError, ValueError) as error:
        raise _damaged() from error
    except BaseException as error:
        if type(error).__name__ != "PanicException":  # of the library, outside Exception
            raise
        raise _damaged() from error
    if "_VBA_PROJECT_CUR".encode("utf-16-le") in content:
        book.remarks.append("the workbook holds macros: they were not run")
    return book


def _encrypted() -> Unreadable:
    hint = "save it without a password"
    return Unreadable("the workbook is encrypted", line=1, hint=hint)


def _damaged() -> Unreadable:
    reason = "the workbook is cut off or damaged"
    return Unreadable(reason, line=1, hint="copy it again, or save it as .xlsx")


def _read_sheet(book: CalamineWorkbook, index: int, sheet: Sheet) -> None:
    found = book.get_sheet_by_index(index)
    count = 0
    for number, row in enumerate(found.to_python(skip_empty_area=False), 1):
        for column, value in enumerate(row, 1):
            if (cell := _cell(value)) is not None:
                sheet.put(number, column, cell)
                count += 1
        if count > MOST_CELLS or len(sheet.rows) > MOST_ROWS:
            reason = f"{sheet.place(number, 1)}: sheets of up to {MOST_ROWS} rows are read"
            raise Unreadable(reason, line=number)
    for (top, left), (bottom, right) in found.merged_cell_ranges or ():
        sheet.merged.append((top + 1, left + 1, bottom + 1, right + 1))


def _cell(value: object) -> Cell | None:
    if isinstance(value, bool):
        return Cell("true" if value else "false")
    if isinstance(value, int):
        return Cell(value)
    if isinstance(value, float):
        number = exact_number(repr(value))
        return None if number is None else Cell(number)
    if isinstance(value, datetime) and value.time() == time():
        return Cell(value.date().isoformat(), is_date=True)
    if isinstance(value, datetime | date | time):
        return Cell(value.isoformat(), is_date=True)
    if isinstance(value, timedelta):
        return Cell(str(value), is_date=True)
    return Cell(str(value)) if value != "" else None

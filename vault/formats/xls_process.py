"""A program of its own that reads an older workbook: bytes come in, JSON goes out.

The library that reads them ends its whole process where a hostile file asks for too much memory.
So it runs apart, with memory and time that are limited. It imports nothing of ours: what reads
its answer is `vault.formats.xls_cells`.
"""

from __future__ import annotations

import json
import sys
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from io import BytesIO
from typing import Any

from python_calamine import (
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

_MOST_MEMORY = 2 * 1024**3
_MOST_PLACES = 4_000_000  # of a sheet, empty ones too: each takes memory


def _limit_memory() -> None:
    with suppress(ImportError, ValueError, OSError):  # there is no such limit on every system
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))


def _cell(value: object) -> tuple[str, str] | None:
    """Kind and text: of a number the shortest that gives the same double."""
    if isinstance(value, bool):
        return "text", "true" if value else "false"
    if isinstance(value, int | float):
        return "number", repr(value)
    if isinstance(value, datetime) and value.time() == time():
        return "date", value.date().isoformat()
    if isinstance(value, datetime | date | time):
        return "date", value.isoformat()
    if isinstance(value, timedelta):
        return "date", str(value)
    return ("text", str(value)) if value != "" else None


def _sheet(book: CalamineWorkbook, index: int) -> dict[str, Any]:
    about = book.sheets_metadata[index]
    found: dict[str, Any] = {
        "name": about.name,
        "is_hidden": about.visible is not SheetVisibleEnum.Visible,
        "cells": [],
        "merged": [],
    }
    if about.typ is not SheetTypeEnum.WorkSheet:
        return found
    page = book.get_sheet_by_index(index)
    if page.total_height * page.total_width > _MOST_PLACES:
        return {**found, "is_too_wide": True}
    for row, values in enumerate(page.to_python(skip_empty_area=False), 1):
        for column, value in enumerate(values, 1):
            if (cell := _cell(value)) is not None:
                found["cells"].append((row, column, *cell))
    for (top, left), (bottom, right) in page.merged_cell_ranges or ():
        found["merged"].append((top + 1, left + 1, bottom + 1, right + 1))
    return found


def main() -> None:
    """Answer on the standard output; end with 3 for a password, with another number for damage."""
    _limit_memory()
    content = sys.stdin.buffer.read()
    try:
        with CalamineWorkbook.from_filelike(BytesIO(content)) as book:
            sheets = [_sheet(book, index) for index in range(len(book.sheets_metadata))]
    except PasswordError:
        sys.exit(3)
    except BaseException:  # what the library panics with is no Exception
        sys.exit(2)
    sys.stdout.write(json.dumps(sheets))


if __name__ == "__main__":
    main()

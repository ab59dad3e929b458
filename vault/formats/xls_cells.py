"""Workbooks in the older binary form (BIFF in a compound file), read through calamine.

It tells neither which values are formulas nor which rows are hidden, and errors come as empty
cells; so does what is told of them here. It runs in a process of its own (`xls_process`).
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

from vault.formats.workbook_cells import MOST_CELLS, MOST_ROWS, Cell, Sheet, Workbook, exact_number
from vault.model.errors import Unreadable

_PROGRAM = Path(__file__).with_name("xls_process.py")
_MOST_SECONDS = 60
_REMARK = (
    "the older form of workbooks: which values are formulas is not told, and cells with an error "
    "are read as empty"
)
_PERCENT = (
    "numbers in it are displayed as percentages, and which ones is not told: what shows 50 % is "
    "read as 0.5; save it as .xlsx"
)
_FORMAT = re.compile(rb"\x1e\x04.\x00(..)(.{0,80})", re.DOTALL)
_XF = re.compile(rb"\xe0\x00\x14\x00..(..)(.)", re.DOTALL)


def read_xls(content: bytes) -> Workbook:
    """Read all sheets. Raises Unreadable for what is encrypted, damaged or too large."""
    if "EncryptedPackage".encode("utf-16-le") in content:
        raise _encrypted()
    try:
        done = subprocess.run(  # noqa: S603 - our own program; -P: nothing of the folder is run
            [sys.executable, "-P", str(_PROGRAM)],
            input=content,
            capture_output=True,
            check=False,
            timeout=_MOST_SECONDS,
        )
    except (subprocess.TimeoutExpired, OSError) as error:
        raise _damaged() from error
    if done.returncode == 3:
        raise _encrypted()
    if done.returncode:
        raise _damaged()
    book = Workbook("xls", [], [_REMARK])
    for found in json.loads(done.stdout):
        sheet = Sheet(found["name"], found["is_hidden"])
        book.sheets.append(sheet)
        if found.get("is_too_wide"):
            reason = f"sheet {sheet.name!r} has cells too far from each other: this is no export"
            raise Unreadable(reason, line=1, hint="save it as .xlsx")
        sheet.merged += [tuple(area) for area in found["merged"]]
        _fill(sheet, found["cells"])
    if _shows_percent(content):
        book.remarks.append(_PERCENT)
    if "_VBA_PROJECT_CUR".encode("utf-16-le") in content:
        book.remarks.append("the workbook holds macros: they were not run")
    return book


def _shows_percent(content: bytes) -> bool:
    """Whether cells are displayed as percentages, by the records FORMAT and XF (from memory)."""
    displays = {b"\x09\x00", b"\x0a\x00"}
    displays |= {found[1] for found in _FORMAT.finditer(content) if b"%" in found[2]}
    return any(xf[1] in displays and not xf[2][0] & 4 for xf in _XF.finditer(content))


def _encrypted() -> Unreadable:
    return Unreadable("the workbook is encrypted", line=1, hint="save it without a password")


def _damaged() -> Unreadable:
    reason = "the workbook is cut off or damaged"
    return Unreadable(reason, line=1, hint="copy it again, or save it as .xlsx")


def _fill(sheet: Sheet, cells: list[tuple[int, int, str, str]]) -> None:
    for row, column, kind, text in cells:
        number = exact_number(text) if kind == "number" else None
        sheet.put(row, column, Cell(text if number is None else number, is_date=kind == "date"))
        if len(sheet.rows) > MOST_ROWS:
            reason = f"{sheet.place(row, column)}: sheets of up to {MOST_ROWS} rows are read"
            raise Unreadable(reason, line=row)
    if len(cells) > MOST_CELLS:
        raise Unreadable(f"sheet {sheet.name!r}: up to {MOST_CELLS} cells are read", line=1)

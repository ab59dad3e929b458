"""The sheets of a workbook as tables."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from vault.formats.sheet import HEAD_ROWS, sheets
from vault.jobs.drafting.raw_table import RawTable
from vault.model.quantities import plain

_MOST_ROWS = 20_000


def workbook_tables(content: bytes, file: str, wanted: str | None = None) -> Iterator[RawTable]:
    """Every sheet, hidden ones last. Raises Unreadable for what is no workbook."""
    found = sheets(content, file, most_rows=_MOST_ROWS)
    texts = {sheet.name: [tuple(map(_text, row)) for row in sheet.rows] for sheet in found}
    for sheet in sorted(found, key=lambda one: one.is_hidden):
        if wanted is not None and sheet.name != wanted:
            continue
        filled = [(row, at) for at, row in enumerate(texts[sheet.name], 1) if any(row)]
        keys = {"format": "sheet"}
        if len(found) > 1:
            keys["sheet"] = sheet.name
        covers = [
            row
            for name, rows in texts.items()
            if name != sheet.name and len(rows) <= HEAD_ROWS
            for row in rows
            if any(row)
        ]
        rows, lines = [row for row, _ in filled], [at for _, at in filled]
        yield RawTable(keys, rows, lines, plate=covers, two_header_rows=True)


def sheet_names(content: bytes, file: str) -> tuple[str, ...]:
    """Names of all sheets, in the order of the workbook."""
    return tuple(sheet.name for sheet in sheets(content, file, most_rows=1))


def _text(cell: str | int | Decimal | None) -> str:
    if cell is None or isinstance(cell, str):
        return " ".join((cell or "").split())
    return plain(cell)

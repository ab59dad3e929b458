"""Tables: rows of cells with what stands above, between and below them; and their containers."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from decimal import Decimal
from io import BytesIO, StringIO

import xlsxwriter
import xlwt

from tests.drafting import spelling
from tests.drafting.truth import Style, TrueParameter
from tests.formats.workbook_files import open_document, row_of

Cell = str | Decimal
Grid = list[list[Cell]]


def grid(parameters: Sequence[TrueParameter], axes: int, style: Style) -> Grid:
    """All rows of an export that is a table."""
    rows: Grid = []
    if style.title:
        rows += [[spelling.TITLES[style.language]], []]
    if style.plate:
        apart = style.container in ("xlsx", "ods", "xls")
        for label, text in spelling.plate(style).values():
            rows.append([label, text] if apart else [f"{label}: {text}"])
        rows.append([])
    rows.append([spelling.heading(style, column) for column in style.columns])
    rows += _data(parameters, axes, style)
    if style.footer:
        rows += [[], [spelling.FOOTERS[style.language]]]
    return rows


def _data(parameters: Sequence[TrueParameter], axes: int, style: Style) -> Iterator[list[Cell]]:
    for at in range(axes):
        if style.axes == "heading":
            yield [f"[{spelling.AXES[style.language]} {at + 1}]"]
        section = ""
        for n, one in enumerate(parameters):
            if style.sections == "heading" and one.section != section:
                section = one.section
                yield [f"[{section}]"]
            if style.comments and n % 7 == 3:
                yield [f"# {one.name.split()[0]}"]
            told = spelling.cells(one, at, style)
            row: list[Cell] = [told[column] for column in style.columns]
            value = one.values[at]
            if _is_workbook(style) and isinstance(value, Decimal) and style.units != "value":
                row[style.columns.index("value")] = value if not one.base else told["value"]
                for column, bound in (("low", one.low), ("high", one.high)):
                    if column in style.columns and bound is not None:
                        row[style.columns.index(column)] = bound
            yield row


def _is_workbook(style: Style) -> bool:
    return style.container in ("xlsx", "ods", "xls")


def delimited(rows: Grid, style: Style) -> bytes:
    """The rows with a mark between their cells; lines that are no rows stand without quotes."""
    stream = StringIO()
    quoting = csv.QUOTE_ALL if style.quotes else csv.QUOTE_MINIMAL
    writer = csv.writer(
        stream, delimiter=style.delimiter, quoting=quoting, lineterminator=style.line_end
    )
    for row in rows:
        if len(row) < 2:
            stream.write("".join(map(str, row)) + style.line_end)
        else:
            writer.writerow(row)
    return encoded(stream.getvalue(), style)


def fixed(rows: Grid, style: Style) -> bytes:
    """The rows with their cells below each other."""
    table = [row for row in rows if len(row) > 1]
    widths = [max(len(str(row[at])) for row in table) + 2 for at in range(len(table[0]))]
    lines = []
    for row in rows:
        cells = [str(cell).ljust(width) for cell, width in zip(row, widths, strict=False)]
        lines.append("".join(cells).rstrip() if len(row) > 1 else "".join(map(str, row)))
    return encoded("".join(line + style.line_end for line in lines), style)


def encoded(text: str, style: Style) -> bytes:
    """A text in the encoding of an export."""
    if style.encoding == "utf-16":
        return b"\xff\xfe" + text.encode("utf-16-le")
    return text.encode(style.encoding)


def xlsx(rows: Grid, style: Style) -> bytes:
    """A workbook; its cover sheet holds no table."""
    stream = BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True, "strings_to_numbers": False})
    if style.headings % 2:
        book.add_worksheet("Cover").write(1, 1, "Invented for tests")
    sheet = book.add_worksheet("Parameters")
    for at, row in enumerate(rows):
        for column, cell in enumerate(row):
            if isinstance(cell, Decimal):
                sheet.write_number(at, column, float(cell))
            elif cell:
                sheet.write_string(at, column, cell)
    book.close()
    return stream.getvalue()


def xls(rows: Grid, style: Style) -> bytes:
    """A workbook of the older kind."""
    book = xlwt.Workbook()
    sheet = book.add_sheet("Parameters")
    for at, row in enumerate(rows):
        for column, cell in enumerate(row):
            if cell != "":
                sheet.write(at, column, float(cell) if isinstance(cell, Decimal) else cell)
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def ods(rows: Grid, style: Style) -> bytes:
    """A workbook in OpenDocument form."""
    told = []
    for row in rows:
        cells = [float(cell) if isinstance(cell, Decimal) else escaped(cell) for cell in row]
        told.append(row_of(*cells) or row_of(""))
    return open_document(*told)


def escaped(text: str) -> str:
    """A text as XML has it."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")

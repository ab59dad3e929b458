"""Putting values into delimited text that there is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from vault.formats.axis_columns import writes_back_by_axis
from vault.formats.delimited_rows import Layout, Scan, Table
from vault.formats.rows import needed
from vault.formats.text_back import Place, line_starts, put_back
from vault.model.errors import WrongUsage

if TYPE_CHECKING:
    from vault.model.export import Scalar
    from vault.model.export_dialect import ExportDialect


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
    """Put values into an export, by code; quotes and blanks around a value stay."""
    dialect = needed(dialect, "delimited text", file)
    layout = Layout(dialect)
    return put_back(
        original,
        lambda lines: _places(lines, layout),
        values,
        file=file,
        dialect=dialect,
        channel=channel,
        drop=drop,
    )


@dataclass(slots=True)
class _Placing(Scan):
    """A scan that keeps under which header each row stands, and which line follows the row."""

    values: list[int] = field(default_factory=list)

    def _take(self, row: list[str], table: Table, start: int, *, last: bool) -> Table:
        rows = len(self.rows)
        following = Scan._take(self, row, table, start, last=last)
        self.values += [table.value] * (len(self.rows) - rows)
        return following


def _places(lines: list[str], layout: Layout) -> list[Place]:
    scan = _Placing(lines, layout)
    scan.run()
    text, starts = "".join(lines), line_starts(lines)
    lines_at = {start: number for number, start in enumerate(starts)}
    found = []
    for (line, channel, cells), column in zip(scan.rows, scan.values, strict=True):
        spans, end = _cells(text, starts[line - 1], layout)
        start, stop = spans[column]
        cell = _Cell(text[start:stop], layout)
        place = range(line - 1, lines_at[end])
        found.append(Place(cells[0], channel, place, start, stop, cells[1], cell.put))
    return found


@dataclass(frozen=True, slots=True)
class _Cell:
    """A cell as it stands in the file."""

    spelled: str
    layout: Layout

    def put(self, new: str) -> str:
        """The cell with another text in it, as it was quoted and padded."""
        quote = self.layout.dialect.quote
        is_quoted = bool(quote) and self.spelled.startswith(quote)
        inside = self.spelled[1:-1] if is_quoted else self.spelled
        before = inside[: len(inside) - len(inside.lstrip())]
        behind = inside[len(inside.rstrip()) :] if inside.strip() else ""
        try:
            return self.layout.quoted(before + new + behind, force=is_quoted)
        except WrongUsage as error:
            raise ValueError(error.message) from error


def _cells(text: str, at: int, layout: Layout) -> tuple[list[tuple[int, int]], int]:
    """Where the cells of a row stand that `csv` has read, and the begin of the next line."""
    quote, spans = layout.dialect.quote, []
    while True:
        start = at
        if quote and text.startswith(quote, at):
            at = text.index(quote, at + 1) + 1
            while text.startswith(quote, at):  # doubled, it is a quote in the cell
                at = text.index(quote, at + 1) + 1
        while at < len(text) and text[at] not in (layout.delimiter, "\r", "\n"):
            at += 1
        spans.append((start, at))
        if not text.startswith(layout.delimiter, at):
            break
        at += 1
    return spans, at + (2 if text.startswith("\r\n", at) else at < len(text))

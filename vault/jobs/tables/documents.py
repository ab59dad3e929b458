"""JSON of a table that was written."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from vault.jobs.tables.write_table import WrittenTable


class TableDocument(TypedDict):
    """The whole vault as one table of values over time."""

    path: str
    """The file that was written."""

    format: Literal["csv", "parquet"]
    """How it is written."""

    rows: int
    """How many values over time it has."""

    axes: int
    """Of how many axes."""


def table_document(table: WrittenTable) -> TableDocument:
    """What `table` answers."""
    return {
        "path": str(table.path),
        "format": table.format,
        "rows": table.rows,
        "axes": table.axes,
    }

"""The table of a delimited export, apart from what stands above it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.formats.delimited_rows import Layout, Scan
from vault.formats.text_encoding import decode, split_lines

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect


@dataclass(frozen=True, slots=True)
class Table:
    """An export in parts, each of lines with their ends: above the header row, that row, below.

    Blank lines below are left out.
    """

    above: tuple[str, ...]
    header: tuple[str, ...]
    below: list[str]


def split_table(content: bytes, dialect: ExportDialect) -> Table | None:
    """Take an export apart; None where it has no header row.

    Raises Unreadable as `vault.formats.delimited.read` does where it cannot be decoded.
    """
    text, _ = decode(content, dialect.encoding, cut_off=True)
    lines = split_lines(text)
    scan = Scan(lines, Layout(dialect))
    if not scan.run(header_only=True):
        return None
    start, behind = scan.header
    below = [line for line in lines[behind:] if not line.isspace()]
    return Table(tuple(lines[:start]), tuple(lines[start:behind]), below)

"""Reading some lines of a delimited export by themselves, where each below the header is a row.

For whoever meets the same lines in export after export. What a line says depends on itself, the
header row, the dialect and the channel alone, where nothing unusual is in the text; anything
unusual is left to `vault.formats.delimited.read`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.formats.delimited import entries_of, nameplate_of
from vault.formats.delimited_rows import Layout, Scan
from vault.formats.text_encoding import decode
from vault.model.export import Entry, Listing, SkippedLine

if TYPE_CHECKING:
    from vault.model.families import ExportDialect

_REACH = 120  # lines among which the header row is looked for
_HEADER_BEFORE = 60  # so that no quoted cell reaches beyond those lines


@dataclass(frozen=True, slots=True)
class Apart:
    """An export taken apart: the lines of the header row, and those below without their ends."""

    header: tuple[str, ...]
    nameplate: dict[str, str]
    below: list[str]
    end: str


@dataclass(frozen=True, slots=True)
class Row:
    """What one line says: an entry that all channels share, or one of a channel."""

    channel: int | None
    entry: Entry


class LineReader:
    """Reads exports of one dialect in parts."""

    def __init__(self, dialect: ExportDialect) -> None:
        self._dialect = dialect
        self._layout = Layout(dialect)

    def take_apart(self, content: bytes, channel: int | None) -> Apart | None:
        """The export in parts; None where that cannot be told with certainty.

        Raises Unreadable as `read` does where it cannot be decoded.
        """
        rule = self._dialect.channel
        if (rule is not None and rule.section) or (rule is None) != (channel is None):
            return None
        text, _ = decode(content, self._dialect.encoding, cut_off=True)
        end = "\r\n" if "\r" in text else "\n"
        lines = text.split(end)
        ends, returns = text.count("\n"), text.count("\r")
        if lines[-1] or len(lines) - 1 != ends or returns not in (0, ends):
            return None
        head = [line + end for line in lines[:_REACH]]
        scan = Scan(head, self._layout)
        if not scan.run(header_only=True) or scan.header[1] > _HEADER_BEFORE:
            return None
        start, behind = scan.header
        nameplate, _ = nameplate_of(scan, channel, self._dialect, [])
        return Apart(tuple(head[start:behind]), nameplate, lines[behind:-1], end)

    def is_aside(self, line: str) -> bool:
        """True for blank lines and comments."""
        return self._layout.is_aside(f"{line}\n")

    def rows(self, apart: Apart, lines: Sequence[str], channel: int | None) -> list[Row] | None:
        """What some lines of an export say, which are no asides; None for anything unusual.

        Rows of other channels than the chosen one have an entry that says nothing.
        """
        scan = Scan([*apart.header, *(line + apart.end for line in lines)], self._layout)
        first = len(apart.header) + 1
        scan.run()
        places = [line for line, _, _ in scan.rows]
        if scan.skipped or places != list(range(first, first + len(lines))):
            return None
        bad: list[SkippedLine] = []
        entries = {e.line: e for e in entries_of(scan, channel, self._dialect, bad)}
        if bad:
            return None
        nothing = Entry("", "", 0)
        return [Row(owner, entries.get(line, nothing)) for line, owner, _ in scan.rows]

    def content(self, apart: Apart, entries: Sequence[Entry]) -> Listing:
        """The export as if it held these entries alone."""
        return Listing("delimited", tuple(entries), apart.nameplate, holds=self._dialect.holds)

"""Computing parameters.yaml and coverage again, from exports that mostly say what others said.

A line of a table that stood under the same header row in another export of the family gives the
same line of parameters.yaml, so it is remembered. Lines that are new are read by the stages that
read every export, in a short export that has no others. Where anything is unusual about an export,
all of it is read so.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from vault.formats.delimited import list_lines
from vault.formats.delimited_table import Table, split_table
from vault.jobs.export.content import MAX_PARAMETERS
from vault.jobs.export.parameter_set import is_foreign
from vault.jobs.export.read_export import read_export
from vault.model.coverage import Coverage
from vault.model.errors import VaultError
from vault.model.normalise import family_definitions, normalise
from vault.model.parameters import code_order
from vault.store.files.parameters_text import lines_text, parameter_line

if TYPE_CHECKING:
    from vault.model.export import Listing
    from vault.model.families import Family
    from vault.model.snapshots import SnapshotRecord
    from vault.store.vault import FamilyFile

_MOST_LINES = 1 << 15  # remembered at a time, about 0.5 kB each


class _Line(NamedTuple):
    """What a line of an export gives: a parameter's code, and its line of parameters.yaml."""

    code: str
    text: str


class Recomputed(NamedTuple):
    """parameters.yaml of an export, and what of the drive's set it gives."""

    parameters_text: bytes
    coverage: Coverage


class Recomputer:
    """Computes what exports give, and remembers a bounded number of their lines."""

    def __init__(self) -> None:
        self._lines: dict[tuple[object, ...], dict[str, _Line]] = {}
        self._count = 0

    def recompute(
        self, content: bytes, family: FamilyFile | None, record: SnapshotRecord
    ) -> Recomputed:
        """What an export gives, read as its record says. Raises as `read_export` does."""
        version, text = record.normalisation, None
        is_whole = record.channel is None and record.pick is None
        if family is not None and is_whole and _is_plain_table(family):
            try:
                text = self._from_lines(content, family, version)
            except (VaultError, ValueError):  # told below, with the file's name and line
                text = None
        if text is not None:
            return Recomputed(text, Coverage())
        export = read_export(
            content,
            record.export_name,
            family,
            channel=record.channel,
            node_id=record.node_id,
            pick=record.pick,
            partial=True,
            version=version,
        )
        return Recomputed(export.parameters_text, export.coverage)

    def _from_lines(self, content: bytes, family: FamilyFile, version: int) -> bytes | None:
        """The same from lines met before; None where that cannot be told with certainty.

        That is: of a table that is whole by all that it says of itself.
        """
        dictionary = family.family
        if not content.endswith((b"\n", b"\r")):
            return None
        table = split_table(content, dictionary.export)
        if table is None or not 0 < len(table.below) <= min(_MOST_LINES // 4, MAX_PARAMETERS):
            return None
        if self._count + len(table.below) > _MOST_LINES:
            self._lines.clear()
            self._count = 0
        firmware, counts_rows = _told_above(table.above + table.header, dictionary)
        if counts_rows:
            return None
        known = self._lines.setdefault((family, firmware, table.header, version), {})
        new = [line for line in dict.fromkeys(table.below) if line not in known]
        if new:
            fresh = _read_lines(table, new, dictionary, version)
            if fresh is None:
                return None
            known |= fresh
            self._count += len(fresh)
        return _put_together([known[line] for line in table.below], dictionary, firmware)


def _is_plain_table(family: FamilyFile) -> bool:
    dialect = family.family.export
    is_apart = dialect.channel is None and dialect.section is None  # no line says of others
    return dialect.format == "delimited" and is_apart


@lru_cache(maxsize=4)  # what stands above a table is often as in the export before
def _told_above(table_head: tuple[str, ...], family: Family) -> tuple[str | None, bool]:
    """The firmware, and whether a number of rows stands there."""
    listing = _list(table_head, family)
    return listing.nameplate.get("firmware"), bool(listing.remarks)


def _list(lines: Sequence[str], family: Family) -> Listing:
    return list_lines(list(lines), file="", dialect=family.export, channel=None)


def _read_lines(
    table: Table, lines: Sequence[str], family: Family, version: int
) -> dict[str, _Line] | None:
    """Read lines of a table; None unless each of them is one good entry by itself."""
    head = table.above + table.header
    listing = _list([*head, *lines], family)
    places = range(len(head) + 1, len(head) + 1 + len(lines))
    if [entry.line for entry in listing.entries] != list(places):
        return None
    normalised = normalise(listing, family, version)
    if len(normalised.parameters) != len(lines):
        return None
    codes = [entry.code for entry in listing.entries]
    texts = (parameter_line(normalised.parameters[code]) for code in codes)
    return dict(zip(lines, map(_Line, codes, texts), strict=True))


def _put_together(lines: Sequence[_Line], family: Family, firmware: str | None) -> bytes | None:
    """parameters.yaml of what all lines give; None where they do not go together."""
    codes, texts = zip(*lines, strict=True)
    order = _canonical_order(codes)
    known = sum(map(family_definitions(family, firmware).__contains__, codes))
    if not order or is_foreign(len(codes) - known, len(codes), family):
        return None
    return lines_text([texts[place] for place in order])


@lru_cache(maxsize=32)  # exports of a family list the same codes
def _canonical_order(codes: tuple[str, ...]) -> list[int]:
    """Places of the codes in canonical order; none where one stands twice."""
    if len(set(codes)) != len(codes):
        return []
    return sorted(range(len(codes)), key=lambda place: code_order(codes[place]))

"""Is a table whole? By a count that stands above it, and by how it ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.model.export import SkippedLine

if TYPE_CHECKING:
    from vault.formats.delimited_rows import Scan

# What tools write before a number of parameters (common practice, no source).
_COUNT_LABELS = frozenset(
    {
        "parameters", "parameter count", "number of parameters", "count", "rows", "entries",
        "records", "anzahl", "anzahl parameter", "parameteranzahl",
    }
)  # fmt: skip


def remarks_of(scan: Scan) -> tuple[SkippedLine, ...]:
    """Lines by which a part may be missing: fewer rows than a count says, no end of the last."""
    return tuple(_remarks(scan))


def _remarks(scan: Scan) -> Iterator[SkippedLine]:
    rows = len(scan.rows) + len(scan.skipped)
    for line in scan.nameplate:
        if line.label in _COUNT_LABELS and line.value.isdecimal() and int(line.value[:9]) > rows:
            said = f"{rows} of {line.value} rows are there: the file seems cut off"
            yield SkippedLine(line.line, line.spelled, said)
    last = scan.lines[-1] if scan.lines else "\n"
    begun = last.isspace() and scan.layout.delimiter in last  # a row whose first cells are empty
    if not last.endswith(("\n", "\r")) and (begun or not scan.layout.is_aside(last)):
        said = "the last line has no line end: it may be cut off in it"
        yield SkippedLine(len(scan.lines), last[:80], said)


def ends_of(scan: Scan) -> frozenset[str]:
    """The marks of a whole file that this one has: `last line`, `closing comment`."""
    found: set[str] = set()
    if scan.lines and scan.lines[-1].endswith(("\n", "\r")):
        found.add("last line")
    last_row = max((line for line, _, _ in scan.rows), default=0)
    behind = scan.lines[last_row:]
    if any(scan.layout.is_aside(line) and not line.isspace() for line in behind):
        found.add("closing comment")
    return frozenset(found)

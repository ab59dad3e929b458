"""Is a text export whole? By a count that stands above its table, and by how it ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from vault.formats.nameplate import NameplateLine
from vault.formats.text_encoding import CUT_SHORT
from vault.model.export import SkippedLine

# What tools write before a number of parameters (common practice, no source).
_COUNT_LABELS = frozenset(
    {
        "parameters", "parameter count", "number of parameters", "count", "rows", "entries",
        "records", "anzahl", "anzahl parameter", "parameteranzahl",
    }
)  # fmt: skip


def is_count(label: str) -> bool:
    """Whether a label in comparable form is of a number of parameters."""
    return label in _COUNT_LABELS


def remarks_of(
    lines: Sequence[str],
    nameplate: Sequence[NameplateLine],
    rows: int,
    is_aside: Callable[[str], bool],
) -> tuple[SkippedLine, ...]:
    """Lines by which a part may be missing: fewer rows than a count says, no end of the last.

    `is_aside` says of a line that nothing is missing where it breaks off.
    """
    return tuple(_remarks(lines, nameplate, rows, is_aside))


def _remarks(
    lines: Sequence[str],
    nameplate: Sequence[NameplateLine],
    rows: int,
    is_aside: Callable[[str], bool],
) -> Iterator[SkippedLine]:
    for line in nameplate:
        if is_count(line.label) and line.value.isdecimal() and int(line.value[:9]) > rows:
            said = f"{rows} of {line.value} rows are there: {CUT_SHORT}"
            yield SkippedLine(line.line, line.spelled, said)
    last = lines[-1] if lines else "\n"
    if not last.endswith(("\n", "\r")) and not is_aside(last):
        said = "the last line has no line end: it may be cut off in it"
        yield SkippedLine(len(lines), last[:80], said)


def ends_of(lines: Sequence[str], last_row: int, is_aside: Callable[[str], bool]) -> frozenset[str]:
    """The marks of a whole file that this one has: `last line`, `closing comment`."""
    found: set[str] = set()
    if lines and lines[-1].endswith(("\n", "\r")):
        found.add("last line")
    if any(is_aside(line) and not line.isspace() for line in lines[last_row:]):
        found.add("closing comment")
    return frozenset(found)

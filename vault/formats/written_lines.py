"""Lines of an export that is written anew, held against what they read back as."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from vault.formats.line_scan import Scanner, listing_of
from vault.formats.rows import entry_of
from vault.formats.text_encoding import decode, encode, split_lines
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry

if TYPE_CHECKING:
    from vault.model.export import Listing, SkippedLine
    from vault.model.export_dialect import ExportDialect


def written_lines(
    listing: Listing,
    dialect: ExportDialect,
    owned: Iterable[tuple[str, str]],
    scanner: Scanner,
) -> bytes:
    """Encode the lines, each with the name of what it is about.

    Raises WrongUsage where a value, or the nameplate, would read back as another.
    """
    owned = list(owned)
    end = "\r\n" if dialect.line_end == "crlf" else "\n"
    for owner, line in owned:
        if "\n" in line or "\r" in line:
            raise WrongUsage(f"{owner}: a line break cannot be written")
    encoded = encode(owned, listing.encoding, end)
    try:
        scan = scanner(split_lines(decode(encoded, dialect.encoding)[0]), dialect)
    except Unreadable as error:
        raise WrongUsage(f"what is written does not read back: {error.message}") from error
    check_entries(listing, [entry_of(placed.row, dialect) for placed in scan.rows], dialect)
    if scan.skipped:
        raise WrongUsage(f"{scan.skipped[0][1].text}: a line that would not be read again")
    if scan.rows:
        read = listing_of(scan, format="", file="", channel=None, encoding="").nameplate
        for name in dialect.nameplate.values():
            if (text := listing.nameplate.get(name, "").strip()) != read.get(name, "").strip():
                raise WrongUsage(f"nameplate {name}: {text!r} would read back as something else")
    return encoded


def check_entries(
    listing: Listing, found: Sequence[Entry | SkippedLine], dialect: ExportDialect
) -> None:
    """Hold what was read against what was written. Raises WrongUsage that names a code."""
    read = {one.code: one for one in found if isinstance(one, Entry)}
    wrong = [e.code for e in listing.entries if not _says(read.pop(e.code, None), e, dialect)]
    wrong += read
    if wrong or len(found) != len(listing.entries):
        about = wrong[0] if wrong else "a line"
        raise WrongUsage(f"{about}: what would be written reads back as something else")


def _says(found: Entry | None, wanted: Entry, dialect: ExportDialect) -> bool:
    """Whether an entry that was read has the value of another; and its unit, where that stands."""
    if found is None:
        return False
    has_unit, value, said = "unit" in dialect.columns, wanted.written, found.written
    if isinstance(value, str):
        value, said = value.strip(), found.text or str(said)
    else:
        has_unit = has_unit or dialect.unit_in_value
    return said == value and (not has_unit or found.unit == wanted.unit.strip())

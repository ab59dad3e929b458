"""Lines of an export that is written anew, held against what they read back as."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from vault.formats.line_scan import Scanner, listing_of
from vault.formats.rows import cells_of, code_of
from vault.formats.text_encoding import decode, encode, split_lines
from vault.model.errors import Unreadable, WrongUsage

if TYPE_CHECKING:
    from vault.model.export import Listing
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
    wanted = [(entry.code, cells_of(entry, dialect)["value"].strip()) for entry in listing.entries]
    found = [(code_of(placed.row), placed.row.text("value")) for placed in scan.rows]
    if wrong := sorted(set(wanted) ^ set(found)) or wanted[len(found) :]:
        raise WrongUsage(f"{wrong[0][0]}: what would be written reads back as something else")
    if found:
        read = listing_of(scan, format="", file="", channel=None, encoding="").nameplate
        for name in dialect.nameplate.values():
            if (text := listing.nameplate.get(name, "").strip()) != read.get(name, "").strip():
                raise WrongUsage(f"nameplate {name}: {text!r} would read back as something else")
    return encoded

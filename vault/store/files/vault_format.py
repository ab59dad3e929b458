"""The number of a vault's format, which vault.yaml states as `reads: N`; nothing means 1.

It says what a program must be able to read before it touches the vault, and is raised by the first
write that needs it. The line is read and written as text, so that people's own lines stay.
"""

from __future__ import annotations

import re

from vault.model.errors import Refused

FORMAT = 2
"""The highest format that this program reads; see the page of the vault's format."""

_LINE = re.compile(rb"^reads:[ \t]*(\d{1,9})[ \t]*(?:#[^\r\n]*)?\r?$", re.MULTILINE)
_SCHEMA = re.compile(rb"^schema:[^\n]*\n", re.MULTILINE)


def format_of(site: bytes) -> int:
    """The format that a vault.yaml states."""
    found = _LINE.search(site)
    return int(found[1]) if found else 1


def check_format(site: bytes, name: str) -> None:
    """Raise Refused for a vault that only a newer program can read."""
    needed = format_of(site)
    if needed > FORMAT:
        raise Refused(
            f"this vault has format {needed}, and this program reads formats up to {FORMAT}",
            file=name,
            hint="nothing was touched; update axisvault",
        )


def with_format(site: bytes, wanted: int = FORMAT) -> bytes:
    """The vault.yaml that states at least a format; unchanged where it does."""
    if format_of(site) >= wanted:
        return site
    line = b"reads: %d" % wanted
    if _LINE.search(site):
        return _LINE.sub(line, site, count=1)
    schema = _SCHEMA.search(site)
    at = schema.end() if schema else 0
    return site[:at] + line + b"\n" + site[at:]

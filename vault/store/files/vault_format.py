"""The number of a vault's format, which vault.yaml states as `reads: N`; nothing means 1.

It says what a program must be able to read before it touches the vault, and is raised by the first
write that needs it. The line is read and written as text, so that people's own lines stay.
"""

from __future__ import annotations

import re

from vault.model.errors import Refused, Unreadable, VaultError
from vault.store.files import yaml_text

FORMAT = 4
"""The highest format that this program reads; see the page of the vault's format."""
RECORDS = 2
"""The format of the records that it writes of snapshots: what a new vault begins with."""

_LINE = re.compile(rb"^reads:[ \t]*(\d{1,18})[ \t]*(?:#[^\r\n]*)?\r?$", re.MULTILINE)
_SCHEMA = re.compile(rb"^schema:[^\n]*\n", re.MULTILINE)


def format_of(site: bytes) -> int:
    """The format that a vault.yaml states."""
    found = _LINE.findall(site)
    if len(found) == 1 or not yaml_text.may_mention(site, b"reads"):
        return int(found[0]) if found else 1
    stated = _stated(site)  # not as the program writes it
    return max([stated, *map(int, found)])


def _stated(site: bytes) -> int:
    """The number as YAML has it; 1 where there is none."""
    try:
        loaded = yaml_text.load(site, "vault.yaml")
    except VaultError:
        return 1
    stated = loaded.get("reads") if isinstance(loaded, dict) else None
    return stated if isinstance(stated, int) else 1


def check_format(site: bytes, name: str) -> None:
    """Raise Refused for a vault that only a newer program can read."""
    needed = format_of(site)
    if needed > FORMAT:
        raise Refused(
            f"this vault has format {needed}, and this program reads formats up to {FORMAT}",
            file=name,
            hint="nothing was touched; update axisvault",
        )


def with_format(site: bytes, wanted: int = RECORDS) -> bytes:
    """The vault.yaml that states at least a format; unchanged where it does.

    Raises Unreadable where it states another one in a way that is not the program's.
    """
    if format_of(site) >= wanted:
        return site
    if _stated(site) != 1 and not _LINE.search(site):
        raise Unreadable(
            "the format is not written as the program writes it",
            file="vault.yaml",
            hint=f"write it on a line of its own: reads: {wanted}",
        )
    line = b"reads: %d" % wanted
    if _LINE.search(site):
        return _LINE.sub(line, site, count=1)
    schema = _SCHEMA.search(site)
    at = schema.end() if schema else 0
    return site[:at] + line + b"\n" + site[at:]

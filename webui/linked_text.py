"""Texts with links in them: what an entry names becomes an address, all else stays plain text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING
from urllib.parse import quote

from markupsafe import Markup, escape

from vault.model.visible_text import visible

if TYPE_CHECKING:
    from vault.jobs.logbook.entries import LogEntry, LogLink

_SHORTEST = 3
"""Letters that a text must have to become a link: shorter ones are words of sentences too."""


def linked(text: str, addresses: Mapping[str, str]) -> Markup:
    """A text as HTML in which each of some words leads to an address; everything is escaped.

    Longer ones go first, and one counts only as a whole: no letter or digit stands beside it.
    """
    words = _pattern(tuple(sorted((w for w in addresses if len(w) >= _SHORTEST), key=len)[::-1]))
    if words is None:
        return escape(visible(text))
    parts, at = [], 0
    for found in words.finditer(text):
        parts.append(escape(visible(text[at : found.start()])))
        word = visible(found[0])
        parts.append(Markup('<a href="{}">{}</a>').format(addresses[found[0]], word))
        at = found.end()
    parts.append(escape(visible(text[at:])))
    return Markup("").join(parts)


@lru_cache(maxsize=1024)
def _pattern(words: tuple[str, ...]) -> re.Pattern[str] | None:
    if not words:
        return None
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, words))})(?!\w)")


def link_addresses(axis: object, entry: LogEntry, links: Iterable[LogLink]) -> dict[str, str]:
    """Where the links of an entry of the logbook of an axis lead, by their text."""
    return {link.text: _address(str(axis), entry, link) for link in links}


def _address(axis: str, entry: LogEntry, link: LogLink) -> str:
    target = quote(link.target, safe="/:~,*.-_")
    if link.kind == "axis":
        return f"/axis/{quote(link.target)}"
    if link.kind == "fault":
        return fault_address(axis, link.target, entry.at.isoformat())
    if link.kind == "order":
        return found_address(link.target)
    if link.kind == "record":
        return f"/axis/{quote(axis)}#as-built"
    folder, place = {
        "snapshot": ("axis", f"at/{target}"),
        "parameter": ("axis", f"parameter/{target}"),
        "baseline": ("axis", "golden"),
        "plan": ("restore", f"plan/{target}"),
        "trial": ("axis", f"trial/{target}"),
        "trace": ("axis", f"trace/{target}"),
        "check": ("restore", f"checked/{target}"),
    }[link.kind]
    return f"/{folder}/{quote(axis)}/{place}"


def fault_address(axis: object, code: str, at: str) -> str:
    """The audit of a fault of an axis at a time."""
    return f"/audit?place={quote(str(axis))}&fault={quote(code, safe='')}&at={quote(at, safe='')}"


def found_address(text: str) -> str:
    """Where a person, `Name <mail>` or a name, is found, or a work order."""
    return f"/find?text={quote(text.partition(' <')[0], safe='')}"

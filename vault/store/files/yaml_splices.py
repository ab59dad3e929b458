"""A text of YAML with parts replaced: every other byte stays as it is."""

from __future__ import annotations

from codecs import BOM_UTF8
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Splice:
    """What stands between two places of a text from now on."""

    start: int
    end: int
    text: str


def line_end(text: str, at: int) -> int:
    """Where the line ends in which a place of a text is, without its mark."""
    end = text.find("\n", at)
    end = len(text) if end < 0 else end
    return end - 1 if end > at and text[end - 1] == "\r" else end


def spliced(content: bytes, splices: list[Splice]) -> bytes:
    """A text with all of them; of two that overlap, the later begins where the first ends.

    Places are those of its text without the mark of its encoding, which stays.
    """
    text = content.decode("utf-8-sig")
    parts, at = [], 0
    for one in sorted(splices, key=lambda splice: (splice.start, splice.end)):
        start = max(one.start, at)
        parts += [text[at:start], one.text]
        at = max(one.end, at)
    mark = content[: content.startswith(BOM_UTF8) * len(BOM_UTF8)]
    return mark + "".join([*parts, text[at:]]).encode()

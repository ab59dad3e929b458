"""Where the parameters of a dictionary stand in its text, and that text with parts replaced."""

from __future__ import annotations

from codecs import BOM_UTF8
from dataclasses import dataclass
from typing import Any

from vault.model.errors import Unreadable
from vault.model.parameters import canonical_code


@dataclass(frozen=True, slots=True)
class Splice:
    """What stands between two places of a text from now on."""

    start: int
    end: int
    text: str


def parameter_nodes(root: Any) -> dict[str, Any]:
    """The mapping of each parameter as a node of YAML, by its code."""
    every = next((value for key, value in root.value if key.value == "parameters"), None)
    pairs = every.value if every is not None and isinstance(every.value, list) else []
    return {
        canonical_code(key.value): value
        for key, value in pairs
        if isinstance(value.value, list) and isinstance(key.value, str)
    }


def line_end(text: str, at: int) -> int:
    """Where the line ends in which a place of a text is, without its mark."""
    end = text.find("\n", at)
    end = len(text) if end < 0 else end
    return end - 1 if end > at and text[end - 1] == "\r" else end


def spliced(content: bytes, splices: list[Splice]) -> bytes:
    """A dictionary with all of them; of two that overlap, the later begins where the first ends.

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


def by_hand(file: str) -> Unreadable:
    """The refusal of an edit to a dictionary that is written in some other way."""
    return Unreadable(
        "this dictionary is written in a way in which it is edited by hand alone",
        file=file,
        hint="edit it and put it in: axisvault family add FILE",
    )

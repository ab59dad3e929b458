"""Where the parameters of a dictionary stand in its text, and that text with parts replaced."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

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


def spliced(text: str, splices: list[Splice]) -> str:
    """The text with all of them; of two that overlap, the later one begins where the first ends."""
    parts, at = [], 0
    for one in sorted(splices, key=lambda splice: (splice.start, splice.end)):
        start = max(one.start, at)
        parts += [text[at:start], one.text]
        at = max(one.end, at)
    return "".join([*parts, text[at:]])

"""Names that somebody may have meant."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """`; did you mean X?` where a known name is near to a word, else nothing.

    One that differs in upper and lower case alone is the nearest.
    """
    names = [*known]
    near = [name for name in names if name.casefold() == word.casefold()]
    near = near or get_close_matches(word, names, n=1)
    return f"; did you mean {near[0]}?" if near else ""

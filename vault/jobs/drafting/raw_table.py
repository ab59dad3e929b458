"""A file taken apart in one way it may be meant: rows of texts, before anything is known of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

MOST_LINES = 250_000
"""Lines of a text that are looked at; no drive has a hundredth as many parameters."""


@dataclass(frozen=True, slots=True)
class Guess:
    """What was chosen where a file leaves it open, what else it may be, and why it was chosen.

    `about` is the key of the dictionary's part `export`, as `decimal` or `columns.value`;
    `confidence` is from 0 to 1.
    """

    about: str
    chosen: str
    confidence: float
    reason: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RawTable:
    """Rows of a file in one reading of it, and the keys of a dialect that make it one.

    `headings` are there where no row of the file has them; then every row is data. `places` is
    what the dialect calls each column where that is not its heading; an empty one is not named.
    `around` are columns of what stands around a row: of its section or its axis, nothing else.
    `lines` are those of the file, from 1; `plate` are rows that stand in no table.
    """

    keys: Mapping[str, Any]
    rows: Sequence[tuple[str, ...]]
    lines: Sequence[int]
    headings: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    guesses: tuple[Guess, ...] = ()
    plate: Sequence[tuple[str, ...]] = ()
    two_header_rows: bool = False
    around: frozenset[int] = frozenset()

    def place(self, column: int, heading: str) -> str:
        """What the dialect calls a column."""
        return self.places[column] if self.places else heading

"""Reading rows of the index: each value is held against the kind that its column has.

SQLite reads some damage as data. What cannot have been written is told here, in one place, so that
whatever else goes wrong with an answer is a fault of the program and shows as one.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from types import UnionType
from typing import Any

Kinds = Sequence[type | UnionType]
"""Types of the columns of a question, such as `(str, int | None)`."""
Row = tuple[Any, ...]


class DamagedIndex(Exception):
    """The index is not as it was written: the answer has to come from git.

    No error of the vault: it never leaves the index.
    """


def rows(
    database: sqlite3.Connection, kinds: Kinds, question: str, *values: object
) -> Iterator[Row]:
    """Answers to a question. Raises DamagedIndex for one that is of other kinds, sqlite3.Error."""
    sound: set[tuple[type, ...]] = set()
    for row in database.execute(question, values):
        shape = tuple(map(type, row))
        if shape not in sound:
            if not all(map(isinstance, row, kinds)):
                raise DamagedIndex(f"{row} for {question}")
            sound.add(shape)
        yield row


def first_row(
    database: sqlite3.Connection, kinds: Kinds, question: str, *values: object
) -> Row | None:
    """The first answer to a question, None where there is none."""
    return next(rows(database, kinds, question, *values), None)

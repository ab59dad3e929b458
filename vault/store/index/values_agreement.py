"""Do the values in the index say what the snapshots in git do?"""

from __future__ import annotations

import sqlite3
from functools import lru_cache
from typing import NamedTuple

from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.files.parameters_text import parameter_lines, read_kept_line
from vault.store.index._reading import rows
from vault.store.index.lines import is_live, joined
from vault.store.index.values import filled_to


class ParsedLine(NamedTuple):
    """What the index has of a line of parameters.yaml, beside the line itself."""

    code: str
    role: str | None
    is_live: bool


@lru_cache(maxsize=1 << 15)  # most lines are those of the snapshot before
def parse_line(line: str) -> ParsedLine:
    """Read a line of a kept parameters.yaml. Raises Damaged where it cannot be read."""
    parameter = read_kept_line(line, "parameters.yaml")
    return ParsedLine(parameter.code, parameter.role, is_live(parameter))


class Agreement:
    """Whether the changes of an axis say what its snapshots do, as far as they were written.

    `compare_next` takes parameters.yaml of each of the `commits`, in their order.
    """

    def __init__(self, database: sqlite3.Connection, address: Address) -> None:
        names = address.key
        changes: dict[int, list[tuple[str, str | None, str | None]]] = {}
        for seq, code, role, *parts in rows(
            database, (int, str, str | None, str | None, str | None),
            "SELECT t.seq, c.code, h.role, h.text, l.numbers FROM snapshots AS s"
            " JOIN value_changes AS t ON t.seq = s.seq JOIN codes AS c ON c.id = t.code"
            " LEFT JOIN lines AS l ON l.id = t.line LEFT JOIN shapes AS h ON h.id = l.shape"
            " WHERE s.machine = ? AND s.axis = ?",
            *names,
        ):  # fmt: skip
            changes.setdefault(seq, []).append((code, role, joined(*parts)))
        snapshots = rows(
            database, (int, str),
            "SELECT seq, id FROM snapshots WHERE machine = ? AND axis = ? AND seq <= ?"
            " ORDER BY taken, seq",
            *names, filled_to(database, address) or 0,
        )  # fmt: skip
        self._changes_of = [(commit, changes.pop(seq, [])) for seq, commit in snapshots]
        self._at = 0
        self.agrees = not changes  # none of a snapshot that is not there
        self._indexed: dict[str, tuple[str | None, str]] = {}
        self._current = _CurrentLines()
        # Codes to compare: the others were equal, and stand as they did.
        self._changed: set[str] = set()

    @property
    def commits(self) -> list[str]:
        """Commits whose values the index has, oldest snapshot first."""
        return [commit for commit, _ in self._changes_of]

    def compare_next(self, text: bytes | None) -> None:
        """Take parameters.yaml of the next snapshot; None, or a damaged one, says nothing."""
        _, changes = self._changes_of[self._at]
        self._at += 1
        for code, role, line in changes:
            self._changed.add(code)
            if line is None:
                self._indexed.pop(code, None)
            else:
                self._indexed[code] = role, line
        if text is None or not self.agrees:
            return
        try:
            self._changed |= self._current.follow(text)
        except VaultError:  # as `fill` does
            return
        self.agrees = all(
            self._indexed.get(code) == self._current.of(code) for code in self._changed
        )
        self._changed.clear()


class _CurrentLines:
    """Role and line of every parameter that is no live value, text after text."""

    def __init__(self) -> None:
        self._lines: set[str] = set()
        self._by_code: dict[str, tuple[str | None, str] | None] = {}

    def of(self, code: str) -> tuple[str | None, str] | None:
        """Role and line of a parameter; None for a live value, and where there is none."""
        return self._by_code.get(code)

    def follow(self, text: bytes) -> set[str]:
        """Take the next text; returns the codes of which it may say something else.

        Raises Damaged where it cannot be read; what the text before said holds on then.
        """
        lines = set(parameter_lines(text, "parameters.yaml"))
        gone, new = self._lines - lines, lines - self._lines
        if len(self._by_code) != len(self._lines):  # a code stood twice: start anew
            gone, new = self._lines, lines
        parsed = [(line, parse_line(line)) for line in new]
        codes = {parse_line(line).code for line in gone}
        for code in codes:
            self._by_code.pop(code, None)
        for line, (code, role, is_live_value) in parsed:
            self._by_code[code] = None if is_live_value else (role, line)
            codes.add(code)
        self._lines = lines
        return codes

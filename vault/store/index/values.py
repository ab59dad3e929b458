"""Parameter values of all snapshots in the index, by change only.

A change says: from this snapshot on, in the order of taken-at, a code has this line of
parameters.yaml, or none. An axis's changes are written when it takes an export in, and caught up by
`fill` where they were not. Live values (positions, temperatures) are no settings and left out.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from vault.model.errors import VaultError
from vault.model.names import Address
from vault.model.parameters import Parameter
from vault.store.files.parameters_text import parameter_lines
from vault.store.index._reading import DamagedIndex, Row, first_row, rows
from vault.store.index.lines import LineNumber, code_number, enter_line, line_number, read_line

TABLES = """
CREATE TABLE value_changes (
  seq INTEGER NOT NULL, code INTEGER NOT NULL, line INTEGER NOT NULL,
  PRIMARY KEY (seq, code)
) WITHOUT ROWID;
CREATE TABLE filled (
  machine TEXT NOT NULL, axis TEXT NOT NULL, seq INTEGER NOT NULL, PRIMARY KEY (machine, axis)
);
"""

Lines = dict[int, int]
"""Line by code, both as numbers of the index."""

_GONE = 0
_LINE = (int, str | None, str | None)  # number, shape and numbers of a change's line
_ITS_LINE = "LEFT JOIN lines AS l ON l.id = t.line LEFT JOIN shapes AS h ON h.id = l.shape"
_OF_AXIS = "machine = ? AND axis = ?"
TextOf = Callable[[str, Address], bytes]
"""parameters.yaml of an axis in a commit."""


@dataclass(frozen=True, slots=True)
class ValueChange:
    """A parameter from one snapshot on; None where it is gone from there."""

    address: Address
    code: str
    snapshot: str
    taken: int
    parameter: Parameter | None


def record(
    database: sqlite3.Connection,
    seq: int,
    address: Address,
    taken: int,
    text: bytes,
    before: bytes | None,
) -> None:
    """Write the changes of a snapshot that was just added, if those before it are there.

    `before` is parameters.yaml of the snapshot before it in time.
    """
    newest = _newest(database, address, but=seq)
    if newest is not None and newest != filled_to(database, address):
        return  # `fill` catches up when somebody asks
    after = first_row(
        database,
        (int, int),
        f"SELECT seq, taken FROM snapshots WHERE {_OF_AXIS} AND (taken, seq) > (?, ?)"
        " ORDER BY taken, seq LIMIT 1",
        *_names(address), taken, seq,
    )  # fmt: skip
    try:
        new, old = _lines(text), set() if before is None else _lines(before)
        was, lines = _line_numbers(database, old - new), _line_numbers(database, new - old)
        if after is None:
            _add_changes(database, seq, was, lines)
        else:  # it comes between two others
            _insert_before(database, after, seq, address, _line_numbers(database, new), was, lines)
    except VaultError:  # as `fill` does
        return
    _set_filled_to(database, address, seq)


def _insert_before(
    database: sqlite3.Connection,
    after: Row,
    seq: int,
    address: Address,
    whole: Lines,
    was: Lines,
    lines: Lines,
) -> None:
    then = _lines_at(database, address, (after[1], after[0]))
    _add_changes(database, seq, was, lines)
    database.execute("DELETE FROM value_changes WHERE seq = ?", (after[0],))
    _add_changes(database, after[0], whole, then)


def axes_behind(database: sqlite3.Connection) -> list[Address]:
    """Axes whose changes are not all there."""
    axes = rows(
        database, (str, str),
        "SELECT s.machine, s.axis FROM (SELECT machine, axis, max(seq) AS seq FROM snapshots"
        " GROUP BY machine, axis) AS s LEFT JOIN filled AS v USING (machine, axis)"
        " WHERE v.seq IS NOT s.seq ORDER BY 1, 2",
    )  # fmt: skip
    return [Address.of_key(machine, axis) for machine, axis in axes]


def may_have(database: sqlite3.Connection, lines: Sequence[str], but: int) -> set[Address]:
    """Axes whose latest set may have these lines of settings, each of another code, all but some.

    Named are those that ever had as many, and those whose changes are not all there: no other axis
    need be read. Lines that no axis ever had are told first, so most questions end there.
    """
    behind = set(axes_behind(database))
    found = (line_number(database, line) for line in lines)
    numbers = [number.line for number in found if number is not None]
    least = len(lines) - but
    if len(numbers) < least:
        return behind
    axes = rows(
        database, (str, str),
        "SELECT s.machine, s.axis FROM (SELECT seq, count(*) AS lines FROM value_changes"
        " WHERE line IN (SELECT value FROM json_each(?)) GROUP BY seq) AS t"
        " JOIN snapshots AS s ON s.seq = t.seq GROUP BY 1, 2 HAVING sum(t.lines) >= ?",
        json.dumps(numbers), least,
    )  # fmt: skip
    return behind | {Address.of_key(machine, axis) for machine, axis in axes}


def is_behind(database: sqlite3.Connection, address: Address) -> bool:
    """Whether changes of an axis are missing."""
    return _newest(database, address) != filled_to(database, address)


def fill(database: sqlite3.Connection, address: Address, text_of: TextOf) -> None:
    """Catch up with the changes of an axis. Call within a transaction."""
    filled, newest = filled_to(database, address), _newest(database, address)
    if newest is None or newest == filled:
        return
    snapshots = list(rows(
        database, (int, int, str),
        f"SELECT seq, taken, id FROM snapshots WHERE {_OF_AXIS} ORDER BY taken, seq",
        *_names(address),
    ))  # fmt: skip
    start = next((i for i, (seq, _, _) in enumerate(snapshots) if seq > (filled or 0)), None)
    if start is None:
        raise DamagedIndex("there are values of a snapshot that is missing")
    before: Lines = {}
    numbers: dict[str, LineNumber | None] = {}  # of the text before, whose lines are mostly those
    if start:
        seq, taken, _ = snapshots[start - 1]
        before = _lines_at(database, address, (taken, seq))
    for seq, _, commit in snapshots[start:]:
        database.execute("DELETE FROM value_changes WHERE seq = ?", (seq,))
        try:
            lines = _lines(text_of(commit, address))
            numbers = {
                line: numbers[line] if line in numbers else enter_line(database, line)
                for line in lines
            }
        except VaultError:  # one bad file must not hide the others; verify names it
            continue
        now = _by_code(numbers.values())
        _add_changes(database, seq, before, now)
        before = now
    _set_filled_to(database, address, newest)


def forget(database: sqlite3.Connection, address: Address) -> None:
    """Drop the changes of an axis: `fill` writes them anew."""
    names = _names(address)
    database.execute(
        f"DELETE FROM value_changes WHERE seq IN (SELECT seq FROM snapshots WHERE {_OF_AXIS})",
        names,
    )
    database.execute(f"DELETE FROM filled WHERE {_OF_AXIS}", names)


def value_changes(database: sqlite3.Connection, codes: Iterable[str]) -> list[ValueChange]:
    """All changes of some codes: code by code, axis by axis, oldest first."""
    known = {code: code_number(database, code) for code in codes}
    code_of = {number: code for code, number in known.items() if number is not None}
    answers = rows(  # goes through all changes: an index of them by code is as large as they are
        database, (int, str | None, str | None, str | None, int | None, *_LINE),
        "SELECT t.code, s.machine, s.axis, s.id, s.taken, t.line, h.text, l.numbers"
        f" FROM value_changes AS t LEFT JOIN snapshots AS s ON s.seq = t.seq {_ITS_LINE}"
        " WHERE t.code IN (SELECT value FROM json_each(?))"
        " ORDER BY t.code, s.machine, s.axis, s.taken, s.seq",
        json.dumps(list(code_of)),
    )  # fmt: skip
    found = []
    for code, machine, axis, commit, taken, *line in answers:
        if commit is None:
            raise DamagedIndex("the snapshot of a value is missing")
        address, parameter = Address.of_key(machine, axis), _parameter(*line)
        found.append(ValueChange(address, code_of[code], commit, taken, parameter))
    return sorted(found, key=lambda change: change.code)


def value_changes_on(
    database: sqlite3.Connection, address: Address, code: str, of_roles: Sequence[str]
) -> list[ValueChange]:
    """Changes on an axis of a code, and of every code that had one of these roles, oldest first."""
    some = ", ".join("?" * len(of_roles))
    # Both parts go through the changes of this axis only: other axes make no difference.
    own = "FROM snapshots AS s CROSS JOIN value_changes AS t ON t.seq = s.seq"
    answers = rows(
        database, (str, str, int, *_LINE),
        f"WITH wanted AS MATERIALIZED (SELECT id AS code FROM codes WHERE code = ? UNION"
        f" SELECT t.code {own} CROSS JOIN lines AS l ON l.id = t.line CROSS JOIN shapes AS h"
        " ON h.id = l.shape WHERE s.machine = ? AND s.axis = ? AND t.code IN"
        f" (SELECT code FROM shapes WHERE role IN ({some})) AND h.role IN ({some}))"
        f" SELECT c.code, s.id, s.taken, t.line, h.text, l.numbers {own}"
        f" JOIN codes AS c ON c.id = t.code {_ITS_LINE}"
        " WHERE s.machine = ? AND s.axis = ? AND t.code IN wanted ORDER BY s.taken, s.seq",
        code, *_names(address), *of_roles, *of_roles, *_names(address),
    )  # fmt: skip
    return [
        ValueChange(address, each, commit, taken, _parameter(*line))
        for each, commit, taken, *line in answers
    ]


def _parameter(number: int, shape: str | None, numbers: str | None) -> Parameter | None:
    return None if number == _GONE else read_line(number, shape, numbers)


def _add_changes(database: sqlite3.Connection, seq: int, before: Lines, lines: Lines) -> None:
    changes = [(seq, code, line) for code, line in lines.items() if before.get(code) != line]
    changes += [(seq, code, _GONE) for code in before.keys() - lines.keys()]
    database.executemany("INSERT INTO value_changes VALUES (?, ?, ?)", changes)


def _lines_at(database: sqlite3.Connection, address: Address, place: tuple[int, int]) -> Lines:
    """The lines that hold at a place in time, (taken, seq), included."""
    changes = rows(
        database, (int, int),
        "SELECT t.code, t.line FROM snapshots AS s JOIN value_changes AS t ON t.seq = s.seq"
        " WHERE s.machine = ? AND s.axis = ? AND (s.taken, s.seq) <= (?, ?)"
        " ORDER BY s.taken, s.seq",
        *_names(address), *place,
    )  # fmt: skip
    state: Lines = dict(changes)
    return {code: line for code, line in state.items() if line != _GONE}


def _lines(text: bytes) -> set[str]:
    return set(parameter_lines(text, "parameters.yaml"))


def _line_numbers(database: sqlite3.Connection, lines: Iterable[str]) -> Lines:
    """Lines of parameters.yaml as numbers of the index, entered where they are new."""
    return _by_code(enter_line(database, line) for line in lines)


def _by_code(numbers: Iterable[LineNumber | None]) -> Lines:
    return {number.code: number.line for number in numbers if number is not None}


def _newest(database: sqlite3.Connection, address: Address, but: int = 0) -> int | None:
    question = f"SELECT max(seq) FROM snapshots WHERE {_OF_AXIS} AND seq <> ?"
    newest = first_row(database, (int | None,), question, *_names(address), but)
    return None if newest is None else newest[0]


def filled_to(database: sqlite3.Connection, address: Address) -> int | None:
    """The newest snapshot of an axis, by its number, when its changes were written."""
    question = f"SELECT seq FROM filled WHERE {_OF_AXIS}"
    filled = first_row(database, (int,), question, *_names(address))
    return None if filled is None else filled[0]


def _set_filled_to(database: sqlite3.Connection, address: Address, seq: int) -> None:
    database.execute("INSERT OR REPLACE INTO filled VALUES (?, ?, ?)", (*_names(address), seq))


def _names(address: Address) -> tuple[str, str]:
    return address.key

"""Lines of parameters.yaml in the index, each once.

Most differ from others in their two numbers only. What stands around these is a shape, and a line
names its shape and has the numbers as they are written; a line without two numbers is a shape by
itself. A line's number is its check sum, so that it is found by it.
"""

from __future__ import annotations

import sqlite3
from hashlib import sha256
from typing import NamedTuple
from zlib import crc32

from vault.model import roles
from vault.model.errors import Damaged, VaultError
from vault.model.parameters import Parameter
from vault.store.files.parameters_text import numbers_apart, read_kept_line
from vault.store.index._reading import DamagedIndex, first_row, rows

TABLES = """
CREATE TABLE codes (
  id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE, name TEXT NOT NULL
);
CREATE TABLE shapes (
  id INTEGER PRIMARY KEY, code INTEGER NOT NULL, role TEXT, text TEXT NOT NULL,
  check_sum INTEGER NOT NULL
);
CREATE INDEX shapes_by_check_sum ON shapes (check_sum);
CREATE INDEX shapes_of_role ON shapes (role) WHERE role IS NOT NULL;
CREATE TABLE lines (id INTEGER PRIMARY KEY, shape INTEGER NOT NULL, numbers TEXT NOT NULL);
"""
_BETWEEN = "\n"  # no line has one


class LineNumber(NamedTuple):
    """A line of a setting, and its code, as numbers of the index."""

    line: int
    code: int


def parted(line: str) -> tuple[str, str]:
    """A line as shape and numbers: the way it is kept."""
    parts = numbers_apart(line)
    if parts is None:
        return line, ""
    before, value, between, raw = parts
    return f"{before}{_BETWEEN}{between}", f"{value} {raw}"


def joined(shape: str | None, numbers: str | None) -> str | None:
    """The line of a shape and numbers; None where they do not fit, or are not there."""
    if not numbers or shape is None:
        return None if numbers is None else shape
    around, written = shape.split(_BETWEEN), numbers.split(" ")
    if len(around) != 2 or len(written) != 2:
        return None
    return f"{around[0]}{written[0]}{around[1]}{written[1]}}}"


def read_line(number: int, shape: str | None, numbers: str | None) -> Parameter:
    """The parameter of a line. Raises DamagedIndex where it is not as it was entered."""
    line = joined(shape, numbers)
    if line is None or number not in (_check_sum(line), _long_check_sum(line)):
        raise DamagedIndex("a line is missing, or not as it was written")
    return _read(line)


def line_number(database: sqlite3.Connection, line: str) -> LineNumber | None:
    """The number of a line, None where no axis ever had it."""
    return _place(database, line)[1]


def enter_line(database: sqlite3.Connection, line: str) -> LineNumber | None:
    """The number of a line, which is entered where it is new; None for a live value.

    Raises Damaged where it cannot be read, or has no place.
    """
    free, number = _place(database, line)
    if number is not None:
        return number
    new = read_kept_line(line, "parameters.yaml")
    if is_live(new):
        return None
    if free is None:
        raise Damaged("other lines have both of its check sums", file="parameters.yaml")
    text, numbers = parted(line)
    shape, code = _shape(database, text) or _new_shape(database, text, new)
    database.execute("INSERT INTO lines VALUES (?, ?, ?)", (free, shape, numbers))
    return LineNumber(free, code)


def is_live(parameter: Parameter) -> bool:
    """Whether a parameter is a live value, and no setting."""
    role = roles.find(parameter.role) if parameter.role else None
    return role is not None and role.volatile


def codes_like(database: sqlite3.Connection, text: str) -> list[str]:
    """Codes of parameters whose code or role is this text, else that have it in name or label."""
    exact = rows(
        database, (str,),
        "SELECT code FROM codes WHERE code = ?1 COLLATE NOCASE OR id IN (SELECT code FROM shapes"
        " WHERE role = ?1 OR substr(role, 1, length(?1) + 1) = ?1 || '.')",
        text,
    )  # fmt: skip
    if exactly := [code for (code,) in exact]:
        return exactly
    wanted, codes = text.casefold(), set()
    for shape, check_sum in rows(database, (str, int), "SELECT text, check_sum FROM shapes"):
        if _long_check_sum(shape) != check_sum:
            raise DamagedIndex("a shape is not as it was entered")
        if wanted in shape.casefold():  # it has more than name and label
            line = joined(shape, "0 0" if _BETWEEN in shape else "")
            like = _read(line or "")
            words = (like.name, like.label, like.value)
            if any(isinstance(part, str) and wanted in part.casefold() for part in words):
                codes.add(like.code)
    return sorted(codes)


def code_number(database: sqlite3.Connection, code: str) -> int | None:
    """The number of a code; None where no axis ever had it."""
    found = first_row(database, (int,), "SELECT id FROM codes WHERE code = ?", code)
    return None if found is None else found[0]


def _check_sum(line: str) -> int:
    """Of 31 bits, which take little room, and none of them 0: that is no line."""
    return (crc32(line.encode()) >> 1) + 1


def _long_check_sum(text: str) -> int:
    """Of 63 bits: nobody can choose many texts that have the same.

    That of a shape, and the number of a line where another one has its check sum.
    """
    return int.from_bytes(sha256(text.encode()).digest()[:8]) >> 1


def _read(line: str) -> Parameter:
    try:
        return read_kept_line(line, "index")
    except VaultError as error:  # none that was entered
        raise DamagedIndex(str(error)) from error


def _place(database: sqlite3.Connection, line: str) -> tuple[int | None, LineNumber | None]:
    """A free number for a line that is not there, if there is one; the number of one that is."""
    question = (
        "SELECT h.code, h.text, l.numbers FROM lines AS l LEFT JOIN shapes AS h ON h.id = l.shape"
        " WHERE l.id = ?"
    )
    for check_sum in (_check_sum, _long_check_sum):
        found = first_row(database, (int, str, str), question, number := check_sum(line))
        if found is None:
            return number, None
        code, *parts = found
        if joined(*parts) == line:
            return None, LineNumber(number, code)
    return None, None


def _shape(database: sqlite3.Connection, text: str) -> tuple[int, int] | None:
    question = "SELECT id, code FROM shapes WHERE check_sum = ? AND text = ?"
    found = first_row(database, (int, int), question, _long_check_sum(text), text)
    return None if found is None else (found[0], found[1])


def _new_shape(database: sqlite3.Connection, text: str, like: Parameter) -> tuple[int, int]:
    database.execute(
        "INSERT OR IGNORE INTO codes (code, name) VALUES (?, ?)", (like.code, like.name)
    )
    code = code_number(database, like.code) or 0
    done = database.execute(
        "INSERT INTO shapes (code, role, text, check_sum) VALUES (?, ?, ?, ?)",
        (code, like.role, text, _long_check_sum(text)),
    )
    return int(done.lastrowid or 0), code

"""The log of accounts: who gave which rights to whom and took them away, line after line.

It is only ever appended to (the database refuses anything else), each line names the one before by
its SHA-256, and no password, token or hash of one stands in it.
"""

from __future__ import annotations

import json
import sqlite3
from hashlib import sha256
from typing import Any

from vault.model.accounts import AccountChange, AccountsLog
from vault.model.errors import VaultError
from vault.store.clock import now, parse_time, time_text

TABLES = """
CREATE TABLE log (n INTEGER PRIMARY KEY, line TEXT NOT NULL);
CREATE TRIGGER log_stays BEFORE DELETE ON log
  BEGIN SELECT raise(ABORT, 'the log of accounts is only appended to'); END;
CREATE TRIGGER log_is_as_it_was BEFORE UPDATE ON log
  BEGIN SELECT raise(ABORT, 'the log of accounts is only appended to'); END
"""


def append(database: sqlite3.Connection, what: str, account: str, by: str, detail: str) -> None:
    """Add a line. Call within a transaction.

    The first line is followed by those of accounts that were there before there was a log.
    """
    last = _last(database)
    if last is None:
        for name, role in database.execute("SELECT name, role FROM accounts ORDER BY name"):
            if name != account:
                last = _add(database, last, "was there", name, "", role)
    _add(database, last, what, account, by, detail)


def read_log(database: sqlite3.Connection) -> AccountsLog:
    """All lines, oldest first, up to the first that is not as it was written."""
    changes: list[AccountChange] = []
    before: str | None = None
    for number, (n, line) in enumerate(database.execute("SELECT n, line FROM log ORDER BY n"), 1):
        try:
            said = json.loads(line)
            whole = (said["n"], n, said["before"]) == (number, number, before)
            change = AccountChange(
                parse_time(said["at"]), str(said["what"]), str(said["account"]), str(said["by"]),
                str(said["detail"]),
            )  # fmt: skip
        except (ValueError, KeyError, TypeError, VaultError):
            whole = False
        if not whole:
            return AccountsLog(tuple(changes), f"line {number} is not as it was written")
        changes.append(change)
        before = _digest(line)
    return AccountsLog(tuple(changes), None)


def log_text(database: sqlite3.Connection) -> str:
    """The lines as they are kept, for somebody to check: each JSON, with the digest before it."""
    return "".join(f"{line}\n" for (line,) in database.execute("SELECT line FROM log ORDER BY n"))


def _last(database: sqlite3.Connection) -> tuple[int, str] | None:
    found: tuple[int, str] | None = database.execute(
        "SELECT n, line FROM log ORDER BY n DESC LIMIT 1"
    ).fetchone()
    return found


def _add(
    database: sqlite3.Connection,
    last: tuple[int, str] | None,
    what: str,
    account: str,
    by: str,
    detail: str,
) -> tuple[int, str]:
    number = 1 if last is None else last[0] + 1
    said: dict[str, Any] = {
        "n": number, "at": time_text(now()), "what": what, "account": account, "by": by,
        "detail": detail, "before": None if last is None else _digest(last[1]),
    }  # fmt: skip
    line = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    database.execute("INSERT INTO log VALUES (?, ?)", (number, line))
    return number, line


def _digest(line: str) -> str:
    return sha256(line.encode()).hexdigest()

"""Accounts, their sessions and tokens, and every attempt to log in: a file beside the repository.

Not in the tree, which is cloned onto laptops, and not derived: nothing else holds it. Sessions and
tokens are kept as hashes, so that the file opens nothing to whoever reads it.
"""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeVar

from vault.model.accounts import ACCOUNT_ROLES, Account, AccountsLog, LogIn, checked_purpose
from vault.model.errors import Unavailable, WrongUsage
from vault.store.clock import microseconds, moment_of, now
from vault.store.local import accounts_log, sqlite_file

Answer = TypeVar("Answer")

FILE = "accounts.sqlite"
_STEPS = (
    """
CREATE TABLE accounts (
  name TEXT PRIMARY KEY, person TEXT NOT NULL, role TEXT NOT NULL, password TEXT NOT NULL,
  created INTEGER NOT NULL
);
CREATE TABLE sessions (
  digest TEXT PRIMARY KEY, account TEXT NOT NULL, begun INTEGER NOT NULL, seen INTEGER NOT NULL
);
CREATE TABLE tokens (
  digest TEXT PRIMARY KEY, account TEXT NOT NULL, purpose TEXT NOT NULL, created INTEGER NOT NULL
);
CREATE TABLE attempts (
  id INTEGER PRIMARY KEY, at INTEGER NOT NULL, account TEXT NOT NULL, address TEXT NOT NULL,
  good INTEGER NOT NULL
);
CREATE INDEX attempts_at ON attempts (at);
CREATE TABLE keys (name TEXT PRIMARY KEY, content BLOB NOT NULL)
""",
    accounts_log.TABLES,
)
_NOT_OURS = (
    sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_FULL,
)  # fmt: skip
_SESSION_IDLE = timedelta(hours=2)
_SESSION_LONGEST = timedelta(hours=12)
_ATTEMPTS_KEPT = timedelta(days=5 * 365)
_SEEN_EVERY = timedelta(minutes=1)


class Accounts:
    """The accounts of a vault, in the folder of its state; for one thread."""

    def __init__(self, state: Path) -> None:
        """Open them, or make the file. Raises Unavailable where it cannot be read and written."""
        self._file = state / FILE
        self._database: sqlite3.Connection | None = None
        try:
            state.mkdir(exist_ok=True)
            sqlite_file.refuse_link(self._file)
            if not self._file.exists():
                self._file.touch(0o600)
            self._database = sqlite_file.connected(self._file)
            sqlite_file.bring_up_to_date(self._database, _STEPS, self._file)
        except (*sqlite_file.FAILURES, OSError) as error:
            self.close()
            raise self._unavailable(error) from error
        except Unavailable:
            self.close()
            raise

    @staticmethod
    def exist(state: Path) -> bool:
        """Say whether there is any file of accounts."""
        return (state / FILE).exists()

    def close(self) -> None:
        """Close the file."""
        if self._database is not None:
            self._database.close()

    def __enter__(self) -> Accounts:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def key(self, name: str) -> bytes:
        """A random key of that name, made when it is asked for first."""
        question = "SELECT content FROM keys WHERE name = ?"
        if not self._run(question, name):
            with self._writing():
                self._run("INSERT OR IGNORE INTO keys VALUES (?, ?)", name, secrets.token_bytes(32))
        return bytes(self._run(question, name)[0][0])

    def all(self) -> list[Account]:
        """Every account, by name."""
        rows = self._run("SELECT name, person, role, created FROM accounts ORDER BY name")
        return [self._account(row) for row in rows]

    def find(self, name: str) -> tuple[Account, str] | None:
        """An account and the hash of its password; None where there is none."""
        rows = self._run(
            "SELECT name, person, role, created, password FROM accounts WHERE name = ?", name
        )
        return (self._account(rows[0][:4]), rows[0][4]) if rows else None

    def add(self, name: str, person: str, role: str, password: str, *, by: str) -> Account:
        """Add an account; `password` is its hash. Raises WrongUsage where there is one."""
        made = Account(name, person, role, now())
        with self._writing():
            if self.find(name) is not None:
                raise WrongUsage(f"there is an account {name} already")
            self._run(
                "INSERT INTO accounts VALUES (?, ?, ?, ?, ?)",
                name, person, role, password, microseconds(made.created),
            )  # fmt: skip
            self._note("added", name, by, f"{role}, {person}")
        return made

    def remove(self, name: str, *, by: str) -> None:
        """Remove an account with its sessions and tokens. Raises WrongUsage without one."""
        with self._writing():
            self._needed(name)
            self._run("DELETE FROM accounts WHERE name = ?", name)
            self._end_all(name)
            self._note("removed", name, by)

    def set_password(self, name: str, password: str, *, by: str) -> None:
        """Keep another hash, and end every session and token. Raises WrongUsage."""
        with self._writing():
            self._needed(name)
            self._run("UPDATE accounts SET password = ? WHERE name = ?", password, name)
            self._end_all(name)
            self._note("another password, its tokens ended", name, by)

    def brought_back(self, detail: str, *, by: str) -> None:
        """Note that the accounts are those of an earlier day; nobody is logged in any more."""
        with self._writing():
            self._run("DELETE FROM sessions")
            for account in self.all():
                self._note("brought back", account.name, by, f"{account.role}, {detail}")

    def rehash(self, name: str, password: str) -> None:
        """Keep the hash of the same password by stronger rules."""
        with self._writing():
            self._run("UPDATE accounts SET password = ? WHERE name = ?", password, name)

    def begin_session(self, name: str, password: str) -> str | None:
        """A new session of an account: a secret that stands for it.

        None where the account is gone, or has another hash than this one, by now.
        """
        secret, moment = secrets.token_urlsafe(32), microseconds(now())
        with self._writing():
            self._forget_old(moment)
            rows = self._run(
                "INSERT INTO sessions SELECT ?1, name, ?2, ?2 FROM accounts "
                "WHERE name = ?3 AND password = ?4 RETURNING 1",
                _digest(secret), moment, name, password,
            )  # fmt: skip
        return secret if rows else None

    def of_session(self, secret: str) -> Account | None:
        """The account of a session that is still on, which goes on by that."""
        moment = microseconds(now())
        rows = self._run(
            "SELECT a.name, a.person, a.role, a.created, s.seen, s.begun FROM sessions s "
            "JOIN accounts a ON a.name = s.account WHERE s.digest = ?", _digest(secret),
        )  # fmt: skip
        if not rows or not _is_on(moment, *rows[0][4:]):
            return None
        if moment - rows[0][4] > _length(_SEEN_EVERY):
            with self._writing():
                self._run("UPDATE sessions SET seen = ? WHERE digest = ?", moment, _digest(secret))
        return self._account(rows[0][:4])

    def end_session(self, secret: str) -> None:
        """End a session."""
        with self._writing():
            self._run("DELETE FROM sessions WHERE digest = ?", _digest(secret))

    def make_token(self, name: str, purpose: str, *, by: str) -> str:
        """A token of an account for scripts, to be shown once. Raises WrongUsage."""
        purpose, secret = checked_purpose(purpose), f"av_{secrets.token_urlsafe(32)}"
        with self._writing():
            self._needed(name)
            self._run(
                "INSERT INTO tokens VALUES (?, ?, ?, ?)",
                _digest(secret), name, purpose, microseconds(now()),
            )  # fmt: skip
            self._note("token made", name, by, purpose)
        return secret

    def of_token(self, secret: str) -> Account | None:
        """The account of a token."""
        rows = self._run(
            "SELECT a.name, a.person, a.role, a.created FROM tokens t "
            "JOIN accounts a ON a.name = t.account WHERE t.digest = ?", _digest(secret),
        )  # fmt: skip
        return self._account(rows[0]) if rows else None

    def tokens(self, name: str) -> list[tuple[str, datetime]]:
        """What the tokens of an account are for, and since when."""
        rows = self._run(
            "SELECT purpose, created FROM tokens WHERE account = ? ORDER BY created", name
        )
        return [(purpose, moment_of(created)) for purpose, created in rows]

    def end_tokens(self, name: str, purpose: str, *, by: str) -> int:
        """End the tokens for a purpose; returns how many there were."""
        with self._writing():
            ended = self._run(
                "DELETE FROM tokens WHERE account = ? AND purpose = ? RETURNING 1", name, purpose
            )
            if ended:
                self._note("token ended", name, by, purpose)
        return len(ended)

    def log(self) -> AccountsLog:
        """Which rights were given and taken away."""
        return self._asked(accounts_log.read_log)

    def log_text(self) -> str:
        """The same as lines for somebody to check."""
        return self._asked(accounts_log.log_text)

    def note_attempt(self, account: str, address: str) -> int:
        """Note an attempt, as failed until `succeeded` says otherwise; returns its number.

        It stands before the password is looked at: many at once do not get around a limit.
        """
        moment = microseconds(now())
        with self._writing():
            self._run("DELETE FROM attempts WHERE at < ?", moment - _length(_ATTEMPTS_KEPT))
            rows = self._run(
                "INSERT INTO attempts (at, account, address, good) VALUES (?, ?, ?, 0) "
                "RETURNING id", moment, account, address,
            )  # fmt: skip
        return int(rows[0][0])

    def succeeded(self, attempt: int) -> None:
        """Note that an attempt succeeded."""
        with self._writing():
            self._run("UPDATE attempts SET good = 1 WHERE id = ?", attempt)

    def attempts(
        self, since: datetime, *, account: str | None = None, address: str | None = None
    ) -> list[LogIn]:
        """Attempts since a moment and until now, oldest first, for an account or from an address.

        What a clock that was wrong has dated later tells nothing.
        """
        rows = self._run(
            "SELECT at, account, address, good FROM attempts WHERE at BETWEEN ?1 AND ?4 "
            "AND (?2 IS NULL OR account = ?2) AND (?3 IS NULL OR address = ?3) ORDER BY id",
            microseconds(since), account, address, microseconds(now()),
        )  # fmt: skip
        return [LogIn(moment_of(at), who, where, bool(good)) for at, who, where, good in rows]

    def _needed(self, name: str) -> None:
        if self.find(name) is None:
            known = ", ".join(account.name for account in self.all()) or "none yet"
            raise WrongUsage(f"there is no account {name!r}", hint=f"there are: {known}")

    def _end_all(self, name: str) -> None:
        self._run("DELETE FROM sessions WHERE account = ?", name)
        self._run("DELETE FROM tokens WHERE account = ?", name)

    def _forget_old(self, moment: int) -> None:
        self._run(
            "DELETE FROM sessions WHERE seen < ? OR begun < ?",
            moment - _length(_SESSION_IDLE), moment - _length(_SESSION_LONGEST),
        )  # fmt: skip

    def _note(self, what: str, name: str, by: str, detail: str = "") -> None:
        assert self._database is not None
        try:
            accounts_log.append(self._database, what, name, by, detail)
        except sqlite_file.FAILURES as error:
            raise self._unavailable(error) from error

    def _asked(self, question: Callable[[sqlite3.Connection], Answer]) -> Answer:
        assert self._database is not None
        try:
            return question(self._database)
        except sqlite_file.FAILURES as error:
            raise self._unavailable(error) from error

    def _run(self, statement: str, *values: Any) -> list[Any]:
        assert self._database is not None
        try:
            return self._database.execute(statement, values).fetchall()
        except sqlite_file.FAILURES as error:
            raise self._unavailable(error) from error

    def _unavailable(self, error: Exception) -> Unavailable:
        message = f"the accounts cannot be read or written: {error}"
        return Unavailable(message, file=str(self._file), hint=_what_to_do(error))

    def _account(self, row: tuple[Any, ...]) -> Account:
        """An account of the file. What cannot be one opens nothing."""
        try:
            name, person, role, created = row
            if role in ACCOUNT_ROLES:
                return Account(name, person, role, moment_of(created))
        except (TypeError, ValueError, OverflowError):
            pass
        raise self._unavailable(ValueError("an account in it is none"))

    @contextmanager
    def _writing(self) -> Iterator[None]:
        assert self._database is not None
        try:
            with sqlite_file.writing(self._database):
                yield
        except sqlite_file.FAILURES as error:
            raise self._unavailable(error) from error


def _is_on(moment: int, seen: int, begun: int) -> bool:
    idle, whole = _length(_SESSION_IDLE), _length(_SESSION_LONGEST)
    return moment - seen < idle and moment - begun < whole


def _length(span: timedelta) -> int:
    return span // timedelta(microseconds=1)


def _digest(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()


def _what_to_do(error: Exception) -> str:
    code = sqlite_file.result_code(error)
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return "try again"
    if isinstance(error, OSError) or code in _NOT_OURS:
        return "whoever runs the viewer must be able to read and write this file and its folder"
    return "put a good copy of it back, or move it away and add the accounts anew"

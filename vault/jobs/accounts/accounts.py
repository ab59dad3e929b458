"""Accounts of the viewer: adding them, and letting people in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from functools import cache
from ipaddress import ip_address, ip_network
from math import ceil
from typing import TYPE_CHECKING

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError

from vault.model.accounts import (
    Account,
    AccountsLog,
    LogIn,
    checked_account_name,
    checked_account_role,
    checked_password,
)
from vault.model.errors import Refused, Unavailable
from vault.model.snapshots import checked_person
from vault.model.visible_text import visible
from vault.model.wording import plural
from vault.store.clock import now
from vault.store.local.accounts import Accounts

if TYPE_CHECKING:
    from pathlib import Path

# Argon2id with the library's parameters, which follow RFC 9106.
_HASHER = PasswordHasher()
_WINDOW = timedelta(minutes=15)
# An account from one address, and an address: whoever guesses from elsewhere shuts nobody out.
_MOST_TOGETHER, _MOST_FROM_ADDRESS = 8, 40
_LONGEST_TEXT = 64
_NOT_RIGHT = "name or password is not right"


class TooManyAttempts(Refused):
    """Too many attempts; `wait` is how many seconds to wait."""

    def __init__(self, wait: int) -> None:
        super().__init__(
            "too many attempts to log in", hint=f"try again in {plural(ceil(wait / 60), 'minute')}"
        )
        self.wait = wait


def add_account(
    state: Path, name: str, person: str, role: str, password: str, *, by: str
) -> Account:
    """Add an account. Raises WrongUsage for what cannot be one."""
    name, role = checked_account_name(name), checked_account_role(role)
    person = checked_person(person)
    hashed = _HASHER.hash(checked_password(password, name))
    with Accounts(state) as accounts:
        return accounts.add(name, person, role, hashed, by=by)


def change_password(state: Path, name: str, password: str, *, by: str) -> None:
    """Set a password; every session and token of the account ends. Raises WrongUsage."""
    hashed = _HASHER.hash(checked_password(password, name))
    with Accounts(state) as accounts:
        accounts.set_password(name, hashed, by=by)


def log_in(accounts: Accounts, name: str, password: str, address: str) -> tuple[Account, str]:
    """Let somebody in: the account, and the secret of a new session.

    `address` is where they come from. Raises TooManyAttempts, or Refused, which does not say what
    is wrong.
    """
    name = visible(" ".join(name.casefold().split())[:_LONGEST_TEXT])
    address = _network(address)
    attempt = accounts.note_attempt(name, address)
    _check_throttle(accounts, name, address)
    known = accounts.find(name)
    if not _is_password(known[1] if known else _nobody(), password) or known is None:
        raise Refused(_NOT_RIGHT)
    session = accounts.begin_session(name, known[1])
    if session is None:  # removed, or changed, while the password was looked at
        raise Refused(_NOT_RIGHT)
    accounts.succeeded(attempt)
    if _HASHER.check_needs_rehash(known[1]):
        accounts.rehash(name, _HASHER.hash(password))
    return known[0], session


def is_own_password(accounts: Accounts, name: str, password: str, address: str) -> bool:
    """Whether somebody who is logged in knows the password; throttled as logging in is."""
    address = _network(address)
    attempt = accounts.note_attempt(name, address)
    _check_throttle(accounts, name, address)
    known = accounts.find(name)
    if known is None or not _is_password(known[1], password):
        return False
    accounts.succeeded(attempt)
    return True


def failed_log_ins(state: Path, start: datetime, end: datetime) -> Iterator[LogIn]:
    """Attempts to log in that failed in a period, oldest first; none where none can be read."""
    if not Accounts.exist(state):
        return
    with suppress(Unavailable), Accounts(state) as accounts:
        yield from (
            attempt
            for attempt in accounts.attempts(start)
            if not attempt.good and attempt.at <= end
        )


def log_of_accounts(state: Path) -> AccountsLog:
    """Which rights were given and taken away; an empty log where there never was an account.

    Raises Unavailable where it cannot be read.
    """
    if not Accounts.exist(state):
        return AccountsLog()
    with Accounts(state) as accounts:
        return accounts.log()


def text_of_log(state: Path) -> str:
    """The lines of that log as they are kept; empty where none can be read."""
    if Accounts.exist(state):
        with suppress(Unavailable), Accounts(state) as accounts:
            return accounts.log_text()
    return ""


def _network(address: str) -> str:
    """What attempts are counted by: a computer may have every IPv6 address of its /64."""
    try:
        ip = ip_address(address)
    except ValueError:
        return address
    if ip.version == 4 or ip.ipv4_mapped is not None or ip.is_loopback:
        return address
    return str(ip_network((ip, 64), strict=False))


def _is_password(hashed: str, password: str) -> bool:
    try:
        return _HASHER.verify(hashed, password)
    except (Argon2Error, InvalidHashError):
        return False


def _check_throttle(accounts: Accounts, name: str, address: str) -> None:
    """Raise TooManyAttempts where the attempt just noted is one too many.

    Failures before the last success of an account do not count for it.
    """
    since = now() - _WINDOW
    for most, account in ((_MOST_TOGETHER, name), (_MOST_FROM_ADDRESS, None)):
        attempts = accounts.attempts(since, account=account, address=address)
        failed = [attempt for attempt in _since_success(attempts, account) if not attempt.good]
        if len(failed) > most:
            wait = failed[-most].at + _WINDOW - now()
            raise TooManyAttempts(max(1, ceil(wait.total_seconds())))


def _since_success(attempts: list[LogIn], account: str | None) -> list[LogIn]:
    """What came after the last success; somebody's own success does not excuse an address."""
    good = (n for n, attempt in enumerate(attempts) if attempt.good and account is not None)
    return attempts[max(good, default=-1) + 1 :]


@cache
def _nobody() -> str:
    """What is looked at where there is no account: that takes as long as where there is one."""
    return _HASHER.hash("nobody knows this one")

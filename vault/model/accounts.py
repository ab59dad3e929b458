"""Accounts of the viewer: who somebody is, and what they may do."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from vault.model.errors import WrongUsage

# Each may do what those before it may.
ACCOUNT_ROLES = {
    "reader": "read everything, download evidence",
    "technician": "take exports in, draft dictionaries, check a restore, note faults",
    "approver": "approve, waive and withdraw golden baselines, put dictionaries in, settle roles",
    "admin": "verify the vault, see everybody's work",
}
# NIST SP 800-63B asks for length and no composition rules (from memory).
SHORTEST_PASSWORD, LONGEST_PASSWORD = 12, 256
LONGEST_PURPOSE = 100
_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")


@dataclass(frozen=True, slots=True)
class Account:
    """An account; `person` is `Name <mail>`, the author of everything done with it."""

    name: str
    person: str
    role: str
    created: datetime

    def may(self, role: str) -> bool:
        """Whether it may do what a role may do."""
        order = list(ACCOUNT_ROLES)
        return order.index(self.role) >= order.index(role)


@dataclass(frozen=True, slots=True)
class LogIn:
    """An attempt to log in: for which account (as typed), from where, and whether it succeeded."""

    at: datetime
    account: str
    address: str
    good: bool


@dataclass(frozen=True, slots=True)
class AccountChange:
    """A right that was given or taken away: what, of which account, by whom.

    `detail` is the role, or what a token is for.
    """

    at: datetime
    what: str
    account: str
    by: str
    detail: str

    @property
    def title(self) -> str:
        """It in words."""
        detail = f" ({self.detail})" if self.detail else ""
        return f"account {self.account}: {self.what}{detail}"


@dataclass(frozen=True, slots=True)
class AccountsLog:
    """What is known of accounts, oldest first; `broken` says what is not as it was written."""

    changes: tuple[AccountChange, ...] = ()
    broken: str | None = None


def checked_account_name(text: str) -> str:
    """Return the name of an account if it is one. Raises WrongUsage otherwise."""
    if not _NAME.fullmatch(text):
        raise WrongUsage(
            f"{text!r} is no name for an account",
            hint="small letters, digits, dot, dash and underscore, at most 64",
        )
    return text


def checked_account_role(text: str) -> str:
    """Return the role if there is one of that name. Raises WrongUsage otherwise."""
    if text not in ACCOUNT_ROLES:
        raise WrongUsage(f"there is no role {text!r}", hint=", ".join(ACCOUNT_ROLES))
    return text


def checked_purpose(text: str) -> str:
    """Return what a token is for, as one line. Raises WrongUsage for what nobody could read."""
    line = " ".join(text.split())
    if not line or len(line) > LONGEST_PURPOSE or not line.isprintable():
        raise WrongUsage(
            "that does not say what the token is for",
            hint=f"a few words, at most {LONGEST_PURPOSE} characters",
        )
    return line


def checked_password(text: str, account: str) -> str:
    """Return the password if it is long enough to be one. Raises WrongUsage, without it."""
    if not SHORTEST_PASSWORD <= len(text) <= LONGEST_PASSWORD:
        raise WrongUsage(
            f"a password has {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters",
            hint="a few words that belong to nothing do well",
        )
    if text.casefold().replace(account, "").strip("0123456789 ") == "" or len(set(text)) < 5:
        raise WrongUsage("this password is guessed at once", hint="take a few words")
    return text

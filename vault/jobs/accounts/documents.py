"""JSON of accounts of the viewer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.model.accounts import Account, AccountChange, AccountsLog


class AccountDocument(TypedDict):
    """An account of the viewer: `user add`."""

    name: str
    """What one logs in with."""

    person: str
    """Author of what the account does: `Name <mail>`."""

    role: str
    """What it may do: `reader`, `technician`, `approver` or `admin`."""

    created: str
    """When it was added."""


class AccountsDocument(TypedDict):
    """The accounts of the viewer: `user list`."""

    accounts: list[AccountDocument]
    """By name."""


class AccountChangeDocument(TypedDict):
    """A right that was given or taken away."""

    at: str
    """When."""

    what: str
    """`added`, `removed`, `token made` and others; `was there` of what is older than the log."""

    account: str
    """Name of the account."""

    by: str
    """Who did it: `Name <mail>`; empty where nobody knows."""

    detail: str
    """The role, or what a token is for."""


class AccountsLogDocument(TypedDict):
    """Which rights were given and taken away: `user log`."""

    changes: list[AccountChangeDocument]
    """Oldest first."""

    broken: str | None
    """What of the log is not as it was written; null where all is."""


class PasswordSetDocument(TypedDict):
    """An account with another password: `user password`."""

    account: str
    """Name of the account."""


class TokenDocument(TypedDict):
    """A token that was made, or tokens that were ended: `user token`."""

    account: str
    """Name of the account."""

    purpose: str
    """What it is for."""

    token: str | None
    """The token itself, which is shown this once; null where tokens were ended."""

    ended: int
    """How many were ended."""


def account_change_documents(changes: Iterable[AccountChange]) -> list[AccountChangeDocument]:
    """Rights that were given and taken away."""
    return [
        {
            "at": time_text(change.at),
            "what": change.what,
            "account": change.account,
            "by": change.by,
            "detail": change.detail,
        }
        for change in changes
    ]


def accounts_log_document(log: AccountsLog) -> AccountsLogDocument:
    """The log of accounts."""
    return {"changes": account_change_documents(log.changes), "broken": log.broken}


class AccountRemovedDocument(TypedDict):
    """An account that was removed: `user remove`."""

    removed: str
    """Its name."""


def account_document(account: Account) -> AccountDocument:
    """An account."""
    return {
        "name": account.name,
        "person": account.person,
        "role": account.role,
        "created": time_text(account.created),
    }


def accounts_document(accounts: Iterable[Account]) -> AccountsDocument:
    """All accounts."""
    return {"accounts": [account_document(account) for account in accounts]}


def account_removed_document(name: str) -> AccountRemovedDocument:
    """An account that was removed."""
    return {"removed": name}

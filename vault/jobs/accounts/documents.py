"""JSON of accounts of the viewer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.model.accounts import Account


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

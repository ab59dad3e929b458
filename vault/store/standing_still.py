"""Looking at branch and index as they are now, whatever others record meanwhile."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from vault.model.errors import Unavailable

if TYPE_CHECKING:
    from vault.store.vault import Vault

_LOOKS = 20  # until branch and index are at one commit


@contextmanager
def standing_still(vault: Vault) -> Iterator[None]:
    """See the newest state within, and the index as it belongs to it: others go on recording.

    Not within `writing`. Raises Unavailable where they record quicker than one can look.
    """
    for _ in range(_LOOKS):
        vault.refresh()
        try:
            if vault.index.ask(_held) == vault.tip:
                yield
                return
        finally:
            vault.index.ask(_let_go)
    raise Unavailable("others record all the time", hint="try again")


def _held(database: sqlite3.Connection) -> object:
    """The commit of the index, which shows nothing later to this connection from now on (WAL)."""
    database.execute("BEGIN")
    return database.execute("SELECT tip FROM state").fetchone()[0]


def _let_go(database: sqlite3.Connection) -> None:
    if database.in_transaction:  # unless it was done without
        database.execute("ROLLBACK")

"""What people added afterwards about snapshots: it stands beside the record, which stays."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from vault.model.errors import VaultError

if TYPE_CHECKING:
    from vault.model.corrections import Correction
    from vault.model.names import Address
    from vault.store.vault import Vault


def addenda_of(vault: Vault, address: Address) -> dict[str, tuple[Correction, ...]]:
    """What was added about snapshots of an axis, by their id, oldest first."""
    found: dict[str, tuple[Correction, ...]] = {}
    with suppress(VaultError):  # verify tells that better
        for entry in vault.corrections(address):
            if entry.snapshot is not None:
                found[entry.snapshot] = (*found.get(entry.snapshot, ()), entry)
    return found

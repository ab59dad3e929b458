"""The guard against names that some systems take for the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.names import case_clash

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def name_clash(vault: Vault, address: Address) -> str | None:
    """Say which name an axis's name differs from in upper and lower case only, if any.

    What was recorded and is not committed yet counts too.
    """
    if vault.index.count(address):
        return None
    beside = {axis.axis for axis in vault.index.axes(address.machine)}
    machines = {address.machine} if beside else {axis.machine for axis in vault.index.axes()}
    return vault.case_clash(address) or case_clash(address, machines, lambda machine: beside)

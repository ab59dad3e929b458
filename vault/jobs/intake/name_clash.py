"""The guard against names that some systems take for the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.model.names import Address
    from vault.store.vault import Vault


def name_clash(vault: Vault, address: Address) -> str | None:
    """Say which name an axis's name differs from in upper and lower case only, if any.

    What was recorded and is not committed yet counts too.
    """
    if vault.index.count(address):
        return None
    in_use = vault.case_clash(address) or _recorded_clash(vault.index.axes(), address)
    if in_use is None:
        return None
    is_machine = in_use.casefold() == address.machine.casefold()
    name = address.machine if is_machine else address.axis
    return f"{name!r} differs from {in_use!r} in upper and lower case only"


def _recorded_clash(axes: Sequence[Address], address: Address) -> str | None:
    machines = {axis.machine for axis in axes}
    if address.machine in machines:
        names = {axis.axis for axis in axes if axis.machine == address.machine}
        wanted = address.axis.casefold()
    else:
        names, wanted = machines, address.machine.casefold()
    return next((name for name in names if name.casefold() == wanted), None)

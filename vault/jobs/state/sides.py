"""The controller's set of an axis beside its drive's: its states, and patterns that mean it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.selectors import State, golden_state

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def controller_state(vault: Vault, address: Address) -> State | None:
    """The latest state of the controller's side of an axis; None where none was taken in."""
    side = vault.names.named(address.controller)
    snapshot = vault.latest(side)
    return None if snapshot is None else State(str(side), vault, side, snapshot, is_latest=True)


def controller_golden(vault: Vault, address: Address) -> State | None:
    """What was approved of the controller's side of an axis; None where nothing was.

    Raises Damaged where the baseline is broken.
    """
    side = vault.names.named(address.controller)
    return None if vault.golden(side).approval is None else golden_state(vault, side)


def sets_meant(vault: Vault, pattern: str) -> list[Address]:
    """The sets among which a pattern of names looks: drives', or controllers' as `*/*:controller`.

    Both are never mixed: they have no values in common.
    """
    return vault.controller_sets() if ":" in pattern else vault.axes()

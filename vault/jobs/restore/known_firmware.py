"""Whether a dictionary says anything of a firmware."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.firmware import is_version, version_key
from vault.store.index import texts

if TYPE_CHECKING:
    import sqlite3

    from vault.model.families import Family
    from vault.model.names import Address
    from vault.store.vault import Vault

_MOST = 100


def knows_firmware(vault: Vault, family: Family | None, firmware: str) -> bool:
    """Whether a rule of the family names a version, or an export of it in the vault had it."""
    if family is None or not is_version(firmware):
        return False
    if any(firmware in variant.firmware for variant in family.variants):
        return True
    wanted = version_key(firmware)

    def axes(database: sqlite3.Connection) -> list[Address]:
        hits = texts.of_kind(database, "firmware")
        same = [hit.number for hit in hits if version_key(hit.text) == wanted]
        return [one for number in same for one in texts.axes_with(database, number, _MOST)]

    return any(
        snapshot.record.family == family.name
        and version_key(snapshot.record.nameplate.get("firmware", "")) == wanted
        for address in vault.index.ask(axes)
        for snapshot in vault.index.snapshots(address)
    )

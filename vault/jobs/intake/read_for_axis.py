"""Reading an export as one of an axis: the stages of reading with the vault's dictionaries."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import TYPE_CHECKING

from vault.formats import iec61131
from vault.jobs.export.read_export import read_export, refers_to_node
from vault.jobs.intake.visit import parse_node_id
from vault.model.errors import VaultError, WrongUsage

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.visit import Visit
    from vault.model.axis_pick import AxisPick
    from vault.model.names import Address
    from vault.store.vault import FamilyFile, Vault


_NODE_NAMES = ("node_id", "node_address")


def families_of(vault: Vault) -> dict[str, FamilyFile]:
    """Every dictionary of the vault, by the name of its family."""
    return {name: vault.family_file(name) for name in vault.family_names()}


def read_for_axis(
    vault: Vault,
    address: Address,
    content: bytes,
    file: str,
    visit: Visit,
    families: Mapping[str, FamilyFile] | None = None,
) -> Export:
    """Read an export with the family that the visit names, else with the one that it looks like.

    Of several the one of the axis's latest snapshot goes first. Whoever reads many exports gives
    the vault's `families`. Raises what reading raises, and WrongUsage for an unknown family.
    """
    families = families_of(vault) if families is None else families
    named = visit.family
    latest = vault.latest(address) if named is None else None
    return read_export(
        content,
        file,
        families.get(named) or vault.family_file(named) if named is not None else None,
        known=families.values(),
        usual=latest.record.family if latest is not None else None,
        channel=visit.channel,
        partial=visit.partial,
        node_id=visit.node_id or _node_of_axis(vault, address, content),
        pick=_pick_of_axis(vault, address, content, file),
    )


def _pick_of_axis(vault: Vault, address: Address, content: bytes, file: str) -> AxisPick | None:
    """What of a controller's export is of the axis, by the axis record."""
    if not address.is_controller and not iec61131.recognises(content, file):
        return None
    try:
        record = vault.axis_record(address)
    except VaultError:  # whoever needs the record says it better
        return None
    return record.controller.pick if record is not None and record.controller else None


def _node_of_axis(vault: Vault, address: Address, content: bytes) -> int | None:
    """The node id that the axis record states, if the file needs one and it states any."""
    if not refers_to_node(content):
        return None
    try:
        record = vault.axis_record(address)
    except VaultError:  # whoever needs the record says it better
        return None
    places = (record.controller_link, record.nameplate) if record is not None else ()
    stated = (place[name] for place in places for name in _NODE_NAMES if name in place)
    for text in stated:
        with suppress(WrongUsage):
            return parse_node_id(str(text))
    return None

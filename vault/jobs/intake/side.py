"""Whose set of an axis an export is: its drive's, or that of the controller above it.

Whoever brings it says so, by the address or apart from it; a guard objects where the export itself
tells otherwise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.intake.objection import Objection
from vault.model import roles
from vault.model.errors import WrongUsage
from vault.model.names import checked_side
from vault.model.snapshots import drive_serial
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.names import Address
    from vault.store.vault import Vault

_OF_DRIVES = ("identity", "motor", "brake")
"""Groups of roles that a drive's set has; a controller writes some others when it starts."""
_HINT = "take it in with --side {side}; if it is right so, say why: --even-so REASON"


def on_side(address: Address, side: str | None) -> Address:
    """The address with the side that somebody says apart from it, empty for what it says itself.

    Raises WrongUsage for a word that is no side, and where the address says another one.
    """
    if side is None or not side.strip():
        return address
    if checked_side(side) == "controller":
        return address.controller
    if address.is_controller:
        raise WrongUsage(
            f"{address} is the controller's side, and {side.strip()!r} was said",
            hint=f"say one of both: --to {address.drive} is the drive's",
        )
    return address


def wrong_side(vault: Vault, address: Address, export: Export) -> Objection | None:
    """Say where an export tells that it is of the other side of its axis."""
    told = _by_other_side(vault, address, export) or _by_roles(address, export)
    if told is None:
        return None
    other = address.drive if address.is_controller else address.controller
    hint = _HINT.format(side=other.side)
    return Objection("wrong_side", told, hint=hint, elsewhere=other)


def _by_other_side(vault: Vault, address: Address, export: Export) -> str | None:
    """By what was taken in before: its family, or its drive, is that of the other side alone."""
    ours = vault.latest(address)
    other = vault.latest(address.drive if address.is_controller else address.controller)
    if other is None:
        return None
    serial = drive_serial(export.nameplate)
    if serial is not None and serial == other.record.serial and address.is_controller:
        return f"it is of the drive with serial number {serial}, which is that of {other.address}"
    family = export.family_name
    if family is None or family != other.record.family:
        return None
    if ours is not None and ours.record.family == family:
        return None
    whose, mine = ("drive", "controller") if address.is_controller else ("controller", "drive")
    return f"{family} is what the {whose}'s set of this axis is of, not the {mine}'s"


def _by_roles(address: Address, export: Export) -> str | None:
    """By what its parameters are."""
    groups = [
        role.group
        for parameter in export.parameters.values()
        if parameter.role and (role := roles.find(parameter.role)) is not None
    ]
    of_controller = groups.count("controller")
    if not address.is_controller and of_controller > len(groups) // 2:
        count = plural(of_controller, "setting")
        return f"it holds {count} of a controller's side, and is to be the drive's set"
    of_drive = sum(group in _OF_DRIVES for group in groups)
    if address.is_controller and not of_controller and of_drive > len(groups) // 4:
        count = plural(of_drive, "value")
        return f"it holds {count} that only a drive has, and is to be the controller's set"
    return None

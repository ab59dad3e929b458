"""Taking an axis or a machine out of use, and back: its history stays and is read as before.

What is retired is never overdue, raises no alert, and stands beside no others; an export of it is
taken in only with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.records.corrections import append, next_moment
from vault.jobs.records.machines import require_machine
from vault.model.corrections import Correction, standing
from vault.model.errors import WrongUsage
from vault.model.typed_text import required_text, text_or_none
from vault.model.written_form import day_text
from vault.store.files import layout
from vault.store.files.corrections_text import STANDING_FORMAT

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Retired:
    """What became of an axis or a machine; `retired` whether it is out of use now.

    `entry` says by whom, when and why. `warnings` are for the reader.
    """

    name: str
    retired: bool
    entry: Correction
    warnings: tuple[str, ...] = ()


def retire_axis(vault: Vault, address: Address, by: str, reason: str | None) -> Retired:
    """Take an axis out of use. Raises WrongUsage without a reason, and where it is so already."""
    reason = required_text(reason, "reason")
    with vault.writing():
        address = vault.require_whole_axis(address)
        path = layout.corrections_file(address)
        entry = _retire(vault, path, str(address), by, reason)
    return Retired(str(address), True, entry)


def reinstate_axis(vault: Vault, address: Address, by: str, reason: str | None = None) -> Retired:
    """Put a retired axis back in use. Raises WrongUsage where it is in use."""
    with vault.writing():
        address = vault.require_whole_axis(address)
        path = layout.corrections_file(address)
        entry = _reinstate(vault, path, str(address), by, reason)
        remarks = []
        if vault.names.machine_retired(address.machine) is not None:
            machine = address.shown[0]
            remarks.append(
                f"{machine} is retired as a whole: axisvault machine retire {machine} --undo"
            )
    return Retired(str(address), False, entry, (*remarks, *alert(vault, [address])))


def retire_machine(vault: Vault, machine: str, by: str, reason: str | None) -> Retired:
    """Take a machine with all its axes out of use. Raises WrongUsage as `retire_axis`."""
    reason = required_text(reason, "reason")
    with vault.writing():
        folder = require_machine(vault, machine)
        name = vault.names.machine_name(folder)
        entry = _retire(vault, layout.machine_corrections_file(folder), name, by, reason)
    return Retired(name, True, entry)


def reinstate_machine(vault: Vault, machine: str, by: str, reason: str | None = None) -> Retired:
    """Put a retired machine back in use; axes that were retired by themselves stay so.

    Raises WrongUsage where it is in use.
    """
    with vault.writing():
        folder = require_machine(vault, machine)
        name = vault.names.machine_name(folder)
        entry = _reinstate(vault, layout.machine_corrections_file(folder), name, by, reason)
        axes = [axis for axis in vault.axes() if axis.machine == folder]
    return Retired(name, False, entry, tuple(alert(vault, axes)))


def _retire(vault: Vault, path: str, name: str, by: str, reason: str) -> Correction:
    if (before := standing(vault.corrections_in(path)).retired) is not None:
        raise WrongUsage(f"{name} is retired already, since {day_text(before.at)}: {before.text}")
    return _added(vault, path, Correction("retired", by, next_moment(vault, path), reason), name)


def _reinstate(vault: Vault, path: str, name: str, by: str, reason: str | None) -> Correction:
    if standing(vault.corrections_in(path)).retired is None:
        raise WrongUsage(f"{name} is in use", hint="axisvault axis list shows what is retired")
    text = text_or_none(reason) or "It is used again."
    return _added(vault, path, Correction("in-use", by, next_moment(vault, path), text), name)


def _added(vault: Vault, path: str, entry: Correction, name: str) -> Correction:
    append(vault, path, entry, f"{name}: {entry.title}", STANDING_FORMAT)
    return entry

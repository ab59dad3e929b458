"""The guard against an export of another axis: by its serial number, then by its values."""

from __future__ import annotations

from collections.abc import Callable

from vault.jobs.export.parameter_set import Export
from vault.jobs.intake.objection import Objection
from vault.model import roles
from vault.model.names import Address
from vault.model.snapshots import drive_serial
from vault.model.wording import plural
from vault.store.files.parameters_text import parameter_lines, read_parameter_line
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

# Far more than one visit changes, and far less than that (common practice, no source).
_FOREIGN_SHARE = 0.15
_FAR_BETTER = 4


def wrong_axis(
    vault: Vault,
    address: Address,
    export: Export,
    parameters_of: Callable[[Snapshot], bytes],
) -> Objection | None:
    """Look for another axis that an export belongs to, among the sets of the same side.

    One controller has many axes: its serial number tells none of them.
    `parameters_of` gives parameters.yaml of a snapshot.
    """
    latest = vault.latest(address)
    serial = drive_serial(export.nameplate)
    if serial is not None and not address.is_controller:
        if latest is not None and latest.record.serial == serial:
            return None  # the drive that was here last time
        for holder in vault.index.latest_with_serial(serial):
            same_drive = holder.record.channel == export.listing.channel
            if holder.address.is_controller:
                continue
            if holder.address != address and same_drive:
                elsewhere = vault.names.named(holder.address)
                return Objection(
                    "wrong_axis",
                    f"the drive with serial number {serial} was last seen at {elsewhere}, "
                    f"not at {address}",
                    elsewhere=elsewhere,
                )
    if latest is None or latest.record.family != export.family_name:
        return None  # settings of two families do not compare code by code
    return _by_values(vault, latest, export, parameters_of)


def _by_values(
    vault: Vault,
    latest: Snapshot,
    export: Export,
    parameters_of: Callable[[Snapshot], bytes],
) -> Objection | None:
    settings = _lines(export.parameters_text)
    own = _differing(settings, _lines(parameters_of(latest)))
    if own <= _FOREIGN_SHARE * len(settings):
        return None
    for other in vault.index.axes():
        snapshot = vault.latest(other)
        is_like = other.side == latest.address.side and other != latest.address
        if not is_like or snapshot is None:
            continue
        if snapshot.record.family != export.family_name:
            continue
        if _differing(settings, _lines(parameters_of(snapshot))) * _FAR_BETTER < own:
            count, address = len(settings), vault.names.named(latest.address)
            other = vault.names.named(other)
            differ = plural(own, f"of {count} settings differs", f"of {count} settings differ")
            said = f"{differ} from {address}, but hardly any from {other}"
            return Objection("wrong_axis", said, elsewhere=other)
    return None


def _lines(content: bytes) -> set[str]:
    return set(parameter_lines(content, "parameters.yaml"))


def _differing(left: set[str], right: set[str]) -> int:
    """Number of settings that differ or are missing; live values and identity do not count."""
    codes: set[str] = set()
    for line in left ^ right:
        parameter = read_parameter_line(line)
        role = roles.find(parameter.role) if parameter.role else None
        if role is None or not (role.volatile or role.group == "identity"):
            codes.add(parameter.code)
    return len(codes)

"""The wrong-axis guard: does this export belong to another axis?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from vault.jobs.state.read_export import ReadExport
from vault.model import roles
from vault.model.errors import Refused
from vault.model.names import Address
from vault.model.snapshots import SnapshotRecord
from vault.model.wording import plural
from vault.store.files import yaml_text
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

# Far more than one visit changes, and far less than that (common practice, no source).
_FOREIGN_SHARE = 0.15
_FAR_BETTER = 4

_OVERRIDE = "if it is right, say why: --even-so REASON"


@dataclass(frozen=True, slots=True)
class Suspicion:
    """Why an export seems to belong elsewhere."""

    reason: str
    elsewhere: Address

    def refused(self, file: str) -> Refused:
        """The guard's refusal."""
        return Refused(self.reason, file=file, hint=_OVERRIDE)


def suspicion(
    vault: Vault,
    address: Address,
    export: ReadExport,
    record: SnapshotRecord,
    parameters_of: Callable[[Snapshot], bytes],
) -> Suspicion | None:
    """Look for another axis that this export belongs to: by serial number, then by values.

    `parameters_of` gives parameters.yaml of a snapshot.
    """
    latest = vault.latest(address)
    serial = record.serial
    if serial is not None:
        if latest is not None and latest.record.serial == serial:
            return None  # the drive that was here last time
        for holder in vault.index.holders(serial):
            same_drive = holder.record.channel == record.channel
            if holder.address != address and same_drive:
                return Suspicion(
                    f"the drive with serial number {serial} was last seen at {holder.address}, "
                    f"not at {address}",
                    holder.address,
                )
    if latest is None or latest.record.family != record.family:
        return None  # settings of two families do not compare code by code
    return _by_values(vault, address, latest, export, record, parameters_of)


def _by_values(
    vault: Vault,
    address: Address,
    latest: Snapshot,
    export: ReadExport,
    record: SnapshotRecord,
    parameters_of: Callable[[Snapshot], bytes],
) -> Suspicion | None:
    settings = _lines(yaml_text.parameters_text(export.normalised.parameters))
    own = _differing(settings, _lines(parameters_of(latest)))
    if own <= _FOREIGN_SHARE * len(settings):
        return None
    for other in vault.index.axes():
        snapshot = vault.latest(other)
        if other == address or snapshot is None or snapshot.record.family != record.family:
            continue
        if _differing(settings, _lines(parameters_of(snapshot))) * _FAR_BETTER < own:
            count = len(settings)
            differ = plural(own, f"of {count} settings differs", f"of {count} settings differ")
            return Suspicion(f"{differ} from {address}, but hardly any from {other}", other)
    return None


def _lines(content: bytes) -> set[str]:
    return set(yaml_text.parameter_lines(content, "parameters.yaml"))


def _differing(left: set[str], right: set[str]) -> int:
    """Number of settings that differ or are missing; live values and identity do not count."""
    found: set[str] = set()
    for line in left ^ right:
        parameter = yaml_text.read_parameter_line(line)
        role = roles.find(parameter.role) if parameter.role else None
        if role is None or not (role.volatile or role.group == "identity"):
            found.add(parameter.code)
    return len(found)

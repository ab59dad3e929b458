"""The guard against an export of another axis: by its serial number, then by its values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice

from vault.jobs.export.parameter_set import Export
from vault.jobs.intake.objection import Objection
from vault.model import roles
from vault.model.names import Address
from vault.model.snapshots import drive_serial
from vault.model.wording import plural
from vault.store.files.parameters_text import code_and_role, parameter_lines
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
    own = sum(1 for _ in _differing(settings, _lines(parameters_of(latest))))
    if own <= _FOREIGN_SHARE * len(settings):
        return None
    most = (own - 1) // _FAR_BETTER  # settings in which another axis may differ
    for other in _candidates(vault, settings, most):
        snapshot = vault.latest(other)
        is_like = other.side == latest.address.side and other != latest.address
        if not is_like or snapshot is None:
            continue
        if snapshot.record.family != export.family_name:
            continue
        differing = _differing(settings, _lines(parameters_of(snapshot)))
        if sum(1 for _ in islice(differing, most + 1)) <= most:
            count, address = len(settings), vault.names.named(latest.address)
            other = vault.names.named(other)
            differ = plural(own, f"of {count} settings differs", f"of {count} settings differ")
            said = f"{differ} from {address}, but hardly any from {other}"
            return Objection("wrong_axis", said, elsewhere=other)
    return None


def _candidates(vault: Vault, settings: set[str], most: int) -> list[Address]:
    """Axes that may differ in at most so many settings, by name: the index tells the others."""
    line_of = {code: line for line in settings if (code := _setting(line)) is not None}
    return sorted(vault.index.axes_that_may_have(tuple(line_of.values()), but=most))


def _lines(content: bytes) -> set[str]:
    return set(parameter_lines(content, "parameters.yaml"))


def _differing(left: set[str], right: set[str]) -> Iterator[str]:
    """Settings that differ or are missing, each once, read as they are asked for."""
    codes: set[str] = set()
    for line in left ^ right:
        code = _setting(line)
        if code is not None and code not in codes:
            codes.add(code)
            yield code


def _setting(line: str) -> str | None:
    """Code of a line, None for a live value and for identity, which do not count."""
    code, role_name = code_and_role(line)
    role = roles.find(role_name) if role_name else None
    return None if role is not None and (role.volatile or role.group == "identity") else code

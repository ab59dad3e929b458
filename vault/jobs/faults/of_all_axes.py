"""The faults of all axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.faults.log import fault_code
from vault.model.fault_table import compared_code
from vault.model.internal_errors import told_apart
from vault.model.remembered import EACH_AXIS, Remembered
from vault.store.files.fault_log_text import read_fault_log

if TYPE_CHECKING:
    from datetime import datetime

    from vault.meaning.faults import FaultCode
    from vault.model.errors import VaultError
    from vault.model.fault_log import FaultEntry
    from vault.model.names import Address
    from vault.store.vault import Vault

_READ = Remembered[str, "tuple[FaultEntry, ...]"](EACH_AXIS)


@dataclass(frozen=True, slots=True)
class AxisFault:
    """A fault of an axis, and what its code stands for; None where nothing is known about it."""

    axis: Address
    entry: FaultEntry
    code: FaultCode | None


def faults_of_all(
    vault: Vault,
    code: str | None = None,
    most: int | None = None,
    failures: list[VaultError] | None = None,
    since: datetime | None = None,
) -> tuple[list[AxisFault], dict[str, int]]:
    """Faults of all axes, newest first: those of one code, the `most` newest; how many of each,
    by the code as it was noted last.

    With `since` only those after it.

    Only fault logs at the tip are read, each once for as long as it is the same. One that cannot
    be read goes to `failures`.
    """
    problems: list[VaultError] = [] if failures is None else failures
    every: list[tuple[Address, FaultEntry]] = []
    for place, blob in vault.blobs_named("faults.yaml").items():
        axis = vault.names.named(place)
        with told_apart(problems.append, str(axis)):
            log = _log(vault, blob)
            every += ((axis, entry) for entry in log if since is None or entry.at > since)
    every.sort(key=lambda one: (one[1].at, one[0]), reverse=True)
    shown: dict[str, str] = {}
    counts: dict[str, int] = {}
    for _, entry in every:
        noted = shown.setdefault(compared_code(entry.code), entry.code)
        counts[noted] = counts.get(noted, 0) + 1
    asked = None if code is None else compared_code(code)
    wanted = [one for one in every if asked is None or compared_code(one[1].code) == asked]
    named: dict[tuple[Address, str], FaultCode | None] = {}
    found = []
    for axis, entry in wanted[:most]:
        key = axis, entry.code
        if key not in named:
            named[key] = fault_code(vault, axis, entry.code)
        found.append(AxisFault(axis, entry, named[key]))
    return found, dict(sorted(counts.items(), key=lambda one: (-one[1], one[0])))


def _log(vault: Vault, blob: str) -> tuple[FaultEntry, ...]:
    return _READ.of(blob, lambda: read_fault_log(vault.repository.blob(blob) or b"", "faults.yaml"))

"""Taking in one export of many, if the vault does not have it: for trees and watched folders."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.stored import find_given, find_stored
from vault.jobs.intake.take_in import take_in

if TYPE_CHECKING:
    from vault.jobs.intake.planned import Planned
    from vault.jobs.intake.report import Ingested
    from vault.store.recorder import Recorder
    from vault.store.vault import FamilyFile, Vault


def take_in_once(
    vault: Vault,
    recorder: Recorder,
    planned: Planned,
    content: bytes,
    families: Mapping[str, FamilyFile],
) -> Ingested | None:
    """Record an export with this content; None where the vault has it already.

    Raises Unreadable, WrongUsage or Refused for the file, Unavailable or Damaged for the vault.
    """
    address, visit = vault.names.find(planned.address), planned.visit
    if find_given(vault, address, content, visit):
        return None  # without reading it
    export = read_for_axis(vault, address, content, str(planned.path), visit, families)
    if find_stored(vault, address, export, visit):
        return None
    return take_in(vault, recorder, address, export, visit)

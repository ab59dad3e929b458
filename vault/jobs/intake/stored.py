"""Whether the vault has an export already: the same bytes, of the same axis, at the same moment."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.time_taken import time_taken
from vault.store.clock import microseconds
from vault.store.files.snapshot_text import digest
from vault.store.index.recorded_order import recorded_at

if TYPE_CHECKING:
    from vault.jobs.intake.visit import Visit
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


def find_stored(
    vault: Vault, address: Address, content: bytes, visit: Visit, taken_at: datetime
) -> Snapshot | None:
    """The snapshot of an export with this content, of the channel that the visit names if any."""
    sha256 = digest(content)
    for snapshot in recorded_at(vault.index, address, microseconds(taken_at)):
        record = snapshot.record
        if record.export_sha256 == sha256 and visit.channel in (None, record.channel):
            return snapshot
    return None


def find_stored_file(vault: Vault, path: Path, address: Address, visit: Visit) -> Snapshot | None:
    """The snapshot that taking a file in had made, where it was cut short after that.

    Raises as `ingest` does.
    """
    content = read_content(path)
    export = read_for_axis(vault, address, content, str(path), visit)
    return find_stored(vault, address, content, visit, time_taken(export, visit).moment)

"""Taking one export into the vault."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.export.content import read_content
from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.report import Ingested, with_drift, with_warnings
from vault.jobs.intake.take_in import take_in
from vault.store.recorder import recording

if TYPE_CHECKING:
    from vault.jobs.intake.visit import Visit
    from vault.model.names import Address
    from vault.store.vault import Vault


def ingest(vault: Vault, path: Path, address: Address, visit: Visit) -> Ingested:
    """Take one export in. Nothing is written unless all of it can be.

    Raises Unreadable for the file, Refused where a guard objects, WrongUsage for names.
    """
    content = read_content(path)
    with vault.writing():
        address = vault.names.find(address)
        export = read_for_axis(vault, address, content, str(path), visit)
        with recording(vault) as recorder:
            ingested = take_in(vault, recorder, address, export, visit)
        ingested = with_drift(vault, ingested)
    return with_warnings(ingested, alert(vault, [address]))

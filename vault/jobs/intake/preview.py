"""What an export would be to the vault, before anything is stored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.intake import wrong_axis
from vault.jobs.intake.ingest import Intake, Visit, snapshot_record
from vault.jobs.state.check import check_state
from vault.jobs.state.compare import Compared, compare_states
from vault.jobs.state.read_export import ReadExport, read_export
from vault.jobs.state.selectors import State, golden_state
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.files import layout

if TYPE_CHECKING:
    from datetime import datetime

    from vault.meaning.checks import Complaint
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Preview:
    """An export as it would be taken in: when it was taken, what it changes, what speaks against.

    `against_latest` and `against_golden` are None where there is no such state; `doubt` is why it
    seems to belong to another axis, `elsewhere` that axis; `complaints` are what is not plausible.
    """

    address: Address
    read: ReadExport
    taken_at: datetime
    warnings: tuple[str, ...]
    doubt: str | None
    elsewhere: Address | None
    against_latest: Compared | None
    against_golden: Compared | None
    complaints: tuple[Complaint, ...]

    @property
    def is_new(self) -> bool:
        """Whether it would be the axis's first."""
        return self.against_latest is None


def preview(
    vault: Vault, content: bytes, file: str, address: Address, who: Visit, family: str | None = None
) -> Preview:
    """Read an export as `ingest` would, and compare it. Raises as `ingest` does, but for doubts."""
    read = Intake(vault).read(content, file, address, family, who)
    record = snapshot_record(read, who)
    doubt = wrong_axis.suspicion(
        vault, address, read, record, lambda snapshot: _parameters(vault, snapshot)
    )
    state = State(file, export=read)
    latest = vault.latest(address)
    before = State(str(address), vault, address, latest, is_latest=True) if latest else None
    approved = _approved(vault, address)
    return Preview(
        address=address,
        read=read,
        taken_at=record.taken_at,
        warnings=tuple(read.normalised.warnings),
        doubt=doubt.reason if doubt else None,
        elsewhere=doubt.elsewhere if doubt else None,
        against_latest=compare_states(before, state) if before else None,
        against_golden=compare_states(approved, state) if approved else None,
        complaints=tuple(check_state(state)),
    )


def _parameters(vault: Vault, snapshot: Snapshot) -> bytes:
    return vault.needed(layout.parameters_file(snapshot.address), snapshot.id)


def _approved(vault: Vault, address: Address) -> State | None:
    if (
        not vault.exists(address)
        or vault.golden(vault.follows(address) or address).approval is None
    ):
        return None
    return golden_state(vault, address)


def proposed_places(vault: Vault, content: bytes, file: str) -> list[tuple[Address, int | None]]:
    """Axes where the drive that an export names was seen last, each with its number in the export.

    A drive of several axes gives several; empty where nothing tells.
    """
    known = [vault.family_file(name) for name in vault.family_names()]
    for channel in (None, 1):  # some exports of several axes are not read without a number
        try:
            read = read_export(content, file, None, known=known, channel=channel, partial=True)
        except VaultError:
            continue
        serial = read.export.nameplate.get("serial", "").strip()
        holders = vault.index.holders(serial) if serial.strip("0") else []
        found = [(holder.address, holder.record.channel) for holder in holders]
        # Two axes that claim the same place are for a person to tell apart.
        return found if len({number for _, number in found}) == len(found) else []
    return []

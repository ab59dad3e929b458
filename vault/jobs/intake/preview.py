"""What an export would be to the vault, before anything is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.intake.guard import guard
from vault.jobs.intake.objection import Objection
from vault.jobs.intake.read_for_axis import families_of, read_for_axis
from vault.jobs.intake.time_taken import Proposal, TimeTaken, proposals, time_taken
from vault.jobs.state.check import check_state
from vault.jobs.state.compare import Compared, compare_states
from vault.jobs.state.selectors import State, golden_state
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.model.snapshots import drive_serial
from vault.store.files import layout

if TYPE_CHECKING:
    from vault.jobs.intake.visit import Visit
    from vault.meaning.checks import Complaint
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Preview:
    """An export as it would be taken in: when it was taken, what it changes, what speaks against.

    `proposals` are what the file itself says of when; `must_say_when` where they are too old to be
    believed.
    `against_latest` and `against_golden` are None where there is no such state; `objections` are
    what the guards have against it, `complaints` what is not plausible.
    """

    address: Address
    export: Export
    taken: TimeTaken
    proposals: tuple[Proposal, ...]
    must_say_when: bool
    warnings: tuple[str, ...]
    objections: tuple[Objection, ...]
    against_latest: Compared | None
    against_golden: Compared | None
    complaints: tuple[Complaint, ...]

    @property
    def state(self) -> State:
        """The export as the state of an axis that it would be."""
        return State(self.export.file, export=self.export)

    @property
    def is_new(self) -> bool:
        """Whether it would be the axis's first."""
        return self.against_latest is None


def preview(vault: Vault, content: bytes, file: str, address: Address, visit: Visit) -> Preview:
    """Read an export as `ingest` would, and compare it.

    Raises as `ingest` does, but for what a reason overrides.
    """
    address = vault.names.find(address)
    export = read_for_axis(vault, address, content, file, visit)
    taken, must_say = _time(export, visit)
    verdict = guard(vault, address, export, lambda s: _parameters(vault, s))
    verdict.enforce_name()
    state = State(file, export=export)
    latest, golden = _latest(vault, address), _golden(vault, address)
    return Preview(
        address=address,
        export=export,
        taken=taken,
        proposals=proposals(export, visit),
        must_say_when=must_say,
        warnings=(*export.warnings, *verdict.remarks),
        objections=verdict.objections,
        against_latest=compare_states(latest, state) if latest else None,
        against_golden=compare_states(golden, state) if golden else None,
        complaints=tuple(check_state(state)),
    )


def _time(export: Export, visit: Visit) -> tuple[TimeTaken, bool]:
    """When it would be dated, and whether a person has to say so first."""
    try:
        return time_taken(export, visit), False
    except WrongUsage:
        return time_taken(export, replace(visit, unsure="propose")), True


def _parameters(vault: Vault, snapshot: Snapshot) -> bytes:
    return vault.read_required(layout.parameters_file(snapshot.address), snapshot.id)


def _latest(vault: Vault, address: Address) -> State | None:
    latest = vault.latest(address)
    return State(str(address), vault, address, latest, is_latest=True) if latest else None


def _golden(vault: Vault, address: Address) -> State | None:
    if not vault.exists(address):
        return None
    source = vault.follows(address) or address
    return golden_state(vault, address) if vault.golden(source).approval is not None else None


def _holders(vault: Vault, serial: str) -> list[Snapshot]:
    """Latest snapshots of the drives with a serial number; one of a controller tells no axis."""
    found = vault.index.latest_with_serial(serial)
    return [snapshot for snapshot in found if not snapshot.address.is_controller]


def proposed_places(vault: Vault, content: bytes, file: str) -> list[tuple[Address, int | None]]:
    """Axes where the drive that an export names was seen last, each with its number in the export.

    A drive of several axes gives several; empty where nothing tells.
    """
    families = families_of(vault)
    for channel in (None, 1):  # some exports of several axes are not read without a number
        try:
            export = read_export(
                content, file, known=families.values(), channel=channel, partial=True
            )
        except VaultError:
            continue
        serial = drive_serial(export.nameplate)
        holders = _holders(vault, serial) if serial is not None else []
        places = [(vault.names.named(holder.address), holder.record.channel) for holder in holders]
        # Two axes that claim the same place are for a person to tell apart.
        return places if len({number for _, number in places}) == len(places) else []
    return []

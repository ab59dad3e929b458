"""Taking in an export that was read: its time, guards, record and what to tell, a stage each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.intake.as_left import proves_nothing
from vault.jobs.intake.guard import Proof, guard
from vault.jobs.intake.record import snapshot_record
from vault.jobs.intake.report import Ingested, compare_with_previous, warnings_of
from vault.jobs.intake.time_taken import TimeTaken, head_time, time_taken
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.visit import Visit
    from vault.model.names import Address
    from vault.store.recorder import Recorder
    from vault.store.vault import Vault


def take_in(
    vault: Vault, recorder: Recorder, address: Address, export: Export, visit: Visit
) -> Ingested:
    """Record an export as a snapshot of an axis.

    Raises WrongUsage for a name that clashes, Refused where a guard objects and no reason is given,
    Unavailable or Damaged for the vault.
    """
    taken = time_taken(export, visit)
    verdict = guard(vault, address, export, recorder.parameters_of, _proof(export, visit, taken))
    verdict.enforce(export.file, visit.override_reason)
    record = snapshot_record(export, visit, taken, verdict)
    comparison = compare_with_previous(vault, address, export, taken.moment, recorder.parameters_of)
    snapshot = recorder.record(
        address, record, export.parameters_text, export.content, export.family
    )
    warnings = warnings_of(export, verdict, taken)
    return Ingested(snapshot, len(export.parameters), warnings, comparison)


def _proof(export: Export, visit: Visit, taken: TimeTaken) -> Proof | None:
    """What speaks against the export as proof of a restore; None where it is to prove none."""
    if visit.as_left is None:
        return None
    sha256 = digest(export.content)
    against = proves_nothing(visit.as_left, sha256, taken.moment, taken.source, head_time(export))
    return Proof(against)

"""Sixth stage: the record of a snapshot, which the recorder of the vault writes with the export."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.names import safe_file_name
from vault.model.snapshots import SnapshotRecord
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.guard import Verdict
    from vault.jobs.intake.time_taken import TimeTaken
    from vault.jobs.intake.visit import Visit


def snapshot_record(
    export: Export, visit: Visit, taken: TimeTaken, verdict: Verdict
) -> SnapshotRecord:
    """What snapshot.yaml says of an export; a reason that overrode nothing is left out."""
    family = export.family
    return SnapshotRecord(
        taken_at=taken.moment,
        taken_at_from=taken.source,
        occasion=visit.occasion,
        by=visit.by,
        export_name=safe_file_name(export.file),
        export_sha256=digest(export.content),
        normalisation=export.version,
        family=family.name if family is not None else None,
        family_sha256=digest(family.content) if family is not None else None,
        channel=export.listing.channel,
        nameplate=export.nameplate,
        work_order=visit.work_order,
        note=visit.note,
        override_reason=visit.override_reason if verdict.objections else None,
        restores=visit.restores,
        moved=visit.moved,
        skipped=export.skipped,
        node_id=export.node_id,
        pick=export.listing.pick,
        coverage=export.coverage,
    )

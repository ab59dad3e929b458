"""Fifth stage: the record of a snapshot, which the recorder of the vault writes with the export."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from vault.model.errors import Unreadable, WrongUsage
from vault.model.names import safe_file_name
from vault.model.snapshots import SnapshotRecord
from vault.store.clock import now, parse_time
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.guard import Verdict
    from vault.jobs.intake.visit import Visit


def time_taken(export: Export, visit: Visit) -> datetime:
    """When an export was taken: as the visit says, else as the export does, else the fallback.

    Raises Unreadable where the export states a time that is none.
    """
    return visit.taken_at or _stated_time(export) or visit.fallback_time or now()


def _stated_time(export: Export) -> datetime | None:
    if not export.listing.taken_at:
        return None
    try:
        return parse_time(export.listing.taken_at)
    except WrongUsage as error:  # as after a dead battery of the drive's clock
        raise Unreadable(
            f"the export says when it was taken, but {error.message}",
            file=export.file,
            hint="say it yourself: --taken-at TIME",
        ) from error


def snapshot_record(
    export: Export, visit: Visit, taken_at: datetime, verdict: Verdict
) -> SnapshotRecord:
    """What snapshot.yaml says of an export; a reason that overrode nothing is left out."""
    family = export.family
    return SnapshotRecord(
        taken_at=taken_at,
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
    )

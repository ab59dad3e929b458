"""JSON that only the viewer has; everything else is as the command line prints it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.audit.documents import AuditDocument
from vault.jobs.baseline.many_documents import (
    ManyApprovedDocument,
    ManyIntervalsDocument,
    ManyWaivedDocument,
)
from vault.jobs.intake.documents import IngestDocument
from vault.jobs.restore.documents import (
    RestoreCheckDocument,
    SignOffDocument,
    restore_check_document,
    sign_off_document,
)
from vault.jobs.restore.plan_documents import PlanDocument
from vault.jobs.state.document_parts import EmptyDocument
from vault.jobs.sync.documents import SyncEventDocument, sync_event_documents
from vault.jobs.verify.documents import VerificationDocument
from vault.model.snapshots import OCCASIONS
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.faults.log import FaultsAdded
    from vault.jobs.restore.check import Checked
    from vault.jobs.restore.kept_plan import KeptPlan
    from vault.jobs.sync.log import SyncEvent
    from vault.model.names import Address
    from vault.model.restore import RestoreRecord
    from vault.store.proof.witness import Witness
    from vault.store.vault import Vault


class HttpFailureDocument(TypedDict):
    """What is wrong with a request, and what to do."""

    code: int
    """The status of the answer."""

    message: str
    """What is wrong, in words."""

    hint: str | None
    """What to do."""


class HttpErrorDocument(TypedDict):
    """What an address answers where it fails."""

    error: HttpFailureDocument
    """The failure."""


class FaultNotedDocument(TypedDict):
    """A fault that was noted."""

    axis: str
    """`machine/axis`."""

    added: int
    """1, or 0 where it was in the log already."""

    warnings: list[str]
    """What a reader should know."""


class TakeInDocument(TypedDict):
    """What an export may be taken in as."""

    axes: list[str]
    """The axes of the vault."""

    occasions: list[str]
    """Why an export can have been taken."""


class RestoreStandDocument(TypedDict):
    """How the restore of an axis stands."""

    plan: str | None
    """Id of the plan, null where there is none."""

    number: str | None
    """Number of the plan, null where there is none."""

    check: RestoreCheckDocument | None
    """The last check, null where nothing was checked."""

    signed_off: SignOffDocument | None
    """The signature, null where nobody signed."""


class SheetMarkDocument(TypedDict):
    """What somebody ticked on a sheet, or filled in."""

    step: str
    """Where: a section of the sheet, and the place in it."""

    by: str
    """Who did."""

    at: str
    """When."""

    text: str | None
    """What was filled in, null for a tick."""


class KeptPlanDocument(RestoreStandDocument):
    """A restore plan that was made, and how far it is."""

    axis: str
    """`machine/axis`."""

    made_at: str
    """When it was made."""

    by: str
    """Who made it."""

    document: PlanDocument | None
    """The plan as it was made, null where an older program did not keep it."""

    newer: str | None
    """Number of the plan that took its place, null where it holds."""

    sheet_marks: list[SheetMarkDocument]
    """What was ticked and filled in on its sheet."""


class PlanWorkDocument(TypedDict):
    """What came of writing a restore plan, as older programs did it in the background."""

    plan: PlanDocument
    """The plan."""


class AuditWorkDocument(TypedDict):
    """What came of packing evidence."""

    audit: AuditDocument
    """The audit."""


class VerifyWorkDocument(TypedDict):
    """What came of verifying the vault."""

    verify: VerificationDocument
    """The verification."""


class StoredWorkDocument(TypedDict):
    """What came of storing exports that were looked at."""

    stored: list[IngestDocument]
    """What was stored."""

    left: int
    """How many could not be stored, and wait to be put right."""


class ApprovedWorkDocument(TypedDict):
    """What came of approving many axes."""

    approval: ManyApprovedDocument
    """Who was refused, and who approved."""


class WaivedWorkDocument(TypedDict):
    """What came of waiving on many axes."""

    waivers: ManyWaivedDocument
    """Who was refused, and who got a waiver."""


class IntervalsWorkDocument(TypedDict):
    """What came of setting when exports of many axes are due."""

    intervals: ManyIntervalsDocument
    """Whose record stayed as it is, and whose was changed."""


CameOfWork = (
    PlanWorkDocument
    | AuditWorkDocument
    | VerifyWorkDocument
    | StoredWorkDocument
    | ApprovedWorkDocument
    | WaivedWorkDocument
    | IntervalsWorkDocument
    | EmptyDocument
)
"""What came of work, each kind its own; empty while it goes on, and where it failed."""


class WitnessHealthDocument(TypedDict):
    """The witness of a vault."""

    lines: int
    """How many states it remembers."""

    head: str | None
    """The hash that stands for all its lines."""

    broken: str | None
    """What is wrong with it, null where nothing is."""


class VerifiedDocument(TypedDict):
    """When a vault was last found to be as it was recorded."""

    tip: str
    """The commit that it stood at."""

    at: str
    """When."""


class HealthDocument(TypedDict):
    """How the vault itself is."""

    site: str
    """Name of the site."""

    axes: int | None
    """How many axes it has, null where that cannot be told."""

    snapshots: int | None
    """How many snapshots, null where that cannot be told."""

    tip: str
    """The commit that it stands at."""

    witness: WitnessHealthDocument | None
    """The witness, null where there is none."""

    verified: VerifiedDocument | None
    """When it was last found good, null where it never was."""

    index_damaged: bool
    """Whether the index was damaged, and had to be done without."""

    messages_waiting: int | None
    """How many alerts have not gone out, null where that cannot be told."""

    open_reading: bool
    """Whether the pages may be read without logging in."""

    problems: list[str]
    """What of this cannot be told, and why."""

    sync: list[SyncEventDocument]
    """The last syncs, oldest first."""


def http_error_document(status: int, message: str, hint: str | None) -> HttpErrorDocument:
    """An error as an answer."""
    return {"error": {"code": status, "message": message, "hint": hint}}


def fault_noted_document(axis: Address, outcome: FaultsAdded) -> FaultNotedDocument:
    """A fault that was noted."""
    return {"axis": str(axis), "added": len(outcome.added), "warnings": list(outcome.warnings)}


def take_in_document(axes: Iterable[Address]) -> TakeInDocument:
    """What an export may be taken in as."""
    return {"axes": [str(axis) for axis in axes], "occasions": list(OCCASIONS)}


def restore_stand_document(
    checked: Checked | None, plan: RestoreRecord | None
) -> RestoreStandDocument:
    """How the restore of an axis stands."""
    return {
        "plan": plan.id if plan is not None else None,
        "number": plan.number if plan is not None else None,
        "check": restore_check_document(checked) if checked is not None else None,
        "signed_off": sign_off_document(plan) if plan is not None else None,
    }


def kept_plan_document(kept: KeptPlan, checked: Checked | None) -> KeptPlanDocument:
    """A restore plan that was made, and how far it is."""
    record = kept.record
    return {
        **restore_stand_document(checked, record),
        "axis": str(kept.address),
        "made_at": time_text(record.made_at),
        "by": record.by,
        "document": kept.document,
        "newer": kept.newer.number if kept.newer is not None else None,
        "sheet_marks": [
            {"step": mark.step, "by": mark.by, "at": time_text(mark.at), "text": mark.text}
            for mark in record.marks
        ],
    }


def health_document(
    vault: Vault,
    witness: Witness | None,
    verified: tuple[str, str] | None,
    synced: Iterable[SyncEvent],
    *,
    axes: int | None,
    snapshots: int | None,
    messages_waiting: int | None,
    open_reading: bool,
    problems: Iterable[str],
) -> HealthDocument:
    """How the vault itself is; `verified` is the tip that was found good, and when."""
    return {
        "site": vault.site,
        "axes": axes,
        "snapshots": snapshots,
        "tip": vault.tip,
        "witness": None
        if witness is None
        else {"lines": len(witness.lines), "head": witness.head, "broken": witness.broken},
        "verified": None if verified is None else {"tip": verified[0], "at": verified[1]},
        "index_damaged": vault.index.is_damaged,
        "messages_waiting": messages_waiting,
        "open_reading": open_reading,
        "problems": list(problems),
        "sync": sync_event_documents(synced),
    }

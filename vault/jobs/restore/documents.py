"""JSON of a restore that is checked, and of its signature."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.restore.open_plans import Step
from vault.jobs.state.check_documents import ComplaintDocument, complaint_document
from vault.jobs.state.document_parts import (
    CoverageDocument,
    PhysicalDocument,
    coverage_document,
    physical_document,
)
from vault.jobs.state.documents import ChangeDocument, change_document
from vault.jobs.trials.trace_documents import TraceDocument, trace_document
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.restore.check import Checked
    from vault.jobs.restore.open_plans import OpenPlan
    from vault.jobs.restore.verdict import Remaining
    from vault.meaning.measured_move import TravelRatio
    from vault.model.restore import RestoreRecord


class RemainingDocument(ChangeDocument):
    """A parameter that is not as planned."""

    to_do: str
    """What to do about it."""


class IgnoredDocument(ChangeDocument):
    """A parameter that differs and may."""

    reason: str
    """Why it may."""


class TravelSuspectDocument(TypedDict):
    """A setting that would give the measured ratio."""

    code: str | None
    """Its code, null where no parameter stands for it."""

    role: str | None
    """What it does."""

    explanation: str
    """How it would give it."""


class TravelRatioDocument(TypedDict):
    """A short measured move, held against what was commanded."""

    commanded: PhysicalDocument
    """How far it was sent."""

    measured: PhysicalDocument
    """How far it went."""

    ratio: str
    """Measured over commanded, with its sign."""

    is_fine: bool
    """Whether that is one, within what can be measured by hand."""

    sentence: str
    """It in words."""

    suspects: list[TravelSuspectDocument]
    """What would give that ratio, likeliest first."""


class UnprovenDocument(TypedDict):
    """A parameter of which a check proves nothing."""

    code: str | None
    """Its code, null for a line that names none."""

    name: str
    """Its name, or where the line stands."""

    reason: str
    """Why nothing is proven."""


class RestoreCheckDocument(TypedDict):
    """Whether an axis is restored: `restore check`."""

    restored: bool
    """Whether it is."""

    axis: str
    """`machine/axis`."""

    target: str | None
    """Id of the snapshot that it is restored to."""

    plan: str | None
    """Id of the plan, null where it is held against the baseline."""

    number: str | None
    """Number of the plan, null where it is held against the baseline."""

    differences: list[RemainingDocument]
    """What is not as planned, worst first."""

    safety: list[RemainingDocument]
    """What differs and is validated apart, by the machine's own procedure."""

    ignored: list[IgnoredDocument]
    """What differs and may."""

    travel_ratio: TravelRatioDocument | None
    """The measured move, null where none was given."""

    snapshot: str
    """Id of the as-left snapshot."""

    coverage: CoverageDocument
    """What of the drive's set the as-left export has."""

    unproven: list[UnprovenDocument]
    """What target or as-left export do not state, so that nothing is proven of it."""

    doubt: str | None
    """Why the export proves nothing at all, null where it does."""

    even_so: str | None
    """Why it was taken in although a guard objected."""

    warnings: list[str]
    """What a reader should know."""

    misfits: list[ComplaintDocument]
    """What does not fit between the drive as it was left and the controller's set, worst first."""

    trace: TraceDocument | None
    """The latest trace of a move that is not as it was, else the latest of all; null without one.
    """

    traces: list[TraceDocument]
    """The latest trace of each move, held against an earlier one of it."""


class OpenPlanDocument(TypedDict):
    """A plan that nobody signed off yet."""

    axis: str
    """`machine/axis`."""

    number: str
    """Number of the plan."""

    plan: str
    """Id of the plan."""

    made_at: str
    """When it was made."""

    by: str
    """Who made it."""

    target: str
    """Id of the snapshot that the axis is restored to."""

    step: Step
    """What is to be done next: `load`, `put_right` what a check found, `sign_off`."""

    next_step: str
    """The same in words."""


class OpenPlansDocument(TypedDict):
    """Plans that were made and not signed off: `restore list`."""

    plans: list[OpenPlanDocument]
    """The plans, newest first."""


class SignOffDocument(TypedDict):
    """A signature under a restore."""

    by: str
    """Who answers for it."""

    at: str
    """When."""

    snapshot: str
    """Id of the as-left snapshot that they looked at."""

    even_so: str | None
    """Why the axis may run although something was left."""


class SignedOffDocument(TypedDict):
    """A restore that was signed off: `restore sign-off`."""

    axis: str
    """`machine/axis`."""

    plan: str
    """Id of the plan."""

    number: str
    """Number of the plan."""

    signed_off: SignOffDocument | None
    """The signature."""


def restore_check_document(checked: Checked) -> RestoreCheckDocument:
    """The verdict of a restore check."""
    left_over, motion = checked.left_over, checked.motion.decisive
    return {
        "restored": checked.is_restored,
        "axis": str(checked.address),
        "target": checked.target.snapshot.id if checked.target.snapshot else None,
        "plan": checked.plan.id if checked.plan is not None else None,
        "number": checked.plan.number if checked.plan is not None else None,
        "differences": [_remaining_document(one) for one in left_over.differences],
        "safety": [_remaining_document(one) for one in left_over.safety],
        "ignored": [
            {**change_document(one.change), "reason": one.reason} for one in left_over.ignored
        ],
        "travel_ratio": None if checked.travel is None else _travel_document(checked.travel),
        "snapshot": checked.snapshot.id,
        "coverage": coverage_document(checked.coverage),
        "unproven": [
            {"code": one.code, "name": one.name, "reason": one.reason} for one in checked.unproven
        ],
        "doubt": checked.doubt,
        "even_so": checked.override_reason,
        "warnings": list(checked.notes),
        "misfits": [complaint_document(one) for one in checked.misfits],
        "trace": None if motion is None else trace_document(motion),
        "traces": [trace_document(one) for one in checked.motion.traces],
    }


def open_plans_document(plans: Iterable[OpenPlan]) -> OpenPlansDocument:
    """Plans that nobody signed off yet."""
    return {"plans": [_open_plan_document(plan) for plan in plans]}


def _open_plan_document(plan: OpenPlan) -> OpenPlanDocument:
    record = plan.record
    return {
        "axis": str(plan.address),
        "number": record.number,
        "plan": record.id,
        "made_at": time_text(record.made_at),
        "by": record.by,
        "target": record.snapshot,
        "step": plan.step,
        "next_step": plan.next_step,
    }


def _remaining_document(remaining: Remaining) -> RemainingDocument:
    return {**change_document(remaining.change), "to_do": remaining.to_do}


def _travel_document(travel: TravelRatio) -> TravelRatioDocument:
    return {
        "commanded": physical_document(travel.move.commanded),
        "measured": physical_document(travel.move.measured),
        "ratio": f"{travel.ratio:.9g}",
        "is_fine": travel.is_fine,
        "sentence": travel.sentence,
        "suspects": [
            {"code": s.code, "role": s.role, "explanation": s.explanation} for s in travel.suspects
        ],
    }


def signed_off_document(axis: str, record: RestoreRecord) -> SignedOffDocument:
    """A restore that was signed off."""
    return {
        "axis": axis,
        "plan": record.id,
        "number": record.number,
        "signed_off": sign_off_document(record),
    }


def sign_off_document(record: RestoreRecord) -> SignOffDocument | None:
    """Who signed a restore off, None where nobody did."""
    signed = record.signed_off
    if signed is None:
        return None
    return {
        "by": signed.by,
        "at": time_text(signed.at),
        "snapshot": signed.snapshot,
        "even_so": signed.override_reason,
    }

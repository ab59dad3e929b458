"""JSON of golden baselines and drift."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.behaviour.facts import Bound
from vault.jobs.baseline.axis_drift import Status
from vault.jobs.state.document_parts import (
    CoverageDocument,
    FailureDocument,
    coverage_document,
    failure_document,
    time_or_none,
)
from vault.jobs.state.documents import ChangeDocument, change_document
from vault.jobs.state.margin_documents import number_text
from vault.meaning.drift import in_force
from vault.meaning.floors import Why
from vault.model.quantities import plain
from vault.store.clock import now, time_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.jobs.baseline.golden import Baseline
    from vault.meaning.drift import Deviation
    from vault.meaning.floors import UnkeptFloor
    from vault.model.coverage import Coverage
    from vault.model.errors import VaultError
    from vault.model.golden import Approval, Waiver
    from vault.model.names import Address


class WaiverDocument(TypedDict):
    """An exception to a baseline, until a day."""

    code: str
    """The parameter that it is for."""

    allow: str
    """What it may be: a range with its unit, a label, or `any`."""

    until: str
    """The last day, or moment, that it holds."""

    by: str
    """Who allowed it."""

    at: str
    """When."""

    reason: str
    """Why."""


class DeviationDocument(ChangeDocument):
    """A parameter that is not as approved."""

    waiver: WaiverDocument | None
    """The waiver that covers it, or covered it until it ended."""

    awaits_approval: str | None
    """That it came with hardware that was replaced, and waits for the approval of the as-left
    state, in words; null for other drift, and in alerts."""


class DriftCoverageDocument(TypedDict):
    """What the two snapshots have of the drive's set that drift holds against each other."""

    golden: CoverageDocument | None
    """The approved one; null where nothing is approved, or it cannot be told any more."""

    latest: CoverageDocument | None
    """The latest one; null where there is none, or it cannot be told any more."""


class UnkeptFloorDocument(TypedDict):
    """A floor under a margin that the latest snapshot is not shown to keep."""

    name: str
    """Name of the margin."""

    floor: str
    """What it must at least be, by the axis record."""

    ratio: str | None
    """What it is; null where it cannot be told, or the axis as it is set has no such margin."""

    bound: Bound
    """What that is, as in a margin."""

    why: Why
    """`below` the floor, or no more can be shown; `untold` where nobody can tell; `senseless` where
    the axis as it is set has no such margin; `no_margin` where there is none of that name."""

    consequence: str
    """What it is about, as in a change."""

    missing: list[str]
    """What to enter so that it can be told: roles of parameters, and keys of the axis record."""

    sentence: str
    """It in words."""


class AxisDriftDocument(TypedDict):
    """How one axis stands to its golden baseline."""

    axis: str
    """`machine/axis`."""

    status: Status
    """The worst that can be said of it: that it drifted goes before that an export is overdue."""

    count: int
    """How many parameters drifted."""

    worst: str | None
    """The worst consequence of these, as in a change."""

    since: str | None
    """When the first snapshot was taken that drifted and was not in line again since."""

    golden: str | None
    """Id of the approved snapshot."""

    latest: str | None
    """Id of the latest snapshot."""

    taken_at: str | None
    """When that was taken."""

    due: str | None
    """When the next export is due, null where none is asked for."""

    overdue: bool
    """Whether it is overdue."""

    retired: bool
    """Whether it is out of use: never overdue, and nobody is told of its drift."""

    follows: str | None
    """The axis whose baseline it follows."""

    waived: int
    """How many differences waivers allow."""

    changes: list[DeviationDocument]
    """What drifted, worst first."""

    waivers: list[DeviationDocument]
    """What waivers allow, worst first."""

    causes: list[str]
    """Why values mean something else, in words."""

    hardware: list[str]
    """What names other hardware than in the baseline, in words."""

    floors: list[UnkeptFloorDocument]
    """Floors of the axis record that the latest snapshot is not shown to keep, whatever the status;
    `drift` leaves with 1 where there is one."""

    coverage: DriftCoverageDocument
    """What the golden baseline and the latest snapshot have of the drive's set."""


class DriftFailureDocument(FailureDocument):
    """Why the drift of one axis cannot be told."""

    axis: str
    """`machine/axis`."""


class DriftDocument(TypedDict):
    """How axes stand to their golden baselines: `drift`."""

    axes: list[AxisDriftDocument]
    """Those that need somebody first."""

    failures: list[DriftFailureDocument]
    """Axes whose drift cannot be told."""


def drift_document(
    found: Iterable[AxisDrift], failures: Mapping[Address, VaultError]
) -> DriftDocument:
    """Drift of some axes, and why that of others cannot be told."""
    return {
        "axes": [axis_drift_document(axis) for axis in found],
        "failures": [
            {"axis": str(address), **failure_document(error)} for address, error in failures.items()
        ],
    }


def axis_drift_document(drift: AxisDrift) -> AxisDriftDocument:
    """Drift of one axis."""
    return {
        "axis": drift.axis,
        "status": drift.status,
        "count": drift.count,
        "worst": drift.worst,
        "since": time_or_none(drift.since),
        "golden": drift.golden,
        "latest": drift.latest,
        "taken_at": time_or_none(drift.taken_at),
        "due": time_or_none(drift.due),
        "overdue": drift.overdue,
        "retired": drift.retired,
        "follows": drift.follows,
        "waived": len(drift.waived),
        "changes": [_deviation_document(deviation, drift) for deviation in drift.changes],
        "waivers": [_deviation_document(deviation, drift) for deviation in drift.waived],
        "causes": list(drift.causes),
        "hardware": list(drift.hardware),
        "floors": [unkept_floor_document(one) for one in drift.floors],
        "coverage": {
            "golden": _coverage_or_none(drift.golden_coverage),
            "latest": _coverage_or_none(drift.latest_coverage),
        },
    }


def unkept_floor_document(one: UnkeptFloor) -> UnkeptFloorDocument:
    """A floor that is not shown to be kept."""
    return {
        "name": one.name,
        "floor": plain(one.floor),
        "ratio": number_text(one.ratio),
        "bound": one.bound,
        "why": one.why,
        "consequence": one.consequence,
        "missing": list(one.missing),
        "sentence": one.sentence,
    }


def _coverage_or_none(coverage: Coverage | None) -> CoverageDocument | None:
    return None if coverage is None else coverage_document(coverage)


def _deviation_document(deviation: Deviation, drift: AxisDrift) -> DeviationDocument:
    waiver = deviation.waiver
    return {
        **change_document(deviation.change),
        "waiver": None if waiver is None else waiver_document(waiver),
        "awaits_approval": drift.awaits_approval(deviation),
    }


class ApprovalDocument(TypedDict):
    """An approval of a snapshot as golden baseline."""

    snapshot: str
    """Id of the snapshot."""

    by: str
    """Who approved it."""

    at: str
    """When."""

    reason: str | None
    """Why."""

    accepted: dict[str, list[str]]
    """What `check` found and was accepted: sentences by rule."""

    even_so: str | None
    """Why a set that is not whole was approved all the same."""

    override_reason: str | None
    """An older name of `even_so`."""


class KeptWaiverDocument(WaiverDocument):
    """A waiver of an axis, be it in force or not."""

    holds: bool
    """Whether it is in force."""

    remark: str | None
    """Why it allows nothing: a number that cannot be; null for any other."""


class GoldenDocument(TypedDict):
    """The baseline that holds for an axis: `golden show`, `golden approve`."""

    axis: str
    """`machine/axis`."""

    follows: str | None
    """The axis whose baseline it follows."""

    baseline: ApprovalDocument | None
    """What is approved, null where nothing is."""

    coverage: CoverageDocument | None
    """What of the drive's set the approved snapshot has, null where nothing is approved."""

    waivers: list[KeptWaiverDocument]
    """Exceptions of this axis."""

    warnings: list[str]
    """What a reader should know of the approved set."""


def golden_document(baseline: Baseline) -> GoldenDocument:
    """The baseline that holds for an axis, and its waivers."""
    moment = now()
    return {
        "axis": str(baseline.address),
        "follows": str(baseline.follows) if baseline.follows else None,
        "baseline": _approval_document(baseline.approval) if baseline.approval else None,
        "coverage": coverage_document(baseline.state.coverage) if baseline.state else None,
        "waivers": [
            {
                **waiver_document(waiver),
                "holds": in_force(waiver, moment),
                "remark": waiver.allow.unknown,
            }
            for waiver in baseline.golden.waivers
        ],
        "warnings": list(baseline.warnings),
    }


def _approval_document(approval: Approval) -> ApprovalDocument:
    return {
        "snapshot": approval.snapshot,
        "by": approval.by,
        "at": time_text(approval.at),
        "reason": approval.reason,
        "accepted": {rule: list(sentences) for rule, sentences in approval.accepted.items()},
        "even_so": approval.override_reason,
        "override_reason": approval.override_reason,
    }


def waiver_document(waiver: Waiver) -> WaiverDocument:
    """A waiver."""
    return {
        "code": waiver.code,
        "allow": waiver.allow.text,
        "until": waiver.until,
        "by": waiver.by,
        "at": time_text(waiver.at),
        "reason": waiver.reason,
    }


class WaivedDocument(TypedDict):
    """A waiver that was made: `golden waive`."""

    axis: str
    """`machine/axis`."""

    waiver: WaiverDocument
    """The waiver."""


def waived_document(axis: str, waiver: Waiver) -> WaivedDocument:
    """A waiver that was made."""
    return {"axis": axis, "waiver": waiver_document(waiver)}


class WithdrawnDocument(TypedDict):
    """What was taken back: `golden withdraw`."""

    axis: str
    """`machine/axis`."""

    withdrawn: str
    """`baseline`, or the code whose waiver it was."""


def withdrawn_document(axis: str, waiver: str | None) -> WithdrawnDocument:
    """The baseline that was taken back, or one waiver."""
    return {"axis": axis, "withdrawn": waiver or "baseline"}

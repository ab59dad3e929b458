"""JSON of approving and waiving on many axes at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.baseline.documents import WaiverDocument, waiver_document

if TYPE_CHECKING:
    from vault.jobs.baseline.export_intervals import ManyIntervals
    from vault.jobs.baseline.many_axes import JudgedAxis, ManyApproved, ManyWaived
    from vault.model.errors import VaultError


class RefusedAxisDocument(TypedDict):
    """An axis that was left as it is."""

    axis: str
    """`machine/axis`."""

    why: str
    """Why, in words."""

    hint: str | None
    """What to do."""


class RefusedApprovalDocument(RefusedAxisDocument):
    """An axis whose snapshot was not approved."""

    findings: list[str]
    """Names of the rules of `check` that find something in it, by which they are accepted."""


class ApprovedAxisDocument(TypedDict):
    """An axis whose snapshot is its baseline."""

    axis: str
    """`machine/axis`."""

    snapshot: str
    """Id of the snapshot."""

    accepted: list[str]
    """Names of the rules of `check` whose findings were accepted."""

    findings: list[str]
    """Names of all rules that find something in it."""


class ManyApprovedDocument(TypedDict):
    """What became of many axes: `golden approve PATTERN`."""

    looked_only: bool
    """Whether this is only what would become of them; nothing was written then."""

    refused: list[RefusedApprovalDocument]
    """Those that were not approved."""

    approved: list[ApprovedAxisDocument]
    """Those that were."""

    already: list[str]
    """Those whose baseline it was before: nothing was written for them."""


class WaivedAxisDocument(TypedDict):
    """A waiver that was made."""

    axis: str
    """`machine/axis`."""

    waiver: WaiverDocument
    """The waiver."""


class ManyWaivedDocument(TypedDict):
    """What became of many axes: `golden waive PATTERN`."""

    looked_only: bool
    """Whether this is only what would become of them; nothing was written then."""

    refused: list[RefusedAxisDocument]
    """Those that got no waiver."""

    waived: list[WaivedAxisDocument]
    """Those that got one."""


class IntervalAxisDocument(TypedDict):
    """An axis whose export is due after another interval than before."""

    axis: str
    """`machine/axis`."""

    before: str | None
    """The interval of its record until then; null where the site's held."""


class ManyIntervalsDocument(TypedDict):
    """What became of many axes: when their exports are due."""

    looked_only: bool
    """Whether this is only what would become of them; nothing was written then."""

    export_every: str
    """The interval."""

    refused: list[RefusedAxisDocument]
    """Those whose record stayed as it is."""

    changed: list[IntervalAxisDocument]
    """Those whose record has it."""

    already: list[str]
    """Those whose record had it before."""


def many_approved_document(found: ManyApproved) -> ManyApprovedDocument:
    """What became of every axis."""
    return {
        "looked_only": found.looked_only,
        "refused": [
            {**_refused(axis.axis, axis.refusal), "findings": _findings(axis)}
            for axis in found.refused
            if axis.refusal is not None
        ],
        "approved": [
            {
                "axis": axis.axis,
                "snapshot": axis.golden.approval.snapshot,
                "accepted": sorted(axis.golden.approval.accepted),
                "findings": _findings(axis),
            }
            for axis in found.approved
            if axis.golden is not None and axis.golden.approval is not None
        ],
        "already": [axis.axis for axis in found.already],
    }


def many_waived_document(found: ManyWaived) -> ManyWaivedDocument:
    """What became of every axis."""
    return {
        "looked_only": found.looked_only,
        "refused": [_refused(a.axis, a.refusal) for a in found.refused if a.refusal is not None],
        "waived": [
            {"axis": axis.axis, "waiver": waiver_document(axis.waiver)}
            for axis in found.waived
            if axis.waiver is not None
        ],
    }


def many_intervals_document(found: ManyIntervals) -> ManyIntervalsDocument:
    """What became of every axis."""
    return {
        "looked_only": found.looked_only,
        "export_every": found.every,
        "refused": [_refused(a.axis, a.refusal) for a in found.refused if a.refusal is not None],
        "changed": [{"axis": axis.axis, "before": axis.before} for axis in found.changed],
        "already": [axis.axis for axis in found.already],
    }


def _refused(axis: str, refusal: VaultError) -> RefusedAxisDocument:
    return {"axis": axis, "why": refusal.message, "hint": refusal.hint}


def _findings(axis: JudgedAxis) -> list[str]:
    return list(dict.fromkeys(complaint.rule for complaint in axis.complaints))

"""JSON of approving and waiving on many axes at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.baseline.documents import WaiverDocument, waiver_document

if TYPE_CHECKING:
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


def _refused(axis: str, refusal: VaultError) -> RefusedAxisDocument:
    return {"axis": axis, "why": refusal.message, "hint": refusal.hint}


def _findings(axis: JudgedAxis) -> list[str]:
    return list(dict.fromkeys(complaint.rule for complaint in axis.complaints))

"""Approving and waiving on many axes: pick them, see what would become of each, and do it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from flask import current_app, request

from vault.jobs.baseline.axis_drift import STATUSES, AxisDrift, counted_axes
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.export_intervals import (
    ManyIntervals,
    check_interval,
    set_export_every,
)
from vault.jobs.baseline.golden import reason_objection
from vault.jobs.baseline.many_axes import (
    JudgedAxis,
    ManyApproved,
    ManyWaived,
    approve_many,
    counted,
    waive_many,
)
from vault.jobs.baseline.many_documents import (
    many_approved_document,
    many_intervals_document,
    many_waived_document,
)
from vault.jobs.baseline.waiver_request import WaiverRequest, parse_waiver_request
from vault.jobs.state.sides import sets_meant
from vault.model.bounds import MOST_TYPED
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.model.patterns import fits_glob
from vault.model.typed_text import text_or_none
from vault.model.wording import plural
from vault.model.written_form import day_text
from vault.store.clock import now
from vault.store.vault import Vault
from webui.background_work import Outcome, Progress
from webui.page import FormResult, Page
from webui.request_fields import form_field, query_arg, required_field, selector
from webui.template_functions import status_words
from webui.visitors import may, visitor
from webui.work_documents import work_begun_document

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from webui.background_work import Task, WorkQueue

ACTS = {
    "approve": "Approve the latest state",
    "waive": "Waive a parameter",
    "interval": "Set when exports are due",
}
_UNASKED = 100  # axes that are judged before anybody picked some
_MOST = 1000
Looked = ManyApproved | ManyWaived | ManyIntervals
_USUAL_WAIVER = timedelta(days=90)
_YET_TO_COME = "to be given"
"""Stands for a reason while somebody only looks."""


@dataclass(frozen=True, slots=True)
class Row:
    """An axis on the page: what a tick of it sends, why it is refused, what is told of it.

    `doubts` are why it begins without a tick: a hazard is approved by a tick of its own.
    """

    axis: str
    sent: str
    told: tuple[str, ...] = ()
    refusal: VaultError | None = None
    doubts: tuple[str, ...] = ()


def baselines(vault: Vault) -> Page:
    """Who would be refused and who would not, of the axes that were picked."""
    failures: dict[Address, VaultError] = {}
    stands = {axis.axis: axis for axis in drift(vault, failed=failures.__setitem__)}
    axes = _picked(vault, stands)
    is_asked = any(query_arg(name) for name in ("machine", "family", "stands", "pattern"))
    many = len(axes) > (_MOST if is_asked else _UNASKED)
    act = _act()
    found: Looked | None = None
    if not many and axes:
        try:
            found = _looked(vault, act, axes)
        except VaultError:
            if request.method != "POST":  # else the page is shown with what is wrong
                raise
    places = {axis: place for place, axis in enumerate(stands)}  # who needs somebody first
    rows = sorted(_rows(found, stands), key=lambda row: places.get(row.axis, len(places)))
    going = [row for row in rows if row.refusal is None]
    ticked = _ticked(going)
    return Page(
        "baselines.html",
        "Baselines",
        lambda: _document(found),
        {
            "acts": ACTS,
            "act": act,
            "machines": [(name, name) for name in sorted({a.shown[0] for a in vault.axes()})],
            "families": [(name, name) for name in vault.family_names()],
            "statuses": [(status, status_words(status)) for status in STATUSES],
            "accepted": _accepted(),
            "names": [str(axis) for axis in axes],
            "is_too_many": many,
            "stands": stands,
            "refused": [row for row in rows if row.refusal is not None],
            "going": going,
            "ticked": ticked,
            "already": () if found is None or isinstance(found, ManyWaived) else found.already,
            "findings": _findings(found),
            "is_not_whole": isinstance(found, ManyApproved)
            and any(axis.not_whole for axis in found.axes),
            "field": _field,
            "policy": vault.site_record.approval,
            "until": _usual_end(),
            "is_allowed": may("approver"),
        },
        (("Site", "/"),),
    )


def _act() -> str:
    act = query_arg("act") or "approve"
    if act not in ACTS:
        raise WrongUsage(f"there is nothing like {act!r} to do", hint=", ".join(ACTS))
    return act


def _field(name: str) -> str | None:
    """What was typed, in the form or, until it is sent, in the address."""
    return form_field(name) if request.method == "POST" else query_arg(name)


def _accepted() -> list[str]:
    return (request.form if request.method == "POST" else request.args).getlist("accept")


def _shown() -> dict[str, set[str]]:
    """The findings that somebody looked at, by axis."""
    found: dict[str, set[str]] = {}
    for sent in request.form.getlist("saw"):
        axis, _, rule = sent.partition(" ")
        found.setdefault(axis, set()).add(rule)
    return found


def _picked(vault: Vault, stands: Mapping[str, AxisDrift]) -> list[Address]:
    """The axes that the address asks for. Raises WrongUsage for a pattern that is too long."""
    machine, family, status = (query_arg(name) for name in ("machine", "family", "stands"))
    pattern = query_arg("pattern") or "*"
    if len(pattern) > MOST_TYPED:
        raise WrongUsage(f"a pattern has at most {MOST_TYPED} characters")
    picked = []
    for address in sets_meant(vault, pattern):
        name = str(address)
        if machine not in (None, address.shown[0]) or not fits_glob(name, pattern):
            continue
        if status is not None and (name not in stands or stands[name].status != status):
            continue
        if family is not None:
            latest = vault.latest(address)
            if latest is None or latest.record.family != family:
                continue
        picked.append(address)
    return picked


def _looked(vault: Vault, act: str, axes: list[Address]) -> Looked | None:
    """What would become of axes; None until it is said what is waived, or which interval set."""
    account, names = visitor(), [str(axis) for axis in axes]
    by = account.person if account is not None else ""
    reason = _field("reason") or _YET_TO_COME
    if act == "approve":
        even_so = _field("even_so")
        return approve_many(
            vault, names, by, reason, _accepted(), even_so, all_found=False, looks_only=True
        )
    if act == "interval":
        every = _field("every")
        return set_export_every(vault, names, every, by, looks_only=True) if every else None
    if _field("code") is None:
        return None
    return waive_many(vault, names, _waiver(reason), by, looks_only=True)


def _usual_end() -> str:
    """The day that is proposed for the end of a waiver."""
    return day_text(now() + _USUAL_WAIVER)


def _waiver(reason: str | None) -> WaiverRequest:
    proposed = _usual_end() if request.method != "POST" else None  # a form shows its day
    until = _field("until") or proposed
    return parse_waiver_request(
        _field("code"), allow=_field("allow") or "any", until=until, reason=reason
    )


def _ticked(going: list[Row]) -> set[str]:
    """What is ticked: as it was sent; of those not seen before, all but those in doubt."""
    ticked, offered = (set(request.form.getlist(name)) for name in ("axis", "offered"))
    return {
        row.sent for row in going if row.sent in ticked or not (row.sent in offered or row.doubts)
    }


def _doubts(axis: JudgedAxis, stands: AxisDrift | None) -> tuple[str, ...]:
    """Which hazards nobody has said yes to; a finding that is accepted by name is none."""
    accepted, doubts = _accepted(), []
    if stands is not None and stands.worst == "hazard":
        doubts.append("a hazard drifted")
    if any(one.consequence == "hazard" and one.rule not in accepted for one in axis.complaints):
        doubts.append("the check finds a hazard")
    return tuple(doubts)


def _rows(found: Looked | None, stands: Mapping[str, AxisDrift]) -> list[Row]:
    if isinstance(found, ManyApproved):
        done = {axis.axis for axis in found.already}
        return [
            Row(
                axis.axis,
                f"{axis.axis}@{axis.snapshot}",
                tuple(dict.fromkeys(complaint.rule for complaint in axis.complaints)),
                axis.refusal,
                _doubts(axis, stands.get(axis.axis)),
            )
            for axis in found.axes
            if axis.axis not in done
        ]
    if isinstance(found, ManyIntervals):
        return [
            Row(axis.axis, axis.axis, (f"{axis.before or 'as the site'}, then {found.every}",),
                axis.refusal)
            for axis in (*found.refused, *found.changed)
        ]  # fmt: skip
    if found is None:
        return []
    return [
        Row(
            axis.axis,
            axis.axis,
            (f"{axis.waiver.code} may be {axis.waiver.allow.told}",) if axis.waiver else (),
            axis.refusal,
        )
        for axis in found.axes
    ]


def _findings(found: Looked | None) -> dict[str, list[tuple[str, str]]]:
    """Axis and sentence by rule, of axes that are not golden already."""
    by_rule: dict[str, list[tuple[str, str]]] = {}
    if isinstance(found, ManyApproved):
        for axis in (*found.refused, *found.approved):
            for complaint in axis.complaints:
                by_rule.setdefault(complaint.rule, []).append((axis.axis, complaint.sentence))
    return by_rule


def _document(found: Looked | None) -> Mapping[str, object]:
    if isinstance(found, ManyApproved):
        return many_approved_document(found)
    if isinstance(found, ManyIntervals):
        return many_intervals_document(found)
    return {} if found is None else many_waived_document(found)


def change_baselines(vault: Vault, account: Account) -> FormResult:
    """Begin to approve, or waive, on all axes that are ticked; or look again."""
    do, by, reason = required_field("do"), account.person, form_field("reason")
    if do == "look":
        match _act():
            case "waive":
                _waiver(reason or _YET_TO_COME)
            case "interval":
                check_interval(required_field("every"))
        return FormResult(None, "")
    axes = [selector(sent) for sent in request.form.getlist("axis") if text_or_none(sent)]
    if not axes:
        raise WrongUsage("no axis is ticked", hint="tick those that it is for")
    if len(axes) > _MOST:
        raise WrongUsage(f"at most {plural(_MOST, 'axis', 'axes')} go at once")
    query = request.query_string.decode("ascii", "replace")
    back = f"/baselines?{query}" if query else "/baselines"
    match do:
        case "approve":
            if objection := reason_objection(vault.site_record.approval, reason):
                raise objection
            accepted, shown, even_so = _accepted(), _shown(), form_field("even_so")

            def approving(vault: Vault, place: Path, progress: Progress) -> Outcome:
                found = approve_many(
                    vault, axes, by, reason, accepted, even_so,
                    shown=shown, all_found=False, progress=progress,
                )  # fmt: skip
                told = counted(found.approved, "approved", found.refused, found.already)
                return Outcome((told,), back, data={"approval": many_approved_document(found)})

            return _begun(account, f"Approve {_told(axes)}", approving, back)
        case "waive":
            asked = _waiver(reason)

            def waiving(vault: Vault, place: Path, progress: Progress) -> Outcome:
                found = waive_many(vault, axes, asked, by, progress=progress)
                told = counted(found.waived, "waived", found.refused)
                return Outcome((told,), back, data={"waivers": many_waived_document(found)})

            title = f"Waive {asked.parameter} on {_told(axes)}"
            return _begun(account, title, waiving, back)
        case "interval":
            every = required_field("every")

            def setting(vault: Vault, place: Path, progress: Progress) -> Outcome:
                found = set_export_every(vault, axes, every, by, progress=progress)
                what = f"due every {found.every}"
                told = counted(found.changed, what, found.refused)
                return Outcome((told,), back, data={"intervals": many_intervals_document(found)})

            title = f"Exports of {_told(axes)} are due every {every}"
            return _begun(account, title, setting, back)
        case other:
            raise WrongUsage(f"there is nothing like {other!r} to do")


def _told(selectors: Sequence[str]) -> str:
    """How many sets are meant, be they of a moment."""
    return counted_axes([one.partition("@")[0] for one in selectors])


def _begun(account: Account, title: str, task: Task, back: str) -> FormResult:
    queue: WorkQueue = current_app.extensions["work_queue"]
    work = queue.start(title, account, task, back)
    return FormResult(f"/work/{work.id}", "It has begun.", work_begun_document(work))

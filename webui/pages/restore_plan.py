"""A plan on its page, from the load file to the signature; the check of a restore without one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Response, current_app, g, request

from vault.jobs.restore.check import check_restore, checked_before
from vault.jobs.restore.documents import restore_check_document, signed_off_document
from vault.jobs.restore.kept_plan import KeptPlan, kept_plan, last_plan
from vault.jobs.restore.open_plans import Step, next_step
from vault.jobs.restore.plan_folder import SHEET
from vault.jobs.restore.request import parse_as_left
from vault.jobs.restore.sheet_marks import MOVE, ON_PAPER, check_holds, mark_sheet, places, ticks_of
from vault.jobs.restore.sheet_parts import SIGN_OFF
from vault.jobs.restore.sign_off import last_check, sign_off, unticked, untried
from vault.jobs.restore.target import planned
from vault.jobs.state.selectors import by_id
from vault.jobs.trials.kept import latest_result
from vault.jobs.trials.trace_told import reference_trace
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.vault import Vault
from webui import metrics
from webui.documents import kept_plan_document, restore_stand_document
from webui.page import FormResult, Page, axis_crumbs
from webui.page_words import page_words
from webui.pages.restore import sheet_answer
from webui.request_fields import form_field
from webui.uploads import Upload, Uploads
from webui.visitors import may, state_folder

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.jobs.restore.check import Checked
    from vault.jobs.restore.plan_documents import PlanDocument
    from vault.jobs.restore.sheet_documents import SheetLineDocument
    from vault.model.accounts import Account
    from vault.store.local.lock import Lock

_TEXT = "text:"
_OPEN: dict[Step | None, tuple[str, ...]] = {
    "load": ("file", "sheet", "export"),
    "put_right": ("export", "verdict"),
    "sign_off": ("verdict", "sign-off"),
    None: ("verdict", "sign-off"),
}
"""Steps that are shown unfolded, by what is to be done next: load and sheet end in the export."""


def restore_plan(vault: Vault, machine_name: str, axis_name: str, number: str) -> Page:
    """One plan: what it holds, its load file and sheet, the as-left export, verdict, signature."""
    kept = _kept(vault, machine_name, axis_name, number)
    record, address = kept.record, kept.address
    document, damage = _document(kept)
    checked = kept.check()
    marks = {mark.step: mark for mark in record.marks}
    boxes = _boxes(document)
    ticks = ticks_of(kept)
    latest = vault.latest(address)
    is_latest = checked is not None and latest is not None and latest.id == checked.snapshot.id
    step = next_step(checked if is_latest else None) if kept.is_open else None
    return Page(
        "restore_plan.html",
        f"Restore plan {record.number}",
        lambda: kept_plan_document(kept, checked),
        {
            "kept": kept,
            "plan": record,
            "address": str(address),
            "here": f"/restore/{address}/plan/{record.number}",
            "document": document,
            "damage": damage,
            "again": _again(document),
            "checked": checked,
            "can_sign": kept.newer is None and is_latest,
            "step": step,
            "unfolded": _OPEN[step] if kept.newer is None else (),
            "marks": marks,
            "boxes": boxes,
            "line_words": _line_words,
            "on_paper": ON_PAPER,
            "wanted": ticks.wanted,
            "ticked": ticks.ticked,
            "unticked": ticks.left,
            "tried": latest_result(vault, address),
            "traced": reference_trace(vault, address),
            "untried": untried(vault, checked),
            "moved": [marks[step].text if step in marks else "" for step in MOVE],
            "waiting": g.get("waiting"),
            "is_allowed": may("technician"),
            "can_mark": may("technician") and kept.is_open,
        },
        (*axis_crumbs(machine_name, axis_name), ("Restore", f"/restore/{address}")),
    )


def _kept(vault: Vault, machine_name: str, axis_name: str, number: str) -> KeptPlan:
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    return kept_plan(vault, address, number)


def _document(kept: KeptPlan) -> tuple[PlanDocument | None, VaultError | None]:
    try:
        return kept.document, None
    except VaultError as error:  # the check and the signature need it not
        return None, error


def _boxes(document: PlanDocument | None) -> dict[str, list[str]]:
    """Boxes of the sheet, by section."""
    found: dict[str, list[str]] = {}
    for section in document["sheet"] if document is not None else ():
        ticks = (place.step for place in places([section]) if place.kind == "tick")
        found[section["name"]] = list(ticks)
    return found


def _line_words(section: str, line: SheetLineDocument) -> str:
    """A line of the sheet in the words of the page; empty where the page tells it by itself.

    The sheet tells the trial and the trace that were the latest when it was made; the page tells
    those of now, at its head. What is printed alone keeps its commands, for who has no page.
    """
    if section == SIGN_OFF and line["kind"] == "text":
        return ""
    text = line["text"]
    return text if section in ON_PAPER else page_words(text) or text


def _again(document: PlanDocument | None) -> dict[str, str]:
    """What was typed for a plan, for another one: nothing has to be typed twice."""
    if document is None:
        return {}
    fitted: dict[str, Any] = document["onto"]["fitted"]
    names = ("drive", "firmware", "motor", "rated_current", "rated_torque")
    typed = {name: str(fitted[name]) for name in names if name in fitted}
    bits = [fitted.get(f"encoder_{which}_turn_bits") for which in ("single", "multi")]
    if bits[0] is not None:
        typed["encoder_bits"] = "+".join(str(one) for one in bits if one is not None)
    if document["onto"]["is_other_family"]:
        typed["onto"] = document["onto"]["family"] or ""
    return {**typed, "boxes": "1"}


def act_on_plan(
    vault: Vault, account: Account, machine_name: str, axis_name: str, number: str
) -> FormResult:
    """Keep what is ticked on the sheet, and take the as-left export in, or sign the restore off."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    check_holds(last_plan(vault, address), number)
    here = f"/restore/{address}/plan/{number}"
    do = form_field("do")
    marks = {name[len(_TEXT) :]: text for name, text in request.form.items() if name[:5] == _TEXT}
    ticked, shown = request.form.getlist("tick"), request.form.getlist("shown")
    if marks or ticked or shown:
        mark_sheet(vault, address, number, account.person, ticked=ticked, shown=shown, texts=marks)
    if do == "sign-off":
        return _signed(vault, account, address, f"{here}#sign-off")
    if do == "check":
        checked = _checked(vault, account, address, marks)
        return FormResult(f"{here}#verdict", _words(checked), restore_check_document(checked))
    kept = kept_plan(vault, address, number)
    return FormResult(
        f"{here}#sheet", "The ticks are kept.", kept_plan_document(kept, kept.check())
    )


def _signed(vault: Vault, account: Account, address: Address, where: str) -> FormResult:
    record = sign_off(
        vault,
        address,
        account.person,
        form_field("signed_even_so" if "signed_even_so" in request.form else "even_so"),
        seen=form_field("snapshot"),
        although_unticked=form_field("unticked") is not None,
    )
    document = signed_off_document(str(address), record)
    left = record.signed_off.snapshot if record.signed_off is not None else "latest"
    approve = f"/axis/{address}/golden?when={left}#approve"
    then = (("Approve the as-left state", approve), ("The axis", f"/axis/{address}"))
    return FormResult(where, "The restore is signed off.", document, then)


def _words(checked: Checked) -> str:
    verdict = "is restored" if checked.is_restored else "is NOT restored"
    told = "".join(f" Note: {warning}." for warning in checked.warnings)
    return f"The export is taken in. {checked.address} {verdict}.{told}"


def restore_file(vault: Vault, machine_name: str, axis_name: str, number: str, name: str) -> Page:
    """One file of a plan as it was made: load file, sheet.html, plan.json."""
    content = _kept(vault, machine_name, axis_name, number).file(name)
    if name == SHEET:
        return Page("", "", dict, raw=sheet_answer(content))
    return Page("", "", dict, raw=_download(content, name))


def restore_folder(vault: Vault, machine_name: str, axis_name: str, number: str) -> Page:
    """All files of a plan, in a zip."""
    name, content = _kept(vault, machine_name, axis_name, number).packed()
    return Page("", "", dict, raw=_download(content, name))


def _download(content: bytes, name: str) -> Response:
    answer = Response(content, mimetype="application/octet-stream")
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def restore_check(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The last verdict, a form for the as-left export, and one for the signature."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    checked, plan = last_check(vault, address), planned(vault, address)
    if plan is not None and request.method == "GET" and not request.path.startswith("/api/"):
        there = {"Location": f"/restore/{address}/plan/{plan.number}#export"}
        return Page("", "", dict, raw=Response(status=303, headers=there))
    return Page(
        "restore_check.html",
        f"Check the restore of {address}",
        lambda: restore_stand_document(checked, plan),
        {
            "address": address,
            "checked": checked,
            "plan": plan,
            "unticked": unticked(vault, address),
            "untried": untried(vault, checked),
            "waiting": g.get("waiting"),
            "is_allowed": may("technician"),
        },
        (*axis_crumbs(machine_name, axis_name), ("Restore", f"/restore/{address}")),
    )


def act_on_restore(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Take the as-left export in and hold it against the plan, or sign the restore off."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    if form_field("do") == "sign-off":
        return _signed(vault, account, address, f"/restore/{address}/check")
    checked = _checked(vault, account, address, {})
    where = f"/restore/{address}/checked/{checked.snapshot.id}"
    return FormResult(where, _words(checked), restore_check_document(checked))


def _checked(vault: Vault, account: Account, address: Address, noted: Mapping[str, str]) -> Checked:
    """The verdict about the export of the form; where it is refused, the file waits with it.

    The measured move is that of the form, else what was `noted` on the sheet.
    """
    uploads = Uploads(state_folder(current_app))
    upload, lock = _sent_or_waiting(uploads, account)
    try:
        visit = parse_as_left(
            account.person,
            taken_at=form_field("taken_at"),
            work_order=form_field("work_order"),
            note=form_field("note"),
            override_reason=form_field("even_so"),
            node_id=form_field("node_id"),
            partial=form_field("partial") is not None,
            moved=form_field("moved"),
            commanded=form_field("commanded") or noted.get(MOVE[0]),
            measured=form_field("measured") or noted.get(MOVE[1]),
        )
        checked = check_restore(vault, address, uploads.path(upload, upload.files[0]), visit)
    except VaultError:
        metrics.note_failure()
        if request.path.startswith("/api/"):
            uploads.drop(upload)
        else:
            g.waiting = upload
        raise
    except BaseException:
        uploads.drop(upload)
        raise
    else:
        uploads.drop(upload)
        return checked
    finally:
        if lock is not None:
            lock.release()


def _sent_or_waiting(uploads: Uploads, account: Account) -> tuple[Upload, Lock | None]:
    """The export that was chosen, else the one that waits since it was refused."""
    sent, waiting = request.files.getlist("export")[:1], form_field("waiting")
    if waiting is None or any(file.filename for file in sent):
        return uploads.keep(account.name, sent), None
    return uploads.claimed(waiting, account.name)


def restore_checked(vault: Vault, machine_name: str, axis_name: str, snapshot: str) -> Page:
    """The verdict about one as-left export."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    checked = checked_before(vault, address, by_id(vault, address, snapshot))
    plan = planned(vault, address)
    last = last_check(vault, address)
    is_open = last is not None and last.snapshot.id == checked.snapshot.id
    return Page(
        "restore_checked.html",
        f"Is {address} restored?",
        lambda: restore_check_document(checked),
        {
            "address": address,
            "checked": checked,
            "signed_off": plan.signed_off if plan is not None and is_open else None,
            "is_open": is_open,
            "unticked": unticked(vault, address),
            "untried": untried(vault, checked),
            "is_allowed": may("technician"),
        },
        (*axis_crumbs(machine_name, axis_name), ("Restore", f"/restore/{address}")),
    )

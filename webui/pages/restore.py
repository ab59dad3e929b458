"""Restoring an axis: the plan and its sheet, the check by an as-left export, the signature."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from flask import Response, current_app, g, request

from vault.jobs.restore.check import check_restore, checked_before
from vault.jobs.restore.documents import restore_check_document, signed_off_document
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_documents import plan_document
from vault.jobs.restore.plan_folder import write_plan
from vault.jobs.restore.request import parse_as_left, parse_plan_request
from vault.jobs.restore.sheet import sheet_html
from vault.jobs.restore.sign_off import last_check, sign_off
from vault.jobs.restore.target import planned
from vault.jobs.state.selectors import by_id
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.vault import Vault
from webui import metrics
from webui.background_work import Outcome, Progress
from webui.documents import restore_stand_document
from webui.page import FormResult, Page, axis_crumbs
from webui.request_fields import form_field, query_arg, selector
from webui.uploads import Upload, Uploads
from webui.visitors import may, state_folder
from webui.work_documents import work_begun_document

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from vault.jobs.restore.check import Checked
    from vault.model.accounts import Account
    from vault.model.restore import RestoreRecord
    from vault.store.local.lock import Lock
    from webui.background_work import WorkQueue

_SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
_TEXTS = (
    "drive", "firmware", "motor", "rated_current", "rated_torque", "encoder_bits", "onto",
)  # fmt: skip
_FIELDS = (*_TEXTS, "when", "adapt", "even_so")


def _plan(vault: Vault, name: str, fields: Mapping[str, str | None]) -> RestorePlan:
    """The plan that was asked for in these fields. Raises WrongUsage."""
    wanted = selector(f"{name}@{fields['when']}" if fields["when"] else name)
    texts = {key: fields[key] for key in _TEXTS}
    asked = parse_plan_request(
        wanted, adapt=bool(fields["adapt"]), override_reason=fields["even_so"], **texts
    )
    return make_plan(vault, asked)


def _fields(typed: Callable[[str], str | None]) -> dict[str, str | None]:
    """What was typed, by `form_field` or `query_arg`."""
    fields = {name: typed(name) for name in _FIELDS}
    fields["even_so"] = fields["even_so"] or typed("override_reason")  # its older name
    return fields


def restore(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """Target, hardware, what has to be decided, and how to go on."""
    name = f"{machine_name}/{axis_name}"
    fields = _fields(query_arg)
    plan = _plan(vault, name, fields)
    record = planned(vault, plan.address)
    return Page(
        "restore.html",
        f"Restore {name}",
        lambda: plan_document(plan),
        {
            "plan": plan,
            "address": name,
            "fields": fields,
            "record": record,
            "families": vault.family_names(),
            "query": request.query_string.decode("ascii", "replace"),
            "is_allowed": may("technician"),
        },
        axis_crumbs(machine_name, axis_name),
    )


def write_restore(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Record the plan, and pack load file, sheet and plan to be taken to the cabinet.

    Or only work out what it would hold: one form asks for both, so what is typed counts for both.
    """
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    fields = _fields(form_field)
    plan = _plan(vault, str(address), fields)
    if form_field("do") == "look":
        query = urlencode({name: text for name, text in fields.items() if text})
        return FormResult(f"/restore/{address}?{query}", "Worked out; nothing is recorded.")

    def task(vault: Vault, place: Path, progress: Progress) -> Outcome:
        made = _plan(vault, str(address), fields)
        folder = place / "-".join(("restore", *address.shown))
        document, remarks = write_plan(made, folder, account.person)
        packed = packed_folder(folder, progress)
        sentence = (
            "The plan is recorded. Its folder holds the load file, the sheet and the checksums."
        )
        return Outcome(
            (sentence, *remarks), f"/restore/{address}/check", packed.name, {"plan": document}
        )

    queue: WorkQueue = current_app.extensions["work_queue"]
    work = queue.start(f"Restore plan for {address}, to {plan.chosen}", account, task)
    return FormResult(f"/work/{work.id}", "The plan is being written.", work_begun_document(work))


def packed_folder(folder: Path, progress: Progress) -> Path:
    """A zip of a folder beside it, with the folder's name in front of every file."""
    packed = folder.with_name(f"{folder.name}.zip")
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, path in enumerate(files):
            progress(number, len(files))
            archive.write(path, f"{folder.name}/{path.relative_to(folder).as_posix()}")
    return packed


def sheet(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The sheet itself, to be printed or carried on a phone."""
    plan = _plan(vault, f"{machine_name}/{axis_name}", _fields(query_arg))
    plan = _as_recorded(plan, planned(vault, plan.address))
    answer = Response(sheet_html(plan), mimetype="text/html")
    answer.headers["Content-Security-Policy"] = _SHEET_POLICY
    return Page("", "", lambda: plan_document(plan), raw=answer)


def _as_recorded(plan: RestorePlan, record: RestoreRecord | None) -> RestorePlan:
    """The plan that is recorded, with its number and reason, where this is the same again."""
    if record is None:
        return plan
    reason = plan.override_reason or record.override_reason
    same = replace(plan, made_at=record.made_at, override_reason=reason)
    return same if same.id == record.id else plan


def restore_check(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The last verdict, a form for the as-left export, and one for the signature."""
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    checked, plan = last_check(vault, address), planned(vault, address)
    return Page(
        "restore_check.html",
        f"Check the restore of {address}",
        lambda: restore_stand_document(checked, plan),
        {
            "address": address,
            "checked": checked,
            "plan": plan,
            "waiting": g.get("waiting"),
            "is_allowed": may("technician"),
        },
        (*axis_crumbs(machine_name, axis_name), ("Restore", f"/restore/{address}")),
    )


def act_on_restore(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Take the as-left export in and hold it against the plan, or sign the restore off."""
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    if form_field("do") == "sign-off":
        record = sign_off(
            vault, address, account.person, form_field("even_so"), seen=form_field("snapshot")
        )
        document = signed_off_document(str(address), record)
        return FormResult(f"/restore/{address}/check", "The restore is signed off.", document)
    checked = _checked(vault, account, address)
    verdict = "is restored" if checked.is_restored else "is NOT restored"
    where = f"/restore/{address}/checked/{checked.snapshot.id}"
    words = f"The export is taken in. {address} {verdict}."
    return FormResult(where, words, restore_check_document(checked))


def _checked(vault: Vault, account: Account, address: Address) -> Checked:
    """The verdict about the export of the form; where it is refused, the file waits with it."""
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
            commanded=form_field("commanded"),
            measured=form_field("measured"),
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
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
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
            "is_allowed": may("technician"),
        },
        (*axis_crumbs(machine_name, axis_name), ("Restore", f"/restore/{address}")),
    )

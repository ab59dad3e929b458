"""Restoring an axis: the plan and its sheet, the check by an as-left export, the signature."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Response, current_app, request

from vault.jobs.intake.visit import parse_visit
from vault.jobs.restore.check import check_restore, checked_before
from vault.jobs.restore.documents import restore_check_document, signed_off_document
from vault.jobs.restore.files import write_plan
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_documents import plan_document
from vault.jobs.restore.sheet import sheet_html
from vault.jobs.restore.sign_off import last_check, sign_off
from vault.jobs.restore.target import planned
from vault.jobs.state.selectors import by_id
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.model.replacement import Replacement
from vault.store.vault import Vault
from webui import metrics
from webui.documents import restore_stand_document
from webui.page import Done, Page, asked, axis_crumbs, needed, selector, typed
from webui.uploads import Uploads
from webui.visitors import may, state_folder
from webui.work import Outcome, Progress
from webui.work_documents import work_begun_document

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from webui.work import Workshop

_SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
_PLATE = ("drive", "firmware", "motor", "rated_current", "rated_torque")
_UNITS = {"rated_current": "A", "rated_torque": "N*m"}
_CHOICES = (*_PLATE, "encoder_bits", "onto", "when", "adapt")


def _plan(vault: Vault, name: str, told: dict[str, str | None]) -> RestorePlan:
    when = told["when"]
    wanted = selector(f"{name}@{when}" if when else name)
    return make_plan(vault, wanted, _fitted(told), onto=told["onto"], adapt=bool(told["adapt"]))


def _fitted(told: dict[str, str | None]) -> Replacement:
    """What was said of the fitted hardware. Raises WrongUsage."""
    plate: dict[str, Any] = {}
    for name in _PLATE:
        if text := told[name]:
            plate[name] = (
                f"{text} {_UNITS[name]}" if name in _UNITS and text[-1:].isdigit() else text
            )
    single, _, multi = (told["encoder_bits"] or "").partition("+")
    for name, bits in (("encoder_single_turn_bits", single), ("encoder_multi_turn_bits", multi)):
        if bits.strip():
            plate[name] = bits.strip()
    try:
        return Replacement.model_validate(plate)
    except ValueError as error:
        first = error.errors()[0]  # type: ignore[attr-defined]
        name = str(first["loc"][0]).replace("_", " ")
        reason = first["msg"].removeprefix("Value error, ")
        raise WrongUsage(
            f"{name}: {reason}", hint="encoder bits are written as 24+12, or 20"
        ) from error


def _asked() -> dict[str, str | None]:
    return {name: asked(name) for name in _CHOICES}


def restore(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """Target, hardware, what has to be decided, and how to go on."""
    name = f"{machine_name}/{axis_name}"
    told = _asked()
    plan = _plan(vault, name, told)
    record = planned(vault, plan.address)
    return Page(
        "restore.html",
        f"Restore {name}",
        lambda: plan_document(plan),
        {
            "plan": plan,
            "address": name,
            "told": told,
            "record": record,
            "families": vault.family_names(),
            "query": request.query_string.decode("ascii", "replace"),
            "is_allowed": may("technician"),
        },
        axis_crumbs(machine_name, axis_name),
    )


def write_restore(vault: Vault, account: Account, machine_name: str, axis_name: str) -> Done:
    """Record the plan, and pack load file, sheet and plan to be taken to the cabinet."""
    address = vault.needed_axis(Address.parse(f"{machine_name}/{axis_name}"))
    told = {name: typed(name) for name in _CHOICES}
    plan = _plan(vault, str(address), told)

    def task(vault: Vault, place: Path, progress: Progress) -> Outcome:
        made = _plan(vault, str(address), told)
        folder = place / f"restore-{address.machine}-{address.axis}"
        document, remarks = write_plan(made, folder, account.person)
        packed = packed_folder(folder, progress)
        said = "The plan is recorded. Its folder holds the load file, the sheet and the checksums."
        return Outcome(
            (said, *remarks), f"/restore/{address}/check", packed.name, {"plan": document}
        )

    shop: Workshop = current_app.extensions["workshop"]
    work = shop.start(f"Restore plan for {address}, to {plan.chosen}", account, task)
    return Done(f"/work/{work.id}", "The plan is being written.", work_begun_document(work))


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
    plan = _plan(vault, f"{machine_name}/{axis_name}", _asked())
    answer = Response(sheet_html(plan), mimetype="text/html")
    answer.headers["Content-Security-Policy"] = _SHEET_POLICY
    return Page("", "", lambda: plan_document(plan), raw=answer)


def restore_check(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The last verdict, a form for the as-left export, and one for the signature."""
    address = vault.needed_axis(Address.parse(f"{machine_name}/{axis_name}"))
    checked, plan = last_check(vault, address), planned(vault, address)
    return Page(
        "restore_check.html",
        f"Check the restore of {address}",
        lambda: restore_stand_document(checked, plan),
        {
            "address": address,
            "checked": checked,
            "plan": plan,
            "is_allowed": may("technician"),
        },
        (*axis_crumbs(machine_name, axis_name), ("Restore", f"/restore/{address}")),
    )


def act_on_restore(vault: Vault, account: Account, machine_name: str, axis_name: str) -> Done:
    """Take the as-left export in and hold it against the plan, or sign the restore off."""
    address = vault.needed_axis(Address.parse(f"{machine_name}/{axis_name}"))
    if typed("do") == "sign-off":
        record = sign_off(vault, address, account.person, typed("even_so"), seen=typed("snapshot"))
        document = signed_off_document(str(address), record)
        return Done(f"/restore/{address}/check", "The restore is signed off.", document)
    visit = parse_visit(
        account.person, "as-left", typed("taken_at"), typed("work_order"), typed("note"),
        override_reason=typed("even_so"),
    )  # fmt: skip
    uploads = Uploads(state_folder(current_app))
    upload = uploads.keep(account.name, request.files.getlist("export")[:1])
    try:
        path = uploads.path(upload, upload.files[0])
        found = check_restore(vault, address, path, visit, moved=_moved())
    except VaultError:
        metrics.note_failure()
        raise
    finally:
        uploads.drop(upload)
    verdict = "is restored" if found.is_restored else "is NOT restored"
    where = f"/restore/{address}/checked/{found.snapshot.id}"
    said = f"The export is taken in. {address} {verdict}."
    return Done(where, said, restore_check_document(found))


def _moved() -> str | None:
    """A measured move, as one text or as two fields."""
    if typed("moved"):
        return typed("moved")
    if typed("commanded") or typed("measured"):
        return f"{needed('commanded')}={needed('measured')}"
    return None


def restore_checked(vault: Vault, machine_name: str, axis_name: str, snapshot: str) -> Page:
    """The verdict about one as-left export."""
    address = vault.needed_axis(Address.parse(f"{machine_name}/{axis_name}"))
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

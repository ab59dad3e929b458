"""What happened around a fault, what explains it, and the evidence as a package."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from flask import current_app

from vault.jobs.audit.audit import Audit, audit
from vault.jobs.audit.documents import audit_document
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.question import parse_question
from vault.jobs.audit.report_entries import report_entries
from vault.jobs.faults.log import add_fault, parse_fault
from vault.model.names import safe_file_name
from vault.store.vault import Vault
from webui.background_work import Outcome, Progress
from webui.documents import fault_noted_document
from webui.linked_text import fault_address
from webui.page import FormResult, Page, axis_crumbs
from webui.request_fields import form_field, query_arg
from webui.visitors import may
from webui.work_documents import work_begun_document

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from webui.background_work import WorkQueue

_QUESTION = ("place", "fault", "at", "from", "to")


def audit_page(vault: Vault) -> Page:
    """`place` is a machine or an axis; `fault`, `at`, `from` and `to` as the command has them."""
    fields = {name: query_arg(name) for name in _QUESTION}
    if fields["place"] is None:
        places = [str(axis) for axis in vault.axes()]
        places = sorted({place.partition("/")[0] for place in places} | set(places))
        content = {"places": places, "fields": fields, "has_axes": bool(places)}
        return Page("audit_form.html", "After a fault", dict, content, (("Site", "/"),))
    answer = _audit(vault, fields)
    place = fields["place"] = answer.place
    crumbs = axis_crumbs(*place.split("/", 1)) if "/" in place else (("Site", "/"),)
    return Page(
        "audit.html",
        f"Audit of {place}",
        lambda: audit_document(answer),
        {
            "audit": answer,
            "entries": report_entries(answer),
            "fields": fields,
            "is_allowed": may("reader"),
        },
        crumbs,
    )


def _audit(vault: Vault, fields: dict[str, str | None]) -> Audit:
    question = parse_question(
        fields["place"],
        start=fields["from"],
        end=fields["to"],
        fault=fields["fault"],
        at=fields["at"],
    )
    return audit(vault, question)


def pack_evidence(vault: Vault, account: Account) -> FormResult:
    """Write the evidence of an audit, and pack it."""
    fields = {name: form_field(name) for name in _QUESTION}
    answer = _audit(vault, fields)  # so that a wrong question is answered here

    def task(vault: Vault, place: Path, progress: Progress) -> Outcome:
        folder = place / safe_file_name(f"evidence-{answer.place.replace('/', '-')}")
        document = write_evidence(vault, _audit(vault, fields), folder)
        packed = _packed_folder(folder, progress)
        sentence = "The package is ready. HOW-TO-CHECK.txt in it needs only git and sha256sum."
        return Outcome((sentence,), None, packed.name, {"audit": document})

    queue: WorkQueue = current_app.extensions["work_queue"]
    work = queue.start(f"Evidence about {answer.place}", account, task)
    return FormResult(
        f"/work/{work.id}", "The evidence is being packed.", work_begun_document(work)
    )


def note_fault(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Note a fault of an axis."""
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    fault = parse_fault(
        form_field("code"), account.person, at=form_field("at"), note=form_field("note")
    )
    added = add_fault(vault, address, fault)
    outcome = "The fault is noted." if added.added else "That fault is in the log already."
    words = " ".join([outcome, *added.warnings])
    explained = fault_address(address, fault.code, fault.at.isoformat())
    then = (("What explains it", explained), ("Faults of all axes", "/faults"))
    return FormResult(f"/axis/{address}", words, fault_noted_document(address, added), then)


def _packed_folder(folder: Path, progress: Progress) -> Path:
    """A zip of a folder beside it, with the folder's name in front of every file."""
    packed = folder.with_name(f"{folder.name}.zip")
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, path in enumerate(files):
            progress(number, len(files))
            archive.write(path, f"{folder.name}/{path.relative_to(folder).as_posix()}")
    return packed

"""Writing a restore plan down: the folder that a person takes to the cabinet, and its record."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from vault.jobs.restore.plan_documents import plan_document
from vault.jobs.restore.sheet import sheet_html
from vault.jobs.state.whole_set import check_whole
from vault.model.errors import Refused, Unavailable
from vault.model.names import safe_file_name
from vault.model.restore import RestoreRecord
from vault.model.visible_text import visible_json
from vault.store.files import layout
from vault.store.files.new_folder import new_folder, write_whole
from vault.store.files.restore_text import restore_text
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from vault.jobs.restore.plan import RestorePlan
    from vault.jobs.restore.plan_documents import PlanDocument

PLAN, SHEET, KEPT = "plan.json", "sheet.html", "kept-export"
LOAD = "load-file"
"""What the load file is called in the vault; its own name stands in the plan."""


def write_plan(plan: RestorePlan, out: Path, by: str) -> tuple[PlanDocument, tuple[str, ...]]:
    """Write a plan into a new folder and record it; returns plan.json, and remarks.

    The folder is there whole or not at all. Raises Refused where the hardware does not fit,
    WrongUsage where the folder holds something, Unavailable where it cannot be written.
    """
    document, files = _made(plan)
    with new_folder(out) as scratch:
        for name, content in files.items():
            write_whole(scratch / name, content)
    try:
        _record(plan, files, by)
    except Unavailable as error:  # the restore goes on all the same
        remark = "the plan is not recorded in the vault, name it when checking (--plan)"
        return document, (f"{remark}: {error}",)
    return document, ()


def record_plan(plan: RestorePlan, by: str) -> PlanDocument:
    """Record a plan with all that belongs to it in the vault; returns plan.json.

    Raises Refused as `write_plan`, Unavailable where the vault cannot be written.
    """
    document, files = _made(plan)
    _record(plan, files, by)
    return document


def _made(plan: RestorePlan) -> tuple[PlanDocument, dict[str, bytes]]:
    _check_hardware(plan)
    check_whole(plan.target, plan.override_reason, "restore target")
    files = _files(plan)
    document = plan_document(plan, files)
    text = visible_json(json.dumps(document, ensure_ascii=False, indent=1))
    return document, {**files, PLAN: text.encode() + b"\n"}


def _check_hardware(plan: RestorePlan) -> None:
    wrong = [line for line in plan.hardware.lines if line.verdict == "not_compatible"]
    if wrong:
        reasons = " ".join(
            " ".join(line.sentences) or f"{line.item}: {line.fitted} does not fit."
            for line in wrong
        )
        raise Refused(f"this hardware does not fit {plan.address}: {reasons}")


def _files(plan: RestorePlan) -> dict[str, bytes]:
    files = {SHEET: sheet_html(plan)}
    if plan.load_file is not None:
        files[plan.load_file.name] = plan.load_file.content
    record = plan.target.record
    if record is not None and not (plan.load_file and plan.load_file.is_kept):
        files[f"{KEPT}/{safe_file_name(record.export_name)}"] = plan.target.export_content()
    return files


def _record(plan: RestorePlan, files: Mapping[str, bytes], by: str) -> None:
    """Put restore.yaml into the vault, and what was made in place of what the last plan made."""
    snapshot, file, vault = plan.target.snapshot, plan.load_file, plan.vault
    if snapshot is None:
        return
    other = plan.family.name if plan.is_other_family and plan.family is not None else None
    record = RestoreRecord(
        id=plan.id,
        made_at=plan.made_at,
        by=by,
        snapshot=snapshot.id,
        family=other,
        load_file=file.name if file is not None else None,
        load_file_sha256=digest(file.content) if file is not None else None,
        adapted=plan.adapted,
        override_reason=plan.override_reason if plan.not_whole is not None else None,
        document_sha256=digest(files[PLAN]),
    )
    folder = layout.plan_folder(plan.address)
    kept = {name: files[name] for name in (PLAN, SHEET)}
    if file is not None:
        kept[LOAD] = file.content
    changes = {f"{folder}/{name}": content for name, content in kept.items()}
    changes[layout.restore_file(plan.address)] = restore_text(record)
    message = f"{plan.address}: restore planned\n\nPlan: {plan.id}\nTarget: {snapshot.id}\n"
    with vault.writing():
        is_there = vault.repository.resolve(f"{vault.tip}:{folder}") is not None
        vault.write_files(changes, message, by, removed=[folder] if is_there else ())

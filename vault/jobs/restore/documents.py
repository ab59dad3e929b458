"""The JSON objects about restoring an axis: plan.json, and the verdict of a check."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json, change_json, physical_json, scalar
from vault.store.clock import time_text
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.jobs.restore.check import Checked
    from vault.jobs.restore.plan import RestorePlan
    from vault.jobs.restore.verdict import Remaining
    from vault.meaning.hardware import Fitted
    from vault.meaning.loading import Prepared
    from vault.meaning.measured_move import TravelRatio
    from vault.model.parameters import Parameter
    from vault.model.restore import RestoreRecord


def plan_json(plan: RestorePlan, files: Mapping[str, bytes] | None = None) -> Json:
    """A restore plan; `files` are those that lie beside it."""
    target, file = plan.target, plan.load_file
    record = target.record
    return {
        "schema": "axisvault/plan/1",
        "id": plan.id,
        "axis": str(plan.address),
        "made_at": time_text(plan.made_at),
        "target": {
            "chosen": plan.chosen,
            "snapshot": target.snapshot.id if target.snapshot else None,
            "taken_at": time_text(record.taken_at) if record else None,
            "family": target.family_name,
            "firmware": target.nameplate.get("firmware"),
        },
        "onto": {
            "family": plan.family.name if plan.family else None,
            "is_other_family": plan.is_other_family,
            "firmware": plan.firmware,
            "fitted": plan.fitted.model_dump(mode="json", exclude_none=True),
        },
        "hardware": {
            "verdict": plan.hardware.verdict,
            "lines": [_fitted_json(line) for line in plan.hardware.lines],
            "corrections": [_row_json(row) for row in plan.hardware.corrections],
        },
        "load_file": None
        if file is None
        else {
            "name": file.name,
            "sha256": digest(file.content),
            "is_kept_export": file.is_kept,
            "not_kept_because": plan.not_kept,
            "parameters": len(plan.loaded),
        },
        "adapted": [
            {"code": one.code, "raw": one.raw, "reason": one.reason} for one in plan.adapted
        ],
        "parameters": [_row_json(row) for row in plan.rows],
        "left_as_delivered": [
            {"code": d.code, "name": d.name, "default": None if d.default is None
             else scalar(d.default)}
            for d in plan.added
        ],
        "warnings": list(plan.warnings),
        "files": [
            {"name": name, "sha256": digest(content)}
            for name, content in sorted((files or {}).items())
        ],
    }  # fmt: skip


def check_json(found: Checked) -> Json:
    """The verdict of a restore check; `safety` is validated apart."""
    return {
        "restored": found.is_restored,
        "axis": str(found.address),
        "target": found.target.snapshot.id if found.target.snapshot else None,
        "plan": found.plan.id if found.plan is not None else None,
        "differences": [_remaining_json(one) for one in found.left_over.differences],
        "safety": [_remaining_json(one) for one in found.left_over.safety],
        "ignored": [
            {**change_json(one.change), "reason": one.reason} for one in found.left_over.ignored
        ],
        "travel_ratio": None if found.travel is None else _travel_json(found.travel),
        "snapshot": found.snapshot.id,
        "warnings": list(found.warnings),
    }


def _remaining_json(one: Remaining) -> Json:
    return {**change_json(one.change), "to_do": one.to_do}


def _travel_json(travel: TravelRatio) -> Json:
    return {
        "commanded": physical_json(travel.move.commanded),
        "measured": physical_json(travel.move.measured),
        "ratio": f"{travel.ratio:.9g}",
        "is_fine": travel.is_fine,
        "sentence": travel.sentence,
        "suspects": [
            {"code": s.code, "role": s.role, "explanation": s.explanation} for s in travel.suspects
        ],
    }


def _fitted_json(line: Fitted) -> Json:
    return {
        "item": line.item,
        "kept": line.kept,
        "fitted": line.fitted,
        "verdict": line.verdict,
        "sentences": list(line.sentences),
        "findings": [
            {"quantity": f.quantity, "value": f.value, "unit": f.unit, "basis": f.basis}
            for f in line.findings
        ],
    }


def _row_json(row: Prepared) -> Json:
    return {
        "code": row.target.code,
        "name": row.target.name,
        "role": row.target.role,
        "status": row.status,
        "consequence": row.consequence,
        "reason": row.reason,
        "why_never": row.why_never,
        "was_set": row.was_set,
        "target": _parameter_json(row.target),
        "loaded": _parameter_json(row.loaded),
        "offered": _parameter_json(row.offered),
    }


def _parameter_json(parameter: Parameter | None) -> Json | None:
    if parameter is None:
        return None
    return {
        "code": parameter.code,
        "value": scalar(parameter.value),
        "raw": scalar(parameter.raw),
        "unit": parameter.unit,
        "label": parameter.label,
    }


def sign_off_json(record: RestoreRecord) -> Json | None:
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

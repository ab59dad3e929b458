"""The JSON objects of the contract, one function per object. Exact numbers are strings."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from vault.model.quantities import plain
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.compare_states import Compared
    from vault.jobs.drift import AxisDrift
    from vault.jobs.edit_records import AxisSheet
    from vault.jobs.ingest import Ingested
    from vault.jobs.ingest_tree import TreeIngested
    from vault.jobs.selectors import State
    from vault.jobs.show import Shown
    from vault.jobs.spread import Spread
    from vault.jobs.verify_outcome import Verified
    from vault.meaning.changes import Change, Difference, Finding, Surrounding
    from vault.meaning.checks import Complaint
    from vault.meaning.faults import FaultCode
    from vault.meaning.readings import Reading
    from vault.model.errors import VaultError
    from vault.model.export import Scalar
    from vault.model.families import Family
    from vault.model.fault_log import FaultEntry
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical
    from vault.store.index_rows import Snapshot

Json = dict[str, Any]


def error_json(error: VaultError) -> Json:
    """An error; `code` is the exit code."""
    return {
        "error": {
            "code": error.exit_code,
            "message": error.message,
            "file": error.file,
            "line": error.line,
            "hint": error.hint,
        }
    }


def scalar(value: Scalar) -> str:
    """A value as exact text."""
    return value if isinstance(value, str) else plain(value)


def physical_json(size: Physical | None) -> Json | None:
    """A quantity in SI."""
    return None if size is None else {"value": plain(size.decimal()), "unit": size.unit}


def snapshot_json(snapshot: Snapshot) -> Json:
    """A snapshot: which, when, who and why."""
    record = snapshot.record
    return {
        "snapshot": snapshot.id,
        "taken_at": time_text(record.taken_at),
        "occasion": record.occasion,
        "by": record.by,
        "work_order": record.work_order,
        "note": record.note,
        "family": record.family,
        "serial": record.serial,
        "export": record.export_name,
    }


def ingest_json(found: Ingested) -> Json:
    """What became of an export."""
    record = found.snapshot.record
    return {
        **snapshot_json(found.snapshot),
        "axis": str(found.snapshot.address),
        "parameters": found.parameters,
        "skipped": [{"line": s.line, "text": s.text, "reason": s.reason} for s in record.skipped],
        "unchanged": found.unchanged,
        "changes": found.comparison.summary() if found.comparison else {},
        "drift": _drift_json(found.drift),
        "warnings": list(found.warnings),
    }


def _drift_json(found: AxisDrift | None) -> Json:
    if found is None:
        return {"status": "no_golden", "count": 0, "worst": None}
    return {"status": found.status, "count": found.count, "worst": found.worst}


def ingest_tree_json(found: TreeIngested) -> Json:
    """What became of a tree of exports."""
    return {
        "taken": found.taken,
        "already_there": found.already_there,
        "unchanged": found.unchanged,
        "axes": sorted(map(str, found.axes)),
        "failures": [error_json(e)["error"] for e in found.failures],
        "warnings": found.warnings,
    }


def show_json(state: State, parameters: Iterable[Shown]) -> Json:
    """One parameter set."""
    record = state.record
    return {
        "axis": str(state.address) if state.address else state.name,
        "snapshot": state.snapshot.id if state.snapshot else None,
        "taken_at": time_text(record.taken_at) if record else None,
        "occasion": record.occasion if record else None,
        "by": record.by if record else None,
        "work_order": record.work_order if record else None,
        "note": record.note if record else None,
        "family": state.family_name,
        "nameplate": dict(state.nameplate),
        "parameters": [_shown_json(p) for p in parameters],
    }


def _shown_json(found: Shown) -> Json:
    parameter = found.parameter
    return {
        "code": parameter.code,
        "name": parameter.name,
        "role": parameter.role,
        "group": found.group,
        "value": scalar(parameter.value),
        "unit": parameter.unit,
        "label": parameter.label,
        "raw": scalar(parameter.raw),
        "access": found.access,
        "physical": physical_json(found.reading.physical),
        **_meaning_json(found.reading),
    }


def reading_json(reading: Reading | None) -> Json:
    """A parameter as it is read; `value` is null where there is none."""
    if reading is None:
        return {"value": None}
    found = parameter_json(reading.parameter, reading.physical) or {}
    return {**found, **_meaning_json(reading)}


def _meaning_json(reading: Reading) -> Json:
    """What the set believes, and what it is really where that is something else."""
    stated = physical_json(reading.stated)
    return {"stated": stated, "text": reading.text, "really": reading.really}


def compare_json(compared: Compared, *, everything: bool, fault: FaultCode | None = None) -> Json:
    """A semantic difference; restated and volatile entries only where everything is wanted.

    With a `fault` also `suspects`: what can explain it, best explanation first.
    """
    comparison = compared.comparison
    wanted = comparison.changes if everything else comparison.news
    return {
        "left": _side_json(compared.left),
        "right": _side_json(compared.right),
        "summary": comparison.summary(),
        "causes": [
            {
                "cause": cause.name,
                "code": cause.code,
                "explanation": cause.explanation,
                "affects": list(cause.affects),
                "shifts": cause.shifts,
            }
            for cause in comparison.causes
        ],
        "changes": [change_json(change) for change in wanted],
        "surroundings": [surrounding_json(s) for s in comparison.surroundings],
        **(_fault_json(compared, fault) if fault is not None else {}),
    }


def _fault_json(compared: Compared, fault: FaultCode) -> Json:
    standard = None if fault.standard is None else f"0x{fault.standard:04X}"
    return {
        "fault": {"code": fault.code, "name": fault.name, "standard": standard},
        "suspects": [
            {"code": s.change.shown.code, "score": f"{s.score:.3f}", "why": s.why}
            for s in compared.suspects(fault)
        ],
    }


def _side_json(state: State) -> Json:
    return {
        "axis": str(state.address) if state.address else state.name,
        "snapshot": state.snapshot.id if state.snapshot else None,
        "taken_at": time_text(state.record.taken_at) if state.record else None,
        "family": state.family_name,
    }


def change_json(change: Change) -> Json:
    """One change of a comparison."""
    left, right = change.left, change.right
    codes: Json = {"code": change.shown.code}
    if left and right and left.code != right.code:
        codes = {"code": right.code, "left_code": left.code, "right_code": right.code}
    return {
        **codes,
        "name": change.shown.name,
        "role": change.shown.role,
        "group": change.group,
        "kind": change.kind,
        "volatile": change.volatile,
        "consequence": change.consequence,
        "left": parameter_json(left, change.left_physical),
        "right": parameter_json(right, change.right_physical),
        "difference": _difference_json(change.difference),
        "explanation": change.explanation,
        "findings": [_finding_json(f) for f in change.findings],
        "cause": change.cause,
    }


def parameter_json(parameter: Parameter | None, size: Physical | None) -> Json | None:
    """A value as one side of a comparison has it."""
    if parameter is None:
        return None
    return {
        "raw": scalar(parameter.raw),
        "value": scalar(parameter.value),
        "unit": parameter.unit,
        "label": parameter.label,
        "physical": physical_json(size),
    }


def _difference_json(difference: Difference | None) -> Json | None:
    if difference is None:
        return None
    relative = difference.relative
    return {
        "absolute": plain(difference.absolute),
        "relative": None if relative is None else plain(relative),
        "unit": difference.unit,
    }


def fault_json(entry: FaultEntry, name: str | None) -> Json:
    """A fault of the log; `name` is null where nothing is known about its code."""
    return {
        "at": time_text(entry.at),
        "code": entry.code,
        "name": name,
        "note": entry.note,
        "by": entry.by,
        "source": entry.source,
    }


def surrounding_json(found: Surrounding) -> Json:
    """A difference beside the parameters."""
    return {
        "path": found.path,
        "left": _plain(found.left),
        "right": _plain(found.right),
        "consequence": found.consequence,
        "explanation": found.explanation,
    }


def _plain(value: object) -> object:
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, Decimal):
        return plain(value)
    if value is None or isinstance(value, bool | int | str):
        return value
    return str(value)


def check_json(axis: str, complaints: Iterable[Complaint]) -> Json:
    """What is not plausible about a state."""
    return {
        "axis": axis,
        "findings": [
            {
                "rule": c.rule,
                "consequence": c.consequence,
                "sentence": c.sentence,
                "look_at": list(c.look_at),
                "findings": [_finding_json(f) for f in c.findings],
            }
            for c in complaints
        ],
    }


def spread_json(found: Spread) -> Json:
    """Axes side by side; `rows` are those on which they differ."""
    return {
        "axes": list(found.axes),
        "same": len(found.rows) - len(found.differing),
        "rows": [
            {
                "key": row.key,
                "name": row.name,
                "group": row.group,
                "reference": row.reference,
                "basis": row.basis,
                "odd": list(row.odd),
                "values": {
                    axis: {
                        "code": cell.parameter.code,
                        **reading_json(cell.reading),
                    }
                    for axis, cell in row.cells.items()
                },
            }
            for row in found.differing
        ],
    }


def _finding_json(finding: Finding) -> Json:
    return {
        "quantity": finding.quantity,
        "value": finding.value,
        "unit": finding.unit,
        "basis": finding.basis,
    }


def family_json(family: Family) -> Json:
    """A dictionary in short."""
    return {
        "name": family.name,
        "title": family.title,
        "format": family.export.format,
        "parameters": len(family.parameters),
        "variants": [str(v.firmware) for v in family.variants],
    }


def axis_json(sheet: AxisSheet, *, short: bool = False) -> Json:
    """An axis; its whole record unless `short`."""
    found: Json = {
        "axis": str(sheet.address),
        "title": sheet.title,
        "snapshots": sheet.snapshots,
        "latest": snapshot_json(sheet.latest) if sheet.latest else None,
    }
    if not short:
        record = sheet.record
        found["record"] = (
            record.model_dump(mode="json", by_alias=True, exclude_none=True) if record else None
        )
    return found


def verify_json(found: Verified) -> Json:
    """Outcome of a verification."""
    first, witness = found.first_untrusted, found.witness
    return {
        "ok": found.ok,
        "snapshots": found.snapshots,
        "problems": [
            {"kind": p.kind, "where": p.where, "details": p.details} for p in found.problems
        ],
        "remarks": found.remarks,
        "first_untrusted": None
        if first is None
        else {
            "snapshot": first.snapshot,
            "axis": first.axis,
            "taken_at": first.taken_at,
            "why": first.why,
        },
        "tip": found.tip,
        "witness": None
        if witness is None
        else {"id": witness.id, "lines": len(witness.lines), "head": witness.head},
    }

"""The JSON objects of sets, comparisons and plausibility. Exact numbers are strings."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from vault.model.quantities import plain
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.state.compare import Compared
    from vault.jobs.state.selectors import State
    from vault.meaning.changes import Change, Difference, Finding, Surrounding
    from vault.meaning.checks import Complaint
    from vault.meaning.faults import FaultCode
    from vault.meaning.readings import Reading
    from vault.model.errors import VaultError
    from vault.model.export import Scalar
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical
    from vault.store.index.rows import Snapshot


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


def reading_json(reading: Reading | None) -> Json:
    """A parameter as it is read; `value` is null where there is none."""
    if reading is None:
        return {"value": None}
    found = parameter_json(reading.parameter, reading.physical) or {}
    return {**found, **meaning_json(reading)}


def meaning_json(reading: Reading) -> Json:
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


def _finding_json(finding: Finding) -> Json:
    return {
        "quantity": finding.quantity,
        "value": finding.value,
        "unit": finding.unit,
        "basis": finding.basis,
    }

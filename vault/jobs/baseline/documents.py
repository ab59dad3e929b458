"""The JSON objects of golden baselines and drift."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json, change_json, error_json
from vault.meaning.drift import in_force
from vault.store.clock import now, time_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.jobs.baseline.golden import Baseline
    from vault.meaning.drift import Deviation
    from vault.model.errors import VaultError
    from vault.model.golden import Approval, Waiver
    from vault.model.names import Address


def drift_json(found: Iterable[AxisDrift], failures: Mapping[Address, VaultError]) -> Json:
    """Drift of some axes, and why that of others cannot be told."""
    return {
        "axes": [axis_drift_json(axis) for axis in found],
        "failures": [
            {"axis": str(address), **error_json(error)["error"]}
            for address, error in failures.items()
        ],
    }


def axis_drift_json(found: AxisDrift) -> Json:
    """Drift of one axis; `waived` counts what is waived, `waivers` lists it."""
    return {
        "axis": found.axis,
        "status": found.status,
        "count": found.count,
        "worst": found.worst,
        "since": _time(found.since),
        "golden": found.golden,
        "latest": found.latest,
        "taken_at": _time(found.taken_at),
        "due": _time(found.due),
        "overdue": found.overdue,
        "follows": found.follows,
        "waived": len(found.waived),
        "changes": [_deviation_json(deviation) for deviation in found.changes],
        "waivers": [_deviation_json(deviation) for deviation in found.waived],
        "causes": list(found.causes),
        "hardware": list(found.hardware),
    }


def _deviation_json(deviation: Deviation) -> Json:
    waiver = deviation.waiver
    said = None if waiver is None else waiver_json(waiver)
    return {**change_json(deviation.change), "waiver": said}


def golden_json(found: Baseline) -> Json:
    """The baseline that holds for an axis, and its waivers."""
    moment = now()
    return {
        "axis": str(found.address),
        "follows": str(found.follows) if found.follows else None,
        "baseline": approval_json(found.approval) if found.approval else None,
        "waivers": [
            {**waiver_json(waiver), "holds": in_force(waiver, moment)}
            for waiver in found.golden.waivers
        ],
    }


def approval_json(approval: Approval) -> Json:
    """Which snapshot was approved, by whom, when and why."""
    return {
        "snapshot": approval.snapshot,
        "by": approval.by,
        "at": time_text(approval.at),
        "reason": approval.reason,
        "accepted": {rule: list(said) for rule, said in approval.accepted.items()},
    }


def waiver_json(waiver: Waiver) -> Json:
    """A waiver."""
    return {
        "code": waiver.code,
        "allow": waiver.allow.text,
        "until": waiver.until,
        "by": waiver.by,
        "at": time_text(waiver.at),
        "reason": waiver.reason,
    }


def _time(moment: datetime | None) -> str | None:
    return None if moment is None else time_text(moment)

"""JSON of traces. Figures are measured, in SI, and numbers; what cannot be told is null."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.meaning.traces.words import not_seen, sentence
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.behaviour.facts import Figure
    from vault.behaviour.trace.against import Told
    from vault.jobs.trials.trace_kept import TraceBeside, TraceResult
    from vault.meaning.traces.compared import TraceChange, TraceComparison
    from vault.model.names import Address
    from vault.store.files.trace_record_text import TraceRecord


class AgainstDocument(TypedDict):
    """A figure that a measured one is held against."""

    value: float
    """It, in SI."""

    unit: str
    """Its unit."""

    basis: str
    """Where it comes from."""


class PartDocument(TypedDict):
    """A further figure that belongs to a measured one."""

    name: str
    """What it is: `viscous`, `at_speed`."""

    value: float
    """It, in SI."""

    unit: str
    """Its unit."""


class MeasuredDocument(TypedDict):
    """A figure that a trace tells."""

    value: float
    """It, in SI."""

    unit: str
    """Its unit."""

    uncertainty: float
    """How far the true one may be from it."""

    basis: str
    """How it was found."""

    speed: float | None
    """The speed it was measured at, in SI of the axis; null where it depends on none."""

    parts: list[PartDocument]
    """Further figures that belong to it."""

    against: AgainstDocument | None
    """What it is held against; null where nothing is."""

    also: list[AgainstDocument]
    """What else it may be held against."""

    sentence: str
    """It in words."""


class TraceTellsDocument(TypedDict):
    """What a trace tells; a quantity is null where that cannot be told."""

    samples: int
    """How many samples it has."""

    duration: float
    """Seconds from the first to the last."""

    gaps: int
    """How many stretches were not recorded."""

    uneven: bool
    """Whether its steps differ."""

    steady_lag: MeasuredDocument | None
    """Following error at the highest even speed."""

    peak_lag: MeasuredDocument | None
    """The largest following error."""

    settling_time: MeasuredDocument | None
    """From the end of the demand until within the position window."""

    overshoot: MeasuredDocument | None
    """Farthest beyond the demanded end."""

    rms_torque: MeasuredDocument | None
    """R.m.s. torque of the recording."""

    peak_torque: MeasuredDocument | None
    """Its largest torque."""

    stop_distance: MeasuredDocument | None
    """Way of the last stop."""

    friction: MeasuredDocument | None
    """Dry friction at the motor."""

    inertia: MeasuredDocument | None
    """All that the motor moves, at its shaft."""

    resonance: MeasuredDocument | None
    """Frequency at which the mechanics ring."""

    reasons: dict[str, str]
    """Why a quantity cannot be told, by its name."""

    not_seen: str
    """What no trace of this axis shows."""


class TraceChangeDocument(TypedDict):
    """What became of a quantity between two traces."""

    name: str
    """The quantity."""

    before: float
    """What it was, in SI."""

    after: float
    """What it is."""

    unit: str
    """Unit of both."""

    ratio: float | None
    """After over before; null where it was nothing."""

    is_material: bool
    """Whether it differs by more than the material share, and than both are unsure."""

    sentence: str
    """It in words."""


class TraceComparisonDocument(TypedDict):
    """A trace held against an earlier one of the same move."""

    earlier: str
    """Name of the earlier trace."""

    is_baseline: bool
    """Whether that one is of the golden baseline."""

    as_it_did: bool | None
    """Whether the axis moves as it did; null where nothing could be compared."""

    summary: str
    """It in words."""

    changes: list[TraceChangeDocument]
    """Every quantity that both tell."""


class TraceRecordDocument(TypedDict):
    """A trace among others."""

    name: str
    """What it is called: when it was taken, in UTC."""

    move: str
    """The move that was recorded."""

    taken_at: str
    """When it was recorded."""

    by: str
    """Who recorded it."""

    snapshot: str
    """Id of the snapshot in force then."""

    address: str
    """Where the viewer shows it."""


class TraceDocument(TraceRecordDocument):
    """A trace of a move: `trial trace`."""

    axis: str
    """`machine/axis`."""

    added_at: str
    """When it was added."""

    file: str
    """Name under which the recording is kept."""

    trace: TraceTellsDocument
    """What it tells."""

    comparison: TraceComparisonDocument | None
    """How it differs from an earlier one of the same move; null where there is none."""

    problem: str | None
    """What of the earlier ones cannot be read, so that it is held against none, or another."""

    remarks: list[str]
    """What of the table is not used, and why."""


def trace_document(found: TraceBeside) -> TraceDocument:
    """A trace with what it tells, beside the earlier one."""
    result = found.result
    record = result.record
    return {
        **_record_document(result.address, record),
        "axis": str(result.address),
        "added_at": time_text(record.added_at),
        "file": record.file,
        "trace": _tells(result),
        "comparison": comparison_document(found),
        "problem": found.problem,
        "remarks": list(result.remarks),
    }


def _tells(result: TraceResult) -> TraceTellsDocument:
    from vault.jobs.state.selectors import view_of

    trace, told = result.trace, result.told
    return {
        "samples": len(trace.times),
        "duration": trace.duration,
        "gaps": len(trace.gaps),
        "uneven": trace.uneven,
        "steady_lag": _measured(told["steady_lag"]),
        "peak_lag": _measured(told["peak_lag"]),
        "settling_time": _measured(told["settling_time"]),
        "overshoot": _measured(told["overshoot"]),
        "rms_torque": _measured(told["rms_torque"]),
        "peak_torque": _measured(told["peak_torque"]),
        "stop_distance": _measured(told["stop_distance"]),
        "friction": _measured(told["friction"]),
        "inertia": _measured(told["inertia"]),
        "resonance": _measured(told["resonance"]),
        "reasons": {
            name: f"cannot be told because {one.reason}"
            for name, one in told.items()
            if one.measured is None
        },
        "not_seen": not_seen(view_of(result.state).state),
    }


def _measured(told: Told) -> MeasuredDocument | None:
    if told.measured is None:
        return None
    figures = [_against(figure) for figure in told.against]
    return {
        "value": told.measured.value,
        "unit": told.measured.unit,
        "uncertainty": told.measured.uncertainty,
        "basis": told.measured.basis,
        "speed": told.measured.speed,
        "parts": [
            {"name": name, "value": value, "unit": unit}
            for name, (value, unit) in told.measured.parts.items()
        ],
        "against": figures[0] if figures else None,
        "also": figures[1:],
        "sentence": sentence(told),
    }


def _against(figure: Figure) -> AgainstDocument:
    return {"value": figure.value, "unit": figure.unit, "basis": figure.basis}


def comparison_document(found: TraceBeside) -> TraceComparisonDocument | None:
    """How a trace differs from the earlier one; None where there is none."""
    if found.earlier is None or found.comparison is None:
        return None
    own: TraceComparison = found.comparison
    return {
        "earlier": found.earlier.record.name,
        "is_baseline": found.is_baseline,
        "as_it_did": own.as_it_did,
        "summary": own.summary,
        "changes": [_change(change) for change in own.changes],
    }


def _change(change: TraceChange) -> TraceChangeDocument:
    from vault.meaning.traces.compared import change_sentence

    return {
        "name": change.name,
        "before": change.before.value,
        "after": change.after.value,
        "unit": change.after.unit,
        "ratio": change.ratio,
        "is_material": change.is_material,
        "sentence": change_sentence(change),
    }


class TracesDocument(TypedDict):
    """The traces of an axis."""

    axis: str
    """`machine/axis`."""

    traces: list[TraceRecordDocument]
    """Newest first."""

    problems: list[str]
    """Traces that cannot be read."""


def traces_document(
    address: Address, records: Iterable[TraceRecord], problems: Iterable[str]
) -> TracesDocument:
    """The traces of an axis."""
    documents = [_record_document(address, record) for record in records]
    return {"axis": str(address), "traces": documents, "problems": list(problems)}


def _record_document(address: Address, record: TraceRecord) -> TraceRecordDocument:
    return {
        "name": record.name,
        "move": record.move,
        "taken_at": time_text(record.taken_at),
        "by": record.by,
        "snapshot": record.snapshot,
        "address": f"/axis/{address}/trace/{record.name}",
    }

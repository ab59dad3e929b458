"""JSON of the history of one parameter."""

from __future__ import annotations

from typing import TYPE_CHECKING, NotRequired

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import (
    PhysicalDocument,
    reading_document,
)
from vault.meaning.changes import Kind
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.inspect.history import ParameterStep


class ParameterStepDocument(TypedDict):
    """One parameter in one snapshot; where it is not there, `value` is null, and all is missing
    that describes a value."""

    snapshot: str
    """Id of the snapshot."""

    taken_at: str
    """When it was taken."""

    by: str
    """Who took it."""

    occasion: str
    """Why it was taken."""

    changed: bool
    """Whether it is another one than in the snapshot before."""

    kind: Kind | None
    """What became of it since the snapshot before; null where nothing did, and for the first."""

    value: str | None
    """The raw content times its scale, in `unit`."""

    raw: NotRequired[str]
    """What the drive holds."""

    unit: NotRequired[str | None]
    """Unit of `value`."""

    label: NotRequired[str | None]
    """What a choice is called."""

    physical: NotRequired[PhysicalDocument | None]
    """Its size on the machine as built."""

    stated: NotRequired[PhysicalDocument | None]
    """The size that the parameter set itself believes in."""

    text: NotRequired[str]
    """The value in words."""

    really: NotRequired[str | None]
    """The size on the machine as built, where that is not what the set believes."""


class ParameterHistoryDocument(TypedDict):
    """One parameter over time: `history --parameter`."""

    axis: str
    """`machine/axis`."""

    parameter: str
    """The code or role that was asked for."""

    values: list[ParameterStepDocument]
    """What each snapshot has, oldest first."""


def parameter_history_document(
    axis: str, parameter: str, steps: Iterable[ParameterStep]
) -> ParameterHistoryDocument:
    """One parameter over time, oldest first."""
    return {
        "axis": axis,
        "parameter": parameter,
        "values": [_step_document(step) for step in steps],
    }


def _step_document(step: ParameterStep) -> ParameterStepDocument:
    record = step.snapshot.record
    absent: ParameterStepDocument = {
        "snapshot": step.snapshot.id,
        "taken_at": time_text(record.taken_at),
        "by": record.by,
        "occasion": record.occasion,
        "changed": step.changed,
        "kind": step.kind,
        "value": None,
    }
    return absent if step.reading is None else {**absent, **reading_document(step.reading)}

"""JSON of machines, and of what axes and machines are called."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.records.documents import RecordAddedDocument, record_added_document
from vault.jobs.state.document_parts import NoteDocument, note_document

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.records.edit import RecordAdded
    from vault.jobs.records.machines import MachineSummary
    from vault.jobs.records.rename import Renamed
    from vault.jobs.records.retire import Retired
    from vault.model.errors import VaultError


class RenamedDocument(TypedDict):
    """What an axis or a machine is called since: `axis rename`, `machine rename`."""

    before: str
    """What it was called: `machine/axis`, or `machine`."""

    name: str
    """What it is called now."""

    names: list[str]
    """All names that lead to it, the present one first."""

    unchanged: bool
    """Whether it was called so already."""


class RetiredDocument(TypedDict):
    """Whether an axis or a machine is in use: `axis retire`, `machine retire`."""

    name: str
    """What it is called: `machine/axis`, or `machine`."""

    retired: bool
    """Whether it is out of use now."""

    entry: NoteDocument
    """By whom, when and why."""

    warnings: list[str]
    """What a reader should know."""


class TwinAxisDocument(TypedDict):
    """Two axes of twins that go together."""

    axis: str
    """`machine/axis` of this machine."""

    other: str
    """`machine/axis` of its twin."""


class MachineDocument(TypedDict):
    """A machine: `machine show`."""

    machine: str
    """What it is called now."""

    names: list[str]
    """All that it is and was called, the present name first."""

    title: str
    """Its title; may be empty."""

    tags: list[str]
    """What it is sorted by."""

    location: str | None
    """Where it stands, null where nobody says."""

    note: str | None
    """What a reader should know of it, null for nothing."""

    twin: str | None
    """The machine that it is held against, by its record or that of the other; null for none."""

    pairs: list[TwinAxisDocument]
    """Axes of both that go together: by the record, else by their name."""

    axes: list[str]
    """Its axes, each as `machine/axis`."""

    retired: NoteDocument | None
    """Who took it out of use, when and why; null while it is in use."""


class MachinesDocument(TypedDict):
    """The machines of a vault: `machine list`."""

    machines: list[MachineDocument]
    """By name, retired ones last."""

    failures: list[str]
    """Machines that cannot be shown, and why."""


class MachineAddedDocument(RecordAddedDocument):
    """A record of a machine that was put into the vault: `machine set`."""

    machine: str
    """What it is called now."""

    warnings: list[str]
    """What a reader should know."""


def renamed_document(renamed: Renamed) -> RenamedDocument:
    """What an axis or a machine is called since."""
    return {
        "before": renamed.before,
        "name": renamed.name,
        "names": list(renamed.names),
        "unchanged": renamed.unchanged,
    }


def retired_document(outcome: Retired) -> RetiredDocument:
    """Whether an axis or a machine is in use."""
    return {
        "name": outcome.name,
        "retired": outcome.retired,
        "entry": note_document(outcome.entry),
        "warnings": list(outcome.warnings),
    }


def machine_document(summary: MachineSummary) -> MachineDocument:
    """A machine."""
    record = summary.record
    return {
        "machine": summary.name,
        "names": list(summary.names),
        "title": summary.title,
        "tags": list(record.tags) if record is not None else [],
        "location": record.location if record is not None else None,
        "note": record.note if record is not None else None,
        "twin": summary.twin,
        "pairs": [{"axis": str(one), "other": str(other)} for one, other in summary.pairs],
        "axes": [str(axis) for axis in summary.axes],
        "retired": note_document(summary.retired) if summary.retired is not None else None,
    }


def machines_document(
    summaries: Iterable[MachineSummary], failures: Iterable[VaultError]
) -> MachinesDocument:
    """All machines."""
    return {
        "machines": [machine_document(summary) for summary in summaries],
        "failures": [str(error) for error in failures],
    }


def machine_added_document(added: RecordAdded) -> MachineAddedDocument:
    """A record of a machine that was put into the vault."""
    return {
        **record_added_document(added),
        "machine": added.name,
        "warnings": list(added.remarks),
    }

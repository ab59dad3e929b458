"""What the JSON documents of many jobs are made of. Exact numbers are strings."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, cast

from typing_extensions import TypedDict

from vault.model.coverage import CoverageKind
from vault.model.quantities import plain
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from vault.meaning.changes import Finding, Surrounding
    from vault.meaning.readings import Reading
    from vault.model.corrections import Correction
    from vault.model.coverage import Coverage
    from vault.model.errors import VaultError
    from vault.model.export import Scalar, SkippedLine
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical
    from vault.store.index.rows import Snapshot


class EmptyDocument(TypedDict):
    """Nothing to tell: an object without keys."""


class SkippedLineDocument(TypedDict):
    """A line of a file that was left out, or that something is wrong with."""

    line: int
    """Its number, from 1."""

    text: str
    """What it says; of a dictionary the key."""

    reason: str
    """Why it was left out, or what is wrong."""


def skipped_documents(skipped: Iterable[SkippedLine]) -> list[SkippedLineDocument]:
    """Lines that were left out."""
    return [{"line": one.line, "text": one.text, "reason": one.reason} for one in skipped]


class FailureDocument(TypedDict):
    """What went wrong, where, and what to do."""

    code: int
    """The exit code of the command line for such an error: 2 to 6; 70 is a fault of the program."""

    message: str
    """What went wrong, in words."""

    file: str | None
    """The file it is about."""

    line: int | None
    """The line of that file, from 1."""

    hint: str | None
    """What to do next."""

    problems: list[SkippedLineDocument]
    """Every line of the file that something is wrong with; empty where it is about no lines."""


class ErrorDocument(TypedDict):
    """What a command prints with `--json` where it fails."""

    error: FailureDocument
    """The failure."""


def error_document(error: VaultError) -> ErrorDocument:
    """An error as the answer of a command."""
    return {"error": failure_document(error)}


def failure_document(error: VaultError) -> FailureDocument:
    """An error among other answers."""
    document: FailureDocument = {
        "code": error.exit_code,
        "message": error.message,
        "file": error.file,
        "line": error.line,
        "hint": error.hint,
        "problems": skipped_documents(error.problems),
    }
    return cast("FailureDocument", {**document, **error.details})


class PhysicalDocument(TypedDict):
    """A quantity in the SI base unit of its kind."""

    value: str
    """The number, exact where it is finite, else of 15 digits."""

    unit: str
    """`m`, `m/s`, `rad`, `N*m` and so on."""


def exact_text(value: Scalar) -> str:
    """A value as exact text."""
    return value if isinstance(value, str) else plain(value)


def physical_document(size: Physical) -> PhysicalDocument:
    """A quantity in SI."""
    return {"value": plain(size.decimal()), "unit": size.unit}


def _size_document(size: Physical | None) -> PhysicalDocument | None:
    return None if size is None else physical_document(size)


class SizelessValueDocument(TypedDict):
    """A value as the drive holds it, apart from what it amounts to on the machine."""

    raw: str
    """What the drive holds."""

    value: str
    """The raw content times its scale, in `unit`."""

    unit: str | None
    """Unit of `value`."""

    label: str | None
    """What a choice is called."""


class SizedValueDocument(SizelessValueDocument):
    """A value as the drive holds it, and its size."""

    physical: PhysicalDocument | None
    """Its size on the machine as built; null where there is none, or it is not known."""


def sizeless_value_document(parameter: Parameter) -> SizelessValueDocument:
    """A value of which the size is not asked."""
    return {
        "raw": exact_text(parameter.raw),
        "value": exact_text(parameter.value),
        "unit": parameter.unit,
        "label": parameter.label,
    }


def value_document(parameter: Parameter, size: Physical | None) -> SizedValueDocument:
    """A value, and what it amounts to."""
    return {**sizeless_value_document(parameter), "physical": _size_document(size)}


class ReadingDocument(SizedValueDocument):
    """A value, and what it means to the reader, in the units that were asked for."""

    stated: PhysicalDocument | None
    """The size that the parameter set itself believes in."""

    text: str
    """The value in words."""

    really: str | None
    """The size on the machine as built, where that is not what the set believes."""


def reading_document(reading: Reading) -> ReadingDocument:
    """A parameter's value with its meaning."""
    return {
        **value_document(reading.parameter, reading.physical),
        "stated": _size_document(reading.stated),
        "text": reading.text,
        "really": reading.really,
    }


class FindingDocument(TypedDict):
    """A computed figure and what it rests on."""

    quantity: str
    """What it is."""

    value: str
    """The figure, in `unit`."""

    unit: str | None
    """Its unit."""

    basis: str
    """The formula, rule or source."""


def finding_document(finding: Finding) -> FindingDocument:
    """A computed figure."""
    return {
        "quantity": finding.quantity,
        "value": finding.value,
        "unit": finding.unit,
        "basis": finding.basis,
    }


class SurroundingDocument(TypedDict):
    """A difference beside the parameters: nameplate, mechanics, cabinet, controller link."""

    path: str
    """Where it is written: `nameplate.serial`, `mechanics.lead`."""

    left: object
    """What the left side has there."""

    right: object
    """What the right side has there."""

    consequence: str
    """What it is about, as in a change."""

    explanation: str
    """What it means, in words; may be empty."""


def surrounding_document(found: Surrounding) -> SurroundingDocument:
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


class CoverageDocument(TypedDict):
    """What an export gave of a drive's set."""

    kind: CoverageKind
    """`complete`, `partial` (lines were left out), `defaults_only` (no drive's values), `mixed`."""

    left_out: list[SkippedLineDocument]
    """Lines that were left out."""

    defaults: list[str]
    """Codes whose value is the file's default, and not stated of the drive."""

    warnings: list[str]
    """Why more may be missing."""

    outside: list[str]
    """What no such file ever says: a controller's project nothing of scaling or addresses."""


def coverage_document(coverage: Coverage) -> CoverageDocument:
    """What an export gave."""
    return {
        "kind": coverage.kind,
        "left_out": skipped_documents(coverage.left_out),
        "defaults": list(coverage.defaults),
        "warnings": list(coverage.warnings),
        "outside": list(coverage.outside),
    }


class NoteDocument(TypedDict):
    """What somebody added afterwards about an axis, or about a snapshot of it."""

    kind: str
    """`note`; `taken-at` where it puts right when a snapshot was taken; `renamed`, `retired` or
    `in-use` where it says what the axis is called, or whether it is used."""

    at: str
    """When it was added."""

    by: str
    """Who added it: `Name <mail>`."""

    text: str
    """What it says."""

    snapshot: str | None
    """Id of the snapshot that it is about, null where it is about the axis."""

    taken_at: str | None
    """When that snapshot was really taken, null where the note does not say so."""

    name: str | None
    """What the axis or machine is called since, null where it was not renamed."""


def note_document(entry: Correction) -> NoteDocument:
    """A note."""
    return {
        "kind": entry.kind,
        "at": time_text(entry.at),
        "by": entry.by,
        "text": entry.text,
        "snapshot": entry.snapshot,
        "taken_at": time_or_none(entry.taken_at),
        "name": entry.name,
    }


class SnapshotDocument(TypedDict):
    """A snapshot: which, when, who and why."""

    snapshot: str
    """Its id: the commit that records it."""

    taken_at: str
    """When the export was taken."""

    taken_at_from: str | None
    """Who knew that: `given`, `nameplate`, `file` or `now`; `corrected` where a note put it right;
    null in old records."""

    occasion: str
    """`commissioning`, `routine`, `as-found`, `as-left` or `after-fault`."""

    by: str
    """Who took it: `Name <mail>`."""

    work_order: str | None
    """The work order it belongs to."""

    note: str | None
    """What a reader should know."""

    family: str | None
    """The drive family, null where the export describes itself."""

    serial: str | None
    """Serial number of the drive."""

    export: str
    """Name of the export file."""

    coverage: CoverageDocument | None
    """What of the drive's set it has; null in old records, where `show` works it out."""


def snapshot_document(snapshot: Snapshot) -> SnapshotDocument:
    """A snapshot."""
    record = snapshot.record
    return {
        "snapshot": snapshot.id,
        "taken_at": time_text(record.taken_at),
        "taken_at_from": record.taken_at_from,
        "occasion": record.occasion,
        "by": record.by,
        "work_order": record.work_order,
        "note": record.note,
        "family": record.family,
        "serial": record.serial,
        "export": record.export_name,
        "coverage": coverage_document(record.coverage) if record.coverage else None,
    }


def time_or_none(moment: datetime | None) -> str | None:
    """A time as text, where there is one."""
    return None if moment is None else time_text(moment)

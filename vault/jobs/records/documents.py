"""JSON of what people write: dictionaries, the site, axes as built."""

from __future__ import annotations

from typing import TYPE_CHECKING, NotRequired

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import (
    NoteDocument,
    SkippedLineDocument,
    SnapshotDocument,
    SurroundingDocument,
    note_document,
    skipped_documents,
    snapshot_document,
    surrounding_document,
    time_or_none,
)

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from vault.jobs.records.edit import AxisSummary, RecordAdded
    from vault.jobs.records.notes import NoteAdded
    from vault.model.corrections import Correction
    from vault.model.errors import VaultError
    from vault.model.site import SiteRecord
    from vault.store.vault import FamilyFile


class FamilyDocument(TypedDict):
    """The dictionary of a drive family in short."""

    name: str
    """Name of the family."""

    title: str
    """What it is called for people."""

    format: str
    """Format of its exports."""

    parameters: int
    """How many parameters the dictionary has."""

    variants: list[str]
    """Ranges of firmware that have entries of their own."""

    remarks: list[SkippedLineDocument]
    """What is wrong with it although it reads: line, key and reason."""


class FamiliesDocument(TypedDict):
    """The dictionaries of a vault: `family list`."""

    families: list[FamilyDocument]
    """By name."""

    failures: list[str]
    """Dictionaries that cannot be read, and why."""


class DictionaryDocument(FamilyDocument):
    """The dictionary of a drive family: `family show`."""

    dictionary: dict[str, object]
    """The whole dictionary, as it is written in its file."""


class FamilyAddedDocument(TypedDict):
    """A dictionary that was put into the vault: `family add`."""

    family: str
    """Name of the family."""

    unchanged: bool
    """Whether the vault had the same file already."""

    commit: str
    """The commit that records it."""


class RecordAddedDocument(TypedDict):
    """A file that was put into the vault: `site set`, `site signers`."""

    unchanged: bool
    """Whether the vault had the same file already."""

    commit: str
    """The commit that records it."""


class ApprovalPolicyDocument(TypedDict):
    """What a golden baseline takes."""

    second_person: bool
    """Whether who took the snapshot may not approve it."""

    reason: bool
    """Whether a reason must be given."""

    clean_check: bool
    """Whether every finding of `check` must be accepted by name."""


class SigningPolicyDocument(TypedDict):
    """What is asked of commits."""

    required: bool
    """Whether every commit must be signed."""


class HazardPolicyDocument(TypedDict):
    """When what a margin that protects loses is a hazard, though it stays above 1."""

    material_share: float
    """Share of the margin, or of the room to stop in, that must be lost to matter."""

    comfort_ratio: float
    """Ratio above which a margin may shrink."""


class SiteDocument(TypedDict):
    """The site, as vault.yaml has it: `site show`."""

    schema: str
    """Kind and version of the file."""

    site: str
    """Name of the site."""

    approval: ApprovalPolicyDocument
    """What a golden baseline takes."""

    signing: SigningPolicyDocument
    """What is asked of commits."""

    hazards: HazardPolicyDocument
    """When what a margin that protects loses is a hazard."""

    export_every: NotRequired[str]
    """After how long an export is due."""

    alerts: list[dict[str, object]]
    """Channels that alerts go out by, as they are written."""

    open_reading: NotRequired[bool]
    """Whether the pages may be read without logging in."""

    viewer: NotRequired[str]
    """Address under which people open the pages."""


class AxisSummaryDocument(TypedDict):
    """An axis in short."""

    axis: str
    """`machine/axis`."""

    title: str
    """Its title; may be empty."""

    snapshots: int
    """How many snapshots it has."""

    latest: SnapshotDocument | None
    """The latest of them."""

    names: list[str]
    """All that it is and was called, the present name first."""

    retired: NoteDocument | None
    """Who took it out of use, when and why; null while it is in use."""


class AxesDocument(TypedDict):
    """The axes of a vault: `axis list`."""

    axes: list[AxisSummaryDocument]
    """By name, retired ones last."""

    failures: list[str]
    """Axes that cannot be shown, and why."""


class AxisDocument(AxisSummaryDocument):
    """An axis as built: `axis show`."""

    record: dict[str, object] | None
    """Its record, as it is written in axis.yaml; null where nothing is recorded."""

    remarks: list[SkippedLineDocument]
    """What the record says that cannot be, and that it is read without."""


class AxisAddedDocument(RecordAddedDocument):
    """An axis record that was put into the vault: `axis set`."""

    axis: str
    """`machine/axis`."""

    changes: list[SurroundingDocument]
    """What it changed about the axis as built."""

    warnings: list[str]
    """What a reader should know."""


class AxisTemplateDocument(TypedDict):
    """A form for an axis record: `axis template`."""

    axis: str
    """`machine/axis`."""

    file: str | None
    """The file that was written, null where none was."""

    text: str
    """The form."""


class NoteAddedDocument(NoteDocument):
    """A note that was added: `note add`."""

    axis: str
    """`machine/axis`."""

    taken_at_before: str | None
    """When the snapshot was shown as taken before, null where the note does not change that."""

    warnings: list[str]
    """What a reader should know."""


class NotesDocument(TypedDict):
    """What people added about an axis afterwards: `note list`."""

    axis: str
    """`machine/axis`."""

    notes: list[NoteDocument]
    """Oldest first."""


def note_added_document(added: NoteAdded) -> NoteAddedDocument:
    """A note that was added."""
    return {
        "axis": str(added.address),
        **note_document(added.entry),
        "taken_at_before": time_or_none(added.taken_at_before),
        "warnings": list(added.warnings),
    }


def notes_document(axis: str, notes: Iterable[Correction]) -> NotesDocument:
    """The notes of an axis."""
    return {"axis": axis, "notes": [note_document(entry) for entry in notes]}


def family_document(file: FamilyFile) -> FamilyDocument:
    """A dictionary in short."""
    family = file.family
    return {
        "name": family.name,
        "title": family.title,
        "format": family.export.format,
        "parameters": len(family.parameters),
        "variants": [str(variant.firmware) for variant in family.variants],
        "remarks": skipped_documents(file.problems),
    }


def families_document(
    families: Iterable[FamilyFile], failures: Iterable[VaultError]
) -> FamiliesDocument:
    """All dictionaries in short."""
    return {
        "families": [family_document(file) for file in families],
        "failures": [str(error) for error in failures],
    }


def dictionary_document(file: FamilyFile) -> DictionaryDocument:
    """A whole dictionary."""
    written = file.family.model_dump(mode="json", by_alias=True, exclude_unset=True)
    return {**family_document(file), "dictionary": written}


def family_added_document(added: RecordAdded) -> FamilyAddedDocument:
    """A dictionary that was put into the vault."""
    return {"family": added.name, "unchanged": added.unchanged, "commit": added.commit}


def record_added_document(added: RecordAdded) -> RecordAddedDocument:
    """A file that was put into the vault."""
    return {"unchanged": added.unchanged, "commit": added.commit}


def site_document(site: SiteRecord) -> SiteDocument:
    """The site; keys that are not written in vault.yaml and have no default are missing."""
    found: SiteDocument = {
        "schema": site.schema_,
        "site": site.site,
        "approval": {
            "second_person": site.approval.second_person,
            "reason": site.approval.reason,
            "clean_check": site.approval.clean_check,
        },
        "signing": {"required": site.signing.required},
        "hazards": {
            "material_share": site.hazards.material_share,
            "comfort_ratio": site.hazards.comfort_ratio,
        },
        "alerts": [
            channel.model_dump(mode="json", by_alias=True, exclude_none=True)
            for channel in site.alerts
        ],
    }
    if site.export_every is not None:
        found["export_every"] = str(site.export_every)
    if site.open_reading is not None:
        found["open_reading"] = site.open_reading
    if site.viewer is not None:
        found["viewer"] = site.viewer
    return found


def axis_summary_document(summary: AxisSummary) -> AxisSummaryDocument:
    """An axis in short."""
    return {
        "axis": str(summary.address),
        "title": summary.title,
        "snapshots": summary.snapshots,
        "latest": snapshot_document(summary.latest) if summary.latest else None,
        "names": list(summary.names),
        "retired": note_document(summary.retired) if summary.retired else None,
    }


def axes_document(summaries: Iterable[AxisSummary], failures: Iterable[VaultError]) -> AxesDocument:
    """All axes in short."""
    return {
        "axes": [axis_summary_document(summary) for summary in summaries],
        "failures": [str(error) for error in failures],
    }


def axis_document(summary: AxisSummary) -> AxisDocument:
    """An axis with its whole record."""
    written = None
    if summary.record is not None:
        written = summary.record.model_dump(mode="json", by_alias=True, exclude_none=True)
    remarks = skipped_documents(summary.record.unknown if summary.record else ())
    return {**axis_summary_document(summary), "record": written, "remarks": remarks}


def axis_added_document(axis: str, added: RecordAdded) -> AxisAddedDocument:
    """An axis record that was put into the vault."""
    return {
        "axis": axis,
        **record_added_document(added),
        "changes": [surrounding_document(change) for change in added.changes],
        "warnings": list(added.remarks),
    }


def axis_template_document(axis: str, file: Path | None, form: bytes) -> AxisTemplateDocument:
    """A form for an axis record."""
    return {"axis": axis, "file": str(file) if file else None, "text": form.decode()}

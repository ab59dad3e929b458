"""JSON of a restore plan: plan.json."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.restore.sheet_documents import (
    ProposedDocument,
    SheetSectionDocument,
    proposed_documents,
    sheet_documents,
)
from vault.jobs.state.document_parts import (
    CoverageDocument,
    FindingDocument,
    SizelessValueDocument,
    coverage_document,
    exact_text,
    finding_document,
    sizeless_value_document,
    time_or_none,
)
from vault.meaning.hardware import Verdict
from vault.meaning.loading import Status
from vault.store.clock import time_text
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.jobs.restore.plan import RestorePlan
    from vault.jobs.state.selectors import State
    from vault.meaning.hardware import Fitted
    from vault.meaning.loading import Prepared
    from vault.model.parameters import Parameter


class PlanTargetDocument(TypedDict):
    """The state that an axis is restored to."""

    chosen: str
    """Which one was chosen, and why, in words."""

    snapshot: str | None
    """Id of the snapshot."""

    taken_at: str | None
    """When it was taken."""

    family: str | None
    """Drive family of the target."""

    firmware: str | None
    """Firmware of the target."""


class PlanOntoDocument(TypedDict):
    """The drive that is to be loaded."""

    family: str | None
    """Its family, null where exports describe themselves."""

    is_other_family: bool
    """Whether it is another one than the target's."""

    firmware: str | None
    """Its firmware, as far as it is known."""

    fitted: dict[str, object]
    """What was said about the fitted hardware, as in a file for `--nameplate`."""


class HardwareLineDocument(TypedDict):
    """One item of the hardware, as kept and as fitted."""

    item: str
    """What it is."""

    kept: str | None
    """As the target has it."""

    fitted: str | None
    """As it is fitted."""

    verdict: Verdict
    """Whether it fits."""

    sentences: list[str]
    """What follows from it."""

    findings: list[FindingDocument]
    """The figures that this rests on."""


class CodedValueDocument(SizelessValueDocument):
    """A value of a drive."""

    code: str
    """Its code in that drive."""


class PlanParameterDocument(TypedDict):
    """One parameter of the target, and what becomes of it in the drive to be loaded."""

    code: str
    """Its code in the target."""

    name: str
    """Its name."""

    role: str | None
    """What it does, whatever the family calls it."""

    status: Status
    """What becomes of it."""

    consequence: str
    """What it is about, as in a change."""

    reason: str
    """What keeps it out, or what was rounded, in words."""

    why_never: str | None
    """Class of a parameter that is never prepared: `read_only`, `live`, `identity`, `safety`."""

    was_set: bool
    """Whether anybody ever touched it in the drive that failed."""

    target: CodedValueDocument | None
    """What the target has."""

    loaded: CodedValueDocument | None
    """What the load file holds, null where it does not hold it."""

    offered: CodedValueDocument | None
    """What it would hold with `--adapt`."""


class HardwareDocument(TypedDict):
    """Whether the fitted hardware fits the target."""

    verdict: Verdict
    """The worst of all items."""

    lines: list[HardwareLineDocument]
    """Item by item."""

    corrections: list[PlanParameterDocument]
    """Parameters that must follow the fitted hardware."""


class LoadFileDocument(TypedDict):
    """The file to be loaded with the maker's own tool."""

    name: str
    """Its name."""

    sha256: str
    """Its checksum."""

    is_kept_export: bool
    """Whether it is the export as it was kept."""

    not_kept_because: str | None
    """Why it is not, null where it is."""

    parameters: int
    """How many parameters it holds."""

    not_understood: list[str]
    """Codes of those that have no role: they are loaded as they were, and nobody said what they
    do."""


class AdaptedDocument(TypedDict):
    """A value that the load file holds otherwise than the target."""

    code: str
    """Code of the parameter."""

    raw: str
    """What the load file holds."""

    reason: str
    """Why."""


class DefaultDocument(TypedDict):
    """A setting of the drive that the target does not tell."""

    code: str
    """Its code."""

    name: str
    """Its name."""

    default: str | None
    """What it is delivered with, where that is known."""


class FileDigestDocument(TypedDict):
    """A file of the plan's folder."""

    name: str
    """Its name."""

    sha256: str
    """Its checksum."""


class PlanDocument(TypedDict):
    """A restore plan: `restore plan`, plan.json."""

    schema: str
    """Kind and version of the document."""

    id: str
    """Id of the plan: a digest of axis, target, load file and moment."""

    number: str
    """Number of the plan, by which people call it: its date and four digits of its id."""

    axis: str
    """`machine/axis`."""

    made_at: str
    """When it was made."""

    target: PlanTargetDocument
    """The state that the axis is restored to."""

    onto: PlanOntoDocument
    """The drive that is to be loaded."""

    hardware: HardwareDocument
    """Whether it fits."""

    load_file: LoadFileDocument | None
    """The file to load, null where none can be made."""

    adapted: list[AdaptedDocument]
    """Values that it holds otherwise than the target."""

    proposed: list[ProposedDocument]
    """Corrections for the fitted hardware, one by one, made or not."""

    parameters: list[PlanParameterDocument]
    """The parameters of the target, one by one."""

    left_as_delivered: list[DefaultDocument]
    """Settings of the drive that the target does not tell."""

    warnings: list[str]
    """What a reader should know."""

    coverage: CoverageDocument
    """What of the drive's set the target has."""

    not_whole: str | None
    """Why the target is not a drive's whole set, null where it is."""

    even_so: str | None
    """Why it is restored all the same."""

    override_reason: str | None
    """An older name of `even_so`."""

    golden_override_reason: str | None
    """Why it was approved as golden baseline all the same, null where it is none or was whole."""

    sheet: list[SheetSectionDocument]
    """What a person does, step by step: the content of sheet.html."""

    files: list[FileDigestDocument]
    """The files beside plan.json; none before it is written."""


def plan_document(plan: RestorePlan, files: Mapping[str, bytes] | None = None) -> PlanDocument:
    """A restore plan; `files` are those that lie beside it."""
    return {
        "schema": "axisvault/plan/1",
        "id": plan.id,
        "number": plan.number,
        "axis": str(plan.address),
        "made_at": time_text(plan.made_at),
        "target": _target_document(plan.target, plan.chosen),
        "onto": {
            "family": plan.family.name if plan.family else None,
            "is_other_family": plan.is_other_family,
            "firmware": plan.firmware,
            "fitted": plan.fitted.model_dump(mode="json", exclude_none=True),
        },
        "hardware": {
            "verdict": plan.hardware.verdict,
            "lines": [_hardware_line_document(line) for line in plan.hardware.lines],
            "corrections": [_parameter_document(row) for row in plan.hardware.corrections],
        },
        "load_file": _load_file_document(plan),
        "adapted": [
            {"code": one.code, "raw": one.raw, "reason": one.reason} for one in plan.adapted
        ],
        "proposed": proposed_documents(plan),
        "parameters": [_parameter_document(row) for row in plan.rows],
        "left_as_delivered": [
            {
                "code": setting.code,
                "name": setting.name,
                "default": None if setting.default is None else exact_text(setting.default),
            }
            for setting in plan.added
        ],
        "warnings": list(plan.warnings),
        "coverage": coverage_document(plan.target.coverage),
        "not_whole": plan.not_whole,
        "even_so": plan.override_reason,
        "override_reason": plan.override_reason,
        "golden_override_reason": plan.golden_override_reason,
        "sheet": sheet_documents(plan),
        "files": [
            {"name": name, "sha256": digest(content)}
            for name, content in sorted((files or {}).items())
        ],
    }


def _target_document(target: State, chosen: str) -> PlanTargetDocument:
    return {
        "chosen": chosen,
        "snapshot": target.snapshot.id if target.snapshot else None,
        "taken_at": time_or_none(target.record.taken_at if target.record else None),
        "family": target.family_name,
        "firmware": target.nameplate.get("firmware"),
    }


def _load_file_document(plan: RestorePlan) -> LoadFileDocument | None:
    file = plan.load_file
    if file is None:
        return None
    return {
        "name": file.name,
        "sha256": digest(file.content),
        "is_kept_export": file.is_kept,
        "not_kept_because": plan.not_kept,
        "parameters": len(plan.loaded),
        "not_understood": [row.shown.code for row in plan.not_understood],
    }


def _hardware_line_document(line: Fitted) -> HardwareLineDocument:
    return {
        "item": line.item,
        "kept": line.kept,
        "fitted": line.fitted,
        "verdict": line.verdict,
        "sentences": list(line.sentences),
        "findings": [finding_document(finding) for finding in line.findings],
    }


def _parameter_document(row: Prepared) -> PlanParameterDocument:
    return {
        "code": row.target.code,
        "name": row.target.name,
        "role": row.target.role,
        "status": row.status,
        "consequence": row.consequence,
        "reason": row.reason,
        "why_never": row.why_never,
        "was_set": row.was_set,
        "target": _coded_value_document(row.target),
        "loaded": _coded_value_document(row.loaded),
        "offered": _coded_value_document(row.offered),
    }


def _coded_value_document(parameter: Parameter | None) -> CodedValueDocument | None:
    if parameter is None:
        return None
    return {"code": parameter.code, **sizeless_value_document(parameter)}

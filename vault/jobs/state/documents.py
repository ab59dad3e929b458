"""JSON of comparisons. Exact numbers are strings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NotRequired

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import (
    CoverageDocument,
    FindingDocument,
    SizedValueDocument,
    SurroundingDocument,
    coverage_document,
    finding_document,
    surrounding_document,
    time_or_none,
    value_document,
)
from vault.jobs.state.margin_documents import MarginMoveDocument, margin_move_documents
from vault.meaning.changes import Kind
from vault.model.quantities import plain

if TYPE_CHECKING:
    from vault.jobs.state.compare import Compared
    from vault.jobs.state.reread import Rereading
    from vault.jobs.state.selectors import State
    from vault.meaning.changes import Cause, Change, Comparison, Difference
    from vault.meaning.faults import FaultCode
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical


class SideDocument(TypedDict):
    """One side of a comparison."""

    axis: str
    """`machine/axis`; for a file the selector."""

    snapshot: str | None
    """Id of the snapshot, null for a file."""

    taken_at: str | None
    """When it was taken, null for a file."""

    family: str | None
    """The drive family, null where the export describes itself."""

    coverage: CoverageDocument
    """What of the drive's set it has: what it lacks may be there in the drive."""


class RereadingDocument(TypedDict):
    """How two states were made to be read by one dictionary, which changed between them."""

    family: str
    """The family whose dictionary changed."""

    left: bool
    """Whether the left side is read again by today's dictionary."""

    right: bool
    """Whether the right side is."""

    today: str | None
    """Today's dictionary, as SHA-256; null where the vault has it no more."""

    explanation: str
    """It in words; where neither side is read again, why."""


class SummaryDocument(TypedDict):
    """How many parameters differ: by consequence what is news, by kind everything."""

    hazard: int
    """Unexpected, wrong-way, unlimited or unheld motion, or a protective function less."""

    travel: int
    """Where the axis goes."""

    unclassified: int
    """Nobody said what the parameter does."""

    dynamics: int
    """How fast, how stiff."""

    electrical: int
    """Supply, braking, thermal."""

    link: int
    """Bus and timing."""

    record: int
    """Names, serial numbers, counters."""

    restated: int
    """Other numbers that say the same."""

    shifted: int
    """The same numbers, which mean something else."""

    only_left: int
    """Parameters that only the left side has."""

    only_right: int
    """Parameters that only the right side has."""

    equal: int
    """Parameters that are equal."""

    volatile: int
    """Live values that differ."""


class CauseDocument(TypedDict):
    """Why values mean something else, or say the same in other numbers."""

    cause: str
    """Its name, which changes refer to."""

    code: str
    """The parameter behind it, or `nameplate`, or `mechanics`."""

    explanation: str
    """It in words."""

    affects: list[str]
    """Codes of the parameters concerned."""

    shifts: bool
    """Whether any value means something else."""


class DifferenceDocument(TypedDict):
    """The right value less the left one."""

    absolute: str
    """The difference, in `unit`."""

    relative: str | None
    """It as a share of the left value, null where that is zero."""

    unit: str | None
    """Its unit."""


class ValueDocument(SizedValueDocument):
    """One side of a difference."""

    stated: Literal["drive", "default"]
    """Whether the export states it of the drive, or it is the file's default."""


class ChangeDocument(TypedDict):
    """One parameter that differs."""

    code: str
    """Its code, of the right side where both have one of their own."""

    left_code: NotRequired[str]
    """Its code on the left, where the two sides have different ones."""

    right_code: NotRequired[str]
    """Its code on the right, where the two sides have different ones."""

    name: str
    """Its name in the dictionary or export."""

    role: str | None
    """What it does, whatever the family calls it."""

    group: str
    """The group it is shown in."""

    kind: Kind
    """What became of it: `restated` says the same in another number, `shifted` means something
    else although its number is the same."""

    volatile: bool
    """Whether it is a live value and no setting."""

    consequence: str
    """What it is about: `hazard`, `travel`, `dynamics`, `electrical`, `link` or `record`."""

    left: ValueDocument | None
    """The value on the left, null where it is not there."""

    right: ValueDocument | None
    """The value on the right, null where it is not there."""

    difference: DifferenceDocument | None
    """By how much, where it can be said in one unit."""

    explanation: str
    """What it means, in about two lines; of a hazard why it is one."""

    more: str
    """What else can be said of it; empty where that is all."""

    findings: list[FindingDocument]
    """The figures that the explanation rests on."""

    cause: str | None
    """Name of the cause that restated or shifted it."""


class NamedFaultDocument(TypedDict):
    """A fault code and what it stands for."""

    code: str
    """The code as the drive shows it."""

    name: str
    """What it is called."""

    standard: str | None
    """The standard code behind it: `0x8611`."""


class SuspectDocument(TypedDict):
    """A change that can explain a fault."""

    code: str
    """Code of the parameter."""

    score: str
    """How well it explains the fault, from 0 to 1."""

    why: str
    """Why it is one."""


class ComparisonDocument(TypedDict):
    """The semantic difference between two states: `compare`."""

    left: SideDocument
    """The state that it starts from."""

    right: SideDocument
    """The state that is held against it."""

    reread: RereadingDocument | None
    """How sides were read again by today's dictionary; null where one version of it read both."""

    summary: SummaryDocument
    """Counts of everything, restated and live values too."""

    causes: list[CauseDocument]
    """Why values mean something else, or say the same in other numbers."""

    margins: list[MarginMoveDocument]
    """Margins that all of it together moves, those that protect first; without `--all` those that
    crossed 1 or moved by more than 1 %."""

    changes: list[ChangeDocument]
    """What differs, worst first; restated and live values only with `--all`."""

    surroundings: list[SurroundingDocument]
    """What differs beside the parameters."""

    fault: NotRequired[NamedFaultDocument]
    """The fault that was asked about."""

    suspects: NotRequired[list[SuspectDocument]]
    """What can explain that fault, best explanation first."""


def comparison_document(
    compared: Compared, *, everything: bool, fault: FaultCode | None = None
) -> ComparisonDocument:
    """A difference; restated and volatile entries only where everything is wanted."""
    comparison = compared.comparison
    wanted = comparison.changes if everything else comparison.news
    found: ComparisonDocument = {
        "left": _side_document(compared.left),
        "right": _side_document(compared.right),
        "reread": _rereading_document(compared.rereading),
        "summary": summary_document(comparison),
        "causes": [_cause_document(cause) for cause in comparison.causes],
        "margins": margin_move_documents(comparison.margins, everything=everything),
        "changes": [change_document(change) for change in wanted],
        "surroundings": [surrounding_document(s) for s in comparison.surroundings],
    }
    if fault is not None:
        found["fault"] = _fault_document(fault)
        found["suspects"] = [
            {"code": s.code, "score": f"{s.score:.3f}", "why": s.why}
            for s in compared.suspects(fault)
        ]
    return found


def _rereading_document(rereading: Rereading | None) -> RereadingDocument | None:
    if rereading is None:
        return None
    return {
        "family": rereading.family,
        "left": rereading.left,
        "right": rereading.right,
        "today": rereading.today,
        "explanation": rereading.sentence,
    }


def summary_document(comparison: Comparison) -> SummaryDocument:
    """Counts by consequence and kind."""
    counts = comparison.summary()
    return {
        "hazard": counts["hazard"],
        "travel": counts["travel"],
        "unclassified": counts["unclassified"],
        "dynamics": counts["dynamics"],
        "electrical": counts["electrical"],
        "link": counts["link"],
        "record": counts["record"],
        "restated": counts["restated"],
        "shifted": counts["shifted"],
        "only_left": counts["only_left"],
        "only_right": counts["only_right"],
        "equal": counts["equal"],
        "volatile": counts["volatile"],
    }


def change_document(change: Change) -> ChangeDocument:
    """One change of a comparison."""
    left, right = change.left, change.right
    found: ChangeDocument = {
        "code": change.shown.code,
        "name": change.shown.name,
        "role": change.shown.role,
        "group": change.group,
        "kind": change.kind,
        "volatile": change.volatile,
        "consequence": change.consequence,
        "left": _changed_value(left, change.left_physical, is_default=change.left_default),
        "right": _changed_value(right, change.right_physical, is_default=change.right_default),
        "difference": _difference_document(change.difference),
        "explanation": change.explanation,
        "more": change.more,
        "findings": [finding_document(finding) for finding in change.findings],
        "cause": change.cause,
    }
    if left and right and left.code != right.code:
        found |= {"left_code": left.code, "right_code": right.code}
    return found


def _changed_value(
    parameter: Parameter | None, size: Physical | None, *, is_default: bool
) -> ValueDocument | None:
    if parameter is None:
        return None
    return {**value_document(parameter, size), "stated": "default" if is_default else "drive"}


def _side_document(state: State) -> SideDocument:
    return {
        "axis": str(state.address) if state.address else state.name,
        "snapshot": state.snapshot.id if state.snapshot else None,
        "taken_at": time_or_none(state.record.taken_at if state.record else None),
        "family": state.family_name,
        "coverage": coverage_document(state.coverage),
    }


def _cause_document(cause: Cause) -> CauseDocument:
    return {
        "cause": cause.name,
        "code": cause.code,
        "explanation": cause.explanation,
        "affects": list(cause.affects),
        "shifts": cause.shifts,
    }


def _difference_document(difference: Difference | None) -> DifferenceDocument | None:
    if difference is None:
        return None
    relative = difference.relative
    return {
        "absolute": plain(difference.absolute),
        "relative": None if relative is None else plain(relative),
        "unit": difference.unit,
    }


def _fault_document(fault: FaultCode) -> NamedFaultDocument:
    standard = None if fault.standard is None else f"0x{fault.standard:04X}"
    return {"code": fault.code, "name": fault.name, "standard": standard}

"""JSON of trials."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import FindingDocument, finding_document
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from vault.jobs.trials.form import TrialForm
    from vault.jobs.trials.kept import TrialResult
    from vault.meaning.trials.questions import Question
    from vault.meaning.trials.verdict import TrialFinding


class TrialTemplateDocument(TypedDict):
    """A form for a trial: `trial template`."""

    axis: str
    """`machine/axis`."""

    file: str | None
    """The file that was written, null where none was."""

    text: str
    """The form."""


class TrialSuspectDocument(TypedDict):
    """A setting that would explain what was measured."""

    code: str | None
    """Its code, null where no parameter stands for it."""

    role: str | None
    """What it does."""

    explanation: str
    """How it would."""


class TrialFindingDocument(TypedDict):
    """What a check came to."""

    check: str
    """Its name: `inputs.home`, `moves`."""

    outcome: str
    """`passed`, `failed`, or `told` where nothing is there to hold it against."""

    consequence: str | None
    """Class of what failed; null for the others."""

    sentence: str
    """It in words."""

    figures: list[FindingDocument]
    """What was measured, and what it was held against."""

    suspects: list[TrialSuspectDocument]
    """What would explain it, likeliest first."""

    remark: str | None
    """What somebody remarked on it."""


class TrialQuestionDocument(TypedDict):
    """A question of a trial."""

    check: str
    """Name of the check."""

    section: str
    """The part of the trial that it belongs to."""

    ask: str
    """What to do, and what must come of it."""


class TrialSummaryDocument(TypedDict):
    """A trial among others."""

    axis: str
    """`machine/axis`."""

    trial: str
    """Its name: when it was tried, in UTC."""

    taken_at: str
    """When it was tried."""

    by: str
    """Who tried it."""

    added_at: str
    """When it was added."""

    snapshot: str
    """Id of the snapshot that it belongs to."""

    standing: str
    """`passed`, `failed`, or `open` where nothing failed and something is not answered."""

    summary: str
    """It in a sentence."""

    failed: int
    """How many findings failed."""

    open: int
    """How many questions are not answered."""

    address: str
    """Where the viewer shows it."""


class TrialDocument(TrialSummaryDocument):
    """A trial with all that it came to: `trial add`, `trial show`."""

    note: str | None
    """What somebody wrote about it."""

    findings: list[TrialFindingDocument]
    """What every check came to, in the safe order."""

    questions: list[TrialQuestionDocument]
    """What was not answered."""


class TrialsDocument(TypedDict):
    """The trials of an axis: `trial list`."""

    axis: str
    """`machine/axis`."""

    trials: list[TrialSummaryDocument]
    """Newest first."""


class TrialFormDocument(TypedDict):
    """What a trial of an axis asks."""

    axis: str
    """`machine/axis`."""

    snapshot: str
    """Id of the snapshot that is in force."""

    cautions: list[str]
    """To be read first."""

    questions: list[TrialQuestionDocument]
    """In the safe order."""


def trial_template_document(axis: str, file: Path | None, form: bytes) -> TrialTemplateDocument:
    """A form for a trial."""
    return {"axis": axis, "file": str(file) if file else None, "text": form.decode()}


def trial_summary_document(result: TrialResult) -> TrialSummaryDocument:
    """A trial among others."""
    trial, verdict = result.trial, result.verdict
    return {
        "axis": str(result.address),
        "trial": trial.name,
        "taken_at": time_text(trial.taken_at),
        "by": trial.by,
        "added_at": time_text(trial.added_at),
        "snapshot": trial.snapshot,
        "standing": verdict.standing,
        "summary": verdict.summary,
        "failed": len(verdict.failed),
        "open": len(verdict.open),
        "address": f"/axis/{result.address}/trial/{trial.name}",
    }


def trial_document(result: TrialResult) -> TrialDocument:
    """A trial with all that it came to."""
    return {
        **trial_summary_document(result),
        "note": result.trial.record.note,
        "findings": [_finding_document(found) for found in result.verdict.findings],
        "questions": [question_document(question) for question in result.verdict.open],
    }


def _finding_document(found: TrialFinding) -> TrialFindingDocument:
    return {
        "check": found.check,
        "outcome": found.outcome,
        "consequence": found.consequence or None,
        "sentence": found.sentence,
        "figures": [finding_document(figure) for figure in found.figures],
        "suspects": [
            {"code": one.code, "role": one.role, "explanation": one.explanation}
            for one in found.suspects
        ],
        "remark": found.remark,
    }


def question_document(question: Question) -> TrialQuestionDocument:
    """A question of a trial."""
    return {"check": question.key, "section": question.section, "ask": question.ask}


def trials_document(axis: str, results: Iterable[TrialResult]) -> TrialsDocument:
    """The trials of an axis."""
    return {"axis": axis, "trials": [trial_summary_document(result) for result in results]}


def trial_form_document(form: TrialForm, cautions: Iterable[str]) -> TrialFormDocument:
    """What a trial of an axis asks."""
    snapshot = form.state.snapshot
    assert snapshot is not None, "the form is of a snapshot"
    return {
        "axis": str(form.address),
        "snapshot": snapshot.id,
        "cautions": list(cautions),
        "questions": [question_document(question) for question in form.questions],
    }

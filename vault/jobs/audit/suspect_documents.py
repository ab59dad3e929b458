"""JSON of what can explain a fault."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import SurroundingDocument, surrounding_document
from vault.jobs.state.documents import ChangeDocument, change_document
from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.jobs.audit.suspects import AuditSuspect


class RecordedDocument(TypedDict):
    """An edit of the axis record."""

    commit: str
    """The commit that made it."""

    at: str
    """When it was made."""

    by: str
    """Who made it."""


class AuditSuspectDocument(TypedDict):
    """A change, or a setting that is not plausible, which can explain the fault."""

    axis: str
    """`machine/axis`."""

    code: str
    """The parameter, the key of the axis record's entry (`mechanics.gearbox`), or the first place
    to look at."""

    score: str
    """How well it explains the fault, from 0 to 1."""

    why: str
    """Why it is one."""

    sentence: str
    """What it is, in words."""

    indirect: str | None
    """What couples another axis to the fault, null for the axis that tripped."""

    snapshot: str | None
    """Id of the snapshot that showed it first; null for an entry of the axis record."""

    change: ChangeDocument | None
    """The change of a parameter, null where it is anything else."""

    entry: SurroundingDocument | None
    """The change of an entry of the axis record, null where it is anything else."""

    recorded: RecordedDocument | None
    """Who recorded that entry last, and when; null where nothing tells, or it is none."""

    complaint: str | None
    """Name of the rule of `check`, null where it is a change."""


def suspect_document(suspect: AuditSuspect) -> AuditSuspectDocument:
    """A suspect with whatever it is: change, entry of the axis record, or complaint."""
    change, complaint = suspect.change, suspect.complaint
    entry, edit = suspect.entry, suspect.edit
    return {
        "axis": str(suspect.axis),
        "code": suspect.code,
        "score": f"{suspect.score:.3f}",
        "why": suspect.why,
        "sentence": suspect.sentence,
        "indirect": suspect.through,
        "snapshot": suspect.since.id if suspect.since is not None else None,
        "change": change_document(change) if change is not None else None,
        "entry": surrounding_document(entry) if entry is not None else None,
        "recorded": None
        if edit is None
        else {"commit": edit.commit, "at": time_text(edit.at), "by": edit.by},
        "complaint": complaint.rule if complaint is not None else None,
    }

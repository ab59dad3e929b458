"""What in the parameters can explain a fault, on the axis itself and on others of its machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.audit.last_known_good import (
    ReferenceState,
    as_built,
    reference_state,
    state_at,
)
from vault.jobs.inspect.history import history
from vault.jobs.records.axis_edits import axis_edits
from vault.jobs.state.compare import compare_states
from vault.jobs.state.cross_checks import check_both
from vault.meaning.changes import Surrounding
from vault.meaning.consequences import rank
from vault.meaning.coupled_faults import SHARE, coupling
from vault.meaning.faults import nearness
from vault.meaning.implausible_faults import brings_about
from vault.meaning.record_entries import key_of
from vault.model.errors import VaultError
from vault.model.wording import plural
from vault.model.written_form import day_text

if TYPE_CHECKING:
    from datetime import datetime

    from vault.jobs.records.axis_edits import AxisEdit
    from vault.jobs.state.compare import Compared
    from vault.jobs.state.selectors import State
    from vault.meaning.changes import Change
    from vault.meaning.checks import Complaint
    from vault.meaning.faults import FaultCode
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

LEAST = 0.1
"""Below this score a change explains nothing worth telling."""


_STOOD, _STOOD_WHILE_GOOD = 0.5, 0.25
"""What a setting counts that was as little plausible before, and while all was known to be well."""


@dataclass(frozen=True, slots=True)
class AuditSuspect:
    """A change, or a setting that is not plausible, which can explain the fault.

    `entry` is what changed of the axis record, `edit` who recorded it last and when; `since` is the
    snapshot that showed a parameter's change first; `through` what couples another axis to the
    fault.
    """

    axis: Address
    score: float
    why: str
    change: Change | None = None
    complaint: Complaint | None = None
    entry: Surrounding | None = None
    since: Snapshot | None = None
    edit: AxisEdit | None = None
    through: str | None = None

    @property
    def code(self) -> str:
        """The parameter, the key of the record's entry, or the first place to look at."""
        if self.change is not None:
            return self.change.shown.code
        if self.entry is not None:
            return self.entry.path
        return self.complaint.look_at[0] if self.complaint is not None else ""

    @property
    def consequence(self) -> str:
        """What it can lead to, whatever became of the fault."""
        told = self.change or self.entry or self.complaint
        return told.consequence if told is not None else "record"

    @property
    def sentence(self) -> str:
        """What changed, or is not plausible."""
        told = self.change or self.entry
        if told is not None:
            return told.explanation
        return self.complaint.sentence if self.complaint is not None else ""


def suspects_of(
    vault: Vault, address: Address, fault: FaultCode, at: datetime, *, is_other: bool = False
) -> tuple[ReferenceState | None, list[AuditSuspect]]:
    """Suspects on an axis, best explanation first, and what they are changes against.

    With `is_other` the fault was on another axis of the machine.
    """
    good, state = reference_state(vault, address, at), state_at(vault, address, at)
    if state is None or good is None:
        return good, []
    compared = compare_states(*as_built(vault, good.state, state, at))
    scored = list(_changed(vault, address, compared, fault, at, is_other=is_other))
    worth = [suspect for suspect in scored if suspect.score >= LEAST]
    if not is_other and not address.is_controller:
        codes = {suspect.code for suspect in scored}
        standing = _implausible(address, good.is_good, compared, fault, at, worth)
        worth += [s for s in standing if s.code not in codes and s.score >= LEAST]
    return good, sorted(worth, key=_best_first)


def _best_first(suspect: AuditSuspect) -> tuple[float, int]:
    return -suspect.score, rank(suspect.consequence)


def _changed(
    vault: Vault,
    address: Address,
    compared: Compared,
    fault: FaultCode,
    at: datetime,
    *,
    is_other: bool,
) -> Iterator[AuditSuspect]:
    first = _first_shown(vault, address, compared.right)
    edits = _last_edits(vault, address, compared.right, at)
    for found in compared.suspects(fault):
        change = found.change
        through = coupling(change, fault) if is_other else None
        is_entry = isinstance(change, Surrounding)
        if (is_other and through is None) or (is_entry and address.is_controller):
            continue
        since, edit = first.get(found.code), edits.get(found.code) if is_entry else None
        why = f"{found.why}; {_recorded(edit, at) if is_entry else _shown(since, at)}"
        if not isinstance(change, Surrounding) and (change.left_default or change.right_default):
            why = f"only if the drive had the file's default, which nothing states: {why}"
        if through is not None:
            why = f"on another axis, through {through}: {why}"
        moment = edit.at if edit is not None else since.record.taken_at if since else at
        score = found.score * nearness(_days(moment, at)) * (SHARE if is_other else 1)
        suspect = AuditSuspect(address, score, why, since=since, edit=edit, through=through)
        if isinstance(change, Surrounding):
            yield replace(suspect, entry=change)
        else:
            yield replace(suspect, change=change)


def _days(moment: datetime, at: datetime) -> float:
    return (at - moment).total_seconds() / 86400


def _shown(since: Snapshot | None, at: datetime) -> str:
    if since is None:
        return "nothing tells when it was changed"
    return f"it showed on {_before(since.record.taken_at, at)}"


def _recorded(edit: AxisEdit | None, at: datetime) -> str:
    if edit is None:
        return "nothing tells when it was recorded"
    by = edit.by.partition(" <")[0]
    return f"{by} recorded it on {_before(edit.at, at)}, and the machine may have had it earlier"


def _before(moment: datetime, at: datetime) -> str:
    days = (at - moment).days
    when = day_text(moment)
    return (
        f"{when}, {plural(days, 'day')} before the fault"
        if days >= 0
        else (f"{when}, just after the fault")
    )


def _first_shown(vault: Vault, address: Address, until: State) -> dict[str, Snapshot]:
    """By code: the snapshot in which it got the meaning that it had in the end."""
    first: dict[str, Snapshot] = {}
    for entry in history(vault, address):
        if entry.comparison is not None:
            for change in entry.comparison.news:
                first[change.shown.code] = entry.snapshot
        if until.snapshot is not None and entry.snapshot.id == until.snapshot.id:
            break
    return first


def _last_edits(vault: Vault, address: Address, state: State, at: datetime) -> dict[str, AxisEdit]:
    """By key: the last edit of an entry of the axis record until the state at the fault."""
    until = max(at, state.record.taken_at) if state.record is not None else at
    return {
        key_of(change.path): edit
        for edit in axis_edits(vault, address)
        if edit.at <= until and not edit.is_first
        for change in edit.changes
    }


def _implausible(
    address: Address,
    was_good: bool,
    compared: Compared,
    fault: FaultCode,
    at: datetime,
    changed: list[AuditSuspect],
) -> Iterator[AuditSuspect]:
    """Settings that were not plausible at the fault, whenever they were set.

    Where something changed that explains the fault, one that was so before as well counts less,
    the longer it was; one that a change made so counts no more than what changed.
    """
    stood = {_named(complaint) for complaint in _complaints(compared.left)}
    record = compared.left.record
    days = _days(record.taken_at, at) if record is not None else 0.0
    most = max((suspect.score for suspect in changed), default=1.0)
    for complaint in _complaints(compared.right):
        if (found := brings_about(complaint.rule, fault)) is None:
            continue
        weight, reason = found
        why = f"it is not plausible, whenever it was set: {reason}"
        if changed and _named(complaint) in stood:
            weight *= (_STOOD_WHILE_GOOD if was_good else _STOOD) * nearness(days)
            why = f"{why}; it was so before anything changed"
        yield AuditSuspect(address, min(weight, most), why, complaint=complaint)


def _complaints(state: State) -> list[Complaint]:
    try:
        return list(check_both(state).complaints)
    except VaultError:  # check tells of it; the changes count all the same
        return []


def _named(complaint: Complaint) -> tuple[str, str]:
    return complaint.rule, complaint.look_at[0]


def merged(scored: list[AuditSuspect]) -> tuple[AuditSuspect, ...]:
    """Suspects of several axes in one order; scores to three decimals."""
    rounded = [replace(suspect, score=round(suspect.score, 3)) for suspect in scored]
    return tuple(sorted(rounded, key=_best_first))

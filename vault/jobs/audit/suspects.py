"""What in the parameters can explain a fault, on the axis itself and on others of its machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.audit.last_known_good import ReferenceState, reference_state, state_at
from vault.jobs.inspect.history import history
from vault.jobs.state.check import check_state
from vault.jobs.state.compare import compare_states
from vault.meaning.consequences import rank
from vault.meaning.coupled_faults import SHARE, coupling
from vault.meaning.faults import nearness
from vault.meaning.implausible_faults import brings_about
from vault.model.errors import VaultError
from vault.model.wording import plural

if TYPE_CHECKING:
    from datetime import datetime

    from vault.jobs.state.selectors import State
    from vault.meaning.changes import Change
    from vault.meaning.checks import Complaint
    from vault.meaning.faults import FaultCode
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

LEAST = 0.1
"""Below this score a change explains nothing worth telling."""


@dataclass(frozen=True, slots=True)
class AuditSuspect:
    """A change, or a setting that is not plausible, which can explain the fault.

    `since` is the snapshot that showed it first; `through` what couples another axis to the fault.
    """

    axis: Address
    score: float
    why: str
    change: Change | None = None
    complaint: Complaint | None = None
    since: Snapshot | None = None
    through: str | None = None

    @property
    def code(self) -> str:
        """The parameter, or the first place to look at."""
        if self.change is not None:
            return self.change.shown.code
        return self.complaint.look_at[0] if self.complaint is not None else ""

    @property
    def consequence(self) -> str:
        """What it can lead to, whatever became of the fault."""
        if self.change is not None:
            return self.change.consequence
        return self.complaint.consequence if self.complaint is not None else "record"

    @property
    def sentence(self) -> str:
        """What changed, or is not plausible."""
        if self.change is not None:
            return self.change.explanation
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
    scored = list(_changed(vault, address, good.state, state, fault, at, is_other=is_other))
    if not is_other:
        codes = {suspect.code for suspect in scored}
        scored += [
            suspect for suspect in _implausible(address, state, fault) if suspect.code not in codes
        ]
    worth = [suspect for suspect in scored if suspect.score >= LEAST]
    return good, sorted(worth, key=_best_first)


def _best_first(suspect: AuditSuspect) -> tuple[float, int]:
    return -suspect.score, rank(suspect.consequence)


def _changed(
    vault: Vault,
    address: Address,
    good: State,
    state: State,
    fault: FaultCode,
    at: datetime,
    *,
    is_other: bool,
) -> Iterator[AuditSuspect]:
    first = _first_shown(vault, address, state)
    for found in compare_states(good, state).suspects(fault):
        change = found.change
        through = coupling(change, fault) if is_other else None
        if is_other and through is None:
            continue
        since = first.get(change.shown.code)
        days = (at - since.record.taken_at).total_seconds() / 86400 if since is not None else 0.0
        score = found.score * nearness(days) * (SHARE if is_other else 1)
        why = f"{found.why}; {_when(since, at)}"
        if change.left_default or change.right_default:
            why = f"only if the drive had the file's default, which nothing states: {why}"
        if through is not None:
            why = f"on another axis, through {through}: {why}"
        yield AuditSuspect(address, score, why, change, since=since, through=through)


def _when(since: Snapshot | None, at: datetime) -> str:
    if since is None:
        return "nothing tells when it was changed"
    days = (at - since.record.taken_at).days
    when = f"{since.record.taken_at:%Y-%m-%d}"
    if days < 0:
        return f"it showed on {when}, just after the fault"
    return f"it showed on {when}, {plural(days, 'day')} before the fault"


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


def _implausible(address: Address, state: State, fault: FaultCode) -> Iterator[AuditSuspect]:
    """Settings that were not plausible at the fault, whenever they were set."""
    try:
        complaints = check_state(state)
    except VaultError:  # check tells of it; the changes count all the same
        return
    for complaint in complaints:
        if (found := brings_about(complaint.rule, fault)) is not None:
            weight, reason = found
            why = f"it is not plausible, whenever it was set: {reason}"
            yield AuditSuspect(address, weight, why, complaint=complaint)


def merged(scored: list[AuditSuspect]) -> tuple[AuditSuspect, ...]:
    """Suspects of several axes in one order; scores to three decimals."""
    rounded = [replace(suspect, score=round(suspect.score, 3)) for suspect in scored]
    return tuple(sorted(rounded, key=_best_first))

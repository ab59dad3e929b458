"""What happened to an axis or a machine around a fault: who, when, why, and what explains it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from vault.jobs.audit.actions import (
    Action,
    account_actions,
    actions_on_axis,
    actions_on_site,
    failed_log_in_actions,
)
from vault.jobs.audit.repeats import FaultRepeats, repeats
from vault.jobs.audit.suspects import AuditSuspect, merged, suspects_of
from vault.jobs.faults.log import family_of, fault_code, faults_of, named_faults
from vault.jobs.inspect.history import history
from vault.jobs.sync.log import is_sync
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify_axes
from vault.meaning.faults import FaultCode, read_fault
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.wording import span_text
from vault.model.written_form import day_text
from vault.store.clock import microseconds, moment_of_second, now
from vault.store.git.ancestry import Ancestry, ancestry

if TYPE_CHECKING:
    from vault.jobs.audit.last_known_good import ReferenceState
    from vault.jobs.audit.question import Question
    from vault.meaning.changes import Comparison
    from vault.model.corrections import Correction
    from vault.model.fault_log import FaultEntry
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_USUAL = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class SnapshotEntry:
    """A snapshot in the period, and what it changed against the one before (None for the first).

    `is_late`: a later state stood already when it was recorded. `addenda` are what people added
    about it afterwards.
    """

    axis: Address
    snapshot: Snapshot
    comparison: Comparison | None
    recorded_at: datetime
    is_late: bool
    addenda: tuple[Correction, ...] = ()

    @property
    def at(self) -> datetime:
        """When it was taken."""
        return self.snapshot.record.taken_at


@dataclass(frozen=True, slots=True)
class FaultSeen:
    """A fault of the log in the period."""

    axis: Address
    fault: FaultEntry
    code: FaultCode | None

    @property
    def at(self) -> datetime:
        """When the axis tripped."""
        return self.fault.at


AuditEntry = SnapshotEntry | FaultSeen | Action


@dataclass(frozen=True, slots=True)
class FaultAt:
    """The fault that is asked about; `axis` is None where nobody knows which axis of several.

    `asked` is the time that was asked about, `away` how much later it tripped by the fault log;
    both are None where no time was asked about, `away` too where no log tells.
    """

    fault: FaultCode
    at: datetime
    axis: Address | None
    asked: datetime | None = None
    away: timedelta | None = None

    @property
    def distance(self) -> str | None:
        """How far from the time that was asked about it tripped, in words; None where just then."""
        if not self.away:
            return None
        side = "after" if self.away > timedelta() else "before"
        return f"the nearest in the fault log, {span_text(abs(self.away))} {side} the time asked"


@dataclass(frozen=True, slots=True)
class Audit:
    """The answer. `references` tell by axis what the state at the fault is held against.

    `axes` are sets: after its drive's comes that of an axis's controller, where there is one.

    `after` are the entries after the fault: what people did about it.
    """

    place: str
    axes: tuple[Address, ...]
    start: datetime
    end: datetime
    entries: tuple[AuditEntry, ...]
    fault: FaultAt | None
    references: dict[Address, ReferenceState | None]
    suspects: tuple[AuditSuspect, ...]
    repeats: tuple[FaultRepeats, ...]
    chain: Verified

    @property
    def last_known_good(self) -> Snapshot | None:
        """Of the axis that tripped, as far as one is known."""
        axis = self.fault.axis if self.fault is not None else None
        found = self.references.get(axis) if axis is not None else None
        return found.state.snapshot if found is not None and found.is_good else None

    @property
    def after(self) -> tuple[AuditEntry, ...]:
        """What was done after the fault."""
        return tuple(e for e in self.entries if self.fault is not None and e.at > self.fault.at)


def audit(vault: Vault, question: Question) -> Audit:
    """Tell what happened to an axis or a machine in a period, and what explains a fault.

    Without a start the period begins with what the fault is held against, without a fault 90 days
    before its end. Raises WrongUsage.
    """
    axes = _axes(vault, question.place)
    start, end = question.start, question.end or now()
    has_fault = question.fault is not None or question.at is not None
    period = (start, end)
    fault = _fault(vault, axes, question, period) if has_fault else None
    references: dict[Address, ReferenceState | None] = {}
    suspects: list[AuditSuspect] = []
    if fault is not None:
        for axis in axes:
            is_other = fault.axis is not None and axis.drive != fault.axis
            references[axis], some = suspects_of(
                vault, axis, fault.fault, fault.at, is_other=is_other
            )
            suspects += some
    if start is None:
        start = _usual_start(end, fault, references)
    if start > end:
        raise WrongUsage(f"the period ends before it begins: {day_text(start)} to {day_text(end)}")
    recorded = ancestry(vault.repository, vault.tip)
    entries = [e for axis in axes for e in _entries(vault, axis, recorded) if start <= e.at <= end]
    families = {e.snapshot.record.family for e in entries if isinstance(e, SnapshotEntry)}
    site = actions_on_site(vault, {name for name in families if name is not None})
    entries += [act for act in site if start <= act.at <= end]
    entries += account_actions(vault, start, end)
    entries += failed_log_in_actions(vault, start, end)
    drives = [axis for axis in axes if not axis.is_controller]
    again = [r for axis in drives for r in repeats(vault, axis, end)] if fault is not None else []
    return Audit(
        place=str(axes[0]) if "/" in question.place else axes[0].shown[0],
        axes=tuple(axes),
        start=start,
        end=end,
        entries=tuple(sorted(entries, key=lambda entry: microseconds(entry.at))),
        fault=fault,
        references=references,
        suspects=merged(suspects),
        repeats=tuple(r for r in again if fault is not None and _is_it(r, fault.fault)),
        chain=verify_axes(vault, axes),
    )


def _axes(vault: Vault, place: str) -> list[Address]:
    """The sets that are told of: of each axis its drive's, and its controller's if there is one."""
    if "/" in place:
        axes = [vault.require_axis(vault.address(place)).drive]
    else:
        axes = [axis for axis in vault.axes() if axis.machine == vault.names.machine(place)]
    if not axes:
        known = ", ".join(sorted({axis.shown[0] for axis in vault.axes()}))
        raise WrongUsage(f"there is no machine {place!r}", hint=f"there are: {known}")
    controllers = [one for one in vault.controller_sets() if one.drive in axes]
    return sorted([*axes, *controllers])


def _fault(
    vault: Vault,
    axes: list[Address],
    question: Question,
    period: tuple[datetime | None, datetime],
) -> FaultAt:
    """The fault that was meant: the last of its code, or the one nearest to a time."""
    axes = [axis for axis in axes if not axis.is_controller]  # it is the drive that trips
    code, at = question.fault, question.at
    logged = [
        (axis, entry)
        for axis in axes
        for entry in faults_of(vault, axis)
        if (code is None or _same_code(vault, axis, entry.code, code))
        and _is_within(entry.at, period)
    ]
    if logged:
        axis, entry = min(
            logged, key=lambda pair: (abs(_away(pair[1].at, question)), -microseconds(pair[1].at))
        )
        known = fault_code(vault, axis, entry.code) or FaultCode(entry.code, "not known", None)
        away = None if at is None else _away(entry.at, question)
        return FaultAt(known, entry.at, axis, at, away)
    alone = axes[0] if len(axes) == 1 else None
    if code is None:
        raise WrongUsage(
            "the fault log has no fault of that time", hint="name the code: --fault CODE"
        )
    fault = _read(vault, axes, code)
    if at is None:
        raise WrongUsage(
            f"the fault log has no {code}, so nothing tells when it was",
            hint=f"--at TIME, or axisvault fault add {alone or 'MACHINE/AXIS'} --code {code}",
        )
    return FaultAt(fault, at, alone, at)


def _away(moment: datetime, question: Question) -> timedelta:
    """How much later than the time, or the day, that was asked about; nothing where none was."""
    if question.at is None:
        return timedelta()
    begin = question.at_begin or question.at
    return moment - min(max(moment, begin), question.at)


def _is_within(moment: datetime, period: tuple[datetime | None, datetime]) -> bool:
    start, end = period
    return (start is None or start <= moment) and moment <= end


def _same_code(vault: Vault, axis: Address, code: str, other: str) -> bool:
    if code.casefold() == other.casefold():
        return True
    codes = fault_code(vault, axis, code), fault_code(vault, axis, other)
    return codes[0] is not None and codes[0] == codes[1]


def _is_it(again: FaultRepeats, fault: FaultCode) -> bool:
    return again.fault == fault or again.code.casefold() == fault.code.casefold()


def _read(vault: Vault, axes: list[Address], code: str) -> FaultCode:
    """A code by the family of any of the axes. Raises WrongUsage as the first of them does."""
    complaint: WrongUsage | None = None
    for axis in axes:
        try:
            return read_fault(code, family_of(vault, axis))
        except WrongUsage as error:
            complaint = complaint or error
    raise complaint or WrongUsage(f"{code!r} is no fault code")


def _usual_start(
    end: datetime, fault: FaultAt | None, references: dict[Address, ReferenceState | None]
) -> datetime:
    if fault is None:
        return end - _USUAL
    taken = [
        r.state.snapshot.record.taken_at
        for r in references.values()
        if r is not None and r.state.snapshot is not None
    ]
    return min([*taken, fault.at])


def _entries(vault: Vault, axis: Address, recorded: Ancestry) -> Iterator[AuditEntry]:
    """Everything that is known to have happened to an axis."""
    yield from actions_on_axis(vault, axis)
    for fault, known in () if axis.is_controller else named_faults(vault, axis):
        yield FaultSeen(axis, fault, known)
    for one in history(vault, axis):
        second = vault.repository.commit_header(one.snapshot.id).committed
        moment = moment_of_second(second)
        is_late = _is_late(vault, one.snapshot.id, recorded)
        yield SnapshotEntry(axis, one.snapshot, one.comparison, moment, is_late, one.addenda)


def _is_late(vault: Vault, commit: str, recorded: Ancestry) -> bool:
    """Whether it was put at its place in time later on, and not just came from another copy."""
    if commit not in recorded:  # it was recorded just now
        return False
    merge = recorded.merge_of(commit)
    return merge is not None and not is_sync(vault.repository.commit_header(merge).message)

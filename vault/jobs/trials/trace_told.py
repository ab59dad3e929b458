"""What is told of a trace in a line: in the logbook, an audit, a restore plan and its sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import policy_of
from vault.jobs.trials.trace_kept import (
    beside,
    earlier_trace,
    rests_on,
    trace_records,
    trace_result,
)
from vault.meaning.reader import system
from vault.model.errors import Damaged, VaultError
from vault.model.remembered import Remembered
from vault.model.written_form import form

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.files.trace_record_text import TraceRecord
    from vault.store.vault import Vault

FIRST = "It is the first trace of the move “{move}”."
SUMMARY = "Move “{move}”, against {which}: {summary}"
UNTOLD = "Move “{move}”: it cannot be told, because {reason}."


@dataclass(frozen=True, slots=True)
class TraceTold:
    """A trace in a line; `as_it_did` is None where it was held against nothing, or tells nothing.

    `changes` are what became of the axis, in sentences, largest first.
    """

    record: TraceRecord
    summary: str
    as_it_did: bool | None = None
    changes: tuple[str, ...] = ()

    @property
    def standing(self) -> str:
        """It in a word or two."""
        if self.as_it_did is None:
            return "kept"
        return "as it did" if self.as_it_did else "not as it did"


_KNOWN = Remembered[tuple[object, ...], TraceTold](256)


def trace_told(vault: Vault, address: Address, record: TraceRecord) -> TraceTold:
    """A trace in a line, held against the earlier one of its move."""
    earlier = earlier_trace(vault, address, record)
    if earlier.record is None and earlier.problem is None:
        return TraceTold(record, FIRST.format(move=record.move))
    try:
        readings = [
            rests_on(vault, address, one) for one in (record, earlier.record) if one is not None
        ]
        share = policy_of(vault).material_share
        key = (str(address), record, earlier, *readings, share, system(), form())
        return _KNOWN.of(key, lambda: _told(vault, address, record))
    except VaultError as error:
        return TraceTold(record, UNTOLD.format(move=record.move, reason=error.message))


def _told(vault: Vault, address: Address, record: TraceRecord) -> TraceTold:
    found = beside(vault, trace_result(vault, address, record))
    if found.comparison is None:  # raised, as what is put right in git has the ids that it had
        raise Damaged(str(found.problem))
    said = SUMMARY.format(
        move=record.move, which=found.against, summary=found.comparison.summary
    ) + _doubt(found.problem)
    changes = tuple(f"{change.sentence}." for change in found.comparison.material)
    return TraceTold(record, said, found.comparison.as_it_did, changes)


def reference_trace(vault: Vault, address: Address) -> TraceTold | None:
    """The latest trace of the reference move; None where nothing was recorded.

    That is the move which the baseline has a trace of, as that proves a restore; else the one
    recorded last.
    """
    problems: list[str] = []
    records = list(trace_records(vault, address, problems))
    problems = [f"a trace cannot be read, of whatever move it is: {one}" for one in problems]
    if not records:
        return None
    approval = vault.golden(address).approval
    golden = [one for one in records if approval is not None and one.snapshot == approval.snapshot]
    move = (golden or records)[-1].move.casefold()
    latest = [one for one in records if one.move.casefold() == move][-1]
    told = trace_told(vault, address, latest)
    doubts = (problem for problem in problems if problem.partition(": ")[2] not in told.summary)
    return replace(told, summary=told.summary + "".join(map(_doubt, doubts)))


def _doubt(problem: str | None) -> str:
    return "" if problem is None else f" But {problem}."

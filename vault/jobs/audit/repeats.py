"""One fault code over time: how often it came, and whether a change may have ended it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from vault.jobs.faults.log import fault_code, faults_of
from vault.jobs.inspect.history import history
from vault.meaning.faults import FaultCode, weights_for
from vault.model.wording import plural
from vault.model.written_form import day_text, marked
from vault.store.clock import now

if TYPE_CHECKING:
    from vault.model.fault_log import FaultEntry
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_ENDED = 3
"""Quiet for so many times the usual interval: common practice, no source."""


@dataclass(frozen=True, slots=True)
class FaultRepeats:
    """One code over time, and what may have ended it; `sentence` says it in words.

    `code` is as it was noted last, `fault` what it stands for, None where nobody knows.
    """

    code: str
    fault: FaultCode | None
    count: int
    first: datetime
    last: datetime
    ended_by: Snapshot | None
    sentence: str

    @property
    def name(self) -> str | None:
        """What people call it."""
        return self.fault.name if self.fault is not None else None


def repeats(vault: Vault, address: Address, moment: datetime | None = None) -> list[FaultRepeats]:
    """Each code of the log: how often, and whether a change may have ended it."""
    by_code: dict[FaultCode | str, list[FaultEntry]] = {}
    known: dict[str, FaultCode | None] = {}
    for entry in faults_of(vault, address):
        if (code := entry.code.casefold()) not in known:
            known[code] = fault_code(vault, address, entry.code)
        by_code.setdefault(known[code] or code, []).append(entry)
    entries = list(history(vault, address)) if by_code else []
    by_fault = []
    for members in by_code.values():
        fault = known[members[-1].code.casefold()]
        weights = weights_for(fault) if fault is not None else {}
        last = members[-1].at
        ended = next(
            (
                entry.snapshot
                for entry in entries
                if entry.comparison is not None
                and entry.snapshot.record.taken_at >= last
                and any(_role(c.shown.role) in weights for c in entry.comparison.news)
            ),
            None,
        )
        by_fault.append(_repeats(members, fault, ended, moment or now()))
    return sorted(by_fault, key=lambda repeat: repeat.last, reverse=True)


def _role(role: str | None) -> str:
    return role.partition(".")[0] if role else ""


def _repeats(
    members: list[FaultEntry], fault: FaultCode | None, ended: Snapshot | None, moment: datetime
) -> FaultRepeats:
    first, last, count = members[0].at, members[-1].at, len(members)
    quiet = (moment - last).days
    sentence = f"Last seen {day_text(last)}, {plural(quiet, 'day')} ago."
    if count == 1:
        sentence = (
            f"Seen once, {plural(quiet, 'day')} ago: too few to say whether anything ended it."
        )
    else:
        usual = (last - first).total_seconds() / 86400 / (count - 1)
        sentence = f"Seen {count} times, every {_days(usual)} on average. {sentence}"
        if ended is None:
            sentence += " No setting that has to do with it was changed since."
        elif quiet > _ENDED * max(usual, 1):
            record = ended.record
            sentence += (
                f" What changed on {day_text(record.taken_at)} ({ended.id[:10]}) may have ended it."
            )
        else:
            sentence += " Too early to say whether what changed since has ended it."
    is_ended = ended if count > 1 and "may have ended" in sentence else None
    return FaultRepeats(members[-1].code, fault, count, first, last, is_ended, sentence)


def _days(days: float) -> str:
    return "few minutes" if days < 0.05 else f"{marked(f'{days:.1f}')} days"

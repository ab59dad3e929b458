"""Fourth stage: when an export was taken. Never guessed, and never in the future.

A person is believed, and so is a line of the export that its family maps to the time. The head of a
DCF and the date of the file only propose: heads often carry the date of a description, and files
are copied.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from vault.jobs.state.moments import not_in_future
from vault.model.errors import Unreadable, WrongUsage
from vault.model.written_form import minute_text, placed
from vault.store.clock import CLOCKS_APART, now, parse_time

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.visit import Visit

_RECENT = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class TimeTaken:
    """When, who knew it (one of `TIME_SOURCES`), and what a reader should know of it."""

    moment: datetime
    source: str
    remark: str | None = None


@dataclass(frozen=True, slots=True)
class Proposal:
    """A time that is not believed by itself, and where it stands: `its head`, `its date`."""

    moment: datetime
    where: str

    def __str__(self) -> str:
        return f"{self.where} says {minute_text(self.moment)}"


def time_taken(export: Export, visit: Visit) -> TimeTaken:
    """Tell when an export was taken.

    Raises WrongUsage where a person has to say it, Refused for a time in the future, Unreadable
    where the export states a time that is none.
    """
    taken = _time_taken(export, visit)
    return TimeTaken(not_in_future(taken.moment, export.file), taken.source, taken.remark)


def proposals(export: Export, visit: Visit) -> tuple[Proposal, ...]:
    """What the file itself proposes, the likeliest first; empty where it is believed anyway."""
    if export.listing.taken_at:
        return ()
    latest = now() + CLOCKS_APART  # what lies beyond is of a clock that is wrong
    head, date = (
        moment if moment is not None and moment <= latest else None
        for moment in (head_time(export), visit.file_time)
    )
    found = [Proposal(head, "its head")] if head is not None else []
    if date is not None:
        # A date of long ago was kept by whoever copied the file; that of a copy tells nothing.
        found.insert(0 if _is_long_ago(date) else len(found), Proposal(date, "its date"))
    return tuple(found)


def _time_taken(export: Export, visit: Visit) -> TimeTaken:
    if visit.taken_at is not None:
        return TimeTaken(visit.taken_at, "given")
    if visit.time_choice == "now":
        return TimeTaken(visit.begun_at or now(), "now")
    stated = _stated_time(export)
    if stated is not None:
        return TimeTaken(stated, "nameplate")
    proposed = proposals(export, visit)
    if not proposed:
        if visit.time_choice == "file":
            reason = "the file does not say when it was taken"
            raise WrongUsage(reason, file=export.file, hint="say it: --taken-at TIME")
        return TimeTaken(visit.begun_at or now(), "now")
    if visit.time_choice == "file":
        return TimeTaken(proposed[0].moment, "file")
    if visit.unsure == "propose":
        return TimeTaken(proposed[0].moment, "file", f"dated as {proposed[0]}")
    return _now_if_sure(export, visit, proposed)


def _now_if_sure(export: Export, visit: Visit, proposed: tuple[Proposal, ...]) -> TimeTaken:
    """Now, if a proposal is of today, or nobody minds; else it is asked for."""
    old = [str(one) for one in proposed if _is_long_ago(one.moment)]
    if len(old) < len(proposed) or visit.unsure == "now":
        remark = f"dated now, but {' and '.join(old)}; --taken-at file dates it so" if old else None
        return TimeTaken(visit.begun_at or now(), "now", remark)
    raise WrongUsage(
        f"when was this taken? {' and '.join(old)}".replace("its ", "Its ", 1),
        file=export.file,
        hint="--taken-at file dates it so, --taken-at now dates it today; or give the time",
    )


def _is_long_ago(moment: datetime) -> bool:
    return now() - moment > _RECENT


def head_time(export: Export) -> datetime | None:
    """When the head of the file says it was written; None where it tells nothing to go by."""
    if not export.listing.head_time:
        return None
    moment = placed(datetime.fromisoformat(export.listing.head_time))
    return moment if moment.year >= 1990 else None  # else a clock that was never set


def _stated_time(export: Export) -> datetime | None:
    if not export.listing.taken_at:
        return None
    try:
        return parse_time(export.listing.taken_at, of_file=True)
    except WrongUsage as error:  # as after a dead battery of the drive's clock
        raise Unreadable(
            f"the export says when it was taken, but {error.message}",
            file=export.file,
            hint="say it yourself: --taken-at TIME",
        ) from error

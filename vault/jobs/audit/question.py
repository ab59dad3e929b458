"""What an audit is asked: an axis or a machine, a period, and a fault."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.model.typed_text import required_text, text_or_none
from vault.store.clock import is_bare_date, parse_time

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Question:
    """What happened at `place`, a machine or `machine/axis`, from `start` to `end`.

    With the code of a `fault` and without `at` the fault log of the period tells when it was. Where
    only the day is known, `at_begin` is when it begins and `at` its end.
    """

    place: str
    start: datetime | None = None
    end: datetime | None = None
    fault: str | None = None
    at: datetime | None = None
    at_begin: datetime | None = None


def parse_question(
    place: str | None,
    *,
    start: str | None = None,
    end: str | None = None,
    fault: str | None = None,
    at: str | None = None,
) -> Question:
    """Check what a person typed; a bare date is its begin in `start` and its end in `end`.

    Raises WrongUsage naming what is wrong.
    """
    begin, last, moment = (text_or_none(text) for text in (start, end, at))
    is_day = moment is not None and is_bare_date(moment)
    return Question(
        required_text(place, "place"),
        parse_time(begin, begins=True) if begin else None,
        parse_time(last) if last else None,
        text_or_none(fault),
        parse_time(moment) if moment else None,
        parse_time(moment, begins=True) if moment and is_day else None,
    )

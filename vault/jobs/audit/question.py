"""What an audit is asked: an axis or a machine, a period, and a fault."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.model.typed_text import required_text, text_or_none
from vault.store.clock import parse_time

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Question:
    """What happened at `place`, a machine or `machine/axis`, from `start` to `end`.

    With the code of a `fault` and without `at` the fault log of the period tells when it was.
    """

    place: str
    start: datetime | None = None
    end: datetime | None = None
    fault: str | None = None
    at: datetime | None = None


def parse_question(
    place: str | None,
    *,
    start: str | None = None,
    end: str | None = None,
    fault: str | None = None,
    at: str | None = None,
) -> Question:
    """Check what a person typed. Raises WrongUsage naming what is wrong."""
    moments = (text_or_none(text) for text in (start, end, at))
    first, last, moment = (parse_time(text) if text else None for text in moments)
    return Question(required_text(place, "place"), first, last, text_or_none(fault), moment)

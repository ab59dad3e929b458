"""When something was done, as people state it: never in the future."""

from __future__ import annotations

from datetime import datetime, time

from vault.model.errors import Refused
from vault.model.written_form import minute_text
from vault.store.clock import CLOCKS_APART, now


def not_in_future(moment: datetime, file: str | None = None) -> datetime:
    """The moment, that of today's end now. Raises Refused for one in the future."""
    moment = _today_until_now(moment)
    if moment > now() + CLOCKS_APART:
        raise Refused(
            f"taken-at {minute_text(moment)} lies in the future",
            file=file,
            hint="look at the clocks of drive and computer, and say it yourself: --taken-at TIME",
        )
    return moment


def names_day(moment: datetime) -> bool:
    """Whether a bare date was given: that means its end; of today, now."""
    return moment.timetz().replace(tzinfo=None) == time.max


def _today_until_now(moment: datetime) -> datetime:
    present = now()
    return present if names_day(moment) and moment.date() == present.date() else moment

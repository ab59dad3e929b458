"""The one clock of the program, and times as the vault writes them (RFC 3339)."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta

from vault.model.errors import WrongUsage
from vault.model.written_form import day_text, in_iso, placed

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_TIME = re.compile(
    r"(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?)\s?(Z|[+-]\d{2}:?\d{2})?",
    re.IGNORECASE | re.ASCII,
)
CLOCKS_APART = timedelta(minutes=5)
"""How far the clocks of two computers may differ, and none of their times lies ahead."""
_LIKE = date(2026, 3, 1)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_END = datetime(9999, 1, 1, tzinfo=UTC)
_WIDEST_OFFSET = timedelta(hours=14)  # that git records, and that there is


def now() -> datetime:
    """The present moment in the site's time, with its offset."""
    return placed(datetime.now().astimezone())


def is_bare_date(text: str) -> bool:
    """Whether a text is a date without a time."""
    return _DATE.fullmatch(in_iso(text.strip())) is not None


def parse_time(text: str, *, begins: bool = False, of_file: bool = False) -> datetime:
    """Read an RFC 3339 time, or one whose date the site writes otherwise; without an offset it is
    one of the site. What stands in a file (`of_file`) has one form on all sites.

    A bare date means its end, or its begin where something `begins` then. Digits beyond
    microseconds are cut.
    Raises WrongUsage for anything else, and for moments that git cannot hold (before 1970).
    """
    text = text.strip() if of_file else in_iso(text.strip())
    try:
        if _DATE.fullmatch(text):
            day = datetime.strptime(text, "%Y-%m-%d")
            moment = datetime.combine(day, time.min if begins else time.max)
            moment = placed(moment)
        else:
            moment = _timed(text)
    except (ValueError, OverflowError, OSError) as error:
        raise WrongUsage(
            f"{text!r} is no date or time",
            hint=f"write it like {day_text(_LIKE)} 14:30, or 2026-03-01T14:30:00+01:00",
        ) from error
    if moment < _EPOCH:
        raise WrongUsage(f"{text!r} lies before 1970, which git cannot record")
    if moment >= _END:  # else local time may be one that Python cannot write
        raise WrongUsage(f"{text!r} lies after 9998")
    return moment


def _timed(text: str) -> datetime:
    match = _TIME.fullmatch(text)
    if match is None:
        raise ValueError(text)
    offset = "+00:00" if (match[3] or "").upper() == "Z" else match[3] or ""
    moment = datetime.fromisoformat(f"{match[1]}T{match[2]}{offset}")
    if abs(moment.utcoffset() or timedelta()) > _WIDEST_OFFSET:
        raise ValueError(text)
    return moment if moment.tzinfo else placed(moment)


def time_text(moment: datetime) -> str:
    """Write a time as RFC 3339 with its offset; microseconds only where there are any."""
    if moment.utcoffset() is None:
        raise ValueError(f"{moment} has no offset")
    return moment.isoformat(timespec="microseconds" if moment.microsecond else "seconds")


def microseconds(moment: datetime) -> int:
    """Microseconds since 1970 in UTC: the key that orders snapshots."""
    since = moment - _EPOCH
    return (since.days * 86400 + since.seconds) * 10**6 + since.microseconds


def moment_of(since: int) -> datetime:
    """The moment, in the site's time, of a number of microseconds since 1970."""
    return placed(_EPOCH + timedelta(microseconds=since))


def moment_of_second(since: int) -> datetime:
    """The moment, in the site's time, of a number of seconds since 1970, as git and files count.

    Raises ValueError or OverflowError for one that no date can tell.
    """
    return moment_of(since * 10**6)


def git_time(moment: datetime) -> str:
    """Write a time in git's raw form: seconds since 1970 and the offset."""
    offset = moment.strftime("%z")
    return f"{microseconds(moment) // 10**6} {offset[:5]}"

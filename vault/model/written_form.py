"""How numbers and dates are written for people on a site, and read from them.

Files that people or programs keep (axis records, exports, baselines) have one form on all sites: a
decimal point, and ISO 8601. This is about what is shown and typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone, tzinfo
from functools import lru_cache
from typing import Literal

DecimalMark = Literal["point", "comma"]
DateForm = Literal["year-month-day", "day.month.year", "day/month/year", "month/day/year"]
_DATES: dict[DateForm, str] = {
    "year-month-day": "%Y-%m-%d",
    "day.month.year": "%d.%m.%Y",
    "day/month/year": "%d/%m/%Y",
    "month/day/year": "%m/%d/%Y",
}
_OTHER_MARKS = str.maketrans(",.", ".,")


@dataclass(frozen=True, slots=True)
class WrittenForm:
    """A site's form; `zone` is a name of the IANA time zone database, None the computer's."""

    decimal: DecimalMark = "point"
    dates: DateForm = "year-month-day"
    zone: str | None = None


_FORM: ContextVar[WrittenForm] = ContextVar("the site's form", default=WrittenForm())  # noqa: B039


def form() -> WrittenForm:
    """The form that holds."""
    return _FORM.get()


@contextmanager
def written_as(wanted: WrittenForm) -> Iterator[None]:
    """Write and read in a form for as long as the block runs."""
    token = _FORM.set(wanted)
    try:
        yield
    finally:
        _FORM.reset(token)


def marked(number: str) -> str:
    """A number with decimal point, and commas between thousands, with the site's marks."""
    return number.translate(_OTHER_MARKS) if form().decimal == "comma" else number


def day_text(day: date) -> str:
    """A day as the site writes it."""
    return day.strftime(_DATES[form().dates])


def minute_text(moment: datetime) -> str:
    """Day and minute as the site writes them, with the offset where it is not the site's."""
    text = f"{day_text(moment)} {moment:%H:%M}"
    if moment.utcoffset() == moment.astimezone(zone()).utcoffset():
        return text
    return f"{text} {offset_text(moment)}"


def offset_text(moment: datetime) -> str:
    """How far a time is from UTC: `+01:00`."""
    offset = moment.strftime("%z")
    return f"{offset[:3]}:{offset[3:5]}"


def zone() -> tzinfo | None:
    """The site's time zone; None for the computer's."""
    name = form().zone
    if name is None:
        return None
    from zoneinfo import ZoneInfo  # most sites have the computer's zone

    return ZoneInfo(name)


def zone_text(moment: datetime) -> str:
    """Which zone times are in where none stands beside them, and how far that is from UTC."""
    offset = f"UTC{offset_text(moment.astimezone(zone()))}"
    name = form().zone
    return offset if name is None else f"{name} ({offset} today)"


def placed(moment: datetime) -> datetime:
    """A moment in the site's zone, with its offset; one without an offset is a time there."""
    there = zone()
    if there is None:
        return moment.astimezone()
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=there)
    # With the zone itself Python would reckon by the clock on the wall.
    offset = moment.astimezone(there).utcoffset() or timedelta()
    return moment.astimezone(timezone(offset))


@lru_cache(maxsize=len(_DATES))
def _pattern(dates: DateForm) -> re.Pattern[str]:
    parts = {"%Y": r"(?P<year>\d{4})", "%m": r"(?P<month>\d\d?)", "%d": r"(?P<day>\d\d?)"}
    text = re.escape(_DATES[dates])
    for directive, part in parts.items():
        text = text.replace(re.escape(directive), part)
    return re.compile(rf"{text}(?P<rest>(?:[T ].*)?)", re.ASCII | re.DOTALL)


def in_iso(text: str) -> str:
    """A text that begins with a date, with that as ISO 8601 has it; any other text as it is."""
    found = _pattern(form().dates).fullmatch(text)
    if found is None:
        return text
    return f"{found['year']}-{found['month']:0>2}-{found['day']:0>2}{found['rest']}"

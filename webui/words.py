"""Words and marks for templates. A consequence has a word and a mark, not only a colour."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import quote

from markupsafe import Markup

from vault.meaning.sentences import plural, value_text
from vault.model.visible_text import visible
from vault.store.clock import now
from webui.errors import plain

MARKS = {
    "hazard": "▲", "travel": "↔", "dynamics": "∿", "electrical": "ϟ", "link": "⇄", "record": "·",
}  # fmt: skip
_STATUS = {
    "in_line": "in line",
    "drifted": "drifted",
    "overdue": "export overdue",
    "no_golden": "nothing approved",
}


def shown(value: Any) -> Any:
    """What a template puts into a page: of a text, all that is in it can be seen."""
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _mark(consequence: str) -> str:
    return MARKS.get(consequence, "·")


def _status(status: str) -> str:
    return _STATUS.get(status, status)


def _minute(moment: datetime | None) -> str:
    return "" if moment is None else f"{moment:%Y-%m-%d %H:%M}"


def _days_since(moment: datetime | None) -> str:
    if moment is None:
        return "never"
    days = (now() - moment).days
    return "today" if days < 1 else plural(days, "day")


def _person(text: str) -> str:
    """A name without its mail."""
    return text.partition(" <")[0]


def _in_address(text: object) -> str:
    """A text as part of an address."""
    return quote(str(text), safe="/@~:,*.-_")


HELPERS: dict[str, Any] = {
    "mark": _mark,
    "status_words": _status,
    "minute": _minute,
    "days_since": _days_since,
    "person": _person,
    "in_address": _in_address,
    "plain": plain,
    "plural": plural,
    "value_text": value_text,
}

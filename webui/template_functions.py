"""What templates may call: words, marks and rows. A consequence has a mark, not only a colour."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from flask import render_template
from markupsafe import Markup

from vault.jobs.baseline.axis_drift import counted_axes
from vault.jobs.state.left_out import named_lines
from vault.jobs.state.reread import older_text
from vault.meaning.floors import counted
from vault.meaning.rule_words import rule_words
from vault.meaning.sentences import number_text, value_text
from vault.model.remembered import Remembered
from vault.model.visible_text import visible
from vault.model.wording import capitalised, plural, with_article
from vault.model.written_form import WrittenForm, day_text, form, marked, minute_text
from vault.store.clock import now
from webui import template_margins
from webui.errors import error_text, hint_text
from webui.linked_text import fault_address, found_address, link_addresses, linked
from webui.page_words import page_words
from webui.pictures import overview, spread_strip, timeline

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.jobs.logbook.entries import Logbook, LogEntry

MARKS = {
    "hazard": "▲", "travel": "↔", "unclassified": "?", "dynamics": "∿", "electrical": "ϟ",
    "link": "⇄", "record": "·",
}  # fmt: skip
_STATUS = {
    "in_line": "in line",
    "drifted": "drifted",
    "overdue": "export overdue",
    "no_golden": "nothing approved",
    "needs": "needs somebody",
    "floor": "a floor is not kept",
}


def make_visible(value: Any) -> Any:
    """What a template puts into a page: of a text, all that is in it can be seen."""
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _mark(consequence: str) -> str:
    return MARKS.get(consequence, "·")


def status_words(status: str) -> str:
    """How an axis stands, in words."""
    return _STATUS.get(status, status)


_Shown = tuple[tuple["AxisDrift", ...], Markup]
_ROWS = Remembered[tuple[tuple[int, ...], tuple[int, ...], WrittenForm], _Shown](1 << 9)
"""Rows of a machine's axes, by the objects that the last answer of drift gave for them."""


def _counts(counts: Mapping[str, int]) -> str:
    """How many axes do not stand in line, and how: `2 drifted, 1 export overdue`."""
    rest = {status: count for status, count in counts.items() if status != "in_line"}
    told = (f"{number_text(count)} {status_words(status)}" for status, count in rest.items())
    return ", ".join(told) or status_words("in_line")


def _minute(moment: datetime | None) -> str:
    return "" if moment is None else minute_text(moment)


def _person(text: str) -> str:
    """A name without its mail."""
    return text.partition(" <")[0]


def _axis_rows(axes: Iterable[AxisDrift]) -> Markup:
    """Rows of a table of axes. On a large site most are as they were when it was last shown."""
    shown, moment = tuple(axes), now()
    days = tuple(_days(axis, moment) for axis in shown)
    # What is kept holds the axes, so that an id stays that of one of them.
    key = tuple(map(id, shown)), days, form()
    return _ROWS.of(key, lambda: (shown, _rows(shown, days)))[1]


def _rows(axes: Iterable[AxisDrift], days: Iterable[int]) -> Markup:
    rows = (
        _axis_row(
            axis.axis,
            axis.status,
            axis.count,
            axis.worst,
            axis.taken_at,
            ago,
            tuple(dict.fromkeys(remark.title for remark in axis.remarks)),
            counted(axis.floors),
            form(),
        )
        for axis, ago in zip(axes, days, strict=True)
    )
    return Markup("".join(rows))  # noqa: S704 (it was escaped here)


def _days(axis: AxisDrift, moment: datetime) -> int:
    """Whole days since an axis was seen."""
    return 0 if axis.taken_at is None else max(0, (moment - axis.taken_at).days)


@lru_cache(maxsize=1 << 13)
def _axis_row(
    axis: str,
    status: str,
    count: int,
    worst: str | None,
    seen: datetime | None,
    days: int,
    doubts: tuple[str, ...],
    floors: str,
    _form: WrittenForm,
) -> str:
    """A row as HTML."""
    since = "never" if seen is None else "today" if days == 0 else plural(days, "day")
    return render_template(
        "axis_row.html",
        axis=axis,
        status=status,
        count=count,
        worst=worst,
        seen=seen,
        since=since,
        doubts=doubts,
        floors=floors,
    )


def _log_entry(book: Logbook, entry: LogEntry) -> Markup:
    """An entry of a logbook. Most are as they were when it was last shown."""
    address = book.address
    side = address.controller if entry.side == "controller" else address
    return _log_entry_html(str(address), str(side), book.title_of(entry), entry, form())


@lru_cache(maxsize=1 << 12)
def _log_entry_html(
    address: str, side: str, title: str, one: LogEntry, _form: WrittenForm
) -> Markup:
    html = render_template("log_entry.html", address=address, side=side, title=title, one=one)
    return Markup(html)  # noqa: S704 (it was escaped there)


def _in_address(text: object) -> str:
    """A text as part of an address."""
    return quote(str(text), safe="/@~:,*.-_")


FUNCTIONS: dict[str, Any] = {
    "draw_overview": overview.draw,
    "draw_spread_columns": spread_strip.draw_columns,
    "draw_spread_strip": spread_strip.draw,
    "draw_timeline": timeline.draw,
    "axis_rows": _axis_rows,
    "mark": _mark,
    "status_words": status_words,
    "counts_words": _counts,
    "minute": _minute,
    "day": day_text,
    "person": _person,
    "linked": linked,
    "log_entry": _log_entry,
    "link_addresses": link_addresses,
    "fault_address": fault_address,
    "found_address": found_address,
    "in_address": _in_address,
    "error_text": error_text,
    "hint_text": hint_text,
    "page_words": page_words,
    "named_lines": named_lines,
    "rule_words": rule_words,
    "older_text": older_text,
    "marked": marked,
    "plural": plural,
    "counted_axes": counted_axes,
    "with_article": with_article,
    "capitalised": capitalised,
    "value_text": value_text,
    **template_margins.FUNCTIONS,
}

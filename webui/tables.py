"""Every table of a page as CSV: what the page shows, read back from its own HTML.

RFC 4180: commas, CRLF, the heads as the first line. It begins with a byte order mark, without
which spreadsheets take UTF-8 for another encoding. A text that a spreadsheet would run as a
formula gets an apostrophe in front; numbers stay as they are.
"""

from __future__ import annotations

import csv
import re
from html.parser import HTMLParser
from io import StringIO
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from markupsafe import escape

from vault.model.errors import WrongUsage

if TYPE_CHECKING:
    from collections.abc import Iterable

ASKED = "csv"
"""The name in the address by which a table is asked for: `csv=2` is the second one."""
_END = "</table>"
_FORMULA = re.compile(r"[=+\-@\t\r]")
_NUMBER = re.compile(
    r"[-+]?[\d.,' \u00a0\u202f]*\d(?:[ \u00a0](?:1/)?[^\W\d_][\w/·*^²³.-]*| ?[°%])?"
)
"""A number as pages show it, with its unit: nothing of it can be a formula."""
_VOID = {"br", "hr", "img", "input", "link", "meta", "wbr"}
_UNSEEN = {"svg", "select", "script", "button"}
_APART = {"br", "dd", "details", "div", "dt", "li", "p", "summary", "ul"}
"""Elements whose text stands on a line of its own."""


class _Tables(HTMLParser):
    """The rows of every table, in the order of the page; no cell of ours holds a table."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self._cell: list[str] | None = None
        self._span = 1
        self._unseen: list[str] = []  # open elements of which nothing is read, the outermost first

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        own = dict(attrs)
        if self._unseen or (self._cell is not None and _is_unseen(tag, own)):
            if tag not in _VOID:
                self._unseen.append(tag)
        elif tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self._cell, self._span = [], int(own.get("colspan") or 1)
        elif self._cell is not None:
            if tag in _APART:
                self._cell.append(" ")
            if tag == "input" and own.get("type", "text") == "text":
                self._cell.append(own.get("value") or "")

    def handle_endtag(self, tag: str) -> None:
        if self._unseen:
            self._unseen.pop()
        elif self._cell is not None and tag in ("td", "th"):
            text = " ".join("".join(self._cell).split())
            self.tables[-1][-1] += [text, *[""] * (self._span - 1)]
            self._cell = None
        elif self._cell is not None and tag in _APART:
            self._cell.append(" ")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self.handle_endtag(tag)

    def handle_data(self, data: str) -> None:
        if self._cell is not None and not self._unseen:
            self._cell.append(data)


def _is_unseen(tag: str, own: dict[str, str | None]) -> bool:
    """Whether an element is a picture or a mark, or something to act with, and no text."""
    return tag in _UNSEEN or own.get("aria-hidden") == "true"


def guarded(cell: str) -> str:
    """A cell that no spreadsheet runs: an apostrophe before what begins as a formula does.

    >>> guarded("-12.5 mm"), guarded("=1+1"), guarded("-2+3")
    ('-12.5 mm', "'=1+1", "'-2+3")
    """
    if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell


def table_as_csv(page: str, number: str) -> bytes:
    """One table of a page, counted from 1, as CSV in UTF-8. Raises WrongUsage."""
    parser = _Tables()
    parser.feed(page)
    count = len(parser.tables)
    if not (number.isascii() and number.isdecimal() and 1 <= int(number) <= count):
        hint = f"it has {count}, counted from 1" if count else "it has none"
        raise WrongUsage(f"this page has no table {number!r}", hint=hint)
    return _written(parser.tables[int(number) - 1])


def _written(rows: Iterable[Iterable[str]]) -> bytes:
    text = StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows([map(guarded, row) for row in rows])
    return text.getvalue().encode("utf-8-sig")


def with_links(page: str, asked: Iterable[tuple[str, str]]) -> str:
    """A page with a link below each of its tables that gives it as CSV, all else as `asked`.

    It is not read for that: what is said in it is escaped, so that every end of a table is one.
    """
    parts = page.split(_END)
    if len(parts) == 1:
        return page
    query = [(name, value) for name, value in asked if name != ASKED]
    links = (
        f'{_END}<p class="as-csv"><a href="?{escape(urlencode([*query, (ASKED, str(number))]))}"'
        f' aria-label="Table {number} as CSV" download>as CSV</a></p>'
        for number in range(1, len(parts))
    )
    return "".join(part for pair in zip(parts, [*links, ""], strict=True) for part in pair)

"""Exports with a code and its value on each line: INI text, and numbered lines.

`key = value ; comment` below `[Section]`, or `P1.05 Max speed : 3000 rpm`; what stands between code
and value comes from the family's `ExportDialect`. Keys are read as they are spelled, and quotes
around a value are none of it (there is no standard of INI text; common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING

from vault.formats import dcf
from vault.formats.line_scan import (
    LineScan,
    Placed,
    head_lines,
    listing_of,
    looks_like,
    places_of,
    scan_content,
)
from vault.formats.nameplate import labelled
from vault.formats.rows import Row, without_section_first
from vault.formats.text_back import put_back
from vault.formats.text_encoding import CUT_SHORT
from vault.formats.written_lines import written_lines
from vault.model.errors import WrongUsage

if TYPE_CHECKING:
    from vault.model.export import Listing, Scalar
    from vault.model.export_dialect import ExportDialect

_KEY = re.compile(r"\s*[^\s=:;#\[][^=:]{0,80}[=:]\s*\S")
_QUOTED = re.compile(r'"([^"]*)"\s*')


def recognises(content: bytes, file: str) -> bool:
    """Say whether the first lines are mostly keys with values: a weak sign."""
    lines = [line for line in head_lines(content) if line.lstrip()[:1] not in (";", "#", "[")]
    keys = sum(_KEY.match(line) is not None for line in lines)
    return keys >= 3 and keys * 2 > len(lines)


def matches(content: bytes, dialect: ExportDialect) -> bool:
    """Say whether the first 64 KiB hold rows, and all by which the dialect recognises an export.

    Keys with values stand in files of many programs, so that a dialect without `recognise` fits
    none; nor does any fit an EDS or DCF file.
    """
    if not dialect.recognise or not looks_like(content, dialect, KeyedScan):
        return False
    return not dcf.recognises(content, "")


def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of an export; see `Format` in the registry. No value refers to a node id."""
    scan, encoding = scan_content(content, dialect, file, KeyedScan)
    return listing_of(scan, format="keyed", file=file, channel=channel, encoding=encoding)


def write_back(
    original: bytes,
    values: Mapping[str, Scalar],
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    drop: Collection[str] = (),
) -> bytes:
    """Put values into an export, by code; see `WritesBack` in the registry."""
    scan, _ = scan_content(original, dialect, file, KeyedScan)
    return put_back(
        original,
        lambda lines: places_of(KeyedScan(lines, scan.dialect), lambda *_: str),
        values,
        file=file,
        dialect=scan.dialect,
        channel=channel,
        drop=drop,
    )


def write(listing: Listing, *, dialect: ExportDialect | None) -> bytes:
    """Write an export that reads back with the same values and nameplate.

    Rows of a section stand together, so that each has one heading. Raises WrongUsage without a
    dialect, and for what would read back as another.
    """
    if dialect is None:
        raise WrongUsage("this text is written with a family's dictionary")
    return written_lines(listing, dialect, _lines(listing, dialect), KeyedScan)


def _lines(listing: Listing, dialect: ExportDialect) -> Iterator[tuple[str, str]]:
    rule, template = dialect.channel, dialect.section or "[{name}]"
    mark = dialect.assign if dialect.assign.isspace() else f" {dialect.assign.strip()} "
    sections: dict[str, list[tuple[str, str]]] = {"": []}
    for label, name, value in labelled(listing, dialect):
        section, _, key = label.rpartition("/")
        text = f"{key.rstrip().rstrip(':')}{mark}{_quoted(value, dialect)}"
        sections.setdefault(section, []).append((f"nameplate {name}", text))
    yield from sections[""]
    sections[""] = []
    if rule and rule.section and listing.channel is not None:
        yield "the section", rule.section.replace("{n}", str(listing.channel))
    for entry, cells in without_section_first(listing.entries, dialect):
        place, name = dialect.columns.get("name"), " ".join(cells["name"].split())
        before = f" {name}" if place == "code" and name else ""
        beside = name if place in (None, "comment") else ""
        if dialect.columns.get("unit") == "comment":
            beside = cells["unit"]
        behind = f" {dialect.comment} {beside}" if dialect.comment and beside else ""
        value = _quoted(cells["value"], dialect)
        line = f"{cells['code']}{before}{mark}{value}{behind}"
        sections.setdefault(cells["section"], []).append((entry.code, line))
    for section, owned in sections.items():
        if section:
            yield f"section {section}", template.replace("{name}", section)
        yield from owned


def _quoted(text: str, dialect: ExportDialect) -> str:
    """A text in quotes, where a part of it would be taken for a comment."""
    return f'"{text}"' if dialect.comment and dialect.comment in text else text


class KeyedScan(LineScan):
    """The lines of an export with a code and its value on each."""

    has_ini_headings = True

    def __init__(self, lines: list[str], dialect: ExportDialect) -> None:
        assign, comment = dialect.assign, dialect.comment
        self.separators = "".join(dict.fromkeys((*LineScan.separators, assign.strip() or assign)))
        self._assign = re.compile(r"\s+" if assign == " " else re.escape(assign))
        self._comment = re.compile(rf"(?<!\s)\s+{re.escape(comment)}") if comment else None
        super().__init__(lines, dialect)

    def take(self, at: int, text: str) -> None:
        """Take code and value, and what stands beside them."""
        begin = len(text) - len(text.lstrip())
        assign = self._assign.search(text, begin)
        if assign is None:
            mark = "a blank" if self.dialect.assign == " " else repr(self.dialect.assign)
            reason = f"this is neither a section, a code with {mark} behind it, nor a comment"
            self.skip(at, reason)
            return
        places, code = self.dialect.columns, " ".join(text[begin : assign.start()].split())
        start, end, beside = self._value(text, assign.end())
        cells = {"code": code, "value": text[start:end]}
        if places.get("name") == "code":
            cells["code"], _, cells["name"] = code.partition(" ")
        if places.get("unit") == "comment":
            cells["unit"] = beside.strip("[]() ")
        if places.get("name", "" if "unit" in places else "comment") == "comment":
            cells["name"] = beside
        if self.dialect.section:
            cells["section"] = self.section
        if start == end and code and not self.lines[at].endswith(("\n", "\r")):
            self.skip(at, f"the last line ends before its value: {CUT_SHORT}")
        else:
            self.rows.append(Placed(Row(cells, at + 1, channel=self.channel), start, end))

    def nameplate_text(self, text: str) -> str:
        """What stands behind a label, without quotes and comment."""
        start, end, _ = self._value(text, 0)
        return text[start:end].strip()

    def _value(self, text: str, at: int) -> tuple[int, int, str]:
        """Where the value stands behind that place, and the comment behind it."""
        start = at + len(text[at:]) - len(text[at:].lstrip())
        end, behind = len(text), len(text)
        if (quoted := _QUOTED.match(text, start)) and (
            quoted.end() == len(text) or self._is_comment(text, quoted.end())
        ):
            start, end, behind = *quoted.span(1), quoted.end()
        elif self._is_comment(text, start):
            end = behind = start
        elif self._comment and (mark := self._comment.search(text, start)):
            end = behind = mark.start()
        end = max(start, start + len(text[start:end].rstrip()))
        comment = text[behind:].strip()
        return start, end, comment.removeprefix(self.dialect.comment or "").strip()

    def _is_comment(self, text: str, at: int) -> bool:
        comment = self.dialect.comment
        return bool(comment) and text.startswith(comment or "", at)

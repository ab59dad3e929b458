"""The lines of an export that has a parameter on each: what is nameplate, heading, comment or row.

What is common to `keyed` and `fixed`; each of them says how it takes a row apart.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from vault.formats.headings import heading
from vault.formats.nameplate import (
    HEAD_LINES,
    NameplateLine,
    fits,
    labels_of,
    nameplate_of,
    plain_label,
)
from vault.formats.rows import Row, channel_of, code_of, needed, read_rows
from vault.formats.text_back import Place, line_starts
from vault.formats.text_encoding import (
    CUT_SHORT,
    HALF_CHARACTER,
    decode,
    head_text,
    split_lines,
)
from vault.formats.text_whole import ends_of, remarks_of
from vault.model.errors import Unreadable
from vault.model.export import Listing, SkippedLine
from vault.model.patterns import is_found

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_BEHIND_HEADING = r"\s*(?:[;#].*)?"
_INI_HEADING = re.compile(rf"\s*\[([^\[\]]*)\]{_BEHIND_HEADING}\Z")
_SHOWN = 80


@dataclass(frozen=True, slots=True)
class Placed:
    """A row, and the part of its line that holds its value, from and up to a character."""

    row: Row
    start: int
    end: int


class LineScan(ABC):
    """One pass over the lines, each with its end. `rows` and what was `skipped` are its results."""

    separators = ":=\t"
    """What may stand between a label of the nameplate and its text."""

    has_ini_headings = False
    """Whether `[name]` is a heading, where the dialect has no sections too."""

    def __init__(self, lines: list[str], dialect: ExportDialect) -> None:
        self.lines = lines
        self.dialect = dialect
        self.rows: list[Placed] = []
        self.nameplate: list[NameplateLine] = []
        self.skipped: list[tuple[int | None, SkippedLine]] = []
        self.channel: int | None = None
        self.section = ""
        self.labels = labels_of(dialect)
        self._label = self._label_pattern()
        rule = dialect.channel
        axis = rule.section if rule else None
        self._is_axis_in_brackets = (axis or "").strip().startswith("[")
        self._axis = heading(axis, _BEHIND_HEADING) if axis else None
        self._name = heading(dialect.section, _BEHIND_HEADING) if dialect.section else None
        begins = (t.partition("{n")[0].strip() for t in (axis, dialect.section) if t)
        self._begins = tuple(filter(None, begins))
        self._broken = 0  # the line of a heading that cannot be read
        self._told: dict[tuple[int | None, str], NameplateLine] = {}
        for at, line in enumerate(lines):
            self._line(at, line.rstrip("\r\n"))

    def _label_pattern(self) -> re.Pattern[str] | None:
        spelled = (label.strip().rstrip(":").rstrip() for label in self.dialect.nameplate)
        texts = {*self.labels, *spelled}  # small letters do not always match the great ones: ß
        names = {last for text in texts for last in (text, text.rpartition("/")[2])}
        if not names:
            return None
        labels = "|".join(map(re.escape, sorted(names, key=len, reverse=True)))
        marks = re.escape(self.separators).replace(r"\ ", r"\s")
        return re.compile(rf"\s*({labels})\s*[{marks}]\s*(.*)", re.IGNORECASE)

    def is_aside(self, line: str) -> bool:
        """True for blank lines and comments."""
        comment = self.dialect.comment
        return not line.strip() or bool(comment and line.lstrip().startswith(comment))

    def _line(self, at: int, text: str) -> None:
        if self._is_nameplate(at, text) or self.is_aside(text):
            return
        if at == len(self.lines) - 1 and text.endswith(HALF_CHARACTER):
            self.skip(at, f"{CUT_SHORT} within a character")
        elif _CONTROL.search(text):
            self.skip(at, "the line holds control characters")
            self._broken = at + 1 if self._begins_heading(text) else self._broken
        elif not self._is_heading(text):
            if self._begins_heading(text):
                if self._is_row(at, text):
                    return
                self._broken = at + 1
            if self._broken > at:
                self.skip(at, "this is no heading as the dictionary has it")
            elif self._broken:
                self.skip(at, f"the heading above it, in line {self._broken}, cannot be read")
            else:
                self.take(at, text)

    @abstractmethod
    def take(self, at: int, text: str) -> None:
        """Take a line apart that is none of the others: a row, or one to be skipped."""

    def _is_row(self, at: int, text: str) -> bool:
        """Whether a line that begins as a heading of words is a row, and take it then.

        `AxisType = 3` is one where a heading is `Axis {n}`; what begins with `[` never is.
        """
        rows, skipped = len(self.rows), len(self.skipped)
        if self._broken or not text.lstrip()[0].isalnum():
            return False
        self.take(at, text)
        row = self.rows[-1].row if len(self.rows) > rows else None
        if row is not None and row.text("code") and row.text("value"):
            return True
        del self.rows[rows:], self.skipped[skipped:]
        return False

    def skip(self, at: int, reason: str) -> None:
        """Set a line aside."""
        text = self.lines[at].rstrip("\r\n")[:_SHOWN]
        self.skipped.append((self.channel, SkippedLine(at + 1, text, reason)))

    def _begins_heading(self, text: str) -> bool:
        return bool(self._begins) and text.lstrip().startswith(self._begins)

    def _is_heading(self, text: str) -> bool:
        if self._axis and (found := self._axis.match(text)):
            self.channel, self.section, self._broken = int(found[1]), "", 0
        elif self._name and (found := self._name.match(text)):
            self.section, self._broken = found[1].strip(), 0
        elif self.has_ini_headings and not self._name and (found := _INI_HEADING.match(text)):
            # Where sections are no part of the codes, one of them ends an axis that is one too.
            self.section, self._broken = found[1].strip(), 0
            self.channel = None if self._is_axis_in_brackets else self.channel
        else:
            return False
        return True

    def _is_nameplate(self, at: int, text: str) -> bool:
        found = self._label.fullmatch(text) if self._label else None
        if found is None:
            return False
        own = plain_label(f"{self.section}/{found[1]}")
        label = own if own in self.labels else plain_label(found[1])
        if label not in self.labels:
            return False
        if value := self.nameplate_text(found[2]):
            line = NameplateLine(self.channel, at + 1, label, value, text)
            first = self._told.setdefault((self.channel, label), line)
            if first is line:
                self.nameplate.append(line)
            elif first.value != value:  # pages of a list may tell it again
                name = found[1].strip()
                self.skip(at, f"{name} is of the nameplate, and stands in line {first.line} too")
        return True

    def nameplate_text(self, text: str) -> str:
        """What stands behind a label."""
        return text.strip()


class Scanner(Protocol):
    """What makes a scan of lines."""

    def __call__(self, lines: list[str], dialect: ExportDialect) -> LineScan:
        """Scan them."""


def scan_content(
    content: bytes, dialect: ExportDialect | None, file: str, scanner: Scanner
) -> tuple[LineScan, str]:
    """Scan an export; returns its encoding too. Raises Unreadable, WrongUsage without a dialect."""
    dialect = needed(dialect, "this text", file)
    text, encoding = decode(content, dialect.encoding, file=file, cut_off=True)
    if not text.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    scan = scanner(split_lines(text), dialect)
    if not scan.rows:
        raise Unreadable(
            "no line holds a code and its value as the dictionary has them",
            file=file,
            line=1,
            hint="this may be an export of another family: name it with --family",
            problems=tuple(line for _, line in scan.skipped),
        )
    return scan, encoding


def listing_of(
    scan: LineScan, *, format: str, file: str, channel: int | None, encoding: str
) -> Listing:
    """What a scan amounts to for one axis. Raises WrongUsage where that must be chosen."""
    dialect = scan.dialect
    found = read_rows((placed.row for placed in scan.rows), dialect, channel, file)
    skipped = [bad for owner, bad in scan.skipped if owner is None or owner == found.channel]
    skipped += found.skipped
    nameplate, taken_at = nameplate_of(scan.nameplate, dialect, found.channel, skipped)
    last = max(placed.row.line for placed in scan.rows)
    return Listing(
        format=format,
        entries=found.entries,
        nameplate=nameplate,
        skipped=tuple(sorted(skipped, key=lambda bad: bad.line)),
        holds=dialect.holds,
        encoding=encoding,
        channel=found.channel,
        channels=found.channels,
        taken_at=taken_at,
        remarks=remarks_of(
            scan.lines, scan.nameplate, len(scan.rows) + len(scan.skipped), scan.is_aside
        ),
        ends=ends_of(scan.lines, last, scan.is_aside),
    )


def places_of(
    scan: LineScan, putting: Callable[[str, Placed, ExportDialect], Callable[[str], str]]
) -> list[Place]:
    """Where the parameters of a scan stand; `putting` gives what puts a value into its line."""
    starts, found = line_starts(scan.lines), []
    for placed in scan.rows:
        at = placed.row.line - 1
        channel, reason = channel_of(placed.row)
        if not reason:
            put = putting(scan.lines[at].rstrip("\r\n"), placed, scan.dialect)
            start, end = starts[at] + placed.start, starts[at] + placed.end
            code, value = code_of(placed.row), placed.row.text("value")
            found.append(Place(code, channel, range(at, at + 1), start, end, value, put))
    return found


def looks_like(content: bytes, dialect: ExportDialect, scanner: Scanner) -> bool:
    """Whether the first 64 KiB are those of an export: what it is recognised by, and rows.

    More lines are rows with a code and a value than cannot be read.
    """
    if (text := head_text(content, dialect.encoding)) is None:
        return False
    lines = split_lines(text)
    pattern = dialect.recognise.get("text")
    if pattern is not None and not any(is_found(pattern, line) for line in lines[:HEAD_LINES]):
        return False
    scan = scanner(lines, dialect)
    whole = sum(bool(one.row.text("code") and one.row.text("value")) for one in scan.rows)
    others = len(scan.rows) - whole + len(scan.skipped)
    return whole > others and fits(dialect.recognise, lines, scan.nameplate, scan.labels)


def head_lines(content: bytes) -> list[str]:
    """The first lines that are not blank, whoever wrote them; none where it is no text."""
    lines = (head_text(content, may_be_cut=True) or "").splitlines()
    return [line for line in lines if line.strip()][:HEAD_LINES]

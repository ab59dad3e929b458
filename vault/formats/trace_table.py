"""Reading the recording of a move: a table of samples, as every drive's own tool can save one.

Text with any of the usual marks between its cells, or the first sheet with such a table. The
headings name channel and unit (`vault.formats.trace_headings`); the units may stand in a row of
their own below. Lines above the headings are passed over.
"""

from __future__ import annotations

import csv
import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import median

from vault.formats.sheet import open_workbook
from vault.formats.sheet import recognises as is_workbook
from vault.formats.text_encoding import decode, split_lines
from vault.formats.trace_headings import is_unit, read_heading, split_unit
from vault.model.errors import Unreadable
from vault.model.quantities import UnknownUnit, canonical_unit, physical
from vault.model.trace import CHANNELS, FEWEST, GAP, MOST, Column, Gap, Trace
from vault.model.wording import plural

_ENCODINGS = ("utf-8", "windows-1252", "utf-16")
_DELIMITERS = (";", "\t", ",", "|", " ")
_HEADER_REACH = 200
_LONGEST_LINE = 20_000
"""Characters; hundreds of channels have less."""
_LARGEST = 1e20
"""Above all that a drive counts: what is reckoned of it, squares and cubes, stays a number."""
_SHORTEST_STEP = 1e-9
"""Seconds; a thousand times below the quickest recording."""
_UNEVEN = 0.1
_NUMBER = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d{1,3})?")
_WHOLE_GROUPS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
_HINT = (
    "write the unit behind the heading, as in 'position actual [mm]', or in a row of its own below"
)
_HINT_TABLE = "save the recording as a table, a row for each sample"
_HINT_HEADINGS = (
    "write the headings as in 'time [ms]', 'position demand [mm]', 'position actual [mm]', "
    "'velocity [mm/s]', 'torque [N*m]', 'following error [mm]', or in German likewise"
)
_NEEDED = "a trace needs a column of time, and one of position or of velocity"


@dataclass(frozen=True, slots=True)
class _Rows:
    """A table as it lies in the file: cells with the numbers of their lines."""

    cells: Sequence[Sequence[str]]
    lines: Sequence[int]


def read_trace(
    content: bytes,
    file: str,
    names: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
) -> Trace:
    """Read a trace. `names` says which heading stands for a channel, before ours are tried.

    `units` are those of channels whose column states none.

    Raises Unreadable with line and reason: no such table, a column without unit, a cell that is no
    number, time that does not rise, too few samples.
    """
    wanted = {" ".join(text.split()).casefold(): channel for channel, text in (names or {}).items()}
    best: tuple[int, int, _Rows, dict[int, tuple[str, str | None]]] | None = None
    unknown: tuple[int, Sequence[str]] | None = None
    for rows in _tables(content, file):
        for at, cells in enumerate(rows.cells[:_HEADER_REACH]):
            found = _headings(cells, wanted)
            if len(found) >= 2 and (best is None or len(found) > best[0]):
                best = len(found), at, rows, found
            if unknown is None and _is_above_numbers(rows, at):
                unknown = rows.lines[at], cells
    if best is None:
        line, headings = unknown or (1, ())
        raise Unreadable(
            f"no row of headings: {_NEEDED}", file=file, line=line, hint=_lines_to_write(headings)
        )
    _, at, rows, found = best
    return _Reading(file, rows, at, found, units or {}).trace()


def _is_above_numbers(rows: _Rows, at: int) -> bool:
    """Whether a row of texts has numbers below it, perhaps with units between."""
    texts = [n for n, cell in enumerate(rows.cells[at]) if cell and not _NUMBER.fullmatch(cell)]
    below = rows.cells[at + 1 : at + 3]
    return len(texts) >= 2 and any(
        all(n < len(row) and _NUMBER.fullmatch(row[n]) for n in texts) for row in below
    )


def _lines_to_write(headings: Sequence[str]) -> str:
    """What to write into a dictionary, where the headings are there and we know none of them."""
    texts = [f'"{split_unit(text)[0]}"' for text in headings if text]
    if len(texts) < 2:
        return _HINT_HEADINGS
    return (
        f"{_HINT_HEADINGS}; or say in the family's dictionary which of {', '.join(texts)} "
        "is which: "
        f"trace: {{columns: {{time: {texts[0]}, position_actual: {texts[1]}}}}}, "
        "and under units: the unit of a column that states none"
    )


def _tables(content: bytes, file: str) -> Iterator[_Rows]:
    if is_workbook(content, file):
        for sheet in open_workbook(content, file).sheets:
            numbers = sorted(sheet.rows)
            width = max((max(row) for row in sheet.rows.values() if row), default=0)
            cells = [
                [_cell_text(sheet.row(number).get(at)) for at in range(1, width + 1)]
                for number in numbers
            ]
            yield _Rows(cells, numbers)
        return
    text, _ = decode(content, _ENCODINGS, file=file, cut_off=True)
    lines = split_lines(text)
    if len(lines) > MOST + _HEADER_REACH:
        reason = f"more than {MOST:,} lines are no trace of a move"
        raise Unreadable(reason, file=file, line=MOST)
    for number, line in enumerate(lines, start=1):
        if len(line) > _LONGEST_LINE:
            reason = f"a line of {len(line):,} characters is no row of samples"
            raise Unreadable(reason, file=file, line=number, hint=_HINT_TABLE)
    for mark in _DELIMITERS:
        head = [line for line in lines[:_HEADER_REACH] if mark in line.strip()]
        if head:
            yield _parted(lines, mark)


def _cell_text(cell: object) -> str:
    value = getattr(cell, "value", "")
    return str(value).strip()


def _parted(lines: Sequence[str], mark: str) -> _Rows:
    cells, numbers = [], []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        if mark == " ":
            row = re.split(r"\s{2,}|\s+(?=[-+\d])", line.strip())
        else:
            row = next(csv.reader([line.rstrip("\r\n")], delimiter=mark), [])
        cells.append([cell.strip() for cell in row])
        numbers.append(number)
    return _Rows(cells, numbers)


def _headings(cells: Sequence[str], wanted: Mapping[str, str]) -> dict[int, tuple[str, str | None]]:
    """Channel and unit of each column of a row that may be the headings; empty for another."""
    found: dict[int, tuple[str, str | None]] = {}
    for at, text in enumerate(cells):
        if not text or _NUMBER.fullmatch(text):
            continue
        named, unit = read_heading(text)
        own = wanted.get(" ".join(text.split()).casefold())
        channel = own or wanted.get(split_unit(text)[0].casefold(), named)
        if channel is not None and channel in CHANNELS:
            found[at] = channel, unit
    names = {channel for channel, _ in found.values()}
    moves = any(name.startswith(("position", "velocity")) for name in names)
    return found if "time" in names and moves else {}


class _Reading:
    """A table on its way to a trace."""

    def __init__(
        self,
        file: str,
        rows: _Rows,
        at: int,
        found: Mapping[int, tuple[str, str | None]],
        stated: Mapping[str, str],
    ) -> None:
        self.stated = stated
        self.file, self.rows, self.at, self.found = file, rows, at, found
        self.headings = rows.cells[at]
        self.line = rows.lines[at]

    def trace(self) -> Trace:
        self._refuse_twice()
        first, units = self._units()
        cells = self.rows.cells[first:]
        lines = self.rows.lines[first:]
        cells, lines = self._without_foot(cells, lines)
        if len(cells) < FEWEST:
            reason = f"{plural(len(cells), 'sample')}: a trace has at least {FEWEST}"
            raise self._bad(reason, self.line)
        comma = self._decimal_comma(cells, lines)
        columns = {
            channel: Column(
                channel, self.headings[at], units[at], self._numbers(cells, lines, at, comma)
            )
            for at, (channel, _) in self.found.items()
        }
        times = self._times(columns.pop("time"), lines)
        gaps, uneven = _steps(times, lines)
        left = [text for at, text in enumerate(self.headings) if text and at not in self.found]
        return Trace(self.file, times, columns, gaps, uneven, tuple(left))

    def _bad(self, reason: str, line: int, hint: str | None = None) -> Unreadable:
        return Unreadable(reason, file=self.file, line=line, hint=hint)

    def _refuse_twice(self) -> None:
        seen: dict[str, str] = {}
        for at, (channel, _) in self.found.items():
            if channel in seen:
                both = f"{seen[channel]!r} and {self.headings[at]!r}"
                reason = f"two columns for {CHANNELS[channel]}: {both}"
                raise self._bad(reason, self.line, "leave one out, or name the column to take")
            seen[channel] = self.headings[at]

    def _units(self) -> tuple[int, dict[int, str]]:
        """Where the samples begin, and the unit of each column."""
        below = self.rows.cells[self.at + 1] if self.at + 1 < len(self.rows.cells) else ()
        texts = [below[at] if at < len(below) else "" for at in self.found]
        own_row = any(texts) and not any(_NUMBER.fullmatch(text) for text in texts)
        units: dict[int, str] = {}
        for at, (channel, unit) in self.found.items():
            text = unit
            if text is None and own_row and at < len(below):
                text = below[at].strip("[](){} ") or None
            text = text or self.stated.get(channel)
            if text is None:
                reason = f"the column {self.headings[at]!r} has no unit"
                write = f"trace: {{units: {{{channel}: UNIT}}}}"
                hint = f"{_HINT}; else write {write} into the family's dictionary"
                raise self._bad(reason, self.line, hint)
            units[at] = self._unit(at, channel, text)
        return self.at + (2 if own_row else 1), units

    def _unit(self, at: int, channel: str, text: str) -> str:
        try:
            unit = canonical_unit(text) if is_unit(text) else None
        except UnknownUnit:
            unit = None
        if unit is None:
            reason = f"the column {self.headings[at]!r} is in {text!r}, which is no unit we know"
            raise self._bad(reason, self.line, _HINT)
        if channel == "time":
            size = physical(1, unit)
            if size is None or size.kind != "time":
                raise self._bad(f"time is in {text!r}: that is no time", self.line, _HINT)
        return unit

    def _without_foot(
        self, cells: Sequence[Sequence[str]], lines: Sequence[int]
    ) -> tuple[Sequence[Sequence[str]], Sequence[int]]:
        """Without closing lines that hold no number where the channels stand."""
        end = len(cells)
        while end and not any(
            at < len(cells[end - 1]) and _NUMBER.fullmatch(cells[end - 1][at]) for at in self.found
        ):
            end -= 1
        return cells[:end], lines[:end]

    def _decimal_comma(self, cells: Sequence[Sequence[str]], lines: Sequence[int]) -> bool:
        """Whether the comma is the decimal mark. Raises Unreadable where it may be either."""
        doubtful = 0
        seen = False
        for row, line in zip(cells, lines, strict=True):
            for at in self.found:
                text = row[at] if at < len(row) else ""
                if "," not in text:
                    continue
                if "." in text or text.count(",") > 1:
                    reason = f"{text!r} has marks between thousands: write plain numbers"
                    raise self._bad(reason, line)
                if not _WHOLE_GROUPS.fullmatch(text):
                    seen = True
                doubtful = doubtful or line
        if doubtful and not seen:
            reason = "a comma with three digits behind it, everywhere: decimals or thousands?"
            raise self._bad(reason, doubtful, "save it with more or fewer decimals, or with points")
        return seen

    def _numbers(
        self, cells: Sequence[Sequence[str]], lines: Sequence[int], at: int, comma: bool
    ) -> tuple[float, ...]:
        found = []
        for row, line in zip(cells, lines, strict=True):
            text = row[at] if at < len(row) else ""
            number = _number(text.replace(",", ".") if comma else text)
            if number is None or abs(number) > _LARGEST:
                shown = repr(text if len(text) < 40 else f"{text[:40]}…") if text else "nothing"
                heading = self.headings[at]
                raise self._bad(f"{shown} stands below {heading!r} where a number belongs", line)
            found.append(number)
        return tuple(found)

    def _times(self, column: Column, lines: Sequence[int]) -> tuple[float, ...]:
        size = physical(1, column.unit)
        factor = 1.0 if size is None else float(size.number())
        for number in range(1, len(lines)):
            before, now = column.samples[number - 1 : number + 1]
            if now <= before:
                reason = f"time does not rise: {now:g} {column.unit} after {before:g}"
                raise self._bad(reason, lines[number])
            if (now - before) * factor < _SHORTEST_STEP:
                reason = f"{now:g} {column.unit} follows {before:g}: no recording is so quick"
                raise self._bad(reason, lines[number], "look at the unit of the time")
        return tuple(sample * factor for sample in column.samples)


def _number(text: str) -> float | None:
    text = text.replace("\u2212", "-").replace("\u00a0", "")
    if not _NUMBER.fullmatch(text) or "," in text:
        return None
    number = float(text)
    return number if isfinite(number) else None


def _steps(times: Sequence[float], lines: Sequence[int]) -> tuple[tuple[Gap, ...], bool]:
    """The gaps, and whether the other steps differ."""
    steps = [after - before for before, after in itertools.pairwise(times)]
    usual = median(steps)
    gaps = tuple(
        Gap(lines[at + 1], times[at], times[at + 1])
        for at, step in enumerate(steps)
        if step > GAP * usual
    )
    rest = [step for step in steps if step <= GAP * usual]
    return gaps, max(rest) - min(rest) > _UNEVEN * usual

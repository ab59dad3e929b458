"""A text export as each of the tables that it may be: by a mark between cells, or by positions."""

from __future__ import annotations

import csv
import re
from codecs import lookup
from collections.abc import Iterator, Sequence

from charset_normalizer import CharsetMatch, from_bytes

from vault.formats.text_encoding import decode, split_lines
from vault.jobs.drafting.raw_table import MOST_LINES, Guess, RawTable
from vault.model.errors import Unreadable

_DELIMITERS = (";", "\t", ",", "|")
_COMMENTS = ("#", "//", "*", "!", "'")
_MOST_ROWS, _SPARED = 2000, 5  # of printed rows: one in so many may run over its column
_PLAIN_NUMBER = re.compile(r"[-+]?\d[\d.,' ]*")
_ENDS_IN_NUMBER = re.compile(r"[^\W\d_].*\d\Z")
_SAMPLE = 256 * 1024
# Those of text that programs of plants write (common practice, no source), likeliest first.
NARROW = (
    "windows-1252", "iso-8859-1", "windows-1250", "windows-1251", "windows-1254", "cp850",
    "cp437", "shift_jis", "gb18030", "euc_kr", "windows-1253",
)  # fmt: skip
_TOLD_WORDS = 5
# Umlauts and accents of French, Spanish, Italian and Nordic words; signs of units and of print.
_WESTERN = frozenset("äöüÄÖÜßéèêëàâçñîïôûùáíóúìòãõåæøÉÈÀÇÑÅÆØ°²³µ±·×–—’‘“”„…§\u00a0½¼Ω‰")


def read_text(content: bytes, file: str, encoding: str | None = None) -> tuple[str, str, Guess]:
    """The text of an export and its encoding, with what may be in doubt of it.

    Raises Unreadable for what is no text.
    """
    if encoding:
        text, found = decode(content, (encoding,), file=file)
        return text, found, Guess("encoding", encoding, 1.0, "as it was said")
    try:
        text, found = decode(content, ("utf-8", "utf-16"), file=file)
        return text, found, Guess("encoding", found, 1.0, "every byte fits it")
    except Unreadable as error:
        if b"\0" in content[:1024]:
            raise Unreadable("this is no text", file=file, line=error.line) from error
    names = list(NARROW)
    if not _is_western(content):
        likely = from_bytes(content[:_SAMPLE], cp_isolation=list(NARROW)).best()
        if likely is not None and not {"cp1252", "latin_1"} & {likely.encoding, *_alike(likely)}:
            names.sort(key=lambda name: lookup(name).name != lookup(likely.encoding).name)
    for name in names:
        try:
            text, found = decode(content, (name,), file=file)
        except Unreadable:
            continue
        if any("\x80" <= mark <= "\x9f" for mark in text):
            continue
        words = list(dict.fromkeys(word for word in text.split() if not word.isascii()))
        told = f"read so, these words stand in it: {', '.join(words[:_TOLD_WORDS])}"
        others = tuple(other for other in NARROW[:3] if other != found)
        return text, found, Guess("encoding", found, 0.8, told, others)
    raise Unreadable("this is text in no encoding that we know", file=file, line=1)


def _is_western(content: bytes) -> bool:
    """Whether all that is not ASCII is, in the usual encoding, a letter or sign of the West."""
    try:
        text = content[:_SAMPLE].decode("windows-1252")
    except UnicodeDecodeError:
        return False
    return all(mark in _WESTERN for mark in set(text) if not mark.isascii())


def _alike(likely: CharsetMatch) -> list[str]:
    """Encodings by which a text is the same one."""
    return likely.could_be_from_charset


def delimited_tables(text: str, delimiter: str | None = None) -> Iterator[RawTable]:
    """The text as a table with each mark that may stand between its cells."""
    lines = split_lines(text, MOST_LINES)
    for mark in _DELIMITERS if delimiter is None else (delimiter,):
        if sum(mark in line for line in lines) < 2:
            continue
        comment = comment_of(lines, mark)
        quote = quote_of(lines, mark)
        keys = {"format": "delimited", "delimiter": mark}
        if quote != '"':
            keys["quote"] = quote
        if comment:
            keys["comment"] = comment
        rows, numbers = _rows(lines, mark, comment, quote)
        yield RawTable(keys, rows, numbers)


def quote_of(lines: Sequence[str], delimiter: str) -> str:
    """With what cells are quoted: nothing where a quote stands in texts alone, as of an inch."""
    cells = [cell.strip() for line in lines for cell in line.split(delimiter)]
    single = sum(len(cell) > 1 and cell[0] == cell[-1] == "'" for cell in cells)
    if single and single * 2 >= sum(map(bool, cells)):
        return "'"
    try:
        for _ in csv.reader(lines, delimiter=delimiter, strict=True):
            pass
    except csv.Error:
        return ""
    return '"'


def comment_of(lines: Sequence[str], delimiter: str = "") -> str:
    """How comments begin: a mark with which some lines begin, and no row."""
    filled = [line.strip() for line in lines if line.strip()]
    for mark in _COMMENTS:
        begun = [line for line in filled if line.startswith(mark)]
        are_rows = delimiter and any(line.count(delimiter) > 1 for line in begun)
        if begun and not are_rows and len(begun) * 2 < len(filled):
            return mark
    return ""


def _rows(
    lines: Sequence[str], mark: str, comment: str, quote: str
) -> tuple[list[tuple[str, ...]], list[int]]:
    rows: list[tuple[str, ...]] = []
    numbers: list[int] = []
    blank = ["\n" if comment and line.lstrip().startswith(comment) else line for line in lines]
    if quote:
        reader = csv.reader(blank, delimiter=mark, quotechar=quote)
    else:
        reader = csv.reader(blank, delimiter=mark, quoting=csv.QUOTE_NONE)
    start = 1
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return rows, numbers
        except csv.Error:
            start = reader.line_num + 1
            continue
        if any(cell.strip() for cell in row):
            rows.append(tuple(cell.strip() for cell in row))
            numbers.append(start)
        start = reader.line_num + 1


def fixed_tables(text: str) -> Iterator[RawTable]:
    """The text with its columns where all lines of its longest block have a gap."""
    lines = [line.rstrip("\r\n") for line in split_lines(text, MOST_LINES)]
    spread = [at for at, line in enumerate(lines) if _is_row(line)]
    if len(spread) < 3:
        return
    comment = comment_of(lines)
    for header in spread[:30]:
        below = [
            at
            for at in range(header + 1, len(lines))
            if lines[at].strip() and not (comment and lines[at].lstrip().startswith(comment))
        ]
        apart = [at for at in below if _is_row(lines[at])]
        printed = [lines[at] for at in apart[:_MOST_ROWS]]
        edges = _edges(lines[header], printed)
        if any("  " in lines[header][start:end].strip() for start, end in edges):
            edges = _edges(lines[header], printed, spared=len(printed) // _SPARED)
        if len(edges) < 2:
            continue
        edges = _before_texts(lines[header], printed, edges)
        places = tuple(f"{start + 1}-{'' if end is None else end}" for start, end in edges)
        rows = [_parted(lines[at], edges) for at in (header, *below)]
        plate = [(lines[at].strip(),) for at in range(header) if lines[at].strip()]
        keys = {"format": "fixed", "header": " ".join(lines[header].split())}
        if comment:
            keys["comment"] = comment
        yield RawTable(keys, rows, [at + 1 for at in (header, *below)], places=places, plate=plate)


def _parted(line: str, edges: Sequence[tuple[int, int | None]]) -> tuple[str, ...]:
    """The cells of a row; a line that is none has its text in the first."""
    if not _is_row(line):
        return (line.strip(), *[""] * (len(edges) - 1))
    return tuple(line[start:end].strip() for start, end in edges)


def _is_row(line: str) -> bool:
    return any(map(str.isalnum, line)) and "  " in line.strip() and "\t" not in line


def _edges(header: str, rows: Sequence[str], *, spared: int = 0) -> list[tuple[int, int | None]]:
    """Begin and end of each column: where the header begins a word behind a gap and rows do too.

    The blank before the next column is of none, so that a text that runs into it is noticed; in so
    many rows as are `spared` it may.
    """
    if len(rows) < 2:
        return []
    width = max(map(len, (header, *rows)))
    padded = [line.ljust(width) for line in (header, *rows)]
    free = [
        padded[0][at] == " " and sum(line[at] != " " for line in padded[1:]) <= spared
        for at in range(width)
    ]
    starts: list[int] = []
    at = 0
    while at < width:
        if free[at]:
            at += 1
            continue
        end = at
        while end < width and not free[end]:
            end += 1
        gap_before = at and free[at - 1]
        wide = at >= 2 and free[at - 1] and free[at - 2]
        below = any(line[at:end].strip() for line in padded[1:])
        begins_word = padded[0][at] != " " or _right_aligned(padded[0], at, end)
        if not starts or wide or (gap_before and below and begins_word):
            starts.append(at)
        at = end
    return [
        (start, starts[number + 1] - 1 if number + 1 < len(starts) else None)
        for number, start in enumerate(starts)
    ]


def _before_texts(
    header: str, rows: Sequence[str], edges: Sequence[tuple[int, int | None]]
) -> list[tuple[int, int | None]]:
    """Columns of numbers begin where these and their heading do: what else begins before that is
    the end of a long name, and the number behind it is none to guess at.
    """
    starts = [start for start, _ in edges]
    for number, (start, end) in enumerate(edges):
        cells = [row[start:end].rstrip() for row in rows if row[start:end].strip()]
        begins = [_lead(cell) for cell in cells if _PLAIN_NUMBER.fullmatch(cell.strip())]
        first = min([*begins, _lead(header[start:end])])
        glued = sum(
            _lead(cell) < first and _ENDS_IN_NUMBER.search(cell) is not None for cell in cells
        )
        if number and glued and (len(begins) + glued) * 2 > len(cells):
            starts[number] += first
    return [
        (start, starts[number + 1] - 1 if number + 1 < len(starts) else None)
        for number, start in enumerate(starts)
    ]


def _lead(cell: str) -> int:
    return len(cell) - len(cell.lstrip())


def _right_aligned(header: str, start: int, end: int) -> bool:
    """Whether a heading stands at the right end of what the rows have."""
    return header[start:end].strip() != "" and header[end - 1] != " "

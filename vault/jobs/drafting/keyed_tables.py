"""A text export as codes with their values, one a line: INI text, and numbered lines."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence

from vault.formats.text_encoding import split_lines
from vault.jobs.drafting.column_words import field_meant
from vault.jobs.drafting.raw_table import MOST_LINES, RawTable
from vault.model.quantities import UnknownUnit, canonical_unit

_ASSIGN = ("=", ":", "\t")
_SPACED = " : "
_COMMENTS = (";", "#", "//", "--")
_SECTION = re.compile(r"\s*\[([^\]]+)\]\s*")
_CODE_AND_NAME = re.compile(r"(?=\S*\d)[\w#$%.:/-]+ +\S.*")
_BETWEEN_CELLS = frozenset(";,|\t")
_WITH_COLON = re.compile(
    r"\s*(?:(?:0x|16#)[0-9a-f]{1,4}|[0-9a-f]{4}h?):(?:0x)?[0-9a-f]{1,3}h?\s+\S", re.I
)
_DEVICE = frozenset(
    [
        "device", "header", "info", "information", "general", "drive", "file", "identification",
        "nameplate", "head", "meta", "export", "gerät", "kopf", "allgemein", "antrieb",
        "typenschild", "datei", "kennung",
    ]
)  # fmt: skip


def keyed_tables(text: str, assign: str | None = None) -> Iterator[RawTable]:
    """The text as codes and values with each mark that may stand between the two."""
    lines = [line.rstrip("\r\n") for line in split_lines(text, MOST_LINES)]
    filled = [line for line in lines if line.strip()]
    for mark in _ASSIGN if assign is None else (assign,):
        if assign is None and mark == ":" and _is_within_codes(filled):
            mark = _SPACED
        having = sum(mark in line for line in filled)
        if having >= 3 and having * 2 >= len(filled):
            yield _table(lines, mark)


def _is_within_codes(lines: Sequence[str]) -> bool:
    """Whether a colon stands within codes such as `0x6065:00`, so that it parts nothing."""
    within = (
        _WITH_COLON.match(line) is not None or ":" in line[: max(line.find(_SPACED), 0)]
        for line in lines
    )
    return sum(within) * 2 > len(lines)


def _table(lines: Sequence[str], mark: str) -> RawTable:
    comment = _comment_of(lines)
    rows: list[tuple[str, ...]] = []
    numbers: list[int] = []
    plate: list[tuple[str, ...]] = []
    alone: list[str] = []
    section, has_sections = "", False
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if not text or (comment and text.startswith(comment)) or text[0] in ";#":
            continue
        if (found := _SECTION.fullmatch(text)) is not None:
            section, has_sections = found[1].strip(), True
            continue
        code, there, rest = text.partition(mark)
        if not there:
            plate.append((text,))
            alone += [] if mark == _SPACED and ":" in text else [text]
            continue
        value, beside = _apart(rest, comment)
        if section.casefold() in _DEVICE and field_meant(code) is not None:
            plate.append((f"{section}/{code.strip()}" if section else code.strip(), value))
            continue
        rows.append((" ".join(code.split()), value, beside, section))
        numbers.append(number)
    if not has_sections:
        head = _plate_above(rows)
        plate += [(row[0], row[1]) for row in rows[:head]]
        rows, numbers = rows[head:], numbers[head:]
    if sum(bool(set(row[0]) & _BETWEEN_CELLS) for row in rows) * 2 > len(rows):
        rows, numbers = [], []  # a table, with its mark in one of the cells
    keys: dict[str, str] = {"format": "keyed", "assign": mark}
    if comment or len(set(alone)) == 1:  # a title is passed over as a comment is
        keys["comment"] = comment or alone[0]
    codes = [row[0] for row in rows]
    named = sum(_CODE_AND_NAME.fullmatch(code) is not None for code in codes)
    headings, places = ["code", "value"], ["", ""]
    behind = [row[2] for row in rows if row[2]]
    third = "unit" if behind and sum(map(_is_unit, behind)) > 0.7 * len(behind) else "name"
    has_names = bool(codes) and named * 10 >= len(codes) * 9
    if behind and not (third == "name" and has_names):
        headings.append(third)
        places.append("comment")
    else:
        rows = [(*row[:2], row[3]) for row in rows]
    if has_names:
        rows = [(*_parted(row[0]), *row[1:]) for row in rows]
        headings.insert(1, "name")
        places.insert(1, "code")
    if has_sections:
        headings.append("section")
        places.append("")
        keys["section"] = "[{name}]"
    else:
        rows = [row[:-1] for row in rows]
    return RawTable(
        keys, rows, numbers, headings=tuple(headings), places=tuple(places), plate=plate
    )


def _plate_above(rows: Sequence[tuple[str, ...]]) -> int:
    """How many of the first rows are of a nameplate: its labels, before codes with digits."""
    head = 0
    while head < len(rows) and not re.search(r"\d", rows[head][0]):
        head += 1
    known = sum(field_meant(row[0]) is not None for row in rows[:head])
    codes = rows[head:]
    return head if known * 2 >= head and any(codes) else 0


def _parted(code: str) -> tuple[str, str]:
    first, _, name = code.partition(" ")
    return first, name.strip()


def _comment_of(lines: Sequence[str]) -> str:
    """What stands before comments: behind values first, else at the begin of lines."""
    behind = Counter(
        mark for line in lines for mark in _COMMENTS if re.search(rf"\S\s+{re.escape(mark)}", line)
    )
    if behind:
        return behind.most_common(1)[0][0]
    begun = Counter(mark for line in lines for mark in _COMMENTS if line.lstrip().startswith(mark))
    return begun.most_common(1)[0][0] if begun else ""


def _apart(rest: str, comment: str) -> tuple[str, str]:
    text = rest.strip()
    if text.startswith('"') and (end := text.find('"', 1)) > 0:
        beside = text[end + 1 :].strip()
        return text[1:end], beside.removeprefix(comment).strip() if comment else ""
    if comment and (found := re.search(rf"(?:^|\s+){re.escape(comment)}", text)):
        return text[: found.start()].strip(), text[found.end() :].strip()
    return text, ""


def _is_unit(text: str) -> bool:
    try:
        return canonical_unit(text) is not None
    except UnknownUnit:
        return False

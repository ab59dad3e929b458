"""What keeps equal codes apart: columns or headings that name axes and sections."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from vault.formats.headings import heading
from vault.jobs.drafting.column_words import numbered_axis
from vault.jobs.drafting.columns import ColumnsFound, is_sub_index
from vault.jobs.drafting.raw_table import Guess

_NAMED = re.compile(r"\[(.+)\]")
_LEAST_FOOTER = 3  # characters that can tell a line below the table


@dataclass(frozen=True, slots=True)
class _Line:
    """A row of a table with its code, or a heading between the rows."""

    code: str = ""
    axis: str = ""
    section: str = ""
    head: str = ""


def keep_apart(
    found: ColumnsFound, columns: dict[str, str], keys: dict[str, Any]
) -> tuple[Guess, ...]:
    """Complete the keys of a dialect by what keeps equal codes apart, and its columns.

    `columns` may have a `channel` and a `section`; what is of no use is taken out.
    """
    channel = columns.pop("channel", None)
    if channel:
        keys["channel"] = {"column": channel}
    elif found.axes:
        del columns["value"]
        cells, place = found.cells, found.table.place
        values = {number: place(at, cells[at]) for number, at in found.axes.items()}
        keys["channel"] = {"values": values}
    lines = list(_lines(found))
    if found.table.keys["format"] == "keyed":
        columns.pop("section", None)
        return _of_keys(lines, keys)
    below = max((at for at, line in enumerate(lines) if line.code), default=-1)
    heads = [line.head for line in lines[:below] if line.head]
    footers = [line.head for line in lines[below + 1 :] if line.head]
    guesses: list[Guess] = []
    plate = () if keys["format"] == "sheet" else found.table.plate  # of other sheets there
    above = map(_filled, (*plate, *found.table.rows[: max(found.header, 0)]))
    # The heading of the first axis may stand above the headings of its columns.
    told = channel or found.axes
    axes = "" if told else axis_template([*(c[0] for c in above if len(c) == 1), *heads])
    if axes:
        keys["channel"] = {"section": axes}
        heads = [text for text in heads if not heading(axes, "").match(text)]
    is_part = is_sub_index(found.headings["code"])
    if "section" in columns and not is_part and not _needs_section(lines, axes):
        del columns["section"]
    if heads and "section" not in columns and (template := section_template(heads)):
        keys["section"] = template
        reason = f"lines such as {heads[0]!r} stand between the rows"
        guesses.append(Guess("section", template, 0.9 if "[" in template else 0.6, reason))
    if footers and (begin := _begin_of(footers)) and _may_have_comment(keys):
        keys["comment"] = begin
        guesses.append(Guess("comment", begin, 0.7, "this stands below the table"))
    return tuple(guesses)


def _may_have_comment(keys: Mapping[str, Any]) -> bool:
    return keys["format"] in ("delimited", "fixed") and "comment" not in keys


def _of_keys(lines: Sequence[_Line], keys: dict[str, Any]) -> tuple[Guess, ...]:
    """Sections of INI text: axes, parts of the codes, or nothing that is needed."""
    named = [f"[{text}]" for text in dict.fromkeys(line.section for line in lines) if text]
    axes = axis_template(named)
    if axes:
        keys["channel"] = {"section": axes}
        others = [line for line in lines if not heading(axes, "").match(f"[{line.section}]")]
    else:
        others = list(lines)
    if len({line.code for line in others}) == len(others):
        keys.pop("section", None)
    return ()


def _lines(found: ColumnsFound) -> Iterator[_Line]:
    """Rows with a code and a value, and texts that stand alone in theirs."""
    texts = {name: found.texts(name) for name in ("code", "value", "channel", "section")}
    for at, row in enumerate(found.table.rows[found.first :]):
        code, value, channel, section = (
            texts[name][at] if texts[name] else ""
            for name in ("code", "value", "channel", "section")
        )
        if code and value:
            yield _Line(code, channel, section)
            continue
        filled = _filled(row)
        if len(filled) == 1 and not found.table.headings:
            yield _Line(head=filled[0])


def _filled(row: Sequence[str]) -> list[str]:
    return [cell for cell in row if cell]


def _needs_section(lines: Sequence[_Line], axes: str) -> bool:
    """Whether codes are there twice for one axis, and sections tell them apart."""
    axis, own, parted = "", Counter[tuple[str, ...]](), Counter[tuple[str, ...]]()
    for line in lines:
        if line.head:
            axis = line.head if axes and heading(axes, "").match(line.head) else axis
        elif line.code:
            own[line.axis or axis, line.code] += 1
            parted[line.axis or axis, line.section, line.code] += 1
    return len(parted) > len(own)


def axis_template(heads: Sequence[str]) -> str:
    """What headings of axes have in common, with `{n}` for their number; empty for none.

    At least two differ in their number alone, behind a word for an axis.
    """
    numbers: dict[tuple[str, str, str, str], set[int]] = {}
    for text in heads:
        inner = _NAMED.fullmatch(text)
        if (apart := numbered_axis(inner[1] if inner else text)) is not None:
            bracket = ("[", "]") if inner else ("", "")
            kind = (bracket[0], apart[0], apart[2], bracket[1])
            numbers.setdefault(kind, set()).add(apart[1])
    most = max(numbers, key=lambda one: len(numbers[one]), default=None)
    if most is None or len(numbers[most]) < 2:
        return ""
    left, word, behind, right = most
    return f"{left}{word}{{n}}{behind}{right}"


def section_template(heads: Sequence[str]) -> str:
    """What headings of sections have in common, with `{name}` for their name; empty for none."""
    if any(_NAMED.fullmatch(text) for text in heads):
        return "[{name}]"
    kinds = list(dict.fromkeys(heads))
    if len(kinds) < 2:
        return ""
    before = _common(kinds)
    behind = _common([text[::-1] for text in kinds])[::-1]
    before = re.match(r"(?:.*[\[\]:=*<#>-]\s*)?", before)[0]  # type: ignore[index]  # always fits
    behind = behind if behind and not behind[0].isalnum() else ""
    return f"{before}{{name}}{behind}"


def _common(texts: Sequence[str]) -> str:
    short = min(texts, key=len)
    for at, mark in enumerate(short):
        if any(text[at] != mark for text in texts):
            return short[:at]
    return short[:-1]


def _begin_of(footers: Sequence[str]) -> str:
    """With what all lines below a table begin; empty where that is next to nothing."""
    begin = footers[0] if len(set(footers)) == 1 else _common(footers)
    return begin.strip() if len(begin.strip()) >= _LEAST_FOOTER else ""

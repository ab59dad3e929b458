"""A dialect for a table that was found, and how well the format's own reader does by it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from vault.formats.registry import format_named
from vault.jobs.drafting.column_words import columns_meant, plain_words, truths
from vault.jobs.drafting.columns import ColumnsFound
from vault.jobs.drafting.number_marks import Marks, marks_of
from vault.jobs.drafting.plate import Plate, find_plate
from vault.jobs.drafting.raw_table import Guess
from vault.model.errors import VaultError, WrongUsage
from vault.model.export import Listing
from vault.model.export_dialect import ExportDialect

_NUMBERED = re.compile(r"(\D*?)(\d{1,3})(\D*)")
_NAMED = re.compile(r"\[(.+)\]")
_BY_CELL = ("code", "value", "name", "unit", "low", "high", "default", "access", "section")
_WORDS_OF_COMMA = frozenset(["nein", "ja", "aus", "ein", "non", "oui"])


@dataclass(frozen=True, slots=True)
class Candidate:
    """A dialect that may be right, and what its own reader finds with it: one listing an axis."""

    keys: Mapping[str, Any]
    dialect: ExportDialect
    listings: tuple[Listing, ...]
    plate: Plate
    found: ColumnsFound
    guesses: tuple[Guess, ...]

    @property
    def worth(self) -> float:
        """How much of the file it reads: what is told of columns and sure counts a little."""
        entries = sum(len(listing.entries) for listing in self.listings)
        skipped = sum(len(listing.skipped) for listing in self.listings)
        named = sum(bool(entry.name) for entry in self.listings[0].entries)
        first = len(self.listings[0].entries) or 1
        return entries - 1.5 * skipped + 0.3 * entries * named / first + self.found.score


def candidate_of(
    found: ColumnsFound,
    content: bytes,
    file: str,
    encoding: str | None,
    answers: Mapping[str, str],
) -> Candidate | None:
    """The dialect of a table and what is read with it; None where nothing is."""
    keys: dict[str, Any] = dict(found.table.keys)
    if encoding is not None:
        keys["encoding"] = [_plain_encoding(encoding)]
    columns = {
        column: found.table.place(found.places[column], heading)
        for column, heading in found.headings.items()
    }
    channel = columns.pop("channel", None)
    guesses = [*found.table.guesses, *found.guesses]
    _tell_apart(found, columns, keys, channel)
    keys["columns"] = {column: place for column, place in columns.items() if place}
    if keys["format"] == "keyed":
        keys["columns"] = {
            column: place for column, place in keys["columns"].items() if column in ("name", "unit")
        }
    marks = _marks(found, answers)
    guesses += marks.guesses
    keys |= _of_marks(marks, keys["format"])
    plate = find_plate(_above(found), keys.get("delimiter"))
    guesses += plate.guesses
    labels = {
        label: name
        for label, guessed in plate.labels.items()
        if (name := answers.get(f"nameplate.{label}", guessed))
    }
    if labels:
        keys["nameplate"] = labels
        if plate.separator is not None and keys["format"] in ("delimited", "fixed"):
            keys["nameplate_separator"] = plate.separator
        if plate.time_format:
            keys["time_format"] = plate.time_format
    for key in ("decimal", "thousands", "time_format"):
        if key in answers:
            keys[key] = answers[key]
    try:
        dialect = ExportDialect.model_validate(keys)
    except ValidationError:
        return None
    listings = _read(content, file, dialect, _channels(found, keys, channel))
    if not listings or not any(listing.entries for listing in listings):
        return None
    return Candidate(keys, dialect, listings, plate, found, tuple(guesses))


def _plain_encoding(encoding: str) -> str:
    """An encoding as a dictionary lists it: a mark at the begin of a file is found by itself."""
    return {"utf-8-sig": "utf-8", "utf-16-le": "utf-16", "utf-16-be-sig": "utf-16"}.get(
        encoding, encoding
    )


def _marks(found: ColumnsFound, answers: Mapping[str, str]) -> Marks:
    values = found.texts("value")
    bounds = [text for name in ("low", "high", "default") for text in found.texts(name)]
    words = {text.casefold() for text in values}
    comma = found.table.keys.get("delimiter") == ";" or bool(words & _WORDS_OF_COMMA)
    comma = comma or any(not heading.isascii() for heading in found.headings.values())
    comma = comma or any(
        plain_words(heading) in ("wert", "einheit", "bezeichnung", "nummer", "nr")
        for heading in found.headings.values()
    )
    return marks_of(values, bounds, comma_likely=comma)


def _of_marks(marks: Marks, form: str) -> dict[str, Any]:
    keys: dict[str, Any] = {}
    if marks.decimal != ".":
        keys["decimal"] = marks.decimal
    if marks.thousands:
        keys["thousands"] = marks.thousands
    if marks.unit_in_value:
        keys["unit_in_value"] = True
    if marks.hex_and_binary:
        keys["hex_and_binary"] = True
    return keys


def _above(found: ColumnsFound) -> Sequence[tuple[str, ...]]:
    return [*found.table.plate, *found.table.rows[: max(found.header, 0)]]


def _tell_apart(
    found: ColumnsFound, columns: dict[str, str], keys: dict[str, Any], channel: str | None
) -> None:
    """What keeps equal codes apart: a column of axes or sections, or headings between the rows."""
    if channel:
        keys["channel"] = {"column": channel}
    codes = found.texts("code")
    values = found.texts("value")
    own = [code for code, value in zip(codes, values, strict=True) if code and value]
    sections = found.texts("section")
    lone = [
        (row, row[found.places["code"]])
        for row in found.table.rows[found.first :]
        if sum(bool(cell) for cell in row) == 1 and len(row) > found.places["code"]
    ]
    twice = len(set(own)) < len(own)
    if sections and not channel and _numbered_axes(sections):
        keys.pop("section", None)
        columns.pop("section", None)
        keys["channel"] = {"section": _axis_template(sections, keys["format"])}
        return
    if sections and "section" in columns:
        by_section = list(zip(sections, codes, strict=True))
        if not twice or len(set(by_section)) == len(set(codes)):
            if keys["format"] != "keyed":
                columns.pop("section", None)
            elif not twice:
                keys.pop("section", None)
        return
    heads = [text for _, text in lone if text]
    heads = heads or [
        next(cell for cell in row if cell)
        for row in found.table.rows[found.first :]
        if sum(bool(cell) for cell in row) == 1
    ]
    if not heads or found.table.headings:
        return
    if not channel and _numbered_axes(heads):
        keys["channel"] = {"section": _axis_template(heads, keys["format"])}
    elif twice and (template := _template(heads)):
        keys["section"] = template


def _numbered_axes(texts: Sequence[str]) -> bool:
    """Whether texts are names of axes that differ in their number alone."""
    apart = [_NUMBERED.fullmatch(text.strip("[]")) for text in dict.fromkeys(texts) if text]
    if len(apart) < 2 or any(one is None for one in apart):
        return False
    kinds = {(one[1], one[3]) for one in apart if one}
    words = next(iter(kinds))[0].strip(" -_:").casefold()
    return len(kinds) == 1 and "channel" in columns_meant(words or "axis")


def _axis_template(texts: Sequence[str], form: str) -> str:
    first = next(text for text in texts if text)
    apart = _NUMBERED.fullmatch(first.strip("[]"))
    before, behind = (apart[1], apart[3]) if apart else ("", "")
    template = f"{before}{{n}}{behind}"
    bracketed = form == "keyed" or first.startswith("[")
    return f"[{template}]" if bracketed else template


def _template(heads: Sequence[str]) -> str:
    if all(_NAMED.fullmatch(text) for text in heads):
        return "[{name}]"
    kinds = list(dict.fromkeys(heads))
    if len(kinds) < 2:
        return ""
    before = _common(kinds)
    behind = _common([text[::-1] for text in kinds])[::-1]
    before = before[: max(before.rfind(mark) + 1 for mark in " :[-=*<")]
    behind = behind if behind and not behind[0].isalnum() else ""
    return f"{before}{{name}}{behind}"


def _common(texts: Sequence[str]) -> str:
    short = min(texts, key=len)
    for at, mark in enumerate(short):
        if any(text[at] != mark for text in texts):
            return short[:at]
    return short[:-1]


def _channels(
    found: ColumnsFound, keys: Mapping[str, Any], channel: str | None
) -> Sequence[int | None]:
    """The axes that a file may hold, as far as the table shows."""
    if "channel" not in keys:
        return [None]
    texts = found.texts("channel") if channel else []
    if not texts:
        texts = found.texts("section")
        texts = texts or [cell for row in found.table.rows for cell in row[:1]]
        texts = [text for text in texts if _NUMBERED.fullmatch(text.strip("[]"))]
    numbers = Counter(
        int(one[0]) for text in texts if (one := re.search(r"\d{1,3}", text)) is not None
    )
    return sorted(numbers) or [None]


def _read(
    content: bytes, file: str, dialect: ExportDialect, channels: Sequence[int | None]
) -> tuple[Listing, ...]:
    form, found = format_named(dialect.format), []
    for channel in channels:
        try:
            found.append(form.read(content, file=file, dialect=dialect, channel=channel))
        except WrongUsage:
            continue
        except VaultError:
            return ()
    return tuple(found)


def truth_of(words: Sequence[str]) -> dict[int, str]:
    """What the words of one parameter are as a choice of no and yes; empty where they are none."""
    folded = {word.casefold(): word for word in words}
    for no, yes in truths():
        if folded and set(folded) <= {no, yes}:
            spelled = folded.get(yes) or folded.get(no) or ""
            return {0: folded.get(no, _like(no, spelled)), 1: folded.get(yes, _like(yes, spelled))}
    return {}


def _like(word: str, spelled: str) -> str:
    if spelled.isupper():
        return word.upper()
    return word.capitalize() if spelled[:1].isupper() else word

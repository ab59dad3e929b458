"""A dialect for a table that was found, and how well the format's own reader does by it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from vault.formats.registry import format_named
from vault.jobs.drafting.apart import keep_apart
from vault.jobs.drafting.column_words import columns_meant, field_meant, truths, writes_comma
from vault.jobs.drafting.columns import ColumnsFound
from vault.jobs.drafting.number_marks import Marks, marks_of
from vault.jobs.drafting.plate import Plate, find_plate
from vault.jobs.drafting.raw_table import Guess
from vault.model.errors import AxisToChoose, VaultError
from vault.model.export import Listing
from vault.model.export_dialect import ExportDialect


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
        skipped = sum(len(listing.skipped) for listing in self.listings)
        return self.reads - 1.5 * skipped + self.found.score

    @property
    def reads(self) -> float:
        """What is read: more where it has names and numbers, less where its codes are no codes.

        Headings, fields of a nameplate, and the same few words again and again are none.
        """
        entries = [entry for listing in self.listings for entry in listing.entries]
        codes = [code for code in self.found.texts("code") if code]
        kinds = set(codes)
        if not entries or sum(1.0 in columns_meant(one).values() for one in kinds) * 2 > len(kinds):
            return 0.0
        named = sum(bool(entry.name) for entry in entries) / len(entries)
        numbers = sum(not isinstance(entry.written, str) for entry in entries) / len(entries)
        fields = sum(field_meant(code) is not None for code in kinds)
        are_keys = self.keys["columns"].get("code") == "~key"
        alike = 0.2 + 0.8 * len(kinds) / len(codes) if are_keys else 1.0
        if self.keys["columns"].get("section", "").removeprefix("../") in kinds:
            alike *= 0.7  # what names a record is a field of it, and no parameter
        return (len(entries) - 3 * fields) * (1 + 0.3 * named) * (0.5 + 0.5 * numbers) * alike


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
        keys["encoding"] = [plain_encoding(encoding)]
    columns = {
        column: found.table.place(found.places[column], heading)
        for column, heading in found.headings.items()
    }
    guesses = [*found.table.guesses, *found.guesses, *keep_apart(found, columns, keys)]
    keys["columns"] = {column: place for column, place in columns.items() if place}
    if keys["format"] == "keyed":
        keys["columns"] = {
            column: place for column, place in keys["columns"].items() if column in ("name", "unit")
        }
    marks = _marks(found, answers)
    guesses += marks.guesses
    keys |= _of_marks(marks, keys["format"])
    told = {
        key.removeprefix("nameplate."): field
        for key, field in answers.items()
        if key.startswith("nameplate.")
    }
    plate = find_plate(_above(found), keys.get("delimiter"), told)
    guesses += plate.guesses
    labels = {
        label: name for label, guessed in plate.labels.items() if (name := told.get(label, guessed))
    }
    labels |= {
        label: name for label in plate.others if (name := answers.get(f"nameplate.{label}", ""))
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
    listings = listings_of(content, file, dialect)
    if not listings or not any(listing.entries for listing in listings):
        return None
    return Candidate(keys, dialect, listings, plate, found, tuple(guesses))


def plain_encoding(encoding: str) -> str:
    """An encoding as a dictionary lists it: a mark at the begin of a file is found by itself."""
    plain = {"utf-8-sig": "utf-8", "utf-16-le": "utf-16", "utf-16-be-sig": "utf-16"}
    name = plain.get(encoding, encoding).replace("_", "-")
    return f"windows-{name[2:]}" if name.startswith("cp125") else name


def _marks(found: ColumnsFound, answers: Mapping[str, str]) -> Marks:
    values = found.values()
    bounds = [text for name in ("low", "high", "default") for text in found.texts(name)]
    comma = found.table.keys.get("delimiter") == ";"
    comma = comma or writes_comma(found.headings.values(), values)
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


def listings_of(content: bytes, file: str, dialect: ExportDialect) -> tuple[Listing, ...]:
    """What a dialect reads of an export, axis by axis; nothing where it does not fit."""
    form = format_named(dialect.format)
    try:
        return (form.read(content, file=file, dialect=dialect, channel=None),)
    except AxisToChoose as error:
        channels = error.channels
    except VaultError:
        return ()
    found = []
    for number in channels:
        with suppress(VaultError):
            found.append(form.read(content, file=file, dialect=dialect, channel=number))
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

"""What stands above the parameters of a text export: labels with their texts, and the time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from vault.formats.rows import time_text
from vault.model.export import SkippedLine
from vault.model.patterns import is_found

if TYPE_CHECKING:
    from vault.model.export import Listing
    from vault.model.export_dialect import ExportDialect

HEAD_LINES = 40
"""How many lines a pattern for `text` is looked for in."""


@dataclass(frozen=True, slots=True)
class NameplateLine:
    """A line above a table: its label in comparable form, and the line as the file has it."""

    channel: int | None
    line: int
    label: str
    value: str
    spelled: str


def plain_label(text: str) -> str:
    """A nameplate label in comparable form."""
    return text.strip().rstrip(":").rstrip().casefold()


def labels_of(dialect: ExportDialect) -> dict[str, str]:
    """Nameplate fields by their labels in comparable form."""
    return {plain_label(label): name for label, name in dialect.nameplate.items()}


def nameplate_of(
    lines: Sequence[NameplateLine],
    dialect: ExportDialect,
    chosen: int | None,
    skipped: list[SkippedLine],
) -> tuple[dict[str, str], str | None]:
    """Nameplate fields, the channel's own before shared ones, and the time among them."""
    labels = labels_of(dialect)
    found: dict[str, NameplateLine] = {}
    for scope in (None,) if chosen is None else (chosen, None):
        for line in lines:
            name = labels.get(line.label)
            if name and line.channel == scope:
                found.setdefault(name, line)
    time = found.pop("taken_at", None)
    taken_at = None
    if time:
        try:
            taken_at = time_text(time.value, dialect.time_format)
        except ValueError:
            form = dialect.time_format or "RFC 3339"
            reason = f"{time.value!r} is not a time as {form} has it"
            skipped.append(SkippedLine(time.line, time.spelled, reason))
    return {name: line.value for name, line in found.items()}, taken_at


def labelled(listing: Listing, dialect: ExportDialect) -> Iterable[tuple[str, str, str]]:
    """Label, field and text of what the nameplate of a listing says, for a file to be written."""
    values = dict(listing.nameplate)
    if listing.taken_at is not None:
        form, taken_at = dialect.time_format, listing.taken_at
        values["taken_at"] = datetime.fromisoformat(taken_at).strftime(form) if form else taken_at
    for label, name in dialect.nameplate.items():
        if value := values.pop(name, ""):
            yield label, name, value


def label_line(label: str, separator: str, value: str) -> str:
    """A line of a nameplate as it is written: a blank goes behind a colon alone."""
    gap = " " if separator == ":" else ""
    return f"{label.rstrip().removesuffix(separator)}{separator}{gap}{value}"


def fits(
    patterns: Mapping[str, str],
    lines: Sequence[str],
    nameplate: Sequence[NameplateLine],
    labels: Mapping[str, str],
) -> bool:
    """Whether a head has all that a dialect recognises an export by.

    A key is a nameplate label or field, or `text` for any of the first lines.
    """
    for key, pattern in patterns.items():
        if key == "text":
            places = [line.rstrip("\r\n") for line in lines[:HEAD_LINES]]
        else:
            label = plain_label(key)
            places = [
                line.value
                for line in nameplate
                if line.label == label or labels.get(line.label) == key
            ]
        if not any(is_found(pattern, place) for place in places):
            return False
    return True

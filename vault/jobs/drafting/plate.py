"""What stands above a table: labels that are fields of the nameplate, and how a time is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import pairwise

from vault.formats.rows import time_text
from vault.jobs.drafting.column_words import field_meant
from vault.jobs.drafting.raw_table import Guess

TIME_FORMS = (
    "%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%d", "%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M",
    "%d.%m.%Y, %H:%M", "%d.%m.%Y", "%d.%m.%y %H:%M", "%d.%m.%y", "%Y/%m/%d %H:%M:%S",
    "%Y/%m/%d %H:%M", "%Y/%m/%d", "%d/%m/%Y %H:%M:%S", "%d/%m/%Y %H:%M", "%d/%m/%Y",
    "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M", "%m/%d/%Y", "%m/%d/%Y %I:%M:%S %p", "%m/%d/%Y %I:%M %p",
    "%d %b %Y %H:%M", "%d %b %Y", "%Y%m%d %H%M%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M",
)  # fmt: skip
_SEPARATORS = (":", "=", "\t")


@dataclass(frozen=True, slots=True)
class Plate:
    """Labels with their fields, what parts label and text, and the texts by field.

    `others` are labels that nobody knows, with their texts.
    """

    labels: Mapping[str, str]
    separator: str | None
    texts: Mapping[str, str]
    time_format: str | None
    guesses: tuple[Guess, ...] = ()
    others: Mapping[str, str] = field(default_factory=dict)


def find_plate(
    rows: Sequence[tuple[str, ...]], delimiter: str | None, said: Mapping[str, str] | None = None
) -> Plate:
    """The nameplate in rows above a table; `delimiter` is that of a delimited text.

    `said` are fields by labels that a person has told. A date under a label that nobody knows is
    asked about.
    """
    said = said or {}
    ways: dict[str | None, list[tuple[str, str]]] = {
        None: [(row[0], row[1]) for row in rows if len(row) > 1 and row[0] and row[1]]
    }
    if delimiter is None:
        ways[None] = list(_beside(rows))
    for mark in _SEPARATORS:
        if mark != delimiter:
            ways[mark] = list(_parted(rows, mark, delimiter))
    counts = {way: (_known(pairs, said), len(_dates(pairs))) for way, pairs in ways.items()}
    way = max(counts, key=lambda one: counts[one])
    pairs = ways[way]
    if delimiter is None and way is not None:  # of a sheet or a printed list: both at once
        pairs = [*ways[None], *pairs]
    if not any(counts[way]):
        way = max(ways, key=lambda mark: len(ways[mark]))
        return Plate({}, way, {}, None, others=_unknown(ways[way]))
    labels: dict[str, str] = {}
    texts: dict[str, str] = {}
    for label, text in pairs:
        plain = label.rstrip(": =")
        name = said.get(plain) or field_meant(label)
        if name == "node_id" and plain not in said and not text[:1].isdigit():
            continue  # a station of a plant, by its name
        if name is not None and text and name not in texts:
            labels[plain] = name
            texts[name] = text
    others = {label: text for label, text in _unknown(pairs).items() if label not in labels}
    plate = replace(_with_time(labels, way, texts), others=others)
    if "taken_at" in plate.texts:
        return plate
    asked = {label.rstrip(": ="): text for label, text in _dates(pairs)}
    reason = "is a date under a label that nobody knows: if it says when this was taken, say so"
    return replace(
        plate,
        guesses=tuple(
            Guess(f"nameplate.{label}", "", 0.5, f"{text!r} {reason}", ("taken_at",))
            for label, text in asked.items()
            if label not in said
        ),
    )


def _unknown(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    return {
        label.rstrip(": ="): text
        for label, text in pairs
        if text and field_meant(label) is None and any(map(str.isalpha, label))
    }


def _known(pairs: Iterable[tuple[str, str]], said: Mapping[str, str]) -> int:
    return sum(label in said or field_meant(label) is not None for label, _ in pairs)


def _dates(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Labels that nobody knows with a text that is a date and nothing else."""
    return [
        (label, text)
        for label, text in pairs
        if field_meant(label) is None and any(_fits(text, form) for form in (None, *TIME_FORMS))
    ]


def _beside(rows: Sequence[tuple[str, ...]]) -> Iterable[tuple[str, str]]:
    for row in rows:
        filled = [cell for cell in row if cell]
        yield from pairwise(filled)


def _parted(
    rows: Sequence[tuple[str, ...]], mark: str, delimiter: str | None
) -> Iterable[tuple[str, str]]:
    for row in rows:
        cells = row if delimiter is None else ((delimiter or "").join(row).rstrip(delimiter),)
        for cell in cells:
            label, there, text = cell.partition(mark)
            if there and text.strip():
                yield label.strip(), text.strip()


def _with_time(labels: dict[str, str], way: str | None, texts: dict[str, str]) -> Plate:
    time = texts.get("taken_at")
    if time is None:
        return Plate(labels, way, texts, None)
    fitting = [None] if _fits(time, None) else [form for form in TIME_FORMS if _fits(time, form)]
    if not fitting:
        label = next(label for label, name in labels.items() if name == "taken_at")
        del labels[label], texts["taken_at"]
        return Plate(labels, way, texts, None)
    form, *others = fitting
    meant = {datetime.strptime(time, one) for one in fitting if one}
    guesses: tuple[Guess, ...] = ()
    if len(meant) > 1 and form is not None:
        reason = f"{time!r} may be either: the day is taken to come first"
        kept = tuple(one for one in others if one)
        guesses = (Guess("time_format", form, 0.6, reason, kept),)
    return Plate(labels, way, texts, form, guesses)


def _fits(text: str, form: str | None) -> bool:
    try:
        time_text(text, form)
    except ValueError:
        return False
    return True

"""What a person may say of a drafted dictionary, as fields: what was guessed, what else it is."""

from __future__ import annotations

from codecs import lookup
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from vault.jobs.drafting.plate import TIME_FORMS
from vault.jobs.drafting.text_tables import NARROW
from vault.model.export_dialect import NAMEPLATE_FIELDS

if TYPE_CHECKING:
    from vault.jobs.drafting.draft import Draft
    from vault.jobs.drafting.raw_table import Guess, RawTable

COLUMN_LABELS = {
    "code": "Code", "value": "Value", "name": "Name", "unit": "Unit", "low": "Lowest",
    "high": "Highest", "default": "Factory setting", "access": "Access", "section": "Group",
    "channel": "Axis",
}  # fmt: skip
"""Our columns, as people call them."""

_SAID = {
    "delimiter": {";": "semicolon ;", "\t": "tab", ",": "comma ,", "|": "bar |"},
    "assign": {"=": "equals =", ":": "colon :", " : ": "colon between blanks", "\t": "tab"},
    "decimal": {".": "point: 1.5", ",": "comma: 1,5"},
    "thousands": {
        "": "nothing: 1500", ".": "point: 1.500", ",": "comma: 1,500", " ": "blank: 1 500",
        "'": "apostrophe: 1'500", "\u00a0": "no-break blank: 1 500",
    },
    "format": {
        "delimited": "a table with a mark between cells", "keyed": "a code and its value a line",
        "fixed": "a table with columns by position",
    },
}  # fmt: skip
_NEEDED = ("code", "value")
_LONGEST_HEADING = 60
_MOST_ROWS = 12
"""First rows of a file that are shown where nothing in it was told."""
_SHOWN_TIME = datetime(2026, 1, 31, 14, 5)


@dataclass(frozen=True, slots=True)
class Field:
    """One question with its answers: `options` are values and their words, `value` the chosen one.

    The value is empty where it is guessed, else `=` with the answer. `doubt` is how sure a guess
    is, where it is not.
    """

    key: str
    label: str
    value: str
    options: tuple[tuple[str, str], ...]
    reason: str = ""
    doubt: float | None = None


def file_fields(draft: Draft | None, answers: Mapping[str, str]) -> list[Field]:
    """Of the file: encoding, format, marks between cells, sheet."""
    is_text = draft is None or draft.container.endswith("text")
    form = answers.get("format") or (draft.export.get("format") if draft else None)
    fields = []
    if draft is None or draft.encoding is not None:
        fields.append(_field(draft, answers, "encoding", "Encoding", _encodings(draft)))
    if is_text:
        fields.append(_field(draft, answers, "format", "What it is", _SAID["format"]))
    if (is_text and form == "delimited") or draft is None:
        fields.append(_field(draft, answers, "delimiter", "Between cells", _SAID["delimiter"]))
    if (is_text and form == "keyed") or draft is None:
        fields.append(_field(draft, answers, "assign", "Before the value", _SAID["assign"]))
    for key, label in (("sheet", "Sheet"), ("record", "Each parameter stands at")):
        options = draft.choices.get(key, ()) if draft else ()
        if options or key in answers:
            fields.append(_field(draft, answers, key, label, options))
    return fields


def _encodings(draft: Draft | None) -> dict[str, str]:
    """Encodings to choose from, each once: they have several names."""
    guessed = draft.encoding if draft else None
    names = (*([guessed] if guessed else []), "utf-8", "utf-16", *NARROW)
    once = {lookup(name).name: name for name in reversed(names)}
    return {name: name for name in names if once[lookup(name).name] == name}


def column_fields(
    draft: Draft | None, answers: Mapping[str, str], unread: RawTable | None = None
) -> list[Field]:
    """Of the table: which column is what; where none was told, any cell may be a heading."""
    headings: Sequence[str] = draft.choices.get("columns", ()) if draft else ()
    if unread is not None:
        cells = unread.headings or [cell for row in unread.rows[:_MOST_ROWS] for cell in row]
        headings = [cell for cell in dict.fromkeys(cells) if cell and len(cell) <= _LONGEST_HEADING]
    return [
        _field(draft, answers, f"columns.{name}", label, headings, none=name not in _NEEDED)
        for name, label in COLUMN_LABELS.items()
    ]


def number_fields(draft: Draft | None, answers: Mapping[str, str]) -> list[Field]:
    """Of the numbers: their marks."""
    return [
        _field(draft, answers, "decimal", "Decimal mark", _SAID["decimal"]),
        _field(draft, answers, "thousands", "Between thousands", _SAID["thousands"]),
    ]


def plate_fields(draft: Draft | None, answers: Mapping[str, str]) -> list[tuple[Field, str]]:
    """Of the nameplate: what each label stands for, with its text; how a time is written."""
    labels = dict(draft.export.get("nameplate", {})) if draft else {}
    texts = draft.reads[0].nameplate if draft and draft.reads else {}
    unknown = {**draft.unknown_labels} if draft else {}
    said = {key.removeprefix("nameplate.") for key in answers if key.startswith("nameplate.")}
    abouts = [guess.about for guess in draft.guesses] if draft else []
    asked = {key.removeprefix("nameplate.") for key in abouts if key.startswith("nameplate.")}
    options = {name: name.replace("_", " ") for name in NAMEPLATE_FIELDS}
    fields = [
        (
            _field(draft, answers, f"nameplate.{label}", label, options, none=True),
            texts.get(labels.get(label, ""), unknown.get(label, "")),
        )
        for label in dict.fromkeys([*labels, *unknown, *sorted(said | asked)])
    ]
    if "taken_at" in labels.values() or "time_format" in answers:
        forms = {form: _SHOWN_TIME.strftime(form) for form in TIME_FORMS}
        fields.append((_field(draft, answers, "time_format", "31 January is written", forms), ""))
    return fields


def _field(
    draft: Draft | None,
    answers: Mapping[str, str],
    key: str,
    label: str,
    options: Iterable[str],
    *,
    none: bool = False,
) -> Field:
    words = dict(options) if isinstance(options, Mapping) else {text: text for text in options}
    guess = _guess(draft, key)
    said = answers.get(key)
    chosen = guess.chosen if guess is not None else _stated(draft, key)
    offered: dict[str, str] = {}
    if said is not None:
        offered[""] = "let it be guessed"
    else:
        told = words.get(chosen, chosen) if chosen else "none"
        offered[""] = f"{told} (as guessed)" if draft is not None else "let it be guessed"
    others = guess.others if guess and key != "encoding" else ()
    for text in (*others, *words, *((said,) if said else ())):
        if said is not None or text != chosen:
            offered[f"={text}"] = words.get(text, text)
    if draft is not None and none and (said is not None or chosen is not None):
        offered["="] = "none"
    doubt = (
        guess.confidence if guess is not None and said is None and guess.confidence < 1 else None
    )
    value = "" if said is None else f"={said}"
    if key == "encoding" and guess is not None and guess.confidence < 1:
        guess = replace(guess, reason="see below whether the words read right")
    reason = "as you said" if said is not None else guess.reason if guess is not None else ""
    return Field(key, label, value, tuple(offered.items()), reason, doubt)


def _guess(draft: Draft | None, key: str) -> Guess | None:
    return next((one for one in draft.guesses if one.about == key), None) if draft else None


def _stated(draft: Draft | None, key: str) -> str | None:
    """What the draft has under a key, where nothing was to be guessed."""
    if draft is None:
        return None
    if key == "encoding":
        return draft.encoding
    part, _, inner = key.partition(".")
    content = draft.export.get(part, {"decimal": ".", "thousands": ""}.get(part))
    if inner:
        content = content.get(inner) if isinstance(content, Mapping) else None
    return None if content is None else str(content)


def foreign_words(draft: Draft, most: int = 8) -> list[str]:
    """Words with letters beyond ASCII as the draft reads them: a person sees whether they are."""
    return list(dict.fromkeys(_foreign(draft)))[:most]


def _foreign(draft: Draft) -> Iterator[str]:
    texts = [text for one in draft.parameters for text in (one.name, one.unit or "", one.shown)]
    for text in (*(cell for row in draft.first_rows for cell in row), *texts):
        yield from (word for word in text.split() if not word.isascii())

"""The records that XML or JSON may hold, as tables: a field is a column, by its path."""

from __future__ import annotations

import re
from collections.abc import Iterator

from vault.formats.record_shapes import RecordShape, record_shapes, single_texts
from vault.jobs.drafting.column_words import columns_meant
from vault.jobs.drafting.raw_table import RawTable

_LAST = re.compile(r"[/@~\[\]{}=]+")
_ITEM = re.compile(r"\[[^\]]*=[^\]]*\]")
_MOST_SHAPES = 12


def record_tables(
    content: bytes, file: str, encodings: tuple[str, ...], record: str | None = None
) -> Iterator[RawTable]:
    """Every kind of record as a table, the likeliest first. Raises Unreadable for broken text."""
    plate = list(single_texts(content, encodings, file=file).items())
    shapes = record_shapes(content, encodings, file=file)
    for shape in shapes[:_MOST_SHAPES]:
        if record is None or shape.path == record:
            yield _table(shape, plate)


def record_paths(content: bytes, file: str, encodings: tuple[str, ...]) -> tuple[str, ...]:
    """The paths of every kind of record that `record_tables` makes a table of."""
    shapes = record_shapes(content, encodings, file=file)
    return tuple(shape.path for shape in shapes[:_MOST_SHAPES])


def _table(shape: RecordShape, plate: list[tuple[str, str]]) -> RawTable:
    places = tuple(shape.fields)
    columns = list(shape.fields.values())
    rows = [tuple(text or "" for text in row) for row in zip(*columns, strict=True)]
    inside = _inside(shape.path)
    return RawTable(
        {"format": "records", "record": shape.path},
        rows,
        range(1, len(rows) + 1),
        headings=tuple(heading_of(place, shape.path) for place in places),
        places=places,
        plate=[
            (own, text)
            for label, text in plate
            if not inside.match(label) and (own := _own(label, shape.path))
        ],
        around=frozenset(at for at, place in enumerate(places) if place.startswith("..")),
    )


def _inside(record: str) -> re.Pattern[str]:
    """What lies in a record, by its path from the root."""
    steps = re.escape(record).replace(r"\[\]", r"(?:\[[^\]]*\]|/\d+)")
    steps = steps.replace(r"\{\}", "/?[^/]+").replace(r"\*", "[^/]+")
    return re.compile(rf"{steps}(?:[/@\[]|\Z)")


def _own(label: str, record: str) -> str:
    """A label as a dictionary has it: of items of a list, those that the records stand in."""
    found = _ITEM.search(label)
    if found is None:
        return label
    place = f"{label[: found.start()]}[]"
    return _ITEM.sub("[]", label) if record.startswith(place) else ""


def heading_of(path: str, record: str) -> str:
    """What a path says of its field: its last word, or the one before it where that is a sign.

    What is around the record is of a section, or of what it is called there: `axis number`.
    """
    if path in ("~key", "."):
        return "code" if path == "~key" else "value"
    parts = [part for part in _LAST.split(path) if part not in ("", ".", "..")]
    if not parts:
        return path
    last = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", parts[-1])
    if (up := path.count("../")) and len(parts) == 1:
        around = [part for part in _LAST.split(record) if part not in ("", "*")][:-up]
        of = around[-1] if around else ""
        if "channel" in columns_meant(of):
            return of
        return (
            "section" if last in ("key", "name", "id", "title", "label") else f"{of} {last}".strip()
        )
    return last

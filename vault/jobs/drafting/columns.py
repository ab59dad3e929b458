"""Which column of a table holds what: by its heading, and by what stands below it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from vault.formats.rows import access_of
from vault.jobs.drafting.column_words import columns_meant, numbered_axis
from vault.jobs.drafting.number_marks import is_marked, units_number
from vault.jobs.drafting.raw_table import Guess, RawTable
from vault.model.numerals import parse_number
from vault.model.quantities import UnknownUnit, canonical_unit

_HEADER_REACH = 80  # rows in which the header row is looked for
_LOOKED_AT = 400  # rows below it, one in so many
_LEAST = 0.42
_NEEDED = ("code", "value")
_NUMBER = re.compile(r"[-+]?[\d.,'\u00a0\u202f ]*\d(?:[eE][-+]?\d+)?")
_CODE = re.compile(r"[\w#$%@&/.:+\-\[\]()]{1,40}")
# Words beside a value that is what the drive holds, or of another base: not what people mean.
_OF_DRIVE = re.compile(
    r"(?i)\b(?:raw|hex|hexadecimal|binary|bin|internal|counts|roh|intern)|rohwert"
)
_IN_DOUBT = 0.4
_LETTERS, _OF_LETTER = {"c": "code", "n": "name", "u": "unit", "v": "value"}, 0.7
_SUB_INDEX = re.compile(r"(?i)sub[ ._-]?(?:index|idx|no|nr)?|unterindex|s\.?i")
_NEAR = 0.1  # two columns as likely as that: people must say which
_ACCESS = frozenset(("ro", "rw", "wo", "const"))


@dataclass(frozen=True, slots=True)
class ColumnsFound:
    """The columns of a table: headings by our names, and their places in its rows.

    `first` is the row with which the data begin; `cells` are all headings. `axes` are the places of
    the values by the number of the axis, where each has a column of its own.
    """

    table: RawTable
    header: int
    first: int
    headings: Mapping[str, str]
    places: Mapping[str, int]
    guesses: tuple[Guess, ...]
    score: float
    cells: Sequence[str] = ()
    axes: Mapping[int, int] = field(default_factory=dict)

    def texts(self, column: str) -> list[str]:
        """What stands in a column of ours, row by row; empty where it has none."""
        place = self.places.get(column)
        return [] if place is None else self._below(place)

    def values(self) -> list[str]:
        """The texts of all columns that have values, one after the other."""
        return [
            text for at in self.axes.values() or [self.places["value"]] for text in self._below(at)
        ]

    def _below(self, place: int) -> list[str]:
        return [row[place] if place < len(row) else "" for row in self.table.rows[self.first :]]


@dataclass(frozen=True, slots=True)
class _Content:
    """What the texts of one column look like, as shares of those that are not empty."""

    filled: float
    unique: float
    is_one: bool
    numbers: float
    with_unit: float
    marked: float
    short: float
    units: float
    access: float


def find_columns(table: RawTable, answers: Mapping[str, str]) -> ColumnsFound | None:
    """The header row and the columns of a table; None where there is no code with its value.

    `answers` give headings by `columns.NAME` for what a person has said.
    """
    if table.headings:
        return _judged(table, -1, 0, table.headings, answers)
    best: ColumnsFound | None = None
    said = {heading for key, heading in answers.items() if key.startswith("columns.") and heading}
    for number in range(min(len(table.rows), _HEADER_REACH)):
        for depth in (1, 2) if table.two_header_rows else (1,):
            cells = _header_cells(table, number, depth)
            if sum(bool(cell) for cell in cells) < len(_NEEDED):
                continue
            if not (said & {*cells} or any(map(columns_meant, cells))):
                continue
            found = _judged(table, number, number + depth, cells, answers)
            if found is not None and (best is None or found.score > best.score):
                best = found
    return best


def _header_cells(table: RawTable, number: int, depth: int) -> tuple[str, ...]:
    upper = table.rows[number]
    if depth == 1 or number + 1 >= len(table.rows):
        return upper if depth == 1 else ()
    lower = table.rows[number + 1]
    if sum(map(bool, lower)) < len(_NEEDED) or any(map(_is_number, filter(None, lower))):
        return ()
    width = max(len(upper), len(lower))
    pairs = zip(_wide(upper, width), _wide(lower, width), strict=True)
    return tuple(above if above == below else f"{above} {below}".strip() for above, below in pairs)


def _wide(row: tuple[str, ...], width: int) -> tuple[str, ...]:
    return row + ("",) * (width - len(row))


def _judged(
    table: RawTable, header: int, first: int, cells: Sequence[str], answers: Mapping[str, str]
) -> ColumnsFound | None:
    step = (len(table.rows) - first) // _LOOKED_AT + 1
    rows = table.rows[first::step]
    rows = [row for row in rows if sum(map(bool, row)) > 1]  # no headings between them
    if not rows:
        return None
    contents = [
        _content([row[at] if at < len(row) else "" for row in rows]) for at in range(len(cells))
    ]
    axes = {} if "columns.value" in answers else _axis_columns(cells)
    if axes is None:
        return None
    likely: dict[tuple[str, int], float] = {}
    for at, (cell, content) in enumerate(zip(cells, contents, strict=True)):
        if at in axes.values():
            continue
        for column, sure in _by_heading(
            cell, content, is_key=bool(table.headings) and "w" not in cells
        ).items():
            if at not in table.around or column in ("section", "channel"):
                likely[column, at] = sure
        for column, sure in _by_content(content).items() if at not in table.around else ():
            likely[column, at] = max(likely.get((column, at), 0.0), sure)
    places: dict[str, int] = {}
    sure_of: dict[str, float] = {}
    said = {
        key.removeprefix("columns."): cells.index(heading)
        for key, heading in answers.items()
        if key.startswith("columns.") and heading in cells
    }
    if axes:
        said["value"] = min(axes.values())
    for column, at in said.items():
        places[column], sure_of[column] = at, 1.0
    unsaid = [
        (sure, column, at)
        for (column, at), sure in likely.items()
        if answers.get(f"columns.{column}") != "" and sure >= _LEAST
    ]
    for sure, column, at in sorted(unsaid, key=lambda one: (-one[0], one[2])):
        if column not in places and at not in places.values():
            places[column], sure_of[column] = at, sure
    _by_sub_index(rows, cells, places, sure_of)
    if "value" not in places:
        left = [
            at
            for at, content in enumerate(contents)
            if at not in {*places.values(), *table.around}
            and content.numbers > 0.6
            and not columns_meant(cells[at])
            and not _OF_DRIVE.search(cells[at])
        ]
        if len(left) == 1:  # nothing else can hold the values
            places["value"], sure_of["value"] = left[0], _LEAST
    if any(column not in places for column in _NEEDED) or any(
        not cells[at] for at in places.values()
    ):
        return None
    if len({cells[at].casefold() for at in places.values()}) < len(places):
        return None
    headings = {column: cells[at] for column, at in places.items()}
    if not table.headings and any(map(_is_number, headings.values())):
        return None
    found = ColumnsFound(table, header, first, headings, places, (), 0.0)
    filled = sum(
        bool(code and value)
        for code, value in zip(found.texts("code"), found.texts("value"), strict=True)
    )
    if not filled:
        return None
    guesses = tuple(
        _told(column, at, cells, sure_of[column], likely)
        for column, at in places.items()
        if not (axes and column == "value")
    )
    if axes:
        chosen = ", ".join(cells[at] for at in axes.values())
        reason = "each of these headings is of an axis, with its values below it"
        guesses += (Guess("channel.values", chosen, 0.9, reason),)
    found = replace(found, cells=cells, axes=axes)
    return replace(found, guesses=guesses, score=sum(sure_of.values()) + min(filled, 50) / 10)


def _axis_columns(cells: Sequence[str]) -> dict[int, int] | None:
    """Columns with the values of one axis each, by its number, where no other holds values.

    None where axes have columns of other things too: which of them goes with which, no dialect
    says.
    """
    if any(columns_meant(cell).get("value") == 1.0 for cell in cells):
        return {}
    kinds: dict[tuple[str, str], dict[int, int]] = {}
    for at, cell in enumerate(cells):
        if (apart := numbered_axis(cell)) is not None and apart[0].strip():
            kinds.setdefault((apart[0], apart[2]), {}).setdefault(apart[1], at)
    several = [numbers for numbers in kinds.values() if len(numbers) > 1]
    if len(several) > 1:
        return None
    return several[0] if several else {}


def _by_sub_index(
    rows: Sequence[tuple[str, ...]],
    cells: Sequence[str],
    places: dict[str, int],
    sure_of: dict[str, float],
) -> None:
    """Objects that have their sub-index in a column of its own: the index goes before it."""
    code, sub = (
        places.get("code"),
        next((at for at, cell in enumerate(cells) if is_sub_index(cell)), None),
    )
    if code is None or sub is None or "section" in places or sub in places.values():
        return
    indices = [row[code] for row in rows if len(row) > max(code, sub)]
    whole = {(row[code], row[sub]) for row in rows if len(row) > max(code, sub)}
    if len(set(indices)) < len(whole):
        places["section"], places["code"] = code, sub
        sure_of["section"] = sure_of["code"]


def is_sub_index(heading: str) -> bool:
    """Whether a column has sub-indices of objects, which are no codes by themselves."""
    return _SUB_INDEX.fullmatch(heading.strip(" .")) is not None


def _told(
    column: str, at: int, cells: Sequence[str], sure: float, likely: Mapping[tuple[str, int], float]
) -> Guess:
    by_heading = column in columns_meant(cells[at])
    reason = "its heading says so" if by_heading else "by what stands below it"
    others = tuple(
        cells[other]
        for (name, other), worth in likely.items()
        if name == column and other != at and worth >= _LEAST and cells[other]
    )
    if column == "value" and any(
        likely.get((column, other), 0.0) >= sure - _NEAR
        for other in range(len(cells))
        if other != at
    ):
        sure, reason = min(sure, 0.5), "another column may hold the values as well"
    return Guess(f"columns.{column}", cells[at], round(min(sure, 1.0), 2), reason, others)


def _content(texts: Sequence[str]) -> _Content:
    filled = [text for text in texts if text]
    if not filled:
        return _Content(0.0, 0.0, False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    count, kinds = len(filled), set(filled)
    numbers, with_unit, marked, short, units, access = (
        sum(one) / count for one in zip(*map(_looks, filled), strict=True)
    )
    return _Content(
        filled=count / len(texts),
        unique=len(kinds) / count,
        is_one=len(kinds) == 1,
        numbers=numbers,
        with_unit=with_unit,
        marked=marked,
        short=short,
        units=units if len(kinds) < 60 else 0.0,
        access=access,
    )


@lru_cache(maxsize=1 << 14)  # each of the first rows may be the headings: all below is seen again
def _looks(text: str) -> tuple[bool, ...]:
    """Whether a text is a number, one with a unit, one with a mark, a code, a unit, an access."""
    return (
        _is_number(text),
        bool(units_number(text)),
        is_marked(text),
        _CODE.fullmatch(text) is not None,
        _is_unit(text),
        access_of(text) in _ACCESS,
    )


def _is_number(text: str) -> bool:
    return bool(_NUMBER.fullmatch(text) or units_number(text)) or _parsed(text)


def _parsed(text: str) -> bool:
    try:
        return parse_number(text) is not None
    except ValueError:
        return False


def _is_unit(text: str) -> bool:
    try:
        return len(text) < 30 and not _NUMBER.fullmatch(text) and canonical_unit(text) is not None
    except UnknownUnit:
        return False


def _by_heading(cell: str, content: _Content, *, is_key: bool) -> dict[str, float]:
    """What the heading may mean, less sure where what stands below does not look like it.

    Keys of JSON and XML may be a letter alone: of a table that is a unit, or a phase.
    """
    found = columns_meant(cell)
    if is_key and cell.casefold() in _LETTERS:
        found = {_LETTERS[cell.casefold()]: _OF_LETTER}
    likely = {column: sure * _looks_like(column, content) for column, sure in found.items()}
    if "value" in likely and _OF_DRIVE.search(cell) and content.marked < 0.5:
        likely["value"] *= _IN_DOUBT
    return likely


def _looks_like(column: str, content: _Content) -> float:
    if content.filled == 0.0:
        return 0.5 if column in ("low", "high", "default", "unit") else 0.2
    if column == "code":
        return (
            (0.4 + 0.6 * content.unique)
            * (0.55 + 0.45 * content.short)
            * min(1.0, content.filled + 0.3)
        )
    if column == "value":
        return 0.5 + 0.5 * min(1.0, content.numbers + content.with_unit + 0.3)
    if column == "name":
        return (0.5 if content.numbers > 0.8 else 1.0) * (0.7 + 0.3 * content.unique)
    if column == "unit":
        return 0.4 if content.numbers - content.with_unit > 0.5 else 0.8 + 0.2 * content.units
    if column in ("low", "high"):
        return 0.4 if content.numbers < 0.3 else 1.0
    if column == "access":
        return 1.0 if content.access > 0.6 else 0.3
    if column == "channel":
        return 1.0 if content.numbers > 0.9 or content.unique < 0.2 else 0.3
    if column == "section":
        return 0.0 if content.is_one else 0.9 if content.unique < 0.7 else 0.3
    return 0.9


def _by_content(content: _Content) -> dict[str, float]:
    """What a column may be whatever its heading says."""
    found = {}
    if content.units > 0.9 and content.unique < 0.9:
        found["unit"] = 0.6
    if content.access > 0.95:
        found["access"] = 0.55
    if content.unique > 0.98 and content.short > 0.95 and content.filled > 0.9:
        found["code"] = 0.5
    if content.numbers > 0.85 and content.filled > 0.9 and content.unique < 0.98:
        found["value"] = 0.43
    return found

"""Putting values into a text export that there is: nothing but the values changes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

from vault.formats.rows import choose
from vault.formats.spelled_like import spelled_like
from vault.formats.text_encoding import decode, encode, split_lines, with_edits
from vault.model.errors import Unreadable, WrongUsage

if TYPE_CHECKING:
    from vault.model.export import Scalar
    from vault.model.export_dialect import ExportDialect


@dataclass(frozen=True, slots=True)
class Place:
    """Where a parameter stands: its lines, counted from 0, and the part of the text that holds its
    value, from and up to a character.

    `text` is the value without blanks and quotes around it. `put` makes of another value what is to
    stand in that part; it raises ValueError with the reason where that cannot be.
    """

    code: str
    channel: int | None
    lines: range
    start: int
    end: int
    text: str
    put: Callable[[str], str]


def line_starts(lines: Sequence[str]) -> list[int]:
    """Where each line begins in the text, and the end of the last one."""
    return list(accumulate(map(len, lines), initial=0))


def put_back(
    original: bytes,
    places_in: Callable[[list[str]], list[Place]],
    values: Mapping[str, Scalar],
    *,
    file: str,
    dialect: ExportDialect,
    channel: int | None,
    drop: Collection[str],
) -> bytes:
    """Put values into an original whose places are found; see `WritesBack` in the registry.

    Raises WrongUsage where a text would read back as another, and for a value of a code that stands
    there twice: which of the two holds, nobody can tell.
    """
    text, encoding = decode(original, dialect.encoding, file=file)
    lines = split_lines(text)
    before = places_in(lines)
    channels = tuple(sorted({one.channel for one in before if one.channel is not None}))
    chosen = choose(channels, channel, file)
    of_code: dict[str, list[Place]] = {}
    for place in before:
        if place.channel in (None, chosen):
            of_code.setdefault(place.code, []).append(place)
    if missing := [code for code in (*values, *drop) if code not in of_code]:
        raise WrongUsage(f"{missing[0]} is not in the export", file=file)
    starts = line_starts(lines)
    dropped = {id(place): place.lines for code in drop for place in of_code[code]}
    edits = [(starts[rows.start], starts[rows.stop], "") for rows in dropped.values()]
    written: dict[int, str] = {}
    for code, value in values.items():
        place = of_code[code][0]
        new = spelled_like(place.text, value, dialect)
        if code in drop or new == place.text:
            continue
        if len(of_code[code]) > 1:
            told = " and ".join(str(one.lines.start + 1) for one in of_code[code])
            raise WrongUsage(f"{code} stands in lines {told}: which one holds?", file=file)
        edits.append((place.start, place.end, _part(place, new, encoding, file)))
        written[id(place)] = new.strip()
    if not edits:
        return original
    content = with_edits(original, text, encoding, sorted(edits))
    wanted = [
        (one.code, one.channel, written.get(id(one), one.text))
        for one in before
        if id(one) not in dropped
    ]
    _read_again(content, places_in, wanted, dialect, file, [*values, *drop])
    return content


def _part(place: Place, new: str, encoding: str, file: str) -> str:
    if not new.strip():
        raise WrongUsage(f"{place.code}: an empty text reads as no value", file=file)
    try:
        part = place.put(new)
    except ValueError as error:
        raise WrongUsage(f"{place.code}: {error}", file=file) from error
    encode([(place.code, part)], encoding, "")
    return part


def _read_again(
    content: bytes,
    places_in: Callable[[list[str]], list[Place]],
    wanted: list[tuple[str, int | None, str]],
    dialect: ExportDialect,
    file: str,
    codes: Sequence[str],
) -> None:
    """Hold what was written against what was to be. Raises WrongUsage where they differ."""
    try:
        found = places_in(split_lines(decode(content, dialect.encoding)[0]))
    except Unreadable as error:
        raise WrongUsage(f"{', '.join(codes)}: {error.message}", file=file) from error
    read = [(one.code, one.channel, one.text) for one in found]
    if read != wanted:
        other = next(
            (one for one, is_ in zip(wanted, [*read, None], strict=False) if one != is_), None
        )
        code = other[0] if other else codes[0]
        raise WrongUsage(f"{code}: what would be written reads back as something else", file=file)

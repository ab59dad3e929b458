"""Computing parameters.yaml again from export after export, most of which say what others said.

A line of a delimited export that was read before, under the same header row and dictionary, gives
the same line of parameters.yaml: it is not read again. Whatever is unusual about an export has it
read as a whole, as it was when it was taken in.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple, cast

from vault.formats.delimited_lines import Apart, LineReader
from vault.jobs.export.content import MAX_PARAMETERS
from vault.jobs.export.read_export import read_export
from vault.model.errors import VaultError
from vault.model.normalise import family_definitions, normalise
from vault.model.parameters import code_order
from vault.store.files import yaml_text
from vault.store.index.values_agreement import Told, told_by_reading, told_of

if TYPE_CHECKING:
    from vault.model.families import Family
    from vault.store.vault import FamilyFile

_MOST_LINES = 1 << 15  # kept at a time, about 0.5 kB each
_MOST_WHOLE = 4  # texts of exports that were read as a whole
_READERS = 16


class _Said(NamedTuple):
    """What a line of an export gives. Rows of other channels, blank lines and comments: no code."""

    code: str
    text: str
    is_known: bool
    is_own: bool  # of the chosen channel, and not of all
    told: Told


_NOTHING = _Said("", "", is_known=False, is_own=False, told=Told("", None, is_live=False))
_Lines = dict[str, _Said]


class Values:
    """Gives parameters.yaml of exports, and remembers lines: a bounded number of them."""

    def __init__(self) -> None:
        self._lines: dict[tuple[object, ...], _Lines] = {}
        self._told: dict[str, Told] = {}  # by the line of parameters.yaml
        self._count = 0
        self._whole: OrderedDict[tuple[object, ...], bytes] = OrderedDict()

    def text(
        self, export: bytes, file: str, family: FamilyFile | None, channel: int | None, version: int
    ) -> bytes:
        """parameters.yaml of an export by a version of the rules. Raises as `read_export` does."""
        try:
            found = family and self._from_lines(export, family.family, channel, version)
        except (VaultError, ValueError):  # the whole says it with the file's name
            found = None
        return found or self._from_whole(export, file, family, channel, version)

    def told(self, line: str) -> Told:
        """What a line of parameters.yaml tells. Raises Damaged where it cannot be read."""
        return self._told.get(line) or told_by_reading(line)

    def _from_whole(
        self, export: bytes, file: str, family: FamilyFile | None, channel: int | None, version: int
    ) -> bytes:
        key = (sha256(export).digest(), file, family, channel, version)
        if key in self._whole:
            self._whole.move_to_end(key)
            return self._whole[key]
        read = read_export(export, file, family, channel=channel, partial=True, version=version)
        text = self._whole[key] = read.parameters_text
        if len(self._whole) > _MOST_WHOLE:
            self._whole.popitem(last=False)
        return text

    def _from_lines(
        self, export: bytes, family: Family, channel: int | None, version: int
    ) -> bytes | None:
        if family.export.format != "delimited":
            return None
        reader = _reader(family)
        apart = reader.take_apart(export, channel)
        if apart is None or not 0 < len(apart.below) <= min(_MOST_LINES // 4, MAX_PARAMETERS):
            return None
        if self._count + len(apart.below) > _MOST_LINES:
            self._lines.clear()
            self._told.clear()
            self._count = 0
        firmware = apart.nameplate.get("firmware")
        key = (family, firmware, apart.header, channel, version)
        known = self._lines.setdefault(key, {})
        said = list(map(known.get, apart.below))
        places = [place for place, one in enumerate(said) if one is None]
        if places:
            new = list(dict.fromkeys(apart.below[place] for place in places))
            fresh = _read(reader, apart, new, family, channel, version)
            if fresh is None:
                return None
            for place in places:
                said[place] = fresh[apart.below[place]]
            self._count += len(fresh)
            known.update(fresh)
            self._told.update((one.text, one.told) for one in fresh.values() if one.code)
        return _together(cast("list[_Said]", said), channel)


@lru_cache(maxsize=_READERS)
def _reader(family: Family) -> LineReader:
    return LineReader(family.export)


def _read(
    reader: LineReader,
    apart: Apart,
    lines: Sequence[str],
    family: Family,
    channel: int | None,
    version: int,
) -> _Lines | None:
    """What lines give that were not met before; None where one is not as plain as it may be."""
    asides = [line for line in lines if reader.is_aside(line)]
    found = dict.fromkeys(asides, _NOTHING)
    plain = [line for line in lines if line not in found]
    rows = reader.rows(apart, plain, channel)
    if rows is None:
        return None
    entries = [row.entry for row in rows if row.entry.code]
    normalised = normalise(reader.content(apart, entries), family, version)
    parameters = normalised.parameters
    if normalised.skipped or len(parameters) != len(entries):
        return None
    listed = family_definitions(family, apart.nameplate.get("firmware"))
    for line, row in zip(plain, rows, strict=True):
        code = row.entry.code
        if code:
            parameter = parameters[code]
            text = yaml_text.parameter_line(parameter)
            is_own = row.channel is not None
            found[line] = _Said(code, text, code in listed, is_own, told_of(parameter))
        else:
            found[line] = _NOTHING
    return found


def _together(said: Sequence[_Said], channel: int | None) -> bytes | None:
    """parameters.yaml of what all lines say; None where they do not go together."""
    codes, texts, are_known, are_own, _ = zip(*said, strict=True)
    if channel is not None and not any(are_own):
        return None
    order = _order(codes)
    if not order or (len(order) - sum(are_known)) * 2 > len(order):
        return None
    return yaml_text.lines_text([texts[place] for place in order])


@lru_cache(maxsize=32)  # exports of a family list the same codes
def _order(codes: tuple[str, ...]) -> tuple[int, ...]:
    """Places of the codes in canonical order; none where one stands twice."""
    places = [place for place, code in enumerate(codes) if code]
    if len({codes[place] for place in places}) != len(places):
        return ()
    return tuple(sorted(places, key=lambda place: code_order(codes[place])))

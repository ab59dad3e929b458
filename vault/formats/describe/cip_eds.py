"""EDS of CIP networks: the parameters in `[Params]` with scaling, enumerations and groups.

Places of the fields, descriptor bits, data type codes and the formula of the scaling are from
memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from vault.formats.dcf_values import BadValue
from vault.formats.dcf_values import number as read_number
from vault.formats.dcf_values import value as read_value
from vault.formats.describe.cip_text import CipEntry, CipText, read_cip_text
from vault.formats.describe.description import DescribedParameter, Description, Scaling
from vault.formats.ini_lines import ENCODINGS
from vault.formats.text_encoding import decode
from vault.model.datatypes import BY_NAME, DataType
from vault.model.errors import Unreadable
from vault.model.export import Scalar, SkippedLine

_PARAMETER = re.compile(r"param([0-9]{1,5})")
_ENUM = re.compile(r"enum([0-9]{1,5})")
_GROUP = re.compile(r"group[0-9]{1,5}")
_ZEROS = re.compile(r"^([+-]?)0+(?=[0-9])")
# Fields by place. The first is reserved; size and path of the link say where the drive has it.
(_DESCRIPTOR, _TYPE, _SIZE, _NAME, _UNIT, _HELP, _LOW, _HIGH, _DEFAULT) = range(3, 12)
_SCALING = {"mult": 12, "div": 13, "base": 14, "offset": 15}
_LINKS = range(16, 20)
_DECIMALS = 20
_MOST_DECIMALS = 30
# Bits of the descriptor.
_ENUMERATED, _SCALED, _READ_ONLY, _EXTENDED = 1 << 1, 1 << 2, 1 << 4, 1 << 6
_TYPES = {
    0xC1: "BOOLEAN", 0xC2: "INTEGER8", 0xC3: "INTEGER16", 0xC4: "INTEGER32", 0xC5: "INTEGER64",
    0xC6: "UNSIGNED8", 0xC7: "UNSIGNED16", 0xC8: "UNSIGNED32", 0xC9: "UNSIGNED64",
    0xCA: "REAL32", 0xCB: "REAL64", 0xD0: "VISIBLE_STRING", 0xD1: "UNSIGNED8",
    0xD2: "UNSIGNED16", 0xD3: "UNSIGNED32", 0xD4: "UNSIGNED64", 0xDA: "VISIBLE_STRING",
    # Codes of the first edition, which are told apart by their size.
    0x01: "UNSIGNED16", 0x02: "UNSIGNED16", 0x03: "INTEGER16", 0x04: "BOOLEAN",
    0x05: "INTEGER8", 0x06: "INTEGER32", 0x07: "INTEGER64", 0x08: "UNSIGNED8",
    0x09: "UNSIGNED32", 0x0A: "UNSIGNED64", 0x0B: "REAL32", 0x0C: "REAL64",
}  # fmt: skip


def read_cip_eds(content: bytes, *, file: str) -> Description:
    """Read every parameter, by its number. Raises Unreadable."""
    text = read_cip_text(decode(content, ENCODINGS, file=file)[0], file)
    told = [*text.problems]
    groups = dict(_groups(text, told))
    enums = _by_number(text, _ENUM)
    parameters: dict[str, DescribedParameter] = {}
    for name, entry in text.section("Params").items():
        if found := _PARAMETER.fullmatch(name):
            code = str(int(found[1]))
            described = _parameter(code, entry, enums.get(code), groups, told)
            if (first := parameters.setdefault(code, described)) is not described:
                told.append(
                    entry.skipped(f"parameter {code} is given already in line {first.line}")
                )
    if not parameters:
        line = min((entry.line for entry in text.section("Params").values()), default=1)
        raise Unreadable("no parameter in section [Params]", file=file, line=line)
    revision = [text.text("Device", key) for key in ("MajRev", "MinRev")]
    return Description(
        kind="cip-eds",
        title=text.text("Device", "ProdName") or text.text("File", "DescText"),
        vendor=text.text("Device", "VendName"),
        product=text.text("Device", "Catalog") or text.text("Device", "ProdName"),
        version=".".join(filter(None, revision)),
        parameters=tuple(parameters.values()),
        skipped=tuple(sorted(told, key=lambda bad: bad.line)),
    )


def number(text: str) -> int:
    """A whole number, which zeros before it do not make octal as in an EDS of CiA 306."""
    return read_number(_without_zeros(text))


def _without_zeros(text: str) -> str:
    return _ZEROS.sub(r"\1", text)


def _by_number(text: CipText, name: re.Pattern[str]) -> dict[str, CipEntry]:
    """Entries of the parameters by their number, which zeros may stand before."""
    entries = text.section("Params").items()
    found = ((name.fullmatch(key), entry) for key, entry in entries)
    return {str(int(match[1])): entry for match, entry in found if match is not None}


def _groups(text: CipText, told: list[SkippedLine]) -> Iterator[tuple[str, str]]:
    """Group of each parameter: an entry is its name, how many it has, and their numbers."""
    for name, entry in text.section("Groups").items():
        if _GROUP.fullmatch(name):
            for member in entry.fields[2:]:
                try:
                    yield str(number(member)), entry.get(0)
                except BadValue as bad:
                    told.append(entry.skipped(str(bad)))


def _parameter(
    code: str,
    entry: CipEntry,
    table: CipEntry | None,
    groups: dict[str, str],
    told: list[SkippedLine],
) -> DescribedParameter:
    flags = _whole(entry, _DESCRIPTOR, told) or 0
    kind = _kind(entry, told)
    return DescribedParameter(
        code=code,
        name=entry.get(_NAME).strip(),
        line=entry.line,
        data_type=kind.name if kind is not None else None,
        unit=entry.get(_UNIT).strip() or None,
        scaling=_scaling(entry, flags, told),
        low=_content(entry, _LOW, kind, told),
        high=_content(entry, _HIGH, kind, told),
        default=_content(entry, _DEFAULT, kind, told),
        choices=dict(_choices(table, told)) if flags & _ENUMERATED and table is not None else {},
        access="ro" if flags & _READ_ONLY else "rw",
        group=groups.get(code, ""),
        help=" ".join(entry.get(_HELP).split()),
    )


def _whole(entry: CipEntry, place: int, told: list[SkippedLine]) -> int | None:
    try:
        return number(entry.get(place)) if entry.get(place) else None
    except BadValue as bad:
        told.append(entry.skipped(str(bad)))
        return None


def _kind(entry: CipEntry, told: list[SkippedLine]) -> DataType | None:
    """The data type by its code, where its size is what the entry says."""
    code = _whole(entry, _TYPE, told)
    if code is None or code not in _TYPES:
        told.append(entry.skipped(f"unknown data type {entry.get(_TYPE)[:20] or 'of no code'}"))
        return None
    kind = BY_NAME[_TYPES[code]]
    size = _whole(entry, _SIZE, told)
    if kind.bits and size is not None and size != max(kind.bits // 8, 1):
        reason = f"data type {entry.get(_TYPE)} is {kind.name}, which has not {size} bytes"
        told.append(entry.skipped(reason))
        return None
    return kind


def _content(
    entry: CipEntry, place: int, kind: DataType | None, told: list[SkippedLine]
) -> Scalar | None:
    text = entry.get(place)
    if not text or kind is None:
        return None
    try:
        return read_value(text if kind.family == "text" else _without_zeros(text), kind)
    except BadValue as bad:
        told.append(entry.skipped(str(bad)))
        return None


def _scaling(entry: CipEntry, flags: int, told: list[SkippedLine]) -> Scaling | None:
    """(content + offset) x mult x base / div, where the descriptor says that it is scaled.

    Where it says that the scaling is of extended precision, that is divided by ten to the number of
    decimal places; else these only say how it is to be shown.
    """
    if not any(entry.get(place) for place in (*_SCALING.values(), *_LINKS)):
        return None
    if any(_refers(entry.get(place)) for place in _LINKS):
        told.append(entry.skipped("its scaling depends on another parameter: left out"))
        return None
    numbers = {"mult": 1, "div": 1, "base": 1, "offset": 0}
    for name, place in _SCALING.items():
        if text := entry.get(place):
            try:
                numbers[name] = number(text)
            except BadValue as bad:
                told.append(entry.skipped(f"{name} {bad}"))
                return None
    decimals = _whole(entry, _DECIMALS, told)
    if decimals is not None and not 0 <= decimals <= _MOST_DECIMALS:
        told.append(entry.skipped(f"there cannot be {decimals} decimal places"))
        return None
    if not numbers["mult"] or not numbers["div"] or not numbers["base"]:
        told.append(entry.skipped("its scaling is left out: mult, div or base is 0"))
        return None
    factor = Fraction(numbers["mult"] * numbers["base"], numbers["div"])
    if flags & _EXTENDED:
        factor /= 10 ** (decimals or 0)
    elif not flags & _SCALED:
        if factor != 1 or numbers["offset"]:
            said = "its scaling is left out, as its descriptor says that it is not scaled"
            told.append(entry.skipped(said))
        return None
    return Scaling(factor, Fraction(numbers["offset"]), decimals)


def _refers(text: str) -> bool:
    """Whether a field names another parameter: anything but nothing and 0."""
    try:
        return bool(text) and number(text) != 0
    except BadValue:
        return True


def _choices(table: CipEntry, told: list[SkippedLine]) -> Iterator[tuple[int, str]]:
    """Numbers and their names, in turn."""
    for place in range(0, len(table.fields) - 1, 2):
        try:
            yield number(table.fields[place]), table.fields[place + 1].strip()
        except BadValue as bad:
            told.append(table.skipped(str(bad)))

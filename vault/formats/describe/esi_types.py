"""Data types of an EtherCAT device description (ESI after ETG.2000): what an object consists of.

Names of elements and of types are from memory.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from vault.formats.dcf_values import BadValue
from vault.formats.xml_text import XmlElement
from vault.model.datatypes import BY_NAME, DataType
from vault.model.export import Scalar
from vault.model.wording import plural

_BASE = {
    "BOOL": "BOOLEAN", "BIT": "BOOLEAN", "BYTE": "UNSIGNED8", "WORD": "UNSIGNED16",
    "DWORD": "UNSIGNED32", "LWORD": "UNSIGNED64", "SINT": "INTEGER8", "INT": "INTEGER16",
    "INT24": "INTEGER24", "DINT": "INTEGER32", "INT40": "INTEGER40", "INT48": "INTEGER48",
    "INT56": "INTEGER56", "LINT": "INTEGER64", "USINT": "UNSIGNED8", "UINT": "UNSIGNED16",
    "UINT24": "UNSIGNED24", "UDINT": "UNSIGNED32", "UINT40": "UNSIGNED40",
    "UINT48": "UNSIGNED48", "UINT56": "UNSIGNED56", "ULINT": "UNSIGNED64", "REAL": "REAL32",
    "LREAL": "REAL64", "BITARR8": "UNSIGNED8", "BITARR16": "UNSIGNED16",
    "BITARR32": "UNSIGNED32",
}  # fmt: skip
_PATTERNS = (
    (re.compile(r"STRING\s*\(\d+\)|STRING"), "VISIBLE_STRING"),
    (re.compile(r"WSTRING\s*\(\d+\)|WSTRING"), "UNICODE_STRING"),
    (re.compile(r"ARRAY\s*\[.+\]\s*OF\s*(BYTE|USINT)|OCTET_STRING\s*\(\d+\)"), "OCTET_STRING"),
    (re.compile(r"BIT[2-8]"), "UNSIGNED8"),
)
_INTEGER = re.compile(r"([+-]?)\s*(?:(#x|0x)([0-9a-f]{1,16})|([0-9]{1,20}))", re.IGNORECASE)
_OCTETS = re.compile(r"(?:[0-9a-f]{2})+", re.IGNORECASE)
_DEEPEST = 8
_LAST_SUB = 0xFF
_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class Part:
    """One value of an object: its sub-index, name, type and the element that describes it."""

    sub: int
    name: str
    kind: DataType | None
    choices: Mapping[int, str]
    element: XmlElement | None = None


def integer(text: str | None) -> int:
    """A whole number: decimal, or hex after `#x`. Raises BadValue."""
    found = _INTEGER.fullmatch((text or "").strip())
    if found is None:
        raise BadValue(f"{(text or '')[:40]!r} is no whole number")
    number = int(found[3], 16) if found[2] else int(found[4])
    return -number if found[1] == "-" else number


def text_of(element: XmlElement | None, tag: str) -> str:
    """Text of a child in English (1033), else in the first language that it has."""
    texts = [*element.named(tag)] if element is not None else []
    english = [one for one in texts if one.get("LcId") in (None, "1033")]
    return next((one.text for one in (*english, *texts) if one.text), "")


@dataclass(slots=True)
class DataTypes:
    """The data types of one dictionary by name; those of the standard need no entry.

    A name that is not in it is looked for in the `other` dictionaries of the device. What a type
    stands for is found once, however many objects are of it.
    """

    other: Mapping[str, XmlElement] = field(default_factory=dict)
    types: dict[str, XmlElement] = field(default_factory=dict)
    _kinds: dict[str, tuple[DataType | None, Mapping[int, str]]] = field(default_factory=dict)

    def add(self, dictionary: XmlElement) -> None:
        """Take in the data types of a dictionary."""
        for group in dictionary.named("DataTypes"):
            for one in group.named("DataType"):
                self.types.setdefault(text_of(one, "Name"), one)

    def _named(self, name: str) -> XmlElement | None:
        found = self.types.get(name)
        return found if found is not None else self.other.get(name)

    def kind(self, name: str) -> tuple[DataType | None, Mapping[int, str]]:
        """The basic type that a name stands for, None if unknown, and names of its values."""
        if name not in self._kinds:
            self._kinds[name] = self._found(name)
        return self._kinds[name]

    def _found(self, name: str) -> tuple[DataType | None, Mapping[int, str]]:
        choices: dict[int, str] = {}
        for _ in range(_DEEPEST):
            known = self._named(name)
            if known is not None and not choices:
                choices = dict(_choices(known))
            base = text_of(known, "BaseType")
            if basic := _basic(name):
                return BY_NAME[basic], choices
            if known is not None and known.child("ArrayInfo") is not None and base in _OCTET:
                return BY_NAME["OCTET_STRING"], choices
            if not base or base == name:
                break
            name = base
        return None, choices

    def parts(self, type_name: str, title: str) -> list[Part]:
        """The values of an object of a type: itself, or its sub-objects. Raises BadValue."""
        record = self._named(type_name)
        if record is None or record.child("SubItem") is None:
            return [Part(0, title, *self.kind(type_name))]
        found: list[Part] = []
        for item in record.named("SubItem"):
            _check(len(found))  # there are no more, and each object would have them all
            name, kind = text_of(item, "Name"), text_of(item, "Type")
            array = self._named(kind)
            if item.child("SubIdx") is None and array is not None:
                found += self._elements(array, item, name)
                continue
            sub = (
                integer(text_of(item, "SubIdx")) if item.child("SubIdx") is not None else len(found)
            )
            _check(sub)
            found.append(Part(sub, name, *self.kind(kind), item))
        return found

    def _elements(self, array: XmlElement, item: XmlElement, name: str) -> Iterator[Part]:
        bounds = [*array.named("ArrayInfo")]
        if len(bounds) != 1:
            reason = f"an array of {plural(len(bounds), 'dimension')} is not read"
            raise BadValue(reason)
        first = integer(text_of(bounds[0], "LBound"))
        last = first + integer(text_of(bounds[0], "Elements")) - 1
        _check(first, last)
        kind, choices = self.kind(text_of(array, "BaseType"))
        for sub in range(first, last + 1):
            own_name = "" if name == "Elements" else f"{name[:_LONGEST_NAME]} {sub}"
            yield Part(sub, own_name, kind, choices, item)


_OCTET = ("BYTE", "USINT")


def _check(*subs: int) -> None:
    for sub in subs:
        if not 0 <= sub <= _LAST_SUB:
            raise BadValue(f"there is no sub-index {sub}")


def _basic(name: str) -> str | None:
    if name in _BASE:
        return _BASE[name]
    return next((kind for pattern, kind in _PATTERNS if pattern.fullmatch(name)), None)


def _choices(known: XmlElement) -> Iterator[tuple[int, str]]:
    for one in known.named("EnumInfo"):
        yield integer(text_of(one, "Enum")), text_of(one, "Text")


def content(info: XmlElement, what: str, kind: DataType) -> Scalar | None:
    """A default or limit of an object: `what` is `Default`, `Min` or `Max`. Raises BadValue.

    `…Data` is the content's bytes in hex, little-endian; `…Value` a number, `…String` a text.
    """
    if (data := info.child(f"{what}Data")) is not None and data.text:
        return _of_bytes("".join(data.text.split()), kind)
    if (number := info.child(f"{what}Value")) is not None and number.text:
        if kind.family == "real":
            return _real(number.text)
        return _within(integer(number.text), kind)
    if (text := info.child(f"{what}String")) is not None and text.text:
        if kind.family != "text":
            raise BadValue(f"{text.text[:40]!r} is a text, and the type is {kind.name}")
        return text.text
    return None


def _within(number: int, kind: DataType) -> int:
    low, high = kind.low, kind.high
    if low is None or high is None:
        raise BadValue(f"{number} is a number, and the type is {kind.name}")
    if not low <= number <= high:
        raise BadValue(f"{number} lies outside {kind.name} ({low} to {high})")
    return number


def _real(text: str) -> Decimal:
    if not re.fullmatch(r"[+-]?[0-9]{1,40}(\.[0-9]{1,40})?([eE][+-]?[0-9]{1,3})?", text):
        raise BadValue(f"{text[:40]!r} is no decimal number")
    return Decimal(text)


def _of_bytes(digits: str, kind: DataType) -> Scalar:
    if not _OCTETS.fullmatch(digits):
        raise BadValue(f"{digits[:40]!r} is no row of bytes in hex")
    octets = bytes.fromhex(digits)
    if kind.family == "octets":
        return digits.lower()
    if kind.family == "text":
        try:
            return octets.decode(
                "utf-16-le" if kind.name == "UNICODE_STRING" else "latin-1"
            ).rstrip("\0")
        except UnicodeDecodeError as error:
            raise BadValue(f"{digits[:40]!r} is no text in UTF-16") from error
    size = max(kind.bits // 8, 1)
    if len(octets) != size:
        has = plural(len(octets), "byte")
        raise BadValue(f"{digits[:40]!r} has {has}; {kind.name} has {size}")
    if kind.family == "real":
        return _shortest(octets)
    return _within(int.from_bytes(octets, "little", signed=kind.family == "integer"), kind)


def _shortest(octets: bytes) -> Decimal:
    """The shortest decimal number that these bytes stand for (IEEE 754, little-endian)."""
    form = "<f" if len(octets) == 4 else "<d"
    (number,) = struct.unpack(form, octets)
    if number - number != 0:
        raise BadValue(f"{octets.hex()!r} is no finite number")
    texts = (f"{number:.{digits}g}" for digits in range(1, 18))
    return Decimal(next(text for text in texts if _packs(form, text) == octets))


def _packs(form: str, text: str) -> bytes:
    try:
        return struct.pack(form, float(text))
    except OverflowError:  # rounded up beyond the largest
        return b""

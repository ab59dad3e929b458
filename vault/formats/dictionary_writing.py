"""What writers of object dictionaries share: objects in order, data types, spellings.

`what` is what is being written, with its article: `a DCF`.
"""

from __future__ import annotations

import re

from vault.formats.dcf_channels import AXIS_STEP, axis_of
from vault.formats.dcf_values import BadValue, spelled
from vault.model.datatypes import BY_NAME, DECIMAL, DataType
from vault.model.errors import WrongUsage
from vault.model.export import Entry, Listing, Scalar

_CODE = re.compile(r"0x([0-9A-F]{4}):([0-9A-F]{2})")
# Standard places of identity, by nameplate field (CiA 301 and CiA 306, from memory).
IDENTITY = {
    "serial": "0x1018:04",
    "firmware": "0x100A:00",
    "hardware": "0x1009:00",
    "drive": "0x1008:00",
}


def by_object(listing: Listing, what: str) -> dict[int, dict[int, Entry]]:
    """Entries by index and sub-index, at the addresses of their own axis."""
    objects: dict[int, dict[int, Entry]] = {}
    for entry in listing.entries:
        found = _CODE.fullmatch(entry.code)
        if found is None or int(found[1], 16) < 0x1000:
            raise WrongUsage(f"{entry.code}: {what} holds objects such as 0x6065:00 only")
        shift = (listing.channel or 0) * AXIS_STEP if axis_of(entry.code) == 0 else 0
        members = objects.setdefault(int(found[1], 16) + shift, {})
        if members.setdefault(int(found[2], 16), entry) is not entry:
            raise WrongUsage(f"{entry.code} is there twice: {what} holds it once")
    return objects


def spelled_value(content: Scalar, kind: DataType, code: str, what: str) -> str:
    """Spell a value so that it reads back the same; raises WrongUsage naming the code."""
    try:
        return spelled(content, kind)
    except BadValue as bad:
        raise WrongUsage(f"{code} cannot be written to {what}: {bad}") from bad


def data_type_of(entry: Entry, what: str) -> DataType:
    """Data type of an entry; where none is known, one that holds its value and limits."""
    if entry.data_type is not None and entry.data_type != DECIMAL.name:
        if entry.data_type not in BY_NAME:
            raise WrongUsage(f"{entry.code}: {entry.data_type} is no data type of {what}")
        return BY_NAME[entry.data_type]
    contents = [entry.written, entry.low, entry.high, entry.default]
    numbers = [content for content in contents if content is not None]
    if isinstance(entry.written, str):
        return BY_NAME["VISIBLE_STRING" if entry.written.isascii() else "UNICODE_STRING"]
    if not all(isinstance(content, int) for content in numbers):
        return BY_NAME["REAL64"]
    for name in ("INTEGER32", "UNSIGNED32", "INTEGER64", "UNSIGNED64"):
        kind = BY_NAME[name]
        if all(_holds(kind, content) for content in numbers):
            return kind
    raise WrongUsage(f"{entry.code}: {entry.written} fits no data type of {what}")


def _holds(kind: DataType, content: Scalar) -> bool:
    low, high = kind.low, kind.high
    return (
        isinstance(content, int) and low is not None and high is not None and low <= content <= high
    )

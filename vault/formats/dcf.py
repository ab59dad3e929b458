"""EDS and DCF files after CiA 306: reading and writing.

Entries are sub-objects with code `0x6065:00`, in the order of the file. A file with several axes
(CiA 402: axis n at 6000h + n x 800h) is split by channel; entries of the chosen one get the address
that they have on the first axis.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

from vault.formats.dcf_channels import axis_of, choose_channel, entries_of_channel
from vault.formats.dcf_objects import Objects, commissioning
from vault.formats.dcf_values import BadValue, number, plain_text
from vault.formats.dcf_whole import LISTS, OBJECT, whole
from vault.formats.dictionary_writing import (
    IDENTITY,
    by_object,
    data_type_of,
    spelled_value,
)
from vault.formats.ini_lines import ENCODINGS, IniText, Section, plain_name, read_ini
from vault.formats.text_encoding import decode, encode, head_text
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing
from vault.model.parameters import canonical_code

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_HEADING = re.compile(
    r"^[ \t]*\[[ \t]*(?:(DeviceInfo|FileInfo|DeviceComm?issioning)|[0-9a-f]{4})[ \t]*\]",
    re.IGNORECASE | re.MULTILINE,
)
_NAME_KEY = re.compile(r"^[ \t]*ParameterName[ \t]*=", re.IGNORECASE | re.MULTILINE)
_COMMISSIONING = "DeviceComissioning"  # the spelling of the standard, which all readers know
_COMMISSIONING_NAMES = ("devicecomissioning", "devicecommissioning")
_PLACES = {
    "DeviceInfo": {"VendorName": "vendor", "ProductName": "product", "OrderCode": "drive"},
    _COMMISSIONING: {"NodeID": "node_id", "NodeName": "node_name", "Baudrate": "bit_rate"},
}


def recognises(content: bytes, file: str) -> bool:
    """Say whether the head of the file has sections as EDS and DCF files have."""
    text = head_text(content, ENCODINGS) or ""
    headings = list(_HEADING.finditer(text))
    return any(found[1] for found in headings) or bool(headings and _NAME_KEY.search(text))


def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of an EDS or DCF file; see the protocol in `vault.formats.registry`.

    The family's encodings are tried first. What is wrong with another axis than the chosen one
    is not reported.
    """
    if not content.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    found, encoding = _objects(content, _encodings(dialect), file, node_id)
    if not found.seen:
        raise Unreadable("no object in it: this is no EDS or DCF file", file=file, line=1)
    chosen, channels = choose_channel(found.entries, channel, file)
    entries = entries_of_channel(found.entries, chosen)
    skipped = [
        remark.line
        for remark in found.remarks
        if chosen is None or remark.code is None or axis_of(remark.code) in (None, chosen)
    ]
    return Listing(
        format="dcf",
        entries=tuple(entries),
        nameplate=_nameplate(found.ini, entries, dialect),
        skipped=tuple(sorted(skipped, key=lambda bad: bad.line)),
        holds="raw",
        encoding=encoding,
        channel=chosen,
        channels=channels,
        head_time=_head_time(found.ini),
        remarks=found.whole.doubts,
        ends=found.whole.ends,
    )


def _head_time(ini: IniText) -> str | None:
    """When the head says that the file was changed last, else made, in local time."""
    section = ini.section("FileInfo")
    for what in ("Modification", "Creation"):
        date, time = section.text(f"{what}Date"), section.text(f"{what}Time")
        for form in ("%m-%d-%Y %I:%M%p", "%m-%d-%Y %H:%M"):  # CiA 306, from memory
            with suppress(ValueError):
                return datetime.strptime(f"{date} {time or '00:00'}", form).isoformat()
    return None


def _encodings(dialect: ExportDialect | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*(dialect.encoding if dialect else ()), *ENCODINGS)))


# A file is read twice when its family or its channel is looked for: the last one is kept.
@lru_cache(maxsize=1)
def _objects(
    content: bytes, encodings: tuple[str, ...], file: str, node_id: int | None
) -> tuple[Objects, str]:
    text, encoding = decode(content, encodings, file=file)
    found = Objects(read_ini(text, file), node_id)
    found.read(file)
    return found, encoding


def _nameplate(ini: IniText, entries: list[Entry], dialect: ExportDialect | None) -> dict[str, str]:
    """Fields from their standard places, then those from the places that the family names."""
    by_code = {entry.code: entry for entry in entries}
    node_id = whole(commissioning(ini).get("NodeID"))
    found: dict[str, str] = {}

    def take(name: str, place: str, key: str) -> None:
        section = _section(ini, place)
        text = section.text(key)
        if key.lower() == "nodeid" and section is commissioning(ini) and node_id is not None:
            text = str(node_id)
        if text:
            found[name] = text

    for place, keys in _PLACES.items():
        for key, name in keys.items():
            take(name, place, key)
    for name, code in IDENTITY.items():
        if (entry := by_code.get(code)) is not None and str(entry.written).strip(" 0"):
            found[name] = str(entry.written)
    for place, name in (dialect.nameplate if dialect else {}).items():
        heading, dot, key = place.partition(".")
        if dot:
            take(name, heading, key)
        elif (entry := by_code.get(canonical_code(place))) is not None and entry.written != "":
            found[name] = str(entry.written)
    return found


def _section(ini: IniText, name: str) -> Section:
    if plain_name(name) in _COMMISSIONING_NAMES:
        return commissioning(ini)
    return ini.section(name)


class _Put(Protocol):
    def __call__(self, owner: str, *texts: str) -> None: ...


def write(listing: Listing, *, dialect: ExportDialect | None) -> bytes:
    """Write a DCF that reads back with the same entries and nameplate.

    An entry without data type gets one that fits its value. Left out is what CiA 306 has no place
    for: units, and nameplate fields that neither it nor the family places. An entry without access
    reads back as `rw`, which the file must state. Raises WrongUsage naming the entry or field that
    cannot be written.
    """
    if listing.holds != "raw":
        raise WrongUsage("a DCF holds raw contents, these are scaled values")
    objects = by_object(listing, "a DCF")
    lines: list[tuple[str, str]] = []

    def put(owner: str, *texts: str) -> None:
        lines.extend((owner, text) for text in texts)

    for heading, keys in _head(listing, dialect).items():
        put("the head", f"[{heading}]")
        for key, (name, text) in keys.items():
            put(f"nameplate {name}", f"{key}={text}")
        put("the head", "")
    for heading, indices in _listed(sorted(objects)):
        put("the lists", f"[{heading}]", f"SupportedObjects={len(indices)}")
        put("the lists", *(f"{n}=0x{index:04X}" for n, index in enumerate(indices, 1)), "")
    for index, members in objects.items():
        _put_object(put, index, members)
    encoded = encode(lines, listing.encoding, "\r\n")
    text = "".join(f"{line}\r\n" for _, line in lines)
    if not text.isascii() and decode(encoded, _encodings(dialect))[0] != text:
        raise WrongUsage(f"texts in {listing.encoding} would read back as other characters")
    return encoded


def _head(listing: Listing, dialect: ExportDialect | None) -> dict[str, dict[str, tuple[str, str]]]:
    """Sections of the head: by key, the nameplate field and its text."""
    places = {"FileInfo": {}, **{heading: dict(keys) for heading, keys in _PLACES.items()}}
    for place, name in (dialect.nameplate if dialect else {}).items():
        heading, dot, key = place.partition(".")
        plain = plain_name(heading)
        if not dot or OBJECT.fullmatch(plain) or plain in map(plain_name, LISTS):
            continue  # it is written with the objects
        if plain in _COMMISSIONING_NAMES:
            heading = _COMMISSIONING
        usual = places.setdefault(_as_in(places, heading), {})
        usual[_as_in(usual, key)] = name
    by_code = {entry.code: str(entry.written) for entry in listing.entries}
    in_objects = {name: by_code.get(code) for name, code in IDENTITY.items()}
    head = {"FileInfo": {"EDSVersion": ("format", "4.0")}}
    for heading, keys in places.items():
        section = head.setdefault(heading, {})
        for key, name in keys.items():
            text = listing.nameplate.get(name)
            if text and text != in_objects.get(name):
                section[key] = (name, _field(name, text))
    return head


def _as_in(known: Iterable[str], name: str) -> str:
    """The name as it is spelled already, in any case and spacing."""
    return next((one for one in known if plain_name(one) == plain_name(name)), name.strip())


def _field(name: str, text: str) -> str:
    owner = f"nameplate {name}"
    if name in ("node_id", "bit_rate"):
        try:
            fits = name == "bit_rate" or str(number(text)) == text
        except BadValue:
            fits = False
        if not fits or not (text.isascii() and text.isdecimal()):
            raise WrongUsage(f"{owner}: {text!r} is no whole number, as a DCF needs")
    return _plain(text, owner)


def _listed(indices: list[int]) -> Iterator[tuple[str, list[int]]]:
    """Objects by list: 1000h, 1001h and 1018h are mandatory, 2000h to 5FFFh the maker's."""
    mandatory = [i for i in indices if i in (0x1000, 0x1001, 0x1018)]
    maker = [i for i in indices if 0x2000 <= i < 0x6000]
    optional = [i for i in indices if i not in mandatory and not 0x2000 <= i < 0x6000]
    yield from zip(LISTS, (mandatory, optional, maker), strict=True)


def _put_object(put: _Put, index: int, members: dict[int, Entry]) -> None:
    if list(members) == [0]:
        _put_entry(put, f"{index:04X}", members[0])
        return
    owner = f"{index:04X}h"
    put(owner, f"[{index:04X}]", f"ParameterName=Object {owner}")
    put(owner, "ObjectType=0x9", f"SubNumber={len(members)}", "")
    for sub, entry in members.items():
        _put_entry(put, f"{index:04X}sub{sub:X}", entry)


def _put_entry(put: _Put, heading: str, entry: Entry) -> None:
    kind = data_type_of(entry, "a DCF")
    name = _plain(entry.name, entry.code) if entry.name else ""
    texts = [f"[{heading}]", f"ParameterName={name}", "ObjectType=0x7"]
    texts += [f"DataType=0x{kind.number:04X}", f"AccessType={entry.access or 'rw'}"]
    for key, content in (
        ("LowLimit", entry.low),
        ("HighLimit", entry.high),
        ("DefaultValue", entry.default),
    ):
        if content is not None:
            texts.append(f"{key}={spelled_value(content, kind, entry.code, 'a DCF')}")
    cleared = entry.written == "" and kind.family == "text"
    text = "" if cleared else spelled_value(entry.written, kind, entry.code, "a DCF")
    texts.append(f"ParameterValue={text}")
    put(entry.code, *texts, "")


def _plain(text: str, owner: str) -> str:
    try:
        return plain_text(text)
    except BadValue as bad:
        raise WrongUsage(f"{owner} cannot be written to a DCF: {bad}") from bad

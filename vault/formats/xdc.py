"""XDC: a device configuration after CiA 311, reading, writing, and putting values back in place.

An object's value is its `actualValue`, or that of the parameter it refers to. A file with several
axes is split by channel as a DCF is. Names of elements and attributes are from memory.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.formats.cia311 import ROOT, XmlObject, XmlObjects, label, skipped
from vault.formats.dcf_channels import AXIS_STEP, axis_of, choose_channel, entries_of_channel
from vault.formats.dcf_objects import Remark
from vault.formats.dcf_values import BadValue
from vault.formats.dictionary_writing import IDENTITY, by_object, data_type_of, spelled_value
from vault.formats.xml_text import Value, XmlElement, escaped, read_xml, root_of
from vault.model.datatypes import DataType
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing, Scalar
from vault.model.parameters import canonical_code

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_NAMESPACE = "http://www.canopen.org/xml/1.0"
_MARK = b"actualValue"
# Places of identity by nameplate field; from memory.
_IN_DEVICE = {"vendor": "vendorName", "product": "productName", "drive": "orderNumber"}
_IN_COMMISSIONING = {"node_id": "nodeID", "node_name": "nodeName", "bit_rate": "actualBaudRate"}


def recognises(content: bytes, file: str) -> bool:
    """Say whether it is a file after CiA 311 in which an actual value stands."""
    return root_of(content)[0] == ROOT and _MARK in content.replace(b"\0", b"")


def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of an XDC; see the protocol in `vault.formats.registry`.

    An object without an actual value stands at its default, as in a DCF.
    """
    found = _objects(content, file, node_id)
    remarks = [*found.remarks]
    entries = [*_entries(found, remarks)]
    chosen, channels = choose_channel(entries, channel, file)
    kept = entries_of_channel(entries, chosen)
    told = [
        remark.line
        for remark in remarks
        if chosen is None or remark.code is None or axis_of(remark.code) in (None, chosen)
    ]
    return Listing(
        format="xdc",
        entries=tuple(kept),
        nameplate=_nameplate(found, kept, dialect),
        skipped=tuple(sorted(told, key=lambda bad: bad.line)),
        holds="raw",
        encoding=found.xml.codec,
        channel=chosen,
        channels=channels,
        head_time=_head_time(found),
    )


# A file is read twice when its family or its channel is looked for: the last one is kept.
@lru_cache(maxsize=1)
def _objects(content: bytes, file: str, node_id: int | None) -> XmlObjects:
    found = XmlObjects(read_xml(content, file=file), node_id)
    found.read(file)
    if not found.seen:
        raise Unreadable("no CANopenObject in it", file=file, line=1)
    texts = [value.text for one in found.objects for value in one.values]
    if not texts or (found.has_blanks and not any(texts)):
        reason = "a device description after CiA 311: no object has an actualValue"
        raise Unreadable(reason, file=file, line=1, hint="export it with the drive's values")
    return found


def _entries(found: XmlObjects, remarks: list[Remark]) -> Iterator[Entry]:
    for one in found.objects:
        try:
            contents = [found.content(value.text, one.kind) for value in one.values]
        except BadValue as bad:
            remarks.append(_told(one, f"{one.code}: {bad}"))
            continue
        if any(content != contents[0] for content in contents):
            said = "its own actualValue is another than that of its parameter"
            remarks.append(_told(one, f"{one.code}: {said}"))
            continue
        written = contents[0] if contents else one.default
        if written is None or (written == "" and one.kind.family != "text"):
            continue
        yield Entry(
            one.code,
            written,
            one.line,
            one.name,
            "",
            one.kind.name,
            one.access,
            one.low,
            one.high,
            one.default,
            is_count=one.is_count,
            is_default=not contents and not one.is_count,
        )


def _told(one: XmlObject, reason: str) -> Remark:
    line = skipped(one.element, reason, "actualValue")
    return Remark(one.code, line)


def _head_time(found: XmlObjects) -> str | None:
    """When the head says that the file was changed last, else made, in local time."""
    body = found.device.get("ProfileBody")
    if body is None:
        return None
    for what in ("Modification", "Creation"):
        date, time = (body.get(f"file{what}{part}") for part in ("Date", "Time"))
        with suppress(ValueError):
            return datetime.fromisoformat(f"{date}T{(time or '00:00')[:8]}").isoformat()
    return None


def _nameplate(
    found: XmlObjects, entries: list[Entry], dialect: ExportDialect | None
) -> dict[str, str]:
    """Fields from their standard places, then those from the places that the family names."""
    device, commissioning = (
        found.device.get(name) for name in ("DeviceIdentity", "deviceCommissioning")
    )
    plate = {name: label(device, tag) for name, tag in _IN_DEVICE.items()}
    for name, key in _IN_COMMISSIONING.items():
        plate[name] = (commissioning.get(key) or "").strip() if commissioning is not None else ""
    if commissioning is not None and found.own_node_id is not None:
        plate["node_id"] = str(found.own_node_id)
    by_code = {entry.code: entry for entry in entries}
    for name, code in IDENTITY.items():
        if (entry := by_code.get(code)) is not None and str(entry.written).strip(" 0"):
            plate[name] = str(entry.written)
    for place, name in (dialect.nameplate if dialect else {}).items():
        if (entry := by_code.get(canonical_code(place))) is not None and entry.written != "":
            plate[name] = str(entry.written)
        elif (element := found.device.get(place)) is not None and element.text:
            plate[name] = element.text
    return {name: text for name, text in plate.items() if text}


def write_back(
    original: bytes,
    values: Mapping[str, Scalar],
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    drop: Collection[str] = (),
) -> bytes:
    """Put values into an original; see the protocol `WritesBack` in `vault.formats.registry`.

    A value that is the same already keeps its spelling; one in hex stays in hex. The objects of
    `drop` are taken out, with their actual values in the parameter list. Raises WrongUsage for a
    code that has no actual value in the file, and for a value that does not fit its type or that
    other objects share.
    """
    found = _objects(original, file, None)
    entries = [*_entries(found, [])]
    chosen = choose_channel(entries, channel, file)[0] or 0
    wanted = {entry.code: entry.written for entry in entries}
    by_code = {one.code: one for one in found.objects}
    changes: dict[Value, str] = {}
    for code, content in values.items():
        one = by_code.get(address := _address(canonical_code(code), chosen))
        if one is None or not one.values:
            raise WrongUsage(f"{code} has no value in the file that could be replaced", file=file)
        if code in drop:
            continue
        text = _text(content, one.kind, code)
        wanted[address] = found.content(text, one.kind)
        for value in one.values:
            with suppress(BadValue):
                if found.content(value.text, one.kind) == wanted[address]:
                    continue
            changes[value] = _spelled_as(value.text, text, one)
    dropped = [_address(canonical_code(code), chosen) for code in drop]
    if missing := [code for code in dropped if code not in by_code]:
        raise WrongUsage(f"{missing[0]} is not in the export", file=file)
    taken_out = [*_taken_out([by_code[code] for code in dropped], changes)]
    written = found.xml.replaced(changes.items(), taken_out)
    _read_again(written, {c: v for c, v in wanted.items() if c not in dropped}, file)
    return written


def _taken_out(dropped: list[XmlObject], changes: dict[Value, str]) -> Iterator[XmlElement]:
    """What goes with some objects; how many parts an object has left is a change."""
    parts: dict[int, list[XmlObject]] = {}
    for one in dropped:
        parts.setdefault(id(one.whole), []).append(one)
        of_parameter = one.parameter.child("actualValue") if one.parameter is not None else None
        if of_parameter is not None:
            yield of_parameter
    for some in parts.values():
        whole = some[0].whole
        count = whole.attributes.get("subNumber")
        if not some[0].is_part or len(some) == len([*whole.named("CANopenSubObject")]):
            yield whole
            continue
        yield from (one.element for one in some)
        if count is not None and count.text.isdecimal():
            changes[count] = str(max(int(count.text) - len(some), 0))


def _read_again(content: bytes, wanted: Mapping[str, Scalar], file: str) -> None:
    """Hold what was written against what it is to say. Raises WrongUsage where they differ."""
    try:
        found = {entry.code: entry.written for entry in _entries(_objects(content, file, None), [])}
    except Unreadable as error:
        raise WrongUsage(f"what would be left is no export: {error.message}", file=file) from error
    wrong = [code for code in wanted.keys() | found.keys() if wanted.get(code) != found.get(code)]
    if wrong:
        raise WrongUsage(f"{min(wrong)} would read back as another value", file=file)


def _text(content: Scalar, kind: DataType, code: str) -> str:
    """How a value is spelled; a text may be empty."""
    is_cleared = content == "" and kind.family == "text"
    return "" if is_cleared else spelled_value(content, kind, code, "an XDC")


def _address(code: str, channel: int) -> str:
    """Where a code of the first axis stands in a file of several."""
    if not channel or not code.startswith("0x") or axis_of(code) != 0:
        return code
    return f"0x{int(code[2:6], 16) + channel * AXIS_STEP:04X}{code[6:]}"


def _spelled_as(old: str, wanted: str, one: XmlObject) -> str:
    if not one.kind.is_whole or not old.strip().lower().startswith("0x"):
        return wanted
    digits = len(old.strip()) - 2
    return f"0x{int(wanted) % 2**one.kind.bits:0{digits}X}"


def write(listing: Listing, *, dialect: ExportDialect | None) -> bytes:
    """Write an XDC that reads back with the same entries, and the nameplate as far as it has place.

    Raises WrongUsage naming the entry that cannot be written.
    """
    if listing.holds != "raw":
        raise WrongUsage("an XDC holds raw contents, these are scaled values")
    objects = by_object(listing, "an XDC")
    by_code = {entry.code: str(entry.written) for entry in listing.entries}
    plate = {
        name: text
        for name, text in listing.nameplate.items()
        if text and text != by_code.get(IDENTITY.get(name, ""))
    }
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', f'<{ROOT} xmlns="{_NAMESPACE}">']
    lines += [" <ISO15745Profile>", "  <ProfileBody>", "   <DeviceIdentity>"]
    lines += [
        f"    <{tag}>{escaped(plate[n])}</{tag}>" for n, tag in _IN_DEVICE.items() if n in plate
    ]
    lines += ["   </DeviceIdentity>", "  </ProfileBody>", " </ISO15745Profile>"]
    lines += [" <ISO15745Profile>", "  <ProfileBody>", "   <ApplicationLayers>"]
    lines.append("    <CANopenObjectList>")
    for index, members in objects.items():
        lines += _object(index, members)
    lines += ["    </CANopenObjectList>", "   </ApplicationLayers>"]
    given = {key: plate[name] for name, key in _IN_COMMISSIONING.items() if name in plate}
    lines.append(f"   <NetworkManagement><deviceCommissioning{_attributes(given)}/>")
    lines += ["   </NetworkManagement>", "  </ProfileBody>", " </ISO15745Profile>", f"</{ROOT}>"]
    return "".join(f"{line}\n" for line in lines).encode("utf-8")


def _object(index: int, members: dict[int, Entry]) -> Iterator[str]:
    if list(members) == [0]:
        yield f"     <CANopenObject{_attributes({'index': f'{index:04X}', **_of(members[0])})}/>"
        return
    head = {"index": f"{index:04X}", "name": f"Object {index:04X}h", "objectType": "9"}
    yield f"     <CANopenObject{_attributes({**head, 'subNumber': str(len(members))})}>"
    for sub, entry in members.items():
        yield f"      <CANopenSubObject{_attributes({'subIndex': f'{sub:02X}', **_of(entry)})}/>"
    yield "     </CANopenObject>"


def _of(entry: Entry) -> dict[str, str]:
    kind = data_type_of(entry, "an XDC")
    found = {"name": entry.name, "objectType": "7", "dataType": f"{kind.number:04X}"}
    found["accessType"] = entry.access or "rw"
    contents = {"lowLimit": entry.low, "highLimit": entry.high, "defaultValue": entry.default}
    for name, content in {**contents, "actualValue": entry.written}.items():
        if content is not None:
            found[name] = _text(content, kind, entry.code)
    return found


def _attributes(given: Mapping[str, str]) -> str:
    return "".join(f' {name}="{escaped(text, quote=True)}"' for name, text in given.items())

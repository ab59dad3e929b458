"""EDS and DCF files after CiA 306: reading and writing.

Entries are sub-objects with code `0x6065:00`, in the order of the file. A file with several axes
(CiA 402: axis n at 6000h + n x 800h) is split by channel; entries of the chosen one get the address
that they have on the first axis.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol

from vault.formats.dcf_channels import AXIS_STEP, axis_of, choose_channel, entries_of_channel
from vault.formats.dcf_values import BadValue, number, plain_text, spelled, value
from vault.formats.ini_lines import CUT_OFF, IniText, Section, read_ini
from vault.formats.text_encoding import decode, encode
from vault.model.datatypes import BY_NAME, BY_NUMBER, DataType
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, ExportContent, Scalar, SkippedLine
from vault.model.parameters import canonical_code

if TYPE_CHECKING:
    from vault.model.families import ExportDialect

_ENCODINGS = ("utf-8", "windows-1252", "latin-1", "utf-16")
_OBJECT = re.compile(r"([0-9a-f]{4})(?:sub([0-9a-f]{1,2}))?", re.IGNORECASE)
_LOOKS = re.compile(
    r"^\s*\[\s*(?:[0-9a-f]{4}(?:sub[0-9a-f]{1,2})?|DeviceInfo|FileInfo|DeviceComm?issioning)\s*\]",
    re.IGNORECASE | re.MULTILINE,
)
_LISTS = ("MandatoryObjects", "OptionalObjects", "ManufacturerObjects")
_DOMAIN = 0x2
_COMPOUND = (0x8, 0x9)
_ACCESS = {"ro": "ro", "wo": "wo", "rw": "rw", "rwr": "rw", "rww": "rw", "const": "const"}
# Standard places of identity (CiA 301, from memory), by nameplate field.
_IDENTITY = {
    "serial": "0x1018:04",
    "firmware": "0x100A:00",
    "hardware": "0x1009:00",
    "drive": "0x1008:00",
}
_DEVICE_KEYS = {"VendorName": "vendor", "ProductName": "product", "OrderCode": "drive"}
_NODE_KEYS = {"NodeID": "node_id", "NodeName": "node_name", "Baudrate": "bit_rate"}


def recognises(content: bytes, file: str) -> bool:
    """Say whether the head of the file has sections as EDS and DCF files have."""
    try:
        text, _ = decode(content[:65536], _ENCODINGS, final=len(content) <= 65536)
    except Unreadable:
        return False
    return _LOOKS.search(text) is not None


def read(
    content: bytes, *, file: str, dialect: ExportDialect | None, channel: int | None
) -> ExportContent:
    """Read one axis of an EDS or DCF file; see the protocol in `vault.formats.registry`."""
    if not content.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    text, encoding = decode(content, _ENCODINGS, file=file)
    ini = read_ini(text)
    found = _Objects(ini)
    found.read()
    if not found.entries and not found.seen:
        raise Unreadable("no object in it: this is no EDS or DCF file", file=file, line=1)
    chosen, channels = choose_channel(found.entries, channel, file)
    entries = entries_of_channel(found.entries, chosen)
    return ExportContent(
        format="dcf",
        entries=tuple(entries),
        nameplate=_nameplate(ini, found.node_id, entries, dialect),
        skipped=tuple(sorted(found.skipped, key=lambda bad: bad.line)),
        holds="raw",
        encoding=encoding,
        channel=chosen,
        channels=channels,
    )


class _Put(Protocol):
    def __call__(self, owner: str, *texts: str) -> None: ...


@dataclass(slots=True)
class _Objects:
    """The object dictionary of a file: entries, and what could not be understood."""

    ini: IniText
    entries: list[Entry] = field(default_factory=list)
    skipped: list[SkippedLine] = field(default_factory=list)
    node_id: int | None = None
    seen: int = 0

    def read(self) -> None:
        """Read every object of the file in its order."""
        self.skipped += self.ini.problems
        self.node_id = self._node_id()
        for section in self.ini.sections.values():
            found = _OBJECT.fullmatch(section.name.replace(" ", ""))
            if found is None:
                continue
            self.seen += 1
            index = int(found[1], 16)
            if found[2] is not None:
                if found[1].lower() not in self.ini.sections:
                    self.skipped.append(section.skipped("its object has no section of its own"))
                self._entry(section, index, int(found[2], 16))
            else:
                self._object(section, index)
        self._missing()

    def _node_id(self) -> int | None:
        key = _commissioning(self.ini).get("NodeID")
        if key is None:
            return None
        try:
            return number(key.text)
        except BadValue as bad:
            self.skipped.append(key.skipped(str(bad)))
            return None

    def _object(self, section: Section, index: int) -> None:
        try:
            kind = number(section.text("ObjectType") or "7")
            compact = number(section.text("CompactSubObj") or "0")
            subs = number(section.text("SubNumber") or "0")
        except BadValue as bad:
            self.skipped.append(section.skipped(str(bad)))
            return
        if compact:
            self._compact(section, index, compact)
        elif kind not in _COMPOUND or (not subs and section.get("DataType")):
            self._entry(section, index, 0, domain=kind == _DOMAIN)
        else:
            own = f"{index:04x}sub"
            there = sum(name.startswith(own) for name in self.ini.sections)
            if there < subs:
                reason = f"{there} of {subs} sub-objects are there: {CUT_OFF}"
                self.skipped.append(section.skipped(reason))

    def _entry(self, section: Section, index: int, sub: int, *, domain: bool = False) -> None:
        written = section.get("ParameterValue") or section.get("DefaultValue")
        if written is None:
            return
        kind = self._type(section, domain=domain)
        if kind is None:
            return
        name = section.text("Denotation") or section.text("ParameterName")
        self._add(section, index, sub, kind, name, written.text, written.line)

    def _type(self, section: Section, *, domain: bool = False) -> DataType | None:
        key = section.get("DataType")
        if key is None:
            if domain:
                return BY_NAME["DOMAIN"]
            self.skipped.append(section.skipped("it states no DataType"))
            return None
        try:
            kind = BY_NUMBER.get(number(key.text))
        except BadValue as bad:
            self.skipped.append(key.skipped(str(bad)))
            return None
        if kind is None:
            self.skipped.append(key.skipped(f"unknown data type {key.text}"))
        return kind

    def _add(
        self,
        section: Section,
        index: int,
        sub: int,
        kind: DataType,
        name: str,
        text: str,
        line: int,
    ) -> None:
        code = f"0x{index:04X}:{sub:02X}"
        try:
            written = value(text, kind, self.node_id)
        except BadValue as bad:
            self.skipped.append(SkippedLine(line, f"{code} {text}"[:80], str(bad)))
            return
        self.entries.append(
            Entry(
                code,
                written,
                line,
                name,
                "",
                kind.name,
                _ACCESS.get(section.text("AccessType").lower()),
                self._limit(section, "LowLimit", kind),
                self._limit(section, "HighLimit", kind),
                self._limit(section, "DefaultValue", kind),
            )
        )

    def _limit(self, section: Section, key: str, kind: DataType) -> Scalar | None:
        found = section.get(key)
        if found is None:
            return None
        try:
            return value(found.text, kind, self.node_id)
        except BadValue as bad:
            self.skipped.append(found.skipped(str(bad)))
            return None

    def _compact(self, section: Section, index: int, count: int) -> None:
        """Sub-objects that share one description; values and names stand in lists of their own."""
        kind = self._type(section)
        if kind is None:
            return
        if not 0 < count <= 0xFE:
            self.skipped.append(section.skipped(f"{count} sub-objects cannot be"))
            return
        base = section.text("ParameterName")
        values = self.ini.section(f"{index:04X}Value")
        names = self.ini.section(f"{index:04X}Denotation"), self.ini.section(f"{index:04X}Name")
        usual = section.get("DefaultValue")
        first = Entry(
            f"0x{index:04X}:00", count, section.line, f"{base} count", "", "UNSIGNED8", "ro"
        )
        self.entries.append(first)
        for sub in range(1, count + 1):
            written = values.get(str(sub)) or usual
            if written is None:
                continue
            name = next((n.text(str(sub)) for n in names if n.text(str(sub))), f"{base} {sub}")
            self._add(section, index, sub, kind, name, written.text, written.line)

    def _missing(self) -> None:
        """Objects that the lists name and the file does not hold."""
        for name in _LISTS:
            section = self.ini.section(name)
            for key in section.keys.values():
                if not key.name.isdecimal() or not key.text:
                    continue
                try:
                    index = number(key.text)
                except BadValue as bad:
                    self.skipped.append(key.skipped(str(bad)))
                    continue
                if f"{index:04x}" not in self.ini.sections:
                    reason = f"object {index:04X}h is listed, but not in the file: {CUT_OFF}"
                    self.skipped.append(key.skipped(reason))


def _commissioning(ini: IniText) -> Section:
    return ini.section("DeviceComissioning", "DeviceCommissioning")


def _nameplate(
    ini: IniText, node_id: int | None, entries: list[Entry], dialect: ExportDialect | None
) -> dict[str, str]:
    found: dict[str, str] = {}
    device, node = ini.section("DeviceInfo"), _commissioning(ini)
    for section, keys in ((device, _DEVICE_KEYS), (node, _NODE_KEYS)):
        for key, name in keys.items():
            if text := section.text(key):
                found[name] = text
    if node_id is not None:
        found["node_id"] = str(node_id)
    by_code = {entry.code: entry for entry in entries}
    for name, code in _IDENTITY.items():
        if (entry := by_code.get(code)) is not None and str(entry.written).strip(" 0"):
            found[name] = str(entry.written)
    for place, name in (dialect.nameplate if dialect else {}).items():
        section_name, dot, key = place.partition(".")
        if dot:
            text = ini.section(section_name).text(key)
        else:
            entry = by_code.get(canonical_code(place))
            text = "" if entry is None else str(entry.written)
        if text:
            found[name] = text
    return found


def write(content: ExportContent, *, dialect: ExportDialect | None) -> bytes:
    """Write a DCF that reads back with the same entries.

    Raises WrongUsage naming the entry that cannot be written.
    """
    objects: dict[int, list[tuple[int, Entry]]] = {}
    for entry in content.entries:
        found = re.fullmatch(r"0x([0-9A-F]{4}):([0-9A-F]{2})", entry.code)
        if found is None:
            raise WrongUsage(f"{entry.code}: a DCF holds objects such as 0x6065:00 only")
        shift = (content.channel or 0) * AXIS_STEP if axis_of(entry.code) == 0 else 0
        objects.setdefault(int(found[1], 16) + shift, []).append((int(found[2], 16), entry))
    lines: list[tuple[str, str]] = []

    def put(owner: str, *texts: str) -> None:
        lines.extend((owner, text) for text in texts)

    put("the head", "[FileInfo]", "EDSVersion=4.0", "")
    for heading, keys in (("DeviceInfo", _DEVICE_KEYS), ("DeviceComissioning", _NODE_KEYS)):
        put("the nameplate", f"[{heading}]")
        for key, name in keys.items():
            if text := content.nameplate.get(name):
                put(f"nameplate {name}", f"{key}={_plain(text, name)}")
        put("the nameplate", "")
    for heading, indices in _listed(sorted(objects)):
        put("the lists", f"[{heading}]", f"SupportedObjects={len(indices)}")
        put("the lists", *(f"{n}=0x{index:04X}" for n, index in enumerate(indices, 1)), "")
    for index, members in objects.items():
        _put_object(put, index, members)
    return encode(lines, content.encoding, "\r\n")


def _listed(indices: list[int]) -> Iterator[tuple[str, list[int]]]:
    """Objects by list: 1000h, 1001h and 1018h are mandatory, 2000h to 5FFFh the maker's."""
    mandatory = [i for i in indices if i in (0x1000, 0x1001, 0x1018)]
    maker = [i for i in indices if 0x2000 <= i < 0x6000]
    yield "MandatoryObjects", mandatory
    yield "OptionalObjects", [i for i in indices if i not in mandatory and i not in maker]
    yield "ManufacturerObjects", maker


def _put_object(put: _Put, index: int, members: list[tuple[int, Entry]]) -> None:
    if [sub for sub, _ in members] == [0]:
        _put_entry(put, f"{index:04X}", members[0][1])
        return
    put(f"{index:04X}h", f"[{index:04X}]", f"ParameterName=Object {index:04X}h")
    put(f"{index:04X}h", "ObjectType=0x9", f"SubNumber={len(members)}", "")
    for sub, entry in members:
        _put_entry(put, f"{index:04X}sub{sub:X}", entry)


def _put_entry(put: _Put, heading: str, entry: Entry) -> None:
    kind = BY_NAME[entry.data_type] if entry.data_type else _fitting(entry.written)
    texts = [f"[{heading}]", f"ParameterName={_plain(entry.name or entry.code, entry.code)}"]
    texts += ["ObjectType=0x7", f"DataType=0x{kind.number:04X}"]
    texts.append(f"AccessType={entry.access or 'rw'}")
    for key, content in (
        ("LowLimit", entry.low),
        ("HighLimit", entry.high),
        ("DefaultValue", entry.default),
        ("ParameterValue", entry.written),
    ):
        if content is not None:
            try:
                texts.append(f"{key}={spelled(content, kind)}")
            except BadValue as bad:
                raise WrongUsage(f"{entry.code} cannot be written to a DCF: {bad}") from bad
    put(entry.code, *texts, "")


def _plain(text: str, owner: str) -> str:
    try:
        return plain_text(text)
    except BadValue as bad:
        raise WrongUsage(f"{owner} cannot be written to a DCF: {bad}") from bad


def _fitting(written: Scalar) -> DataType:
    """A data type that holds a value of which no type is known."""
    if isinstance(written, str):
        return BY_NAME["VISIBLE_STRING"]
    if isinstance(written, Decimal):
        return BY_NAME["REAL64"]
    for name in ("INTEGER32", "UNSIGNED32", "INTEGER64", "UNSIGNED64"):
        kind = BY_NAME[name]
        if kind.low is not None and kind.high is not None and kind.low <= written <= kind.high:
            return kind
    raise WrongUsage(f"{written} fits no data type of a DCF")

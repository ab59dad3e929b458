"""The object dictionary in an EDS or DCF file (CiA 306): from sections to entries."""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from typing import NamedTuple

from vault.formats.dcf_values import BadValue, NeedsNodeId, number, value
from vault.formats.dcf_whole import (
    ARRAY,
    DOMAIN,
    OBJECT,
    RECORD,
    VAR,
    Wholeness,
    numbered,
    wholeness,
)
from vault.formats.ini_lines import IniText, Key, Section
from vault.model.datatypes import BY_NAME, BY_NUMBER, DataType
from vault.model.errors import Unreadable
from vault.model.export import Access, Entry, Scalar, SkippedLine
from vault.model.wording import plural

# Below lie the data types themselves (CiA 301, from memory): no parameters.
FIRST_INDEX = 0x1000
_MOST_SUBS = 0xFE
_MOST_ENTRIES = 250_000
ACCESS: dict[str, Access] = {
    "ro": "ro",
    "wo": "wo",
    "rw": "rw",
    "rwr": "rw",
    "rww": "rw",
    "const": "const",
}


class Remark(NamedTuple):
    """A line that could not be understood, and the code it is about, if any."""

    code: str | None
    line: SkippedLine


class _Description(NamedTuple):
    """What the entries of one section have in common."""

    kind: DataType
    access: str | None
    low: Scalar | None
    high: Scalar | None
    default: Scalar | None


def commissioning(ini: IniText) -> Section:
    """The commissioning section in either spelling."""
    return ini.section("DeviceComissioning", "DeviceCommissioning")


def code_of(index: int, sub: int) -> str:
    """Code of an entry."""
    return f"0x{index:04X}:{sub:02X}"


@dataclass(slots=True)
class Objects:
    """The object dictionary of a file: entries, and what could not be understood.

    `seen` counts the sections of objects. `node_id` is the one given, else the file's own. With
    `describes` every object is an entry, and what it holds is its default, `""` where it has none.
    """

    ini: IniText
    node_id: int | None = None
    describes: bool = False
    whole: Wholeness = field(init=False)
    entries: list[Entry] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    seen: int = 0
    _line_of: dict[str, int] = field(default_factory=dict)
    _sub_counts: Counter[str] = field(default_factory=Counter)
    _compact: set[str] = field(default_factory=set)

    def read(self, file: str) -> None:
        """Read every object in the order of the file. Raises Unreadable for too many entries."""
        self.remarks += [Remark(None, line) for line in self.ini.problems]
        if self.node_id is None:
            self.node_id = self._node_id()
        found = [
            (match, section)
            for name, section in self.ini.sections.items()
            if len(name) >= 4 and (match := OBJECT.fullmatch(name)) is not None
        ]
        self._sub_counts.update(match[1] for match, _ in found if match[2])
        lists = []
        for match, section in found:
            index = int(match[1], 16)
            if match[3] is not None:
                lists.append((match[1], section))
            elif index >= FIRST_INDEX:
                self.seen += 1
                self._section(section, index, match[2])
            if len(self.entries) > _MOST_ENTRIES:
                reason = f"it holds more than {_MOST_ENTRIES} entries"
                raise Unreadable(reason, file=file, line=section.line)
        for name, section in lists:
            if name not in self._compact:
                self._skip(None, section.skipped("it belongs to no compact object of this file"))
        self.whole = wholeness(self.ini)
        self.remarks += [Remark(None, line) for line in self.whole.lost]
        self.remarks = list(dict.fromkeys(self.remarks))

    def _section(self, section: Section, index: int, sub_text: str | None) -> None:
        if sub_text is None:
            self._object(section, index)
            return
        sub = int(sub_text, 16)
        if sub > 0xFF:
            self._skip(code_of(index, 0), section.skipped("there is no such sub-index"))
            return
        if f"{index:04x}" not in self.ini.sections:
            remark = section.skipped("its object has no section of its own")
            self._skip(code_of(index, sub), remark)
        self._entry(section, index, sub)

    def _skip(self, code: str | None, line: SkippedLine) -> None:
        self.remarks.append(Remark(code, line))

    def _number(self, code: str | None, key: Key | None, default: int) -> int | None:
        """A whole number of a description; None where it is bad, which is reported."""
        if key is None:
            return default
        try:
            return number(key.text)
        except BadValue as bad:
            self._skip(code, key.skipped(str(bad)))
            return None

    def _node_id(self) -> int | None:
        key = commissioning(self.ini).get("NodeID")
        return None if key is None else self._number(None, key, 0)

    def _object(self, section: Section, index: int) -> None:
        code = code_of(index, 0)
        kind = self._number(code, section.get("ObjectType"), VAR)
        compact = self._number(code, section.get("CompactSubObj"), 0)
        subs = self._number(code, section.get("SubNumber"), 0)
        if kind is None or compact is None or subs is None:
            return
        if kind not in (VAR, DOMAIN, ARRAY, RECORD):
            if section.get("ParameterValue") or section.get("DefaultValue"):
                self._skip(code, section.skipped(f"unknown object type {kind}"))
            return
        there = self._sub_counts[f"{index:04x}"]
        if compact:
            self._compact_object(section, index, compact)
        elif kind in (VAR, DOMAIN) or not (subs or there):
            self._entry(section, index, 0)

    def _entry(self, section: Section, index: int, sub: int) -> None:
        written = section.get("ParameterValue") or section.get("DefaultValue")
        empty = section.keys.get("parametervalue")
        if empty is not None and not empty.text and _is_text(section):
            written = empty  # a text that was cleared, not one left at its default
        if written is None:
            if not self.describes:
                return
            written = Key("", "", section.line)
        described = self._described(section, code_of(index, sub))
        if described is not None:
            name = section.text("Denotation") or section.text("ParameterName")
            # Sub-index 0 of arrays and records: CiA 301, from memory. One that can be written, as
            # of a mapping of process data, is a setting.
            counts = described.access in ("ro", "const") and sub == 0 and self._is_list(index)
            is_default = written.name.lower() == "defaultvalue"
            self._add(
                code_of(index, sub),
                described,
                name,
                written,
                is_count=counts,
                is_default=is_default,
            )

    def _is_list(self, index: int) -> bool:
        """Whether it is an array or a record, be it one without entries."""
        key = self.ini.section(f"{index:04x}").get("ObjectType")
        with suppress(BadValue):  # which `_object` reports
            if key is not None:
                return number(key.text) in (ARRAY, RECORD)
        return self._sub_counts[f"{index:04x}"] > 1

    def _described(self, section: Section, code: str) -> _Description | None:
        key = section.get("DataType")
        kind: DataType | None
        if key is None:
            if self._number(code, section.get("ObjectType"), VAR) != DOMAIN:
                self._skip(code, section.skipped("it states no DataType"))
                return None
            kind = BY_NAME["DOMAIN"]
        else:
            type_number = self._number(code, key, 0)
            if type_number is None:
                return None
            kind = BY_NUMBER.get(type_number)
            if kind is None:
                self._skip(code, key.skipped(f"unknown data type {key.text}"))
                return None
        return _Description(
            kind,
            ACCESS.get(section.text("AccessType").lower()),
            self._limit(section, "LowLimit", kind, code),
            self._limit(section, "HighLimit", kind, code),
            self._limit(section, "DefaultValue", kind, code),
        )

    def _limit(self, section: Section, name: str, kind: DataType, code: str) -> Scalar | None:
        found = section.get(name)
        if found is None:
            return None
        try:
            return value(found.text, kind, self.node_id)
        except BadValue as bad:
            # A default that stands in for the value is reported as the value; one that only
            # lacks the node id is no reason to doubt a value that is stated.
            stated = self.describes or section.get("ParameterValue") is not None
            if name != "DefaultValue" or (stated and not isinstance(bad, NeedsNodeId)):
                self._skip(code, found.skipped(str(bad)))
            return None

    def _add(
        self,
        code: str,
        described: _Description,
        name: str,
        written: Key,
        *,
        is_count: bool = False,
        is_default: bool = False,
    ) -> None:
        first = self._line_of.setdefault(code, written.line)
        if first != written.line:
            self._skip(code, written.skipped(f"{code} is given already in line {first}"))
            return
        kind, access, low, high, default = described
        try:
            if self.describes:
                content: Scalar = "" if default is None else default
            else:
                content = value(written.text, kind, self.node_id)
        except BadValue as bad:
            self._skip(code, written.skipped(f"{code}: {bad}"))
            return
        self.entries.append(
            Entry(
                code,
                content,
                written.line,
                name,
                "",
                kind.name,
                access,
                low,
                high,
                default,
                is_count=is_count,
                is_default=is_default and not is_count,
            )
        )

    def _compact_object(self, section: Section, index: int, count: int) -> None:
        """Sub-objects that share one description; values and names stand in lists of their own."""
        own, code = f"{index:04x}", code_of(index, 0)
        self._compact.add(own)
        described = self._described(section, code)
        if described is None:
            return
        if not 0 < count <= _MOST_SUBS:
            self._skip(code, section.skipped(f"there cannot be {plural(count, 'sub-object')}"))
            return
        # The count has no description of its own; name, type, access: CiA 306, from memory.
        default = count if self.describes else None
        of_count = _Description(BY_NAME["UNSIGNED8"], "ro", None, None, default)
        stated = Key("CompactSubObj", str(count), section.line)
        self._add(code, of_count, "Number of entries", stated, is_count=True)
        usual = section.get("DefaultValue")
        if usual is not None and described.default is None:  # reported once, not for every sub
            if not self.describes:
                self._skip(code, usual.skipped(f"{code[:-3]}: the value that all share is bad"))
            usual = None
        base = section.text("ParameterName")
        values = self._values(self.ini.section(f"{own}value"), index, count)
        names = numbered(self.ini.section(f"{own}name"))
        names |= numbered(self.ini.section(f"{own}denotation"))
        for sub in range(1, count + 1):
            written = values.get(sub) or usual
            if written is None and self.describes:
                written = Key("", "", section.line)
            if written is not None:
                name = names[sub].text if sub in names else f"{base}{sub}"
                self._add(
                    code_of(index, sub), described, name, written, is_default=sub not in values
                )

    def _values(self, section: Section, index: int, count: int) -> dict[int, Key]:
        """Listed values; one without a place is reported."""
        values = numbered(section)
        for sub, key in values.items():
            if not 0 < sub <= count:
                said = f"{index:04X}h has {plural(count, 'sub-object')}"
                self._skip(code_of(index, 0), key.skipped(said))
        self._number(code_of(index, 0), section.get("NrOfEntries"), 0)
        return values


def _is_text(section: Section) -> bool:
    try:
        kind = BY_NUMBER.get(number(section.text("DataType") or "0"))
    except BadValue:
        return False
    return kind is not None and kind.family == "text"

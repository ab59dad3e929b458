"""Is an EDS or DCF file whole? By its own lists and counts, and by how it ends (CiA 306).

A description may be incomplete: an object is listed and not described, and more follows. That
leaves nothing out of what the file holds. A file that was cut off ends before what it announces.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass

from vault.formats.dcf_values import BadValue, number
from vault.formats.ini_lines import IniText, Key, Section, plain_name
from vault.formats.text_encoding import CUT_SHORT
from vault.model.export import SkippedLine
from vault.model.wording import plural

OBJECT = re.compile(r"([0-9a-f]{4})(?:sub([0-9a-f]{1,4})|(value|name|denotation))?", re.IGNORECASE)
LISTS = ("MandatoryObjects", "OptionalObjects", "ManufacturerObjects")
INCOMPLETE = "the description is incomplete"
# Object types: CiA 301, from memory; VAR and DOMAIN hold one value.
VAR, DOMAIN, ARRAY, RECORD = 0x7, 0x2, 0x8, 0x9


@dataclass(frozen=True, slots=True)
class Wholeness:
    """`lost` are lines whose announcement is missing at the end; `doubts` leave nothing out.

    `ends` are the marks of a whole file that this one has: `last line`, `lists`.
    """

    lost: tuple[SkippedLine, ...]
    doubts: tuple[SkippedLine, ...]
    ends: frozenset[str]


def wholeness(ini: IniText) -> Wholeness:
    """Hold a file against what it says of itself."""
    found = _Whole(ini)
    found.look()
    return Wholeness(tuple(found.lost), tuple(found.doubts), frozenset(found.ends))


class _Whole:
    def __init__(self, ini: IniText) -> None:
        self._ini = ini
        self._objects = {
            name: match
            for name in ini.sections
            if len(name) >= 4 and (match := OBJECT.fullmatch(name)) is not None
        }
        self._subs = Counter(match[1] for match in self._objects.values() if match[2])
        self._last = next(reversed(ini.sections), "")
        self.lost: list[SkippedLine] = []
        self.doubts: list[SkippedLine] = []
        self.ends: set[str] = set()

    def look(self) -> None:
        """Look at everything that can tell."""
        self._lists()
        self._listed()
        self._counted()
        self._last_object()
        self._last_line()

    def _lists(self) -> None:
        """All three lists stand in every file, empty ones with a count of nought (from memory)."""
        there = [name for name in LISTS if plain_name(name) in self._ini.sections]
        if len(there) == len(LISTS):
            self.ends.add("lists")
        elif self._objects:
            missing = ", ".join(f"[{name}]" for name in LISTS if name not in there)
            said = f"no section {missing}, which such a file has: it may be cut off"
            self.doubts.append(self._end(said))

    def _listed(self) -> None:
        """Every object that a list names has a section."""
        listed: dict[int, Key] = {}
        for name in LISTS:
            section = self._ini.section(name)
            keys = list(numbered(section).values())
            stated = whole(section.get("SupportedObjects"))
            if stated is not None and len(keys) < stated:
                are = f"of {stated} objects"
                said = plural(len(keys), f"{are} is listed", f"{are} are listed")
                self._tell(section, said, at_end=plain_name(name) == self._last)
            for key in keys:
                index = whole(key)
                if index is not None:
                    listed.setdefault(index, key)
        missing = [index for index in listed if f"{index:04x}" not in self._objects]
        at_end = self._ends_with_objects() and any(
            set(missing) == set(order[-len(missing) :]) for order in (list(listed), sorted(listed))
        )
        for index in missing:
            said = f"object {index:04X}h is listed, but not in the file"
            self._tell(listed[index], said, at_end=at_end)

    def _counted(self) -> None:
        """As many sub-objects, and listed values, as the object says."""
        for name, match in self._objects.items():
            section = self._ini.sections[name]
            at_end = self._last[:4] == name[:4]
            if match[3] == "value":
                stated, there = whole(section.get("NrOfEntries")), len(numbered(section))
                what = "values"
            elif match[2] or match[3] or whole(section.get("CompactSubObj")):
                continue
            else:
                stated, there = whole(section.get("SubNumber")), self._subs[name]
                what = "sub-objects"
            if stated is not None and there < stated:
                are = f"of {stated} {what}"
                said = plural(there, f"{are} is there", f"{are} are there")
                self._tell(section, said, at_end=at_end)

    def _last_object(self) -> None:
        """A last object breaks off before it says its type, or its value where all others do."""
        match, section = self._objects.get(self._last), self._ini.sections.get(self._last)
        if match is None or section is None or match[3] is not None:
            return
        if section.get("SubNumber") or section.get("CompactSubObj"):
            return
        valued = "parametervalue" in section.keys or section.get("DefaultValue")
        if not section.get("DataType"):
            if not valued and whole(section.get("ObjectType")) != DOMAIN:
                self.lost.append(section.skipped(f"the last object has no DataType: {CUT_SHORT}"))
        elif not valued and self._others_have_values():
            self.lost.append(section.skipped(f"the last object has no value: {CUT_SHORT}"))

    def _others_have_values(self) -> bool:
        """Whether every other object with a type states a value or a default."""
        others = [
            self._ini.sections[name]
            for name, match in self._objects.items()
            if name != self._last and match[3] is None
        ]
        typed = [section for section in others if section.get("DataType")]
        return bool(typed) and all(
            "parametervalue" in section.keys or section.get("DefaultValue") for section in typed
        )

    def _last_line(self) -> None:
        if self._ini.is_ended:
            self.ends.add("last line")
        else:
            self.doubts.append(self._end("the last line has no line end: it may be cut off in it"))

    def _ends_with_objects(self) -> bool:
        return self._last in self._objects or self._last in map(plain_name, LISTS)

    def _tell(self, at: Section | Key, said: str, *, at_end: bool) -> None:
        if at_end:
            self.lost.append(at.skipped(f"{said}: {CUT_SHORT}"))
        else:
            self.doubts.append(at.skipped(f"{said}: {INCOMPLETE}"))

    def _end(self, said: str) -> SkippedLine:
        return SkippedLine(self._ini.last_number, self._ini.last_text, said)


def numbered(section: Section) -> dict[int, Key]:
    """Keys that are numbers and have a text, by number."""
    keys = [key for key in section.keys.values() if key.name.isdecimal() and key.text]
    return {int(key.name[:9]): key for key in keys}


def whole(key: Key | None) -> int | None:
    """The whole number of a key; None where there is none, or a bad one, which its reader tells."""
    if key is None:
        return None
    try:
        return number(key.text)
    except BadValue:
        return None

"""The object dictionary in XML after CiA 311 (XDD and XDC): objects, and where their values stand.

Names of elements and attributes are from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from vault.formats.dcf_objects import ACCESS, FIRST_INDEX, Remark, code_of
from vault.formats.dcf_values import BadValue, NeedsNodeId, number, value
from vault.formats.dcf_whole import ARRAY, DOMAIN, RECORD, VAR
from vault.formats.xml_text import Value, XmlElement, XmlText
from vault.model.datatypes import BY_NAME, BY_NUMBER, DataType
from vault.model.errors import Unreadable
from vault.model.export import Access, Scalar, SkippedLine

ROOT = "ISO15745ProfileContainer"
_INDEX = re.compile(r"(?:0x)?([0-9a-f]{4})", re.IGNORECASE)
_SUB_INDEX = re.compile(r"(?:0x)?([0-9a-f]{1,2})", re.IGNORECASE)
_TYPE = re.compile(r"(?:0x)?([0-9a-f]{1,4})", re.IGNORECASE)
_LANG = "{http://www.w3.org/XML/1998/namespace}lang"
_SHOWN = 80
_MOST_REFERRED = 5_000_000
# Types of the parameter list (ISO 15745-1 and IEC 61131-3), where an object states none itself.
_SIMPLE_TYPES = {
    "BOOL": "BOOLEAN",
    "BYTE": "UNSIGNED8",
    "WORD": "UNSIGNED16",
    "DWORD": "UNSIGNED32",
    "LWORD": "UNSIGNED64",
    "SINT": "INTEGER8",
    "INT": "INTEGER16",
    "DINT": "INTEGER32",
    "LINT": "INTEGER64",
    "USINT": "UNSIGNED8",
    "UINT": "UNSIGNED16",
    "UDINT": "UNSIGNED32",
    "ULINT": "UNSIGNED64",
    "REAL": "REAL32",
    "LREAL": "REAL64",
    "STRING": "VISIBLE_STRING",
    "WSTRING": "UNICODE_STRING",
}
_PARAMETER_ACCESS: dict[str, Access] = {
    "const": "const",
    "read": "ro",
    "write": "wo",
    "readWrite": "rw",
    "readWriteInput": "rw",
    "readWriteOutput": "rw",
}


@dataclass(frozen=True, slots=True)
class XmlObject:
    """One object that holds a value; `parameter` is the entry of the parameter list it refers to.

    `values` are the places of its actual value, of which the first counts.
    """

    code: str
    element: XmlElement
    whole: XmlElement
    parameter: XmlElement | None
    kind: DataType
    access: Access | None
    values: tuple[Value, ...]
    low: Scalar | None
    high: Scalar | None
    default: Scalar | None
    is_count: bool

    @property
    def name(self) -> str:
        """What it is called: by who set the device up, else by its description."""
        return self.element.get("denotation") or self.element.get("name") or label(self.parameter)

    @property
    def is_part(self) -> bool:
        """Whether it belongs to a record or an array."""
        return self.element is not self.whole

    @property
    def line(self) -> int:
        """Where its value stands, else its description."""
        return self.values[0].line if self.values else self.element.line


def skipped(element: XmlElement, reason: str, name: str = "") -> SkippedLine:
    """An element, or one of its attributes, as one that could not be understood."""
    names = [key for key in ("index", "subIndex", "uniqueID", name) if key in element.attributes]
    shown = " ".join([element.tag, *(f'{key}="{element.get(key)}"' for key in names)])
    return SkippedLine(element.line, f"<{shown}>"[:_SHOWN], reason)


def label(element: XmlElement | None, tag: str = "label") -> str:
    """The text of an element in English, else in the first language that it has."""
    if element is None:
        return ""
    labels = [*element.named(tag)]
    english = [one for one in labels if (one.get("lang") or one.get(_LANG) or "").startswith("en")]
    return next((one.text for one in (*english, *labels)), "")


@dataclass(slots=True)
class XmlObjects:
    """The objects of a file in its order, and what could not be understood.

    `node_id` is the one given, else the file's own. With `describes` a default that refers to a
    node id which is not known is no fault. `seen` counts the objects; `device` are all other
    elements, the first of each name. `has_blanks` is whether a number's place is left empty.
    """

    xml: XmlText
    node_id: int | None = None
    describes: bool = False
    objects: list[XmlObject] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    by_id: dict[str, XmlElement] = field(default_factory=dict)
    device: dict[str, XmlElement] = field(default_factory=dict)
    seen: int = 0
    own_node_id: int | None = None
    has_blanks: bool = False
    _first: dict[str, XmlElement] = field(default_factory=dict)
    _sizes: dict[int, int] = field(default_factory=dict)
    _referred: int = 0

    def read(self, file: str) -> None:
        """Read every object. Raises Unreadable where they refer to more than can be followed."""
        found = []
        for element in self.xml.root.walk():
            if (name := element.get("uniqueID")) is not None:
                self.by_id.setdefault(name, element)
            if element.tag == "CANopenObject":
                found.append(element)
            else:
                self.device.setdefault(element.tag, element)
        commissioning = self.device.get("deviceCommissioning")
        if commissioning is not None:
            self.own_node_id = self._whole(None, commissioning, "nodeID")
        if self.node_id is None:
            self.node_id = self.own_node_id
        for element in found:
            self._object(element)
            if self._referred > _MOST_REFERRED:
                reason = "its objects refer to the same parameters again and again: not followed"
                raise Unreadable(reason, file=file, line=element.line)
        self.seen = len(found)

    def _skip(self, code: str | None, element: XmlElement, reason: str, name: str = "") -> None:
        self.remarks.append(Remark(code, skipped(element, reason, name)))

    def _whole(self, code: str | None, element: XmlElement, name: str) -> int | None:
        text = element.get(name)
        if text is None:
            return None
        try:
            return number(text.strip())
        except BadValue as bad:
            self._skip(code, element, str(bad), name)
            return None

    def _object(self, element: XmlElement) -> None:
        found = _INDEX.fullmatch((element.get("index") or "").strip())
        if found is None:
            self._skip(None, element, "its index is no four digits in hex", "name")
            return
        index = int(found[1], 16)
        if index < FIRST_INDEX:
            return
        kind = self._whole(code_of(index, 0), element, "objectType")
        subs = [*element.named("CANopenSubObject")]
        for sub in subs:
            place = _SUB_INDEX.fullmatch((sub.get("subIndex") or "").strip())
            if place is None:
                reason = "its sub-index is no two digits in hex"
                self._skip(code_of(index, 0), sub, reason, "name")
                continue
            self._add(sub, element, code_of(index, int(place[1], 16)), kind in (ARRAY, RECORD))
        is_plain = kind in (None, VAR, DOMAIN) or element.get("dataType") is not None
        if not subs and is_plain:
            self._add(element, element, code_of(index, 0), is_list=False)

    def _add(self, element: XmlElement, whole: XmlElement, code: str, is_list: bool) -> None:
        first = self._first.setdefault(code, element)
        if first is not element:
            self._skip(code, element, f"{code} is given already in line {first.line}")
            return
        parameter = self._parameter(element, code)
        kind = self._kind(element, whole, parameter, code)
        if kind is None:
            return
        access = ACCESS.get((element.get("accessType") or "").lower())
        if access is None and parameter is not None:
            access = _PARAMETER_ACCESS.get(parameter.get("access") or "")
        # One that is empty states nothing, as in a DCF, but of a text that it was cleared.
        places = _values(element, parameter)
        values = tuple(one for one in places if one.text.strip() or kind.family == "text")
        self.has_blanks |= len(values) < len(places)
        described = XmlObject(
            code,
            element,
            whole,
            parameter,
            kind,
            access,
            values,
            self._limit(element, parameter, kind, code, "lowLimit", "minValue"),
            self._limit(element, parameter, kind, code, "highLimit", "maxValue"),
            self._default(element, parameter, kind, code, is_valued=bool(values)),
            is_count=is_list and code.endswith(":00") and access in ("ro", "const"),
        )
        self.objects.append(described)

    def _parameter(self, element: XmlElement, code: str) -> XmlElement | None:
        name = element.get("uniqueIDRef")
        if not name:
            return None
        found = self.by_id.get(name)
        if found is None or found.tag != "parameter":
            self._skip(code, element, f"there is no parameter {name[:_SHOWN]!r}")
            return None
        self._referred += self._size(found)
        return found

    def _size(self, parameter: XmlElement) -> int:
        """How much a parameter says, with its templates and its type, each of which others share.

        One for each element, and for each hundred characters.
        """
        refer = (of(parameter, self.by_id, tag) for tag in ("allowedValues", "dataTypeIDRef"))
        ids = [
            one.get(name)
            for one in (parameter, *refer)
            if one is not None
            for name in ("templateIDRef", "uniqueIDRef")
        ]
        shared = (self.by_id[name] for name in ids if name and name in self.by_id)
        return sum(map(self._size_of, (parameter, *shared)))

    def _size_of(self, element: XmlElement) -> int:
        if id(element) not in self._sizes:
            below = [*element.walk()]
            texts = (one.text for each in below for one in (each.value, *each.attributes.values()))
            self._sizes[id(element)] = len(below) + sum(map(len, texts)) // 100
        return self._sizes[id(element)]

    def _kind(
        self, element: XmlElement, whole: XmlElement, parameter: XmlElement | None, code: str
    ) -> DataType | None:
        text = element.get("dataType")
        if text is not None:
            found = _TYPE.fullmatch(text.strip())
            kind = BY_NUMBER.get(int(found[1], 16)) if found is not None else None
            if kind is None:
                self._skip(code, element, f"unknown data type {text[:_SHOWN]}", "dataType")
            return kind
        for child in parameter.children if parameter is not None else ():
            if child.tag in _SIMPLE_TYPES:
                return BY_NAME[_SIMPLE_TYPES[child.tag]]
        if (element.get("objectType") or "").strip() == str(DOMAIN):
            return BY_NAME["DOMAIN"]
        self._skip(code, element, "it states no data type", "name")
        return None

    def content(self, text: str, kind: DataType) -> Scalar:
        """A value as CiA 311 spells it, which is as CiA 306 does. Raises BadValue."""
        return value(text if kind.family == "text" else text.strip(), kind, self.node_id)

    def _limit(
        self,
        element: XmlElement,
        parameter: XmlElement | None,
        kind: DataType,
        code: str,
        name: str,
        of_parameter: str,
    ) -> Scalar | None:
        """A limit that the object states, else that of its parameter where it has one range."""
        text, place, key = element.get(name), element, name
        if not text:
            ranges = [*allowed(parameter, self.by_id, "range")]
            bound = ranges[0].child(of_parameter) if len(ranges) == 1 else None
            if bound is None:
                return None
            text, place, key = bound.get("value"), bound, "value"
        if not text:
            return None
        try:
            return self.content(text, kind)
        except BadValue as bad:
            self._skip(code, place, str(bad), key)
            return None

    def _default(
        self,
        element: XmlElement,
        parameter: XmlElement | None,
        kind: DataType,
        code: str,
        *,
        is_valued: bool,
    ) -> Scalar | None:
        """A bad default is told, but for want of a node id only where it stands in for a value."""
        text, place, key = element.get("defaultValue"), element, "defaultValue"
        if not text:
            of_parameter = of(parameter, self.by_id, "defaultValue")
            if of_parameter is None:
                return None
            text, place, key = of_parameter.get("value"), of_parameter, "value"
        if not text:
            return None
        try:
            return self.content(text, kind)
        except BadValue as bad:
            if not isinstance(bad, NeedsNodeId) or not (self.describes or is_valued):
                self._skip(code, place, str(bad), key)
            return None


def _values(element: XmlElement, parameter: XmlElement | None) -> tuple[Value, ...]:
    """Where an actual value stands: with the object, and with its parameter."""
    of_parameter = parameter.child("actualValue") if parameter is not None else None
    places = [(element, "actualValue")]
    if of_parameter is not None:
        places.append((of_parameter, "value"))
    return tuple(one.attributes[key] for one, key in places if key in one.attributes)


def of(
    parameter: XmlElement | None, by_id: Mapping[str, XmlElement], tag: str
) -> XmlElement | None:
    """A part of a parameter, its own or that of the template it refers to."""
    if parameter is None:
        return None
    template = by_id.get(parameter.get("templateIDRef") or "")
    own = parameter.child(tag)
    return own if own is not None or template is None else template.child(tag)


def allowed(
    parameter: XmlElement | None, by_id: Mapping[str, XmlElement], tag: str
) -> Iterator[XmlElement]:
    """Ranges or values that a parameter may have, its own or those of a template."""
    found = of(parameter, by_id, "allowedValues")
    if found is not None:
        template = by_id.get(found.get("templateIDRef") or "")
        yield from found.named(tag)
        if template is not None:
            yield from template.named(tag)

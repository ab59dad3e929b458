"""EtherCAT device descriptions (ESI after ETG.2000). Names of elements are from memory."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from vault.formats.dcf_objects import ACCESS, FIRST_INDEX, code_of
from vault.formats.dcf_values import BadValue
from vault.formats.describe.description import DescribedParameter, Description
from vault.formats.describe.esi_types import DataTypes, Part, content, integer, text_of
from vault.formats.xml_text import XmlElement, read_xml
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Scalar, SkippedLine

_SHOWN = 80
_MOST_OBJECTS = 250_000
_NUMBERED = re.compile(r"subindex\s*([0-9]{1,3})", re.IGNORECASE)
_SHOWN_DEVICES = 10
_LONGEST_NAME = 200


def read_esi(content: bytes, *, file: str, device: str | None = None) -> Description:
    """Read the objects of a device, the one whose type, name or type with revision is `device`.

    Raises Unreadable, and WrongUsage where the file has several and none or no single one of
    them is named.
    """
    root = read_xml(content, file=file).root
    devices = _devices(root)
    if not devices:
        raise Unreadable("no device in it", file=file, line=1)
    chosen = _chosen(devices, device, file)
    found = _Objects(file)
    dictionaries = [one for one in chosen.walk() if one.tag == "Dictionary"]
    for dictionary in dictionaries:
        found.of_all.add(dictionary)
    for dictionary in dictionaries:
        found.read(dictionary)
    if not found.objects:
        elsewhere = next((one for one in chosen.walk() if one.tag == "DictionaryFile"), None)
        hint = f"they are in another file: {elsewhere.text}" if elsewhere is not None else None
        raise Unreadable("the device has no objects in it", file=file, line=chosen.line, hint=hint)
    kind = chosen.child("Type")
    vendor = root.child("Vendor")
    return Description(
        kind="esi",
        title=text_of(chosen, "Name") or text_of(chosen, "Type"),
        vendor=text_of(vendor, "Name"),
        product=text_of(chosen, "Type"),
        version=(kind.get("RevisionNo") or "") if kind is not None else "",
        parameters=tuple(found.objects),
        skipped=tuple(sorted(found.skipped, key=lambda bad: bad.line)),
    )


def device_names(content: bytes, *, file: str) -> tuple[str, ...]:
    """What the devices of a file are called, each so that it can be named by that."""
    return tuple(_name(one) for one in _devices(read_xml(content, file=file).root))


def _devices(root: XmlElement) -> list[XmlElement]:
    return [one for group in root.walk() if group.tag == "Devices" for one in group.named("Device")]


def _name(device: XmlElement) -> str:
    kind = device.child("Type")
    revision = kind.get("RevisionNo") if kind is not None else None
    return " ".join(filter(None, [text_of(device, "Type"), revision]))


def _chosen(devices: list[XmlElement], wanted: str | None, file: str) -> XmlElement:
    fitting = devices
    if wanted is not None:
        name = wanted.strip().lower()
        fitting = [
            one
            for one in devices
            if name
            in {text_of(one, "Type").lower(), text_of(one, "Name").lower(), _name(one).lower()}
        ]
    if len(fitting) == 1:
        return fitting[0]
    names = [_name(one)[:_SHOWN] for one in fitting or devices]
    told = ", ".join(names[:_SHOWN_DEVICES]) + (", …" if len(names) > _SHOWN_DEVICES else "")
    if fitting:
        said = f"the file describes {len(fitting)} devices: {told}"
    else:
        said = f"the file describes no device {(wanted or '')[:_SHOWN]!r}: it has {told}"
    raise WrongUsage(said, file=file, hint="say which one: --device NAME")


@dataclass(slots=True)
class _Objects:
    file: str
    of_all: DataTypes = field(default_factory=DataTypes)
    types: DataTypes = field(default_factory=DataTypes)
    objects: list[DescribedParameter] = field(default_factory=list)
    skipped: list[SkippedLine] = field(default_factory=list)
    _line_of: dict[str, int] = field(default_factory=dict)
    _units: dict[str, str] = field(default_factory=dict)
    _part_count: int = 0

    def read(self, dictionary: XmlElement) -> None:
        """Read the objects of a dictionary, by its own data types before those of the others."""
        self.types = DataTypes(self.of_all.types)
        self.types.add(dictionary)
        for kind in (one for group in dictionary.named("UnitTypes") for one in group.children):
            symbol = text_of(kind, "Symbol") or text_of(kind, "Name")
            for tag in ("Index", "NotationIndex"):
                self._units.setdefault(text_of(kind, tag).lower(), symbol)
        for group in dictionary.named("Objects"):
            for element in group.named("Object"):
                try:
                    self._object(element)
                except BadValue as bad:
                    self._skip(element, str(bad))

    def _skip(self, element: XmlElement, reason: str) -> None:
        shown = " ".join(filter(None, [text_of(element, "Index"), text_of(element, "Name")]))
        shown = f"<{element.tag}> {shown or element.text}"[:_SHOWN]
        self.skipped.append(SkippedLine(element.line, shown, reason))

    def _object(self, element: XmlElement) -> None:
        index = integer(text_of(element, "Index"))
        if not 0 <= index <= 0xFFFF:
            raise BadValue(f"there is no index {index:X}h")
        if index < FIRST_INDEX:
            return
        title, type_name = text_of(element, "Name"), text_of(element, "Type")
        parts = self.types.parts(type_name, title)
        self._part_count += len(parts)
        if self._part_count > _MOST_OBJECTS:
            reason = f"it describes more than {_MOST_OBJECTS} objects"
            raise Unreadable(reason, file=self.file, line=element.line)
        infos = self._infos(element, parts)
        is_list = any(part.element is not None for part in parts)
        for part in parts:
            code = code_of(index, part.sub)
            if code in self._line_of:
                said = f"{code} is given already in line {self._line_of[code]}"
                self._skip(element, said)
                continue
            self._line_of[code] = element.line
            info = infos.get(part.sub)
            self._part(element, part, info, code, title if is_list else "")

    def _part(
        self,
        element: XmlElement,
        part: Part,
        told: tuple[str, XmlElement] | None,
        code: str,
        group: str,
    ) -> None:
        own_name, info = told if told is not None else ("", None)
        access = self._flag(part, element, "Access").lower()
        mapping = self._flag(part, element, "PdoMapping")
        if part.kind is None:
            unknown = text_of(element, "Type")[:_SHOWN]
            self._skip(element, f"{code}: its data type is not known: {unknown}")
        name = part.name
        if not name or _NUMBERED.fullmatch(name):
            name = own_name if own_name and not _NUMBERED.fullmatch(own_name) else name
        unit = text_of(info, "Unit")
        low, high, default = (
            self._content(info, what, part, element, code) for what in ("Min", "Max", "Default")
        )
        self.objects.append(
            DescribedParameter(
                code=code,
                name=name or f"{group[:_LONGEST_NAME]} {part.sub}".strip(),
                line=info.line if info is not None else element.line,
                data_type=part.kind.name if part.kind is not None else None,
                unit=self._units.get(unit.lower(), unit) or None,
                low=low,
                high=high,
                default=default,
                choices=part.choices,
                access=ACCESS.get(access),
                group=group,
                help=text_of(part.element, "Comment") or text_of(element, "Comment"),
                is_mappable=bool(mapping.strip()),
                is_count=bool(group) and part.sub == 0 and access == "ro",
            )
        )

    def _flag(self, part: Part, element: XmlElement, tag: str) -> str:
        """A flag of the sub-object, else of the whole object where it has no flags of its own."""
        own = part.element.child("Flags") if part.element is not None else None
        return text_of(own if own is not None else element.child("Flags"), tag)

    def _content(
        self, info: XmlElement | None, what: str, part: Part, element: XmlElement, code: str
    ) -> Scalar | None:
        if info is None or part.kind is None:
            return None
        try:
            return content(info, what, part.kind)
        except BadValue as bad:
            self._skip(info, f"{code}: {what.lower()} {bad}")
            return None

    def _infos(self, element: XmlElement, parts: list[Part]) -> dict[int, tuple[str, XmlElement]]:
        """What is said of each value of an object, with the name it has there, by sub-index.

        Sub-objects are known by their number, or by their name where only one has it; the others by
        their place, where those that are known so stand at theirs. What is of none is told.
        """
        whole = element.child("Info")
        if whole is None:
            return {}
        items = [*whole.named("SubItem")]
        if not items:
            return {parts[0].sub: ("", whole)} if len(parts) == 1 else {}
        names = [part.name for part in parts]
        place_of = {name: place for place, name in enumerate(names) if names.count(name) == 1}
        place_of |= {f"SubIndex {part.sub:03}": place for place, part in enumerate(parts)}
        known = [place_of.get(text_of(item, "Name")) for item in items]
        by_place = any(own is not None for own in known) or len(items) == len(parts)
        by_place &= all(own in (None, place) for place, own in enumerate(known))
        found: dict[int, tuple[str, XmlElement]] = {}
        for place, item in enumerate(items):
            info, own = item.child("Info"), known[place]
            if own is None and by_place and place < len(parts):
                own = place
            if info is None:
                continue
            if own is None or parts[own].sub in found:
                self._skip(item, "which sub-object it is of cannot be told")
                continue
            found[parts[own].sub] = text_of(item, "Name"), info
        return found

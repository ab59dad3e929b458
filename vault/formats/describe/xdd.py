"""XDD after CiA 311 as a description; an XDC serves as one too, its values aside.

Names of elements and attributes, and the formula of the scaling, are from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction

from vault.formats.cia311 import XmlObject, XmlObjects, allowed, label, of, skipped
from vault.formats.dcf_values import BadValue, number
from vault.formats.describe.description import DescribedParameter, Description, Scaling
from vault.formats.xml_text import XmlElement, read_xml
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine

_FACTOR = re.compile(
    r"[+-]?(?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})(?:[eE][+-]?[0-9]{1,2})?"
)
_MAPPABLE = ("default", "optional", "tpdo", "rpdo")


def read_xdd(content: bytes, *, file: str) -> Description:
    """Read every object with what the parameter list says of it. Raises Unreadable."""
    xml = read_xml(content, file=file)
    found = XmlObjects(xml, describes=True)
    found.read(file)
    if not found.seen:
        raise Unreadable("no CANopenObject in it", file=file, line=1)
    told = [remark.line for remark in found.remarks]
    groups = dict(_groups(xml.root))
    parameters = tuple(_described(one, found.by_id, groups, told) for one in found.objects)
    body = found.device.get("ProfileBody")
    product = label(found.device.get("DeviceIdentity"), "productName")
    return Description(
        kind="xdc" if any(one.values for one in found.objects) else "xdd",
        title=product or label(found.device.get("DeviceIdentity"), "productText"),
        vendor=label(found.device.get("DeviceIdentity"), "vendorName"),
        product=label(found.device.get("DeviceIdentity"), "orderNumber") or product,
        version=(body.get("fileVersion") or "") if body is not None else "",
        parameters=parameters,
        skipped=tuple(sorted(told, key=lambda bad: bad.line)),
    )


def _groups(root: XmlElement) -> Iterator[tuple[str, str]]:
    """The innermost group of each parameter, by the parameter's id."""
    for group in root.walk():
        if group.tag == "parameterGroup":
            name = label(group) or group.get("uniqueID") or ""
            for reference in group.named("parameterRef"):
                yield reference.get("uniqueIDRef") or "", name


def _described(
    one: XmlObject,
    by_id: Mapping[str, XmlElement],
    groups: Mapping[str, str],
    told: list[SkippedLine],
) -> DescribedParameter:
    parameter = one.parameter
    usual = one.whole.get("name") or "" if one.is_part else ""
    unit = of(parameter, by_id, "unit")
    return DescribedParameter(
        code=one.code,
        name=one.element.get("name") or label(parameter),
        line=one.element.line,
        data_type=one.kind.name,
        unit=label(unit) or None,
        scaling=_scaling(parameter, unit, told),
        low=one.low,
        high=one.high,
        default=one.default,
        choices=dict(_choices(parameter, by_id, told)),
        access=one.access,
        group=groups.get(parameter.get("uniqueID") or "", usual) if parameter else usual,
        help=_help(parameter),
        is_mappable=(one.element.get("PDOmapping") or "").lower() in _MAPPABLE,
        is_count=one.is_count,
    )


def _help(parameter: XmlElement | None) -> str:
    """What the parameter list says in words: its description, and properties of the maker's."""
    if parameter is None:
        return ""
    properties = [f"{one.get('name')}: {one.get('value')}" for one in parameter.named("property")]
    return "; ".join(filter(None, [label(parameter, "description"), *properties]))


def _scaling(
    parameter: XmlElement | None, unit: XmlElement | None, told: list[SkippedLine]
) -> Scaling | None:
    """(content + offset) x multiplier, in units x their multiplier."""
    if parameter is None:
        return None
    factor, offset, is_scaled = Fraction(1), Fraction(0), False
    for element, name in ((parameter, "multiplier"), (unit, "multiplier"), (parameter, "offset")):
        text = element.get(name) if element is not None else None
        if element is None or text is None:
            continue
        if not _FACTOR.fullmatch(text.strip()):
            told.append(skipped(element, f"{text[:40]!r} is no number", name))
            return None
        number, is_scaled = Fraction(text.strip()), True
        if name == "offset":
            offset = number
        elif number:
            factor *= number
        else:
            told.append(skipped(element, "its scaling is left out: multiplier 0", name))
            return None
    return Scaling(factor, offset) if is_scaled else None


def _choices(
    parameter: XmlElement | None, by_id: Mapping[str, XmlElement], told: list[SkippedLine]
) -> Iterator[tuple[int, str]]:
    """Values that have a name, else those of the enumeration that the parameter is of."""
    if parameter is None:
        return
    named = [value for value in allowed(parameter, by_id, "value") if label(value)]
    reference = of(parameter, by_id, "dataTypeIDRef")
    kind = by_id.get(reference.get("uniqueIDRef") or "") if reference is not None else None
    if not named and kind is not None and kind.tag == "enum":
        named = [value for value in kind.named("enumValue") if label(value)]
    for value in named:
        try:
            yield number((value.get("value") or "").strip()), label(value)
        except BadValue as bad:
            told.append(skipped(value, str(bad), "value"))

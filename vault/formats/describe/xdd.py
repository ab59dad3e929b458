"""XDD after CiA 311 as a description; an XDC serves as one too, its values aside.

Names of elements and attributes are from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal, InvalidOperation

from vault.formats.cia311 import XmlObject, XmlObjects, allowed, label, of, skipped
from vault.formats.dcf_values import BadValue, number
from vault.formats.describe.description import DescribedParameter, Description
from vault.formats.xml_text import XmlElement, read_xml
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine

_MAPPABLE = ("default", "optional", "tpdo", "rpdo")


def read_xdd(content: bytes, *, file: str) -> Description:
    """Read every object with what the parameter list says of it. Raises Unreadable."""
    xml = read_xml(content, file=file)
    found = XmlObjects(xml, describes=True)
    found.read()
    if not found.seen:
        raise Unreadable("no CANopenObject in it", file=file, line=1)
    told = [remark.line for remark in found.remarks]
    groups = dict(_groups(xml.root))
    objects = tuple(_described(one, found.by_id, groups, told) for one in found.objects)
    body = found.device.get("ProfileBody")
    product = label(found.device.get("DeviceIdentity"), "productName")
    return Description(
        kind="xdc" if any(one.values for one in found.objects) else "xdd",
        title=product or label(found.device.get("DeviceIdentity"), "productText"),
        vendor=label(found.device.get("DeviceIdentity"), "vendorName"),
        product=label(found.device.get("DeviceIdentity"), "orderNumber") or product,
        version=(body.get("fileVersion") or "") if body is not None else "",
        objects=objects,
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
        scale=_scale(parameter, unit, told),
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


def _scale(
    parameter: XmlElement | None, unit: XmlElement | None, told: list[SkippedLine]
) -> Decimal | None:
    """How many units one count is: (content + offset) x multiplier, in units x their multiplier."""
    if parameter is None:
        return None
    factors = []
    for element, name in ((parameter, "multiplier"), (unit, "multiplier"), (parameter, "offset")):
        text = element.get(name) if element is not None else None
        if element is None or text is None:
            continue
        try:
            factor = Decimal(text.strip())
            if not factor.is_finite():
                raise InvalidOperation
        except InvalidOperation:
            told.append(skipped(element, f"{text!r} is no number", name))
            return None
        if name == "multiplier" and factor > 0:
            factors.append(factor)
        elif factor:
            told.append(skipped(element, f"its scaling is left out: {name} {text}", name))
            return None
    if not factors:
        return None
    scale = factors[0]
    for factor in factors[1:]:
        scale *= factor
    return scale


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

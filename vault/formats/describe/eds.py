"""EDS after CiA 306 as a description; a DCF serves as one too, its values aside."""

from __future__ import annotations

import re
from typing import cast

from vault.formats.dcf_objects import Objects
from vault.formats.dcf_whole import whole
from vault.formats.describe.description import DescribedParameter, Description
from vault.formats.ini_lines import ENCODINGS, IniText, Section, read_ini
from vault.formats.text_encoding import decode
from vault.model.errors import Unreadable
from vault.model.export import Access, Entry

_VALUED = re.compile(
    r"^[ \t]*(?:ParameterValue[ \t]*=[ \t]*[^ \t\r\n]|\[[ \t]*[0-9a-f]{4}Value[ \t]*\])",
    re.IGNORECASE | re.MULTILINE,
)


def read_eds(content: bytes, *, file: str) -> Description:
    """Read every object of an EDS or DCF file, also those without a default.

    Defaults that refer to a node id are left out where the file states none. Raises Unreadable.
    """
    text, _ = decode(content, ENCODINGS, file=file)
    ini = read_ini(text, file)
    found = Objects(ini, describes=True)
    found.read(file)
    if not found.seen:
        raise Unreadable("no object in it: this is no EDS or DCF file", file=file, line=1)
    device, about = ini.section("DeviceInfo"), ini.section("FileInfo")
    return Description(
        kind="dcf" if states_values(text) else "eds",
        title=about.text("Description") or device.text("ProductName"),
        vendor=device.text("VendorName"),
        product=device.text("OrderCode") or device.text("ProductName"),
        version=about.text("FileVersion"),
        parameters=tuple(_described(entry, ini) for entry in found.entries),
        skipped=tuple(sorted((r.line for r in found.remarks), key=lambda bad: bad.line)),
    )


def states_values(text: str) -> bool:
    """Whether it is the text of a DCF: where values stand, be they of a compact object."""
    return _VALUED.search(text) is not None


def _described(entry: Entry, ini: IniText) -> DescribedParameter:
    index, sub = entry.code[2:6].lower(), int(entry.code[7:], 16)
    whole_object = ini.section(index)
    spelled = (f"{index}sub{sub:x}", f"{index}sub{sub:02x}", index)
    section = ini.section(*spelled)
    return DescribedParameter(
        code=entry.code,
        name=entry.name,
        line=section.line,
        data_type=entry.data_type,
        low=entry.low,
        high=entry.high,
        default=entry.default,
        access=cast("Access | None", entry.access),
        group=_group(section, whole_object),
        is_mappable=whole(section.get("PDOMapping")) == 1,
        is_count=entry.is_count,
    )


def _group(section: Section, whole_object: Section) -> str:
    is_part = section is not whole_object or whole(whole_object.get("CompactSubObj"))
    return whole_object.text("ParameterName") if is_part else ""

"""What a file is that no reader takes: named, so that whoever brought it knows what to do next.

Only the head is looked at. Names of elements and sections are those of the standards as named
beside them, from memory; signatures of containers from their published formats.
"""

from __future__ import annotations

import re
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePath
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile

from vault.formats.describe.cip_text import is_cip_eds
from vault.formats.iec61131 import recognises as is_project
from vault.formats.text_encoding import head_text
from vault.formats.xdc import recognises as is_xdc
from vault.formats.xml_text import root_of

_HEAD_BYTES = 64 * 1024
_MOST_MEMBERS = 10_000

_EXPORT = "export the parameters with their values from the drive's own tool, and take that in"
_DESCRIPTION = f"a description says what a drive has, not what it holds: {_EXPORT}"
_DRAFT = "draft a dictionary of its drive family from it: axisvault family draft FILE --name NAME"


@dataclass(frozen=True, slots=True)
class FileKind:
    """What a file is, with its article: `a workbook`; what to do with it instead.

    `describes` is whether it tells what a kind of device has, and holds no drive's values.
    """

    what: str
    next_step: str
    describes: bool = False


def file_kind(content: bytes, file: str) -> FileKind | None:
    """What a file is by its content, and by its name where that tells more; None if unknown."""
    is_readable = is_xdc(content, file) or is_project(content, file)
    return _binary(content) or (None if is_readable else _text(content, file))


# Signatures: ZIP APPNOTE 4.3.7; compound file [MS-CFB] 2.2; RFC 1952; PDF 32000-1 7.5.2; PNG;
# JPEG (ISO/IEC 10918-1 B.2); SQLite file format 1.3; ELF; PE/COFF; all from memory.
_PACKED = FileKind("a compressed file", "unpack it, and take in what is inside")
_PICTURE, _PROGRAM = FileKind("a picture", _EXPORT), FileKind("a program", _EXPORT)
_SIGNATURES = {
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1": FileKind("a workbook in an older form", _DRAFT),
    b"\x1f\x8b": _PACKED,
    b"7z\xbc\xaf\x27\x1c": _PACKED,
    b"Rar!": _PACKED,
    b"%PDF-": FileKind("a PDF document", f"it is made for reading: {_EXPORT}"),
    b"\x89PNG": _PICTURE,
    b"\xff\xd8\xff": _PICTURE,
    b"SQLite format 3\0": FileKind("a database file (SQLite)", _EXPORT),
    b"\x7fELF": _PROGRAM,
    b"MZ\x90\0": _PROGRAM,
}


def _binary(content: bytes) -> FileKind | None:
    if content.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return _zip(content)
    return next((kind for start, kind in _SIGNATURES.items() if content.startswith(start)), None)


def _zip(content: bytes) -> FileKind:
    """A zip by the names of its members: Office Open XML (ECMA-376 part 2), OpenDocument 1.2."""
    try:
        with ZipFile(BytesIO(content)) as packed:
            names = packed.namelist()[:_MOST_MEMBERS]
            kind = _stated_kind(packed, names)
    except (BadZipFile, ValueError, NotImplementedError, OSError):
        return FileKind("a zip archive that is cut off or damaged", "copy it again")
    if any(name.startswith("xl/workbook.") for name in names):
        sheets = sum(name.startswith("xl/worksheets/sheet") for name in names)
        return FileKind(f"a workbook of {sheets} {'sheet' if sheets == 1 else 'sheets'}", _DRAFT)
    if "word/document.xml" in names:
        return FileKind("a text document of an office program", _EXPORT)
    if "ppt/presentation.xml" in names:
        return FileKind("a presentation of an office program", _EXPORT)
    if kind.startswith(b"application/vnd.oasis.opendocument.spreadsheet"):
        return FileKind("a workbook in OpenDocument form", _DRAFT)
    if kind.startswith(b"application/vnd.oasis.opendocument"):
        return FileKind("a document in OpenDocument form", _EXPORT)
    if "content.xml" in names and "META-INF/manifest.xml" in names:
        return FileKind("a workbook or document in OpenDocument form", _DRAFT)
    files = [name for name in names if not name.endswith("/")]
    inside = f"{len(files)} {'file' if len(files) == 1 else 'files'}"
    first = f", the first is {PurePath(files[0]).name}" if files else ""
    return FileKind(f"a zip archive of {inside}{first}", "unpack it, and take in what is inside")


def _stated_kind(packed: ZipFile, names: list[str]) -> bytes:
    """What an OpenDocument says that it is (part 3, 3.3; from memory); nothing where it is none."""
    if "mimetype" not in names or "content.xml" not in names:
        return b""
    with packed.open("mimetype") as stream:
        return stream.read(100)


def _text(content: bytes, file: str) -> FileKind | None:
    if (text := head_text(content)) is None:
        return FileKind("a file of another program, and no text", _EXPORT)
    start = text.lstrip("\ufeff \t\r\n")
    if start.startswith("<"):
        return _xml(content[:_HEAD_BYTES], start)
    if start.startswith(("{", "[")) and (found := _json(start, file)) is not None:
        return found
    return _sections(text) or _other_text(start, file)


# By the root element's name, and what its namespace or children must say.
_BY_ROOT = {
    "ISO15745ProfileContainer": FileKind(
        "a device description after CiA 311 (XDD)", _DESCRIPTION, describes=True
    ),
    "ISO15745Profile": FileKind(
        "a device description after ISO 15745", _DESCRIPTION, describes=True
    ),
    "EtherCATInfo": FileKind(
        "a device description for EtherCAT (ESI, ETG.2000)", _DESCRIPTION, describes=True
    ),
    "EtherCATInfoList": FileKind(
        "a list of device descriptions for EtherCAT", _DESCRIPTION, describes=True
    ),
    "IODevice": FileKind(
        "a device description for IO-Link (IODD)", _DESCRIPTION, describes=True
    ),
    "EtherCATConfig": FileKind(
        "a network configuration for EtherCAT: which devices, not their parameters", _EXPORT
    ),
    "project": FileKind(
        "a controller's project (IEC 61131-10)",
        "it lacks the head that such files have: export it anew",
    ),
    "html": FileKind("a page for reading (HTML)", _EXPORT),
    "svg": FileKind("a drawing (SVG)", _EXPORT),
    "package": FileKind("a manifest of a software package", _EXPORT),
    "manifest": FileKind("a manifest of a software package", _EXPORT),
    "assembly": FileKind("a manifest of a software package", _EXPORT),
}  # fmt: skip
_IEC_PROJECT = ("plcopen", "iec.ch", "61131")


def _xml(head: bytes, text: str) -> FileKind:
    if re.match(r"<!doctype\s+html", text, re.IGNORECASE):
        return _BY_ROOT["html"]
    root, namespace = root_of(head)
    if root is None:
        return FileKind("XML that is cut off or damaged", "copy it again")
    if root == "project" and not any(word in namespace for word in _IEC_PROJECT):
        return FileKind("a build or project file of a program", _EXPORT)
    known = _BY_ROOT.get(root) or _BY_ROOT.get(root.lower())
    tags = _most_often(re.findall(r"<(?:[\w.-]+:)?([\w.-]+)", text), text)
    if known is None and _has_document_type(head):
        return FileKind("XML with a document type, which may hide anything: not read", _EXPORT)
    return known or FileKind(f"XML with the root element {root[:40]!r}{tags}", _DRAFT)


def _has_document_type(head: bytes) -> bool:
    parser, found = expat.ParserCreate(), []
    parser.StartDoctypeDeclHandler = lambda name, *_: found.append(name)
    with suppress(expat.ExpatError, ValueError):
        parser.Parse(head, False)
    return bool(found)


def _most_often(names: list[str], head: str) -> str:
    """What stands most often in a head, the outermost of those that stand as often."""
    name, count = Counter(names).most_common(1)[0] if names else ("", 0)
    least = "at least " if len(head) > _HEAD_BYTES // 4 else ""  # there may be more behind it
    return f", {least}{count} times {name[:40]!r} in it" if count > 2 else ""


_PACKAGE_KEYS = ("dependencies", "devDependencies", "scripts", "main", "license")


def _json(text: str, file: str) -> FileKind | None:
    keys = re.findall(r'^\s{0,4}"([^"\\]{1,80})"\s*:', text, re.MULTILINE)
    if not re.match(r'\{\s*["}]|\[\s*["{\[]', text):
        return None  # an INI heading begins so too
    if PurePath(file).name == "package.json" or sum(key in _PACKAGE_KEYS for key in keys) >= 2:
        return FileKind("a manifest of a software package (JSON)", _EXPORT)
    names = _most_often(re.findall(r'"([^"\\]{1,80})"\s*:', text), text)
    return FileKind(f"JSON text{names}", _DRAFT)


def _sections(text: str) -> FileKind | None:
    """INI text by its sections: device descriptions of CIP (ODVA), network lists of CiA 306."""
    if is_cip_eds(text):
        return FileKind("a device description for CIP networks (EDS)", _DESCRIPTION, describes=True)
    names = {
        name.strip().lower()
        for name in re.findall(r"^[ \t]*\[([^\]\r\n]{1,80})\]", text, re.MULTILINE)
    }
    if "topology" in names or "nodelist" in names:
        return FileKind(
            "a network configuration: which nodes there are, not their parameters", _EXPORT
        )
    if "package" in names or "tool.poetry" in names or "build-system" in names:
        return FileKind("a manifest of a software package", _EXPORT)
    return None


_DICTIONARY = FileKind(
    "a dictionary of a drive family, and no export", "add it: axisvault family add FILE"
)
_AXIS_RECORD = FileKind("an axis record, and no export", "set it: axisvault axis set M/A FILE")
_YAML_KEY = re.compile(r"^[A-Za-z_][\w-]*:(?:\s|$)", re.MULTILINE)


def _other_text(start: str, file: str) -> FileKind | None:
    """Text of other tools by how it begins (from memory), YAML by its name too."""
    if re.match(r"#profibus_dp", start, re.IGNORECASE):
        return FileKind("a device description for PROFIBUS (GSD)", _DESCRIPTION, describes=True)
    if start.startswith("VERSION ") and re.search(r"^(?:BU_|NS_)\s*:", start, re.MULTILINE):
        return FileKind("a list of messages on a CAN bus (DBC), not of parameters", _EXPORT)
    if re.search(r"^schema: axisvault/family/", start, re.MULTILINE):
        return _DICTIONARY
    if re.search(r"^schema: axisvault/axis/", start, re.MULTILINE):
        return _AXIS_RECORD
    if PurePath(file).suffix.lower() in (".yaml", ".yml") and _YAML_KEY.search(start):
        return FileKind("YAML text", "export the parameters as a table or as a DCF")
    return None

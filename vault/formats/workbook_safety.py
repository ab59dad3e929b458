"""The members of a workbook that is a zip archive, looked at before anything is unpacked.

What would grow beyond measure, is encrypted, damaged or ambiguous is refused with its reason.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping
from io import BytesIO
from typing import Any
from xml.parsers import expat
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from vault.model.errors import Unreadable

ZIP_SIGNATURE = b"PK\x03\x04"
CFB_SIGNATURE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MOST_MEMBERS = 10_000
_MOST_BYTES = 96 * 1024 * 1024  # of one member, unpacked
_RATIO, _RATIO_FROM = 400, 4 * 1024 * 1024
_DEEPEST = 100
_DAMAGED = (BadZipFile, zlib.error, EOFError, NotImplementedError, OSError, ValueError)


def is_container(content: bytes) -> bool:
    """Whether a file is a container that has no lines, by how it begins."""
    return content.startswith((ZIP_SIGNATURE, CFB_SIGNATURE))


class Container:
    """A workbook's archive. Raises Unreadable for what is cut off, damaged or not to be trusted."""

    def __init__(self, content: bytes) -> None:
        try:
            self._zip = ZipFile(BytesIO(content))
            self.members: Mapping[str, ZipInfo] = {m.filename: m for m in self._zip.infolist()}
        except _DAMAGED as error:
            raise self.refusal("the workbook is cut off or damaged", "copy it again") from error
        count = len(self._zip.infolist())
        if count > _MOST_MEMBERS:
            raise self.refusal(f"the workbook has {count} members: this is no export")
        if len(self.members) < count:
            raise self.refusal("the workbook has two members of one name")

    def refusal(self, reason: str, hint: str | None = None) -> Unreadable:
        """An error about the file as a whole."""
        return Unreadable(reason, line=1, hint=hint)

    def __contains__(self, name: str) -> bool:
        return name in self.members

    def member(self, name: str) -> bytes:
        """Content of a member, checked before it is unpacked. Raises Unreadable without it."""
        found = self.members.get(name)
        if found is None:
            raise self.refusal(f"the workbook lacks its part {name}")
        if found.flag_bits & 1:
            raise self.refusal("the workbook is encrypted", "save it without a password")
        if found.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise self.refusal(f"part {name} is packed in a way that workbooks are not")
        size, packed = found.file_size, max(1, found.compress_size)
        if size > _MOST_BYTES or (size > _RATIO_FROM and size > _RATIO * packed):
            times = f"{size // 2**20} MiB unpacked, {size // packed} times its packed size"
            raise self.refusal(f"part {name} is {times}: this is no export")
        try:
            return self._zip.read(found)
        except (*_DAMAGED, RuntimeError) as error:
            reason = f"part {name} is cut off or damaged"
            raise self.refusal(reason, "copy it again") from error


def parse_xml(
    content: bytes,
    part: str,
    *,
    start: Callable[[str, dict[str, str]], None],
    end: Callable[[str], None],
    text: Callable[[str], None] | None = None,
) -> None:
    """Go through the XML of a part, names of elements and attributes without their namespaces.

    Raises Unreadable for a document type (and so for entities), for XML that is not well-formed or
    nested too deep.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    depth = 0

    def refused(reason: str) -> Unreadable:
        return Unreadable(f"part {part}: {reason}", line=1)

    def document_type(*_: Any) -> None:
        raise refused("it declares a document type, which may hide anything: not read")

    def started(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise refused(f"its elements are nested more than {_DEEPEST} deep")
        start(name.rpartition(" ")[2], {k.rpartition(" ")[2]: v for k, v in attributes.items()})

    def ended(name: str) -> None:
        nonlocal depth
        depth -= 1
        end(name.rpartition(" ")[2])

    parser.StartDoctypeDeclHandler = document_type
    parser.StartElementHandler = started
    parser.EndElementHandler = ended
    if text is not None:
        parser.CharacterDataHandler = text
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        reason = f"no well-formed XML: {expat.ErrorString(error.code)}"
        raise refused(reason) from error
    except (LookupError, ValueError) as error:
        raise refused(f"its encoding is not read: {error}") from error

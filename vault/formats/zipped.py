"""A zip archive, or a gzip file, that holds an export: unpacked in memory within limits.

Nothing is written to disk, and names that would lead elsewhere are refused. Written back, one
member is another and all others stay as they are, byte for byte. Office documents are zip archives
too, but formats of their own. Layouts: APPNOTE 4.3 and 4.4 (zip), RFC 1952 (gzip), from memory.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from vault.formats.registry import Format, WritesBack
from vault.formats.zip_members import replaced_members
from vault.model.errors import Unreadable, WrongUsage
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.model.export import Listing, Scalar
    from vault.model.export_dialect import ExportDialect

_MIB = 1024 * 1024
_MOST_MEMBERS = 1000
_MOST_BYTES, _MOST_OF_ALL = 32 * _MIB, 64 * _MIB
_MOST_TIMES = 300  # deflate reaches 1,032; tables of numbers seldom 30
_ZIP, _GZIP = (b"PK\x03\x04", b"PK\x05\x06"), b"\x1f\x8b\x08"
_MEMBER = b"PK\x01\x02"
_ARCHIVES = (*_ZIP, b"\x1f\x8b", b"7z\xbc\xaf\x27\x1c", b"Rar!", b"BZh", b"\xfd7zXZ\0")
_DAMAGED = (BadZipFile, zlib.error, EOFError, OSError, ValueError, struct.error)
_LEADS_OUT = re.compile(r"^[/\\]|^[A-Za-z]:|(?:^|[/\\])\.\.(?:[/\\]|$)")


@dataclass(frozen=True, slots=True)
class Member:
    """One file in an archive."""

    name: str
    content: bytes


def is_packed(content: bytes) -> bool:
    """Whether this is an archive of files, and no office document."""
    if not content.startswith(_ZIP):
        return content.startswith(_GZIP)
    if _has_too_many(content):
        return True
    try:
        with ZipFile(BytesIO(content)) as packed:
            return not _is_document(packed.namelist())
    except (*_DAMAGED, NotImplementedError):
        return True


def _has_too_many(content: bytes) -> bool:
    """Whether a list of members would fill the memory before it could be counted."""
    return content.count(_MEMBER) > 10 * _MOST_MEMBERS


def _is_document(names: list[str]) -> bool:
    """Office Open XML (ECMA-376 part 2) or OpenDocument, by the names of members; from memory."""
    of_open_document = {"mimetype", "META-INF/manifest.xml"} & {*names} and "content.xml" in names
    starts = ("xl/workbook.", "word/document.", "ppt/presentation.")
    return bool(of_open_document) or any(name.startswith(starts) for name in names)


def members(content: bytes, *, file: str) -> tuple[Member, ...]:
    """Every file in an archive. Raises Unreadable where it is damaged, locked or beyond limits."""
    if content.startswith(_GZIP):
        start, name = _gzip_head(content, file)
        found: tuple[Member, ...] = (Member(name, _inflated(content, start, file)),)
    else:
        found = _zip_members(content, file)
    for member in found:
        if member.content.startswith(_ARCHIVES) and is_packed(member.content):
            raise Unreadable(
                f"{member.name} in it is an archive again",
                file=file,
                hint="unpack it, and take in what is inside",
            )
    return found


def _zip_members(content: bytes, file: str) -> tuple[Member, ...]:
    found = []
    left = _MOST_OF_ALL
    if _has_too_many(content):
        raise Unreadable(f"archives of up to {plural(_MOST_MEMBERS, 'file')} are read", file=file)
    try:
        with ZipFile(BytesIO(content)) as packed:
            listed = packed.infolist()
            if len(listed) > _MOST_MEMBERS:
                reason = (
                    f"{plural(len(listed), 'file')}: archives of up to {_MOST_MEMBERS} are read"
                )
                raise Unreadable(reason, file=file)
            name, count = Counter(one.filename for one in listed).most_common(1)[0]
            if count > 1:
                raise Unreadable(f"two files in it are called {name}", file=file)
            for one in listed:
                if not one.is_dir():
                    found.append(Member(one.filename, _unpacked(packed, one, left, file)))
                    left -= len(found[-1].content)
    except (*_DAMAGED, NotImplementedError, IndexError) as error:
        reason = "the archive is cut off, damaged or empty"
        raise Unreadable(reason, file=file, hint="copy it again") from error
    return tuple(found)


def _unpacked(packed: ZipFile, one: ZipInfo, left: int, file: str) -> bytes:
    if _LEADS_OUT.search(one.filename):
        reason = f"the name {one.filename!r} in it leads out of the archive"
        raise Unreadable(reason, file=file, hint="whoever made this may mean harm: ask for it anew")
    if one.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        reason = f"{one.filename} in it is packed in a way that is not read"
        raise Unreadable(reason, file=file, hint="unpack it, and take in what is inside")
    if one.flag_bits & 1:
        reason = f"{one.filename} in it is locked with a password"
        raise Unreadable(reason, file=file, hint="unpack it, and take in what is inside")
    if one.file_size > _MIB and one.file_size > _MOST_TIMES * max(1, one.compress_size):
        reason = f"{one.filename} in it would grow more than {_MOST_TIMES} times: not unpacked"
        raise Unreadable(reason, file=file)
    most = min(left, _MOST_BYTES)
    with packed.open(one) as stream:
        content = stream.read(most + 1)
    if len(content) > most:
        raise _too_large(one.filename, file)
    return content


def _too_large(name: str, file: str) -> Unreadable:
    most = f"up to {_MOST_BYTES // _MIB} MiB each and {_MOST_OF_ALL // _MIB} MiB together are read"
    return Unreadable(f"{name} in it is too large: files of {most}", file=file)


def _gzip_head(content: bytes, file: str) -> tuple[int, str]:
    """Where the head of a gzip file ends, and the name in it."""
    flags, at, name = content[3] if len(content) > 3 else 0, 10, ""
    try:
        if flags & 4:
            at += 2 + int.from_bytes(content[at : at + 2], "little")
        for flag in (8, 16):
            if flags & flag:
                end = content.index(b"\0", at)
                name = content[at:end].decode("latin-1") if flag == 8 else name
                at = end + 1
    except ValueError as error:
        raise Unreadable("the file is cut off", file=file, hint="copy it again") from error
    return at + 2 * bool(flags & 2), name or file.removesuffix(".gz")


def _inflated(content: bytes, start: int, file: str) -> bytes:
    inflate = zlib.decompressobj(-15)
    try:
        found = inflate.decompress(content[start:], _MOST_BYTES + 1)
    except zlib.error as error:
        raise Unreadable("the file is damaged", file=file, hint="copy it again") from error
    if len(found) > _MOST_BYTES:
        raise _too_large("what", file)
    sums = struct.pack("<II", zlib.crc32(found), len(found))
    if not inflate.eof or inflate.unused_data != sums:
        reason = "the file is cut off or damaged, or holds more than one"
        raise Unreadable(reason, file=file, hint="copy it again")
    return found


def with_member(content: bytes, name: str, new: bytes, *, file: str) -> bytes:
    """The archive with another content of one member; all else stays, byte for byte.

    Raises WrongUsage for one that is packed in a way that is not written.
    """
    if not content.startswith(_GZIP):
        return replaced_members(content, {name: new}, file=file)
    start, _ = _gzip_head(content, file)
    deflate = zlib.compressobj(wbits=-15)
    sums = struct.pack("<II", zlib.crc32(new), len(new))
    return content[:start] + deflate.compress(new) + deflate.flush() + sums


class Zipped:
    """A format in an archive: that of the member of some name."""

    def __init__(self, inner: Format, member: str) -> None:
        self.inner, self.member = inner, member

    def recognises(self, content: bytes, file: str) -> bool:
        """Say whether this is an archive with that member in that format."""
        return is_packed(content) and self.inner.recognises(self.inside(content, file), file)

    def read(
        self,
        content: bytes,
        *,
        file: str,
        dialect: ExportDialect | None,
        channel: int | None,
        node_id: int | None = None,
    ) -> Listing:
        """Read one axis of the member; as the format, and Unreadable for a bad archive."""
        inside, named = self.inside(content, file), in_archive(file, self.member)
        given = {} if node_id is None else {"node_id": node_id}
        return self.inner.read(inside, file=named, dialect=dialect, channel=channel, **given)

    def write_back(
        self,
        original: bytes,
        values: Mapping[str, Scalar],
        *,
        file: str,
        dialect: ExportDialect | None,
        channel: int | None,
        drop: Collection[str] = (),
    ) -> bytes:
        """Put values into the member; every other member stays as it is, byte for byte."""
        if not isinstance(self.inner, WritesBack):
            raise WrongUsage("values cannot be put back into this format", file=file)
        inside = self.inside(original, file)
        named = in_archive(file, self.member)
        new = self.inner.write_back(
            inside, values, file=named, dialect=dialect, channel=channel, drop=drop
        )
        if new == inside:
            return original
        changed = with_member(original, self.member, new, file=file)
        if self.inside(changed, file) != new:
            raise WrongUsage(f"{self.member} cannot be put back into the archive", file=file)
        return changed

    def inside(self, content: bytes, file: str) -> bytes:
        """The bytes of the member. Raises Unreadable where it is not there."""
        for member in members(content, file=file):
            # Of gzip there is one, which may have the name of the file itself.
            if member.name == self.member or content.startswith(_GZIP):
                return member.content
        raise Unreadable(f"{self.member} is not in it", file=file)


def in_archive(file: str, member: str) -> str:
    """Name of a file in an archive, for people."""
    return f"{file} ({member})"

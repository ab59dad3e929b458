"""Members of a zip archive replaced or taken out, every other byte of it as it was.

Records are those of ZIP APPNOTE 4.3.7, 4.3.12 and 4.3.16. Order, names, dates and the packed bytes
of all other members stay.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Mapping
from typing import NamedTuple

from vault.model.errors import WrongUsage

_LOCAL = struct.Struct("<4s5H3L2H")
_CENTRAL = struct.Struct("<4s6H3L5H2L")
_END = struct.Struct("<4s4H2LH")
_DESCRIPTOR_FOLLOWS = 1 << 3
_STORED, _DEFLATED = 0, 8
_ZIP64 = 0xFFFF_FFFF


class _Member(NamedTuple):
    record: tuple[int, ...]  # of the central directory, without its signature
    name: bytes
    rest: bytes  # extra field and comment
    offset: int


def replaced_members(content: bytes, changes: Mapping[str, bytes | None], *, file: str) -> bytes:
    """The archive with other content of some members; None takes one out.

    Raises WrongUsage for an archive in the form of large files, in several parts, or with a member
    to be replaced that is neither stored nor deflated.
    """
    end_at = content.rfind(b"PK\5\6")
    end = _END.unpack_from(content, end_at)
    size, start = end[5], end[6]
    if start + size != end_at or end[1] or end[2]:
        reason = "the archive is in a form that cannot be changed in place"
        raise WrongUsage(reason, file=file, hint="save or pack it again")
    members = sorted(_members(content, start, end[4], file), key=lambda one: one.offset)
    ends = [one.offset for one in members[1:]] + [start]
    pieces, directory, at = [content[: members[0].offset]], [], members[0].offset
    for member, behind in zip(members, ends, strict=True):
        name = member.name.decode("utf-8" if member.record[2] & 1 << 11 else "cp437")
        record, piece = list(member.record), content[member.offset : behind]
        if name in changes:
            new = changes[name]
            if new is None:
                continue
            piece = _repacked(content, member, new, record, file)
        record[-1] = at
        directory.append(_CENTRAL.pack(b"PK\1\2", *record) + member.name + member.rest)
        pieces.append(piece)
        at += len(piece)
    packed = b"".join(directory)
    count = len(directory)
    tail = _END.pack(end[0], 0, 0, count, count, len(packed), at, end[7])
    return b"".join([*pieces, packed, tail, content[end_at + _END.size :]])


def _members(content: bytes, at: int, count: int, file: str) -> list[_Member]:
    found = []
    for _ in range(count):
        record = _CENTRAL.unpack_from(content, at)[1:]
        name_at = at + _CENTRAL.size
        name_end = name_at + record[9]
        at = name_end + record[10] + record[11]
        if _ZIP64 in (record[7], record[8], record[15]):
            raise _large(file)
        found.append(_Member(record, content[name_at:name_end], content[name_end:at], record[15]))
    return found


def _large(file: str) -> WrongUsage:
    reason = "the archive is in the form of large files (zip64)"
    return WrongUsage(reason, file=file, hint="save or pack it again")


def _repacked(content: bytes, member: _Member, new: bytes, record: list[int], file: str) -> bytes:
    """A member with its header; what its directory record says of size and check changes too."""
    local = list(_LOCAL.unpack_from(content, member.offset))
    head_end = member.offset + _LOCAL.size + local[9] + local[10]
    if _ZIP64 in local[7:9]:
        raise _large(file)
    packed = new
    if local[3] not in (_STORED, _DEFLATED):
        name = member.name.decode("utf-8", "replace")
        raise WrongUsage(f"{name} is packed in a way that is not written", file=file)
    if local[3] == _DEFLATED:
        pack = zlib.compressobj(zlib.Z_DEFAULT_COMPRESSION, zlib.DEFLATED, -15)
        packed = pack.compress(new) + pack.flush()
    said = (zlib.crc32(new), len(packed), len(new))
    local[2] &= ~_DESCRIPTOR_FOLLOWS
    record[2] &= ~_DESCRIPTOR_FOLLOWS
    local[6:9], record[6:9] = said, said
    head = content[member.offset + _LOCAL.size : head_end]
    return _LOCAL.pack(*local) + head + packed

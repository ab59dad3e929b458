"""A file that holds several: what is damaged or cut short shows, whatever byte it is.

It is a tar archive (POSIX ustar with GNU's long sizes), so that it can be opened without this
program. The last member holds the SHA-256 of every byte before it; nothing comes after.
"""

from __future__ import annotations

import os
import tarfile
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import IO

from vault.model.errors import Unreadable

END = "whole.sha256"
_BLOCK = 1 << 20
_MOST_MEMBERS = 100
_CUT = "copy it again; nothing of it was used"


@dataclass(frozen=True, slots=True)
class Member:
    """A file within it: where it begins, and how many bytes it has."""

    start: int
    size: int


def write_packed(target: IO[bytes], files: Mapping[str, Path]) -> None:
    """Write files under their names, in their order. Raises OSError."""
    with tarfile.open(fileobj=target, mode="w", format=tarfile.GNU_FORMAT) as archive:
        for name, path in files.items():
            with path.open("rb") as file:
                archive.addfile(_head(name, path.stat().st_size), file)
        target.flush()
        with Path(target.name).open("rb") as written:
            digest = f"{_digest(written, archive.offset)}\n".encode()
        archive.addfile(_head(END, len(digest)), BytesIO(digest))


def members(file: IO[bytes], name: str) -> dict[str, Member]:
    """What lies in it, once every byte is known to be as it was written.

    Raises Unreadable for what is none of ours, damaged or cut short.
    """
    found: dict[str, Member] = {}
    end: tarfile.TarInfo | None = None
    try:
        with tarfile.open(fileobj=file, mode="r:") as archive:
            for member in archive:
                is_other = not member.isreg() or len(found) == _MOST_MEMBERS
                if end is not None or is_other or member.name in found:
                    raise _damaged(name)
                if member.name == END:
                    end = member
                else:
                    found[member.name] = Member(member.offset_data, member.size)
        if end is None or end.size != 65:
            raise _damaged(name)
        file.seek(end.offset_data)
        said = file.read(65)
        rest = file.read(2 * tarfile.RECORDSIZE)
        is_all = not rest.strip(b"\0") and not (65 + end.offset_data + len(rest)) % 512
        if not is_all or said != f"{_digest(file, end.offset)}\n".encode():
            raise _damaged(name)
    except (tarfile.TarError, EOFError, ValueError, OverflowError) as error:
        raise _damaged(name) from error
    return found


def copy_member(file: IO[bytes], member: Member, to: Path) -> str:
    """Write a member to a new file; returns its SHA-256. Raises OSError."""
    digest = sha256()
    file.seek(member.start)
    left = member.size
    with to.open("wb") as out:
        while left and (block := file.read(min(_BLOCK, left))):
            out.write(block)
            digest.update(block)
            left -= len(block)
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest()


def digest_of(path: Path) -> str:
    """SHA-256 of a file."""
    with path.open("rb") as file:
        return _digest(file, path.stat().st_size)


def _head(name: str, size: int) -> tarfile.TarInfo:
    head = tarfile.TarInfo(name)
    head.size, head.mode = size, 0o600
    return head


def _digest(file: IO[bytes], size: int) -> str:
    digest = sha256()
    file.seek(0)
    while size and (block := file.read(min(_BLOCK, size))):
        digest.update(block)
        size -= len(block)
    return digest.hexdigest()


def _damaged(name: str) -> Unreadable:
    return Unreadable("it is no backup, or damaged, or cut short", file=name, hint=_CUT)

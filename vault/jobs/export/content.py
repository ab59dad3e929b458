"""The bytes of an export on disk, within the limits of what is read."""

from __future__ import annotations

from pathlib import Path

from vault.formats.file_kind import file_kind
from vault.formats.records import recognises as is_records
from vault.model.errors import Unreadable
from vault.model.wording import plural

MAX_BYTES = 32 * 1024 * 1024
MAX_PARAMETERS = 100_000
MAX_LINE = 1024 * 1024

# Zip, gzip, compound files (of older workbooks).
_CONTAINERS = (b"PK\x03\x04", b"PK\x05\x06", b"\x1f\x8b", b"\xd0\xcf\x11\xe0")
_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")  # of UTF-8 and UTF-16


def _is_blank(content: bytes) -> bool:
    """Whether there is nothing but blanks behind the mark of an encoding, if there is one."""
    mark = next((mark for mark in _MARKS if content.startswith(mark)), b"")
    rest = content[len(mark) :]
    return not (rest.replace(b"\0", b"") if len(mark) == 2 else rest).strip()


def read_content(path: Path) -> bytes:
    """Read an export. Raises Unreadable where it is missing, empty or too large."""
    file = str(path)
    try:
        if path.is_dir():
            raise Unreadable("this is a folder, not an export", file=file)
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise Unreadable(
                f"{size // 2**20} MiB: exports up to {MAX_BYTES // 2**20} MiB are read",
                file=file,
                line=1,
            )
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise Unreadable(f"the file cannot be read: {error.strerror}", file=file) from error
    if len(content) > MAX_BYTES:
        raise Unreadable(f"the file is longer than {MAX_BYTES // 2**20} MiB", file=file, line=1)
    if _is_blank(content):
        raise Unreadable("the file is empty", file=file, line=1)
    if not has_no_lines(content):
        check_lines(content, file)
    return content


def has_no_lines(content: bytes) -> bool:
    """Whether an export may be one long line: archives, workbooks, XML and JSON."""
    return content.startswith(_CONTAINERS) or is_records(content, "")


def check_lines(content: bytes, file: str) -> None:
    """Refuse a line that is longer than any export's: it would be cut into millions of cells."""
    at = 0
    while len(content) - at > MAX_LINE:
        end = max(content.rfind(mark, at, at + MAX_LINE + 1) for mark in (b"\n", b"\r"))
        if end < 0:
            if (kind := file_kind(content, file)) is not None:
                raise Unreadable(f"this is {kind.what}", file=file, line=1, hint=kind.next_step)
            line = max(content.count(b"\n", 0, at), content.count(b"\r", 0, at)) + 1
            reason = f"a line of more than {plural(MAX_LINE, 'byte')}; this is no export"
            raise Unreadable(reason, file=file, line=line)
        at = end + 1

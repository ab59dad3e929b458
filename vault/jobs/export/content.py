"""The bytes of an export on disk, within the limits of what is read."""

from __future__ import annotations

from pathlib import Path

from vault.model.errors import Unreadable

MAX_BYTES = 32 * 1024 * 1024
MAX_PARAMETERS = 100_000


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
    if not content.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    return content

"""A folder that is written for somebody: there whole, or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from vault.model.errors import Unavailable, WrongUsage


@contextmanager
def new_folder(out: Path) -> Iterator[Path]:
    """A scratch folder beside `out`, which takes its name when the block is done.

    Raises WrongUsage where `out` holds something, Unavailable where it cannot be written.
    """
    try:
        if out.exists() and (not out.is_dir() or any(out.iterdir())):
            raise WrongUsage(f"{out} is there already, and not empty", hint="name a new folder")
        out.parent.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
        try:
            yield scratch
            scratch.chmod(0o755)
            if out.exists():
                out.rmdir()
            scratch.rename(out)
        except BaseException:
            shutil.rmtree(scratch, ignore_errors=True)
            raise
    except OSError as error:
        raise Unavailable(f"{out} cannot be written: {error.strerror}") from error


def write_whole(path: Path, content: bytes) -> None:
    """Write a file, and see that it is on the disk."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())

"""Folders that nobody but whoever runs the program may look into."""

from __future__ import annotations

from pathlib import Path


def private_folder(path: Path) -> Path:
    """Make a folder with what lies above it, where it is not there; its owner alone may enter it.

    Raises OSError where it cannot be made.
    """
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    if path.stat().st_mode & 0o077:  # made by an older program, or under another mask
        path.chmod(0o700)
    return path

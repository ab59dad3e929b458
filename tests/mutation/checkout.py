"""Copies of the checkout to change and to run tests in; the work tree itself stays as it is."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from pathlib import Path

PLUGINS = Path(__file__).parent / "plugins"


def files(root: Path) -> list[Path]:
    """What belongs to the checkout, changes that are not committed included; relative to it."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True).stdout
    paths = (Path(name) for name in sorted(set(listed.split("\0"))) if name)
    return [path for path in paths if (root / path).is_file()]


def tree_hash(root: Path) -> str:
    """Names the content of a checkout."""
    digest = hashlib.sha256()
    for path in files(root):
        digest.update(
            f"{path}\0{hashlib.sha256((root / path).read_bytes()).hexdigest()}\n".encode()
        )
    return digest.hexdigest()


def copy_to(root: Path, folder: Path) -> None:
    """Copy a checkout, times of the files included."""
    for path in files(root):
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(root / path, folder / path)


def environment(**more: str) -> dict[str, str]:
    """What pytest is to find around it, our plugins included."""
    return {**os.environ, "PYTHONPATH": str(PLUGINS), **more}

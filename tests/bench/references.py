"""What we measure against: the same work with general-purpose programs and libraries."""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from shutil import copyfile
from typing import Any

LOAD_AND_DIFF = """
import sys
from pathlib import Path

from deepdiff import DeepDiff
from ruamel.yaml import YAML

yaml = YAML(typ="safe", pure=False)
left, right = (yaml.load(Path(name).read_bytes()) for name in sys.argv[1:3])
print(DeepDiff(left, right))
"""
"""Script: load two parameters.yaml with ruamel.yaml's C loader, and DeepDiff them."""


def load_and_diff(left: Path, right: Path) -> object:
    """The same, in this process. Raises ValueError where there is no difference."""
    found = diff_texts(left.read_bytes(), right.read_bytes())
    if not found:
        raise ValueError("the two sides are equal")
    return found


def diff_texts(left: bytes, right: bytes) -> object:
    """Load two parameters.yaml with ruamel.yaml's C loader, and DeepDiff them."""
    from deepdiff import DeepDiff
    from ruamel.yaml import YAML

    yaml = YAML(typ="safe", pure=False)
    return DeepDiff(yaml.load(left), yaml.load(right))


class FileByFile:
    """Exports into git one by one: csv, ruamel.yaml's C dumper, GitPython add and commit."""

    def __init__(self, folder: Path) -> None:
        from git import Repo
        from ruamel.yaml import YAML

        self._folder = folder
        self._git = Repo.init(folder)
        self._yaml = YAML(typ="safe", pure=False)

    def take(self, export: Path, axis: str, headings: Sequence[str]) -> None:
        """Take one export in."""
        self._git.index.add(self._write(export, axis, headings))
        self._git.index.commit(f"{axis}: {export.name}")

    def take_at_once(self, exports: Mapping[str, Path], headings: Sequence[str]) -> None:
        """Take exports of many axes in with one commit."""
        written = [self._write(export, axis, headings) for axis, export in exports.items()]
        self._git.index.add([path for paths in written for path in paths])
        self._git.index.commit(f"{len(exports)} axes")

    def _write(self, export: Path, axis: str, headings: Sequence[str]) -> list[str]:
        place = self._folder / axis
        place.mkdir(parents=True, exist_ok=True)
        with export.open(newline="") as stream:
            rows = list(csv.reader(stream, delimiter=";"))
        table = rows[rows.index(list(headings)) + 1 :]
        content: dict[str, Any] = {
            "nameplate": {row[0]: row[1] for row in rows if len(row) == 2},
            "parameters": {row[0]: dict(zip(headings[1:], row[1:], strict=True)) for row in table},
        }
        self._yaml.dump(content, place / "parameters.yaml")
        copyfile(export, place / "export.csv")
        return [f"{axis}/parameters.yaml", f"{axis}/export.csv"]

    def close(self) -> None:
        """End GitPython's helper processes."""
        self._git.close()


def zipped(export: Path) -> int:
    """Bytes of a zip file that holds one export."""
    target = BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.write(export, export.name)
    return len(target.getvalue())

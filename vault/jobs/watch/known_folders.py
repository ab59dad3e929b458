"""Which folders are watched for a vault, noted beside it by whoever watches, and what they refused.

What is noted is what this computer does: no copy or bundle of the vault has it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from vault.jobs.watch.drop_folder import REASON, REFUSED
from vault.model.errors import VaultError
from vault.model.visible_text import escaped
from vault.store.clock import now, parse_time, time_text

_FILE = "watched.json"
_MOST_FOLDERS = 100
_MOST_BYTES = 16 * 1024
MOST_REFUSED = 200
"""Refused files of a folder that are told; our own choice."""


@dataclass(frozen=True, slots=True)
class RefusedFile:
    """A file that was refused: its path below the folder, when, and why."""

    file: str
    at: datetime | None
    reason: str


@dataclass(frozen=True, slots=True)
class WatchedFolder:
    """A folder that was watched last from `since` on, and what it refused, latest first.

    `problem` says why that cannot be told; `untold` how many more there are.
    """

    folder: str
    since: datetime
    refused: tuple[RefusedFile, ...] = ()
    untold: int = 0
    problem: str = ""


def note_watched(state: Path, folder: Path) -> None:
    """Note that a folder is watched from now on. Where that cannot be, it is watched all the same.

    Of a hundred folders the one that was begun longest ago is forgotten.
    """
    known = {**_noted(state), str(folder): time_text(now())}
    kept = dict(sorted(known.items(), key=lambda one: one[1])[-_MOST_FOLDERS:])
    draft = state / f"{_FILE}.new"
    with suppress(OSError):
        draft.unlink(missing_ok=True)  # a link there leads to somebody else's file
        with draft.open("x", encoding="utf-8") as file:
            file.write(json.dumps(kept, indent=1) + "\n")
        draft.replace(state / _FILE)


def _noted(state: Path) -> dict[str, str]:
    try:
        found = json.loads((state / _FILE).read_bytes())
    except (OSError, ValueError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {path: at for path, at in found.items() if isinstance(at, str) and _time(at)}


def _time(text: str) -> datetime | None:
    try:
        return parse_time(text)
    except (VaultError, ValueError):
        return None


def watched_folders(state: Path) -> tuple[WatchedFolder, ...]:
    """The folders that are or were watched from this computer, the latest begun first."""
    found = []
    for path, at in sorted(_noted(state).items(), key=lambda one: one[1], reverse=True):
        since = _time(at)
        assert since is not None
        found.append(_looked_at(Path(path), since))
    return tuple(found)


def _looked_at(folder: Path, since: datetime) -> WatchedFolder:
    name = escaped(folder)
    try:
        if not folder.is_dir():
            return WatchedFolder(name, since, problem="the folder is not there any more")
        reasons = sorted(_reasons(folder / REFUSED), reverse=True)
    except OSError as error:
        problem = f"the folder cannot be looked at: {error.strerror or error}"
        return WatchedFolder(name, since, problem=problem)
    told = tuple(_refused(folder, path) for _, path in reasons[:MOST_REFUSED])
    return WatchedFolder(name, since, told, max(0, len(reasons) - MOST_REFUSED))


def _reasons(place: Path) -> Iterator[tuple[int, Path]]:
    """Notes beside files that still lie there, with when they were written."""
    if place.is_symlink() or not place.is_dir():
        return
    for folder, folders, files in os.walk(place):
        folders.sort()
        names = set(files)
        for name in files:
            path = Path(folder, name)
            if name.endswith(REASON) and name.removesuffix(REASON) in names:
                with suppress(FileNotFoundError):  # taken back meanwhile
                    status = path.lstat()
                    if not path.is_symlink():
                        yield status.st_mtime_ns, path


def _refused(folder: Path, note: Path) -> RefusedFile:
    file = note.with_name(note.name.removesuffix(REASON)).relative_to(folder / REFUSED)
    said: dict[str, str] = {}
    reason = ""
    try:
        with note.open("rb") as stream:
            text = stream.read(_MOST_BYTES).decode("utf-8", "replace")
    except OSError as error:
        text, reason = "", f"the reason cannot be read: {error.strerror or error}"
    for line in text.splitlines():
        key, _, content = line.partition("  ")
        said.setdefault(key, content.strip())
    return RefusedFile(
        escaped(file),
        _time(said.get("refused", "")),
        escaped(said.get("reason", "") or reason or "no reason stands beside it"),
    )

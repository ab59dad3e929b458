"""What a backup holds, and what it says of itself."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from vault.model.errors import Refused, Unreadable, VaultError
from vault.store.clock import parse_time, time_text
from vault.store.files.packed_file import Member, copy_member, members
from vault.store.local import accounts, outbox

SCHEMA = "axisvault/backup/1"
MANIFEST, HISTORY, WITNESS, SYNCS = "manifest.json", "vault.bundle", "witness.jsonl", "sync.jsonl"
DATABASES = (accounts.FILE, outbox.FILE)
_LONGEST_MANIFEST = 1 << 16
_NAMES = (HISTORY, WITNESS, SYNCS, *DATABASES)


@dataclass(frozen=True, slots=True)
class Part:
    """A file of a backup: how many bytes it has, and their SHA-256."""

    name: str
    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself. `witness` is the id of the vault's witness, if it has one."""

    site: str
    made_at: datetime
    tip: str
    snapshots: int
    witness: str | None
    parts: tuple[Part, ...]

    def text(self, version: str) -> bytes:
        """It as JSON, with the version of the program that writes it."""
        files = [{"name": p.name, "size": p.size, "sha256": p.sha256} for p in self.parts]
        said = {
            "schema": SCHEMA, "program": version, "site": self.site,
            "made_at": time_text(self.made_at), "tip": self.tip, "snapshots": self.snapshots,
            "witness": self.witness, "files": files,
        }  # fmt: skip
        return json.dumps(said, ensure_ascii=False, indent=1).encode() + b"\n"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that is whole, open to be read."""

    name: str
    manifest: Manifest
    _file: IO[bytes]
    _members: dict[str, Member]

    def copy(self, part: str, to: Path) -> bool:
        """Write a part of it to a new file; false where it has none. Raises OSError."""
        said = next((one for one in self.manifest.parts if one.name == part), None)
        if said is None:
            return False
        if copy_member(self._file, self._members[part], to) != said.sha256:
            raise Unreadable("it was changed while it was read", file=self.name)
        return True


@contextmanager
def opened_backup(path: Path) -> Iterator[Backup]:
    """A backup, once every byte of it is known to be as it was written.

    Raises Unreadable for what is none, damaged or cut short; Refused for one of a newer program.
    """
    try:
        file = path.open("rb")
    except OSError as error:
        raise Unreadable(f"it cannot be read: {error.strerror}", file=str(path)) from error
    with file:
        try:
            found = members(file, str(path))
            text = b""
            if MANIFEST in found and found[MANIFEST].size <= _LONGEST_MANIFEST:
                file.seek(found[MANIFEST].start)
                text = file.read(found[MANIFEST].size)
        except OSError as error:
            raise Unreadable(f"it cannot be read: {error.strerror}", file=str(path)) from error
        manifest = _manifest(text, str(path))
        sizes = {name: one.size for name, one in found.items() if name != MANIFEST}
        if sizes != {part.name: part.size for part in manifest.parts} or HISTORY not in sizes:
            raise _none(str(path))
        yield Backup(str(path), manifest, file, found)


def _manifest(text: bytes, name: str) -> Manifest:
    try:
        said: Any = json.loads(text)
        if said["schema"] != SCHEMA:
            if str(said["schema"]).startswith(SCHEMA.rpartition("/")[0]):
                raise Refused("a newer axisvault wrote it", file=name, hint="update this one")
            raise _none(name)
        parts = tuple(
            Part(str(one["name"]), int(one["size"]), str(one["sha256"])) for one in said["files"]
        )
        if not all(part.name in _NAMES for part in parts):
            raise _none(name)
        witness = said["witness"]
        return Manifest(
            str(said["site"]), parse_time(said["made_at"]), str(said["tip"]),
            int(said["snapshots"]), None if witness is None else str(witness), parts,
        )  # fmt: skip
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError) as error:
        raise _none(name) from error
    except VaultError as error:
        if isinstance(error, Refused | Unreadable) and error.file == name:
            raise
        raise _none(name) from error


def _none(name: str) -> Unreadable:
    return Unreadable("it is no backup of ours", file=name)

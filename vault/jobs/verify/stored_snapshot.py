"""Snapshots as git holds them: with their commit, their files and the dictionary in it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from vault.model.cached_property import cached_property
from vault.model.errors import VaultError
from vault.store.files import layout
from vault.store.files.snapshot_text import digest
from vault.store.git.objects import CommitHeader, read_commit
from vault.store.index.recorded import written_between
from vault.store.index.rows import Snapshot
from vault.store.vault import FamilyFile, Vault

if TYPE_CHECKING:
    from vault.model.names import Address

_RECORDS_AHEAD = 32  # snapshots whose records are read before their files are
_MOST_FAMILIES = 16


class SnapshotPlace(NamedTuple):
    """Where git has a snapshot: its number in the history, its commit and its record's blob."""

    seq: int
    commit: str
    blob: str


class Places(NamedTuple):
    """Where git has the snapshots of each axis, and blobs of corrections, ancestors first.

    Corrections are by their path: those of axes, and those of machines.
    """

    of_snapshots: dict[Address, list[SnapshotPlace]]
    of_corrections: dict[str, list[str]]


def places_since(
    vault: Vault, since: str | None = None, axes: Collection[Address] | None = None
) -> Places:
    """Places of all or of some axes, of everything or of what was recorded since a commit."""
    places = Places({}, {})
    every = written_between(vault.repository, since, vault.tip, axes)
    for seq, written in enumerate(every, 1):
        if written.address is not None and written.is_record:
            place = SnapshotPlace(seq, written.commit, written.blob)
            places.of_snapshots.setdefault(written.address, []).append(place)
        elif not written.is_record:
            places.of_corrections.setdefault(written.path, []).append(written.blob)
    return places


@dataclass(frozen=True)
class StoredSnapshot:
    """A snapshot with what git holds of it: None for what is not there or cannot be read.

    `export` and `parameters` are the contents of its files, `family` the dictionary in its commit.
    """

    snapshot: Snapshot
    commit: bytes | None
    export: bytes | None = None
    parameters: bytes | None = None
    family: FamilyFile | None = None
    family_sha256: str | None = None

    @cached_property
    def header(self) -> CommitHeader:
        """Its commit. Raises Damaged where that cannot be read."""
        return read_commit(self.snapshot.id, self.commit)


class SnapshotReader:
    """Reads snapshots with their files, one after the other. Close it when done."""

    def __init__(self, vault: Vault) -> None:
        self._vault = vault
        self._objects = vault.repository.stream()
        self._ids = vault.repository.stream_ids()
        self._families: dict[tuple[str, str], tuple[FamilyFile, str]] = {}

    def __enter__(self) -> SnapshotReader:
        return self

    def __exit__(self, *_: object) -> None:
        self._objects.close()
        self._ids.close()

    def snapshots(
        self, address: Address, places: Sequence[SnapshotPlace]
    ) -> Iterator[StoredSnapshot]:
        """Snapshots of an axis; of one whose record cannot be read, that and its commit alone."""
        for start in range(0, len(places), _RECORDS_AHEAD):
            yield from self._portion(address, places[start : start + _RECORDS_AHEAD])

    def parameters(self, address: Address, commits: Sequence[str]) -> Iterator[bytes | None]:
        """parameters.yaml of an axis in some commits, in their order."""
        path = layout.parameters_file(address)
        return self._objects.contents(f"{commit}:{path}" for commit in commits)

    def _portion(
        self, address: Address, places: Sequence[SnapshotPlace]
    ) -> Iterator[StoredSnapshot]:
        commits = list(self._objects.contents((p.commit for p in places), "commit"))
        texts = list(self._objects.contents(p.blob for p in places))
        snapshots = [
            Snapshot(place.seq, address, place.commit, text or b"")
            for place, text in zip(places, texts, strict=True)
        ]
        readable = [snapshot for snapshot in snapshots if _is_readable(snapshot)]
        files = self._objects.contents(path for snapshot in readable for path in _files(snapshot))
        blobs = list(self._ids.ids(map(_family_file, readable)))
        family_blob = dict(zip((snapshot.id for snapshot in readable), blobs, strict=True))
        for snapshot, commit in zip(snapshots, commits, strict=True):
            if snapshot.id not in family_blob:
                yield StoredSnapshot(snapshot, commit)
                continue
            export, parameters = next(files), next(files)
            family, sha256 = self._family(snapshot, family_blob[snapshot.id])
            yield StoredSnapshot(snapshot, commit, export, parameters, family, sha256)

    def _family(self, snapshot: Snapshot, blob: str | None) -> tuple[FamilyFile | None, str | None]:
        """The dictionary that a snapshot was read with, and its hash."""
        name = snapshot.record.family
        if name is None or blob is None:
            return None, None
        if (name, blob) not in self._families:
            content = self._vault.repository.blob(blob)
            if content is None:
                return None, None
            if len(self._families) == _MOST_FAMILIES:
                self._families.pop(next(iter(self._families)))
            self._families[name, blob] = FamilyFile(name, content), digest(content)
        return self._families[name, blob]


def _is_readable(snapshot: Snapshot) -> bool:
    try:
        return bool(snapshot.record)
    except VaultError:
        return False


def _files(snapshot: Snapshot) -> tuple[str, str]:
    export = layout.export_file(snapshot.address, snapshot.record.export_name)
    return f"{snapshot.id}:{export}", f"{snapshot.id}:{layout.parameters_file(snapshot.address)}"


def _family_file(snapshot: Snapshot) -> str:
    name = snapshot.record.family
    return f"{snapshot.id}:{layout.family_file(name) if name else ''}"

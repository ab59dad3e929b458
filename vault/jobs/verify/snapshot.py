"""One snapshot against itself: its record, its export, what both give, and its commit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.model.errors import Damaged, VaultError
from vault.model.normalise import VERSIONS
from vault.store.clock import git_time
from vault.store.files import layout
from vault.store.files.snapshot_text import commit_message, digest, snapshot_text
from vault.store.git.objects import CommitHeader, read_commit
from vault.store.index.rows import Snapshot
from vault.store.vault import FamilyFile, Vault

if TYPE_CHECKING:
    from vault.jobs.verify.values import Values
    from vault.model.names import Address

_TOGETHER = 32  # snapshots whose records are read before their files are
_MOST_FAMILIES = 16


class Place(NamedTuple):
    """Where git has a snapshot: its number in the history, its commit and its record's blob."""

    seq: int
    commit: str
    blob: str


@dataclass(frozen=True)
class Looked:
    """A snapshot with what git holds of it: None for what is not there or cannot be read."""

    snapshot: Snapshot
    commit: bytes | None
    export: bytes | None = None
    kept: bytes | None = None
    family: FamilyFile | None = None
    family_sha256: str | None = None

    @cached_property
    def header(self) -> CommitHeader:
        """Its commit. Raises Damaged where that cannot be read."""
        return read_commit(self.snapshot.id, self.commit)

    def without_files(self) -> Looked:
        """The same, to be kept."""
        return Looked(self.snapshot, self.commit)


class Reading:
    """Reads snapshots with their files, one after the other. Close it when done."""

    def __init__(self, vault: Vault) -> None:
        self._vault = vault
        self._objects = vault.repository.stream()
        self._ids = vault.repository.stream_ids()
        self._families: dict[tuple[str, str], tuple[FamilyFile, str]] = {}

    def __enter__(self) -> Reading:
        return self

    def __exit__(self, *_: object) -> None:
        self._objects.close()
        self._ids.close()

    def snapshots(self, address: Address, places: Sequence[Place]) -> Iterator[Looked]:
        """Snapshots of an axis; of one whose record cannot be read, that and its commit alone."""
        for start in range(0, len(places), _TOGETHER):
            yield from self._together(address, places[start : start + _TOGETHER])

    def parameters(self, address: Address, commits: Sequence[str]) -> Iterator[bytes | None]:
        """parameters.yaml of an axis in some commits, in their order."""
        path = layout.parameters_file(address)
        return self._objects.contents(f"{commit}:{path}" for commit in commits)

    def _together(self, address: Address, places: Sequence[Place]) -> Iterator[Looked]:
        commits = list(self._objects.contents((p.commit for p in places), "commit"))
        texts = list(self._objects.contents(p.blob for p in places))
        found = [
            Looked(Snapshot(place.seq, address, place.commit, text or b""), commit)
            for place, commit, text in zip(places, commits, texts, strict=True)
        ]
        readable = [looked.snapshot for looked in found if _is_readable(looked.snapshot)]
        files = self._objects.contents(path for one in readable for path in _files(one))
        families = list(self._ids.ids(_family(one) for one in readable))
        by_id = dict(zip((one.id for one in readable), families, strict=True))
        for looked in found:
            snapshot = looked.snapshot
            if snapshot.id not in by_id:
                yield looked
                continue
            export, kept = next(files), next(files)
            family, sha256 = self._family_file(snapshot, by_id[snapshot.id])
            yield Looked(snapshot, looked.commit, export, kept, family, sha256)

    def _family_file(
        self, snapshot: Snapshot, blob: str | None
    ) -> tuple[FamilyFile | None, str | None]:
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


def _family(snapshot: Snapshot) -> str:
    name = snapshot.record.family
    return f"{snapshot.id}:{layout.family_file(name) if name else ''}"


def check_snapshot(looked: Looked, values: Values, remarks: list[str]) -> Iterator[tuple[str, str]]:
    """Kind and details of what is wrong with one snapshot by itself. Raises Damaged."""
    snapshot, record = looked.snapshot, looked.snapshot.record
    if snapshot_text(record) != snapshot.text:
        yield "record", "snapshot.yaml is not as it was written"
    if looked.export is None:
        yield "export", f"the export {record.export_name} is missing"
        return
    if digest(looked.export) != record.export_sha256:
        yield "export", f"the export {record.export_name} is not the one that was recorded"
    if looked.family_sha256 != record.family_sha256:
        yield "family", f"the dictionary {record.family} is not the one that was recorded"
        return
    try:
        if looked.kept is None:
            path = layout.parameters_file(snapshot.address)
            raise Damaged("the vault misses this file", file=f"{snapshot.id[:10]}:{path}")
        recomputed = values.text(
            looked.export, record.export_name, looked.family, record.channel, record.normalisation
        )
        if recomputed != looked.kept:
            yield from _differently(snapshot, looked.kept, recomputed, remarks)
    except VaultError as error:
        yield "parameters", f"the values cannot be recomputed: {error}"
    yield from _message(looked)


def _differently(
    snapshot: Snapshot, kept: bytes, recomputed: bytes, remarks: list[str]
) -> Iterator[tuple[str, str]]:
    version = snapshot.record.normalisation
    if version in VERSIONS:
        yield "parameters", "parameters.yaml is not what the export and the dictionary give"
        return
    left, right = AxisView("kept", kept), AxisView("recomputed", recomputed)
    if compare(left, right).news:
        yield "parameters", f"the values are not those of version {version} of the rules"
        return
    remarks.append(
        f"{snapshot.address}@{snapshot.id[:10]}: written by version {version} of the rules; "
        "its values mean the same today"
    )


def _message(looked: Looked) -> Iterator[tuple[str, str]]:
    snapshot, header = looked.snapshot, looked.header
    record = snapshot.record
    if header.message != commit_message(snapshot.address, record):
        yield "message", "the commit message does not say what the record says"
    if header.author != record.by:
        yield "message", f"the commit's author is {header.author}, not {record.by}"
    if header.authored != git_time(record.taken_at):
        yield "message", "the commit's author date is not when the export was taken"

"""Which snapshots the history has recorded, and of which axes somebody put times right."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from vault.model.errors import Damaged
from vault.model.names import Address
from vault.store.files import layout
from vault.store.git.history import WrittenFile, is_ancestor, written_files
from vault.store.index.acts import ACT_FILES, GOLDEN

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_RECORDS = (
    f"{layout.MACHINES}/*/*/snapshot.yaml",
    f"{layout.MACHINES}/*/*/{layout.CONTROLLER}/snapshot.yaml",
)
_CORRECTIONS = f"{layout.MACHINES}/*/*/corrections.yaml"
_OF_MACHINES = f"{layout.MACHINES}/*/corrections.yaml"
_FEW = 200  # axes: git holds every file that changed against each of their paths
_WRITTEN = *_RECORDS, _CORRECTIONS, _OF_MACHINES
_ACTS = [f"{layout.MACHINES}/*/*/{name}" for name in ACT_FILES]
_ACTS.append(f"{layout.MACHINES}/*/*/{layout.CONTROLLER}/{GOLDEN}")


def recorded_between(
    repository: Repository, old: str | None, new: str
) -> Iterator[tuple[Address, str, str]]:
    """Snapshots recorded between two commits, ancestors first: axis, commit, blob of its record.

    A snapshot is a commit with at most one parent that changes the axis's snapshot.yaml; merges
    only re-link the newest one.
    """
    for commit, path, blob in written_files(repository, old, new, *_RECORDS):
        if (place := layout.place_of(path)) is not None:
            yield place[0], commit, blob


class Written(NamedTuple):
    """A record of a snapshot, or else a file that people change, as a commit wrote it.

    `address` is None for the corrections of a machine.
    """

    address: Address | None
    commit: str
    blob: str
    path: str

    @property
    def name(self) -> str:
        """Name of the file."""
        return self.path.rsplit("/", 1)[1]

    @property
    def is_record(self) -> bool:
        """Whether it is a record of a snapshot."""
        return self.path.endswith("/snapshot.yaml")


def written_between(
    repository: Repository, old: str | None, new: str, axes: Collection[Address] | None = None
) -> Iterator[Written]:
    """The same with the corrections of axes and machines that were written: of all, or of some.

    Few axes are told much more quickly than all: git leaves their commits alone out of the history.
    """
    files = _WRITTEN if axes is None or len(axes) > _FEW else tuple(_files_of(axes))
    for written in _written(written_files(repository, old, new, *files)):
        if axes is None or _is_of(written, axes):
            yield written


def _files_of(axes: Collection[Address]) -> Iterator[str]:
    for axis in axes:
        yield layout.snapshot_file(axis)
        yield layout.corrections_file(axis)
    for machine in {axis.machine for axis in axes}:
        yield layout.machine_corrections_file(machine)


def _is_of(written: Written, axes: Collection[Address]) -> bool:
    if written.address is not None:
        of_both = not written.is_record and any(axis.drive == written.address for axis in axes)
        return written.address in axes or of_both
    return written.path in map(layout.machine_corrections_file, {axis.machine for axis in axes})


def acts_and_written_between(
    repository: Repository, old: str | None, new: str
) -> Iterator[Written]:
    """The same with the files of axes by which people act; what was removed has no blob."""
    return _written(written_files(repository, old, new, *_WRITTEN, *_ACTS, removed=True))


def _written(files: Iterable[WrittenFile]) -> Iterator[Written]:
    for commit, path, blob in files:
        place = layout.place_of(path)
        yield Written(None if place is None else place[0], commit, blob, path)


def is_recorded(repository: Repository, tip: str, address: Address, commit: str) -> bool:
    """Whether a commit in the history of a tip records a snapshot of an axis."""
    path = layout.snapshot_file(address)
    record = repository.resolve(f"{commit}:{path}")
    if record is None or not is_ancestor(repository, commit, tip):
        return False
    try:
        parents = repository.commit_header(commit).parents
    except Damaged:
        return False
    before = [repository.resolve(f"{parent}:{path}") for parent in parents]
    return len(parents) <= 1 and record not in before

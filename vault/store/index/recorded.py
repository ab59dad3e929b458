"""Which snapshots the history has recorded, and of which axes somebody put times right."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from vault.model.errors import Damaged
from vault.model.names import Address
from vault.store.files import layout
from vault.store.git.history import is_ancestor, written_files

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_IN_AXIS = 3  # slashes in the path of a file of an axis
_RECORDS = f"{layout.MACHINES}/*/*/snapshot.yaml"
_CORRECTIONS = f"{layout.MACHINES}/*/*/corrections.yaml"
_OF_MACHINES = f"{layout.MACHINES}/*/corrections.yaml"


def recorded_between(
    repository: Repository, old: str | None, new: str
) -> Iterator[tuple[Address, str, str]]:
    """Snapshots recorded between two commits, ancestors first: axis, commit, blob of its record.

    A snapshot is a commit with at most one parent that changes the axis's snapshot.yaml; merges
    only re-link the newest one.
    """
    for commit, path, blob in written_files(repository, old, new, _RECORDS):
        yield _address(path), commit, blob


class Written(NamedTuple):
    """A record of a snapshot, or else a list of corrections, as a commit wrote it.

    `address` is None for the corrections of a machine.
    """

    address: Address | None
    commit: str
    blob: str
    path: str

    @property
    def is_record(self) -> bool:
        """Whether it is a record of a snapshot."""
        return self.path.endswith("/snapshot.yaml")


def written_between(repository: Repository, old: str | None, new: str) -> Iterator[Written]:
    """The same with the corrections of axes and machines that were written."""
    paths = _RECORDS, _CORRECTIONS, _OF_MACHINES
    for commit, path, blob in written_files(repository, old, new, *paths):
        address = _address(path) if path.count("/") == _IN_AXIS else None
        yield Written(address, commit, blob, path)


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


def _address(path: str) -> Address:
    _, machine, axis, _ = path.split("/")
    return Address(machine, axis)

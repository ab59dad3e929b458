"""Which snapshots the history has recorded."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.model.names import Address
from vault.store.files import layout
from vault.store.git.history import written_files

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_RECORDS = f"{layout.MACHINES}/*/*/snapshot.yaml"


def recorded_between(
    repository: Repository, old: str | None, new: str
) -> Iterator[tuple[Address, str, str]]:
    """Snapshots recorded between two commits, ancestors first: axis, commit, blob of its record.

    A snapshot is a commit with at most one parent that changes the axis's snapshot.yaml; merges
    only re-link the newest one.
    """
    for commit, path, blob in written_files(repository, old, new, _RECORDS):
        _, machine, axis, _ = path.split("/")
        yield Address(machine, axis), commit, blob

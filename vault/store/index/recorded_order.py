"""The order in which snapshots of an axis were recorded as taken: that of the chain of records.

It is another one than readers see where somebody put times right afterwards.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.store.clock import microseconds
from vault.store.git.ancestry import ancestry
from vault.store.git.repository import BRANCH

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.git.repository import Repository
    from vault.store.index.index import Index
    from vault.store.index.rows import Snapshot


def in_recorded_order(index: Index, repository: Repository, address: Address) -> list[Snapshot]:
    """All snapshots of an axis with the records as they were made, oldest first."""
    found = list(index.snapshots(address))
    if not index.is_redated(address):
        return found
    recorded = [snapshot.as_recorded for snapshot in found]
    moments = {one.id: microseconds(one.record.taken_at) for one in recorded}
    if len(set(moments.values())) == len(moments):
        return sorted(recorded, key=lambda one: moments[one.id])
    history = ancestry(repository, BRANCH)

    def place(one: Snapshot) -> tuple[int, bool, object]:
        is_new = one.id not in history  # what is being recorded comes after what was
        return moments[one.id], is_new, one.seq if is_new else history.rank(one.id)

    return sorted(recorded, key=place)


def latest_recorded(
    index: Index, repository: Repository, address: Address, moment: int | None = None
) -> Snapshot | None:
    """The last one in that order, or the last not taken after a moment."""
    if not index.is_redated(address):
        return index.nth_latest(address, 0) if moment is None else index.latest_at(address, moment)
    found = in_recorded_order(index, repository, address)
    if moment is not None:
        found = [one for one in found if microseconds(one.record.taken_at) <= moment]
    return found[-1] if found else None


def recorded_between(index: Index, address: Address, first: int, last: int) -> list[Snapshot]:
    """Snapshots of an axis recorded as taken from first to last, in microseconds since 1970."""
    if not index.is_redated(address):
        return index.taken_between(address, first, last)
    return [
        snapshot
        for snapshot in index.snapshots(address)
        if first <= microseconds(snapshot.as_recorded.record.taken_at) <= last
    ]

"""The records of one axis: each carries the hash of the one before it, and the tip closes them.

The record before is the newest that the commit's history holds of the axis. On the main branch
those are all that came in so far; on one that a merge took in, those that its own history has.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem, problem_of
from vault.store.clock import microseconds
from vault.store.files import layout
from vault.store.files.snapshot_text import digest
from vault.store.git.ancestry import MAIN, Ancestry, Place
from vault.store.recorder import closing_record

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


def check_chain(
    vault: Vault, address: Address, snapshots: Mapping[str, Snapshot], history: Ancestry
) -> Iterator[Problem]:
    """What is wrong with the links of an axis, over the history its snapshots were recorded on.

    `snapshots` are all whose record can be read, by their commit.
    """
    chain = _Chain(snapshots, history)
    yield from chain.problems()
    if chain.in_order:
        if vault.read(layout.snapshot_file(address)) != chain.closing():
            yield Problem("chain", str(address), "the newest record does not close the chain")
        yield from check_tip(vault, address, chain.in_order[-1])


def in_order(snapshots: Mapping[str, Snapshot], history: Ancestry) -> list[Snapshot]:
    """Snapshots as they were taken; those of the same moment as they were recorded."""
    return sorted(
        snapshots.values(),
        key=lambda s: (microseconds(s.record.taken_at), history.rank(s.id)),
    )


class _Chain:
    """The records of an axis along every branch that has some."""

    def __init__(self, snapshots: Mapping[str, Snapshot], history: Ancestry) -> None:
        self._snapshots, self._history = snapshots, history
        self.in_order = in_order(snapshots, history)
        # Positions where the newest record is another one: a snapshot, or None for a merge.
        self._events: defaultdict[int, dict[int, str | None]] = defaultdict(dict)
        for commit in snapshots:
            number, position = history.place(commit)
            self._events[number][position] = commit
        for number in list(self._events):
            self._mark_merges(history.branches[number].merged_at)
        for place in history.rejoins:  # what comes in there may be of any branch
            self._mark_merges(place)
        self._newest: bytes | None = None

    def _mark_merges(self, merged_at: Place | None) -> None:
        """Note that a merge, and those that take it in, may bring another newest record."""
        while merged_at is not None and merged_at[1] not in self._events[merged_at[0]]:
            self._events[merged_at[0]][merged_at[1]] = None
            merged_at = self._history.branches[merged_at[0]].merged_at

    def problems(self) -> Iterator[Problem]:
        """Every link that is not as it must be; what merges took in before the main branch."""
        for number in sorted(self._events, reverse=True):
            for commit in self._misfits(number):
                details = "the link to the record before it is broken"
                yield problem_of("chain", self._snapshots[commit], details)

    def closing(self) -> bytes:
        """The newest snapshot.yaml as it must stand at the tip. Call it after `problems`."""
        return closing_record(self.in_order) if self._newest is None else self._newest

    def _misfits(self, number: int) -> Iterator[str]:
        branch = self._history.branches[number]
        newest, not_before = self._start(branch.forks_from)
        for position, commit in sorted(self._events[number].items()):
            if commit is None:
                newest = None
                continue
            if newest is None:
                before = branch.commits[position - 1] if position else branch.forks_from
                newest = self._closing_at(before)
            snapshot = self._snapshots[commit]
            linked = digest(newest) if newest else None
            is_early = position == 0 and microseconds(snapshot.record.taken_at) < not_before
            if snapshot.record.previous != linked or is_early:
                yield commit
            newest = snapshot.text
        if number == MAIN:
            self._newest = newest

    def _start(self, forks_from: str | None) -> tuple[bytes | None, int]:
        """The newest record where a branch begins if that is clear, and when it was taken."""
        if forks_from is None:
            return b"", 0
        snapshot = self._snapshots.get(forks_from)
        if snapshot is None:
            return None, 0
        return snapshot.text, microseconds(snapshot.record.taken_at)

    def _closing_at(self, commit: str | None) -> bytes:
        if commit is None:
            return b""
        history = self._history.history_of(commit)
        return closing_record(one for one in self.in_order if one.id in history)


def check_tip(vault: Vault, address: Address, latest: Snapshot) -> Iterator[Problem]:
    """What lies at the tip of an axis is what its latest snapshot has."""
    export = layout.export_file(address, latest.record.export_name)
    for path in (layout.parameters_file(address), export):
        tip, then = (vault.repository.resolve(f"{c}:{path}") for c in (vault.tip, latest.id))
        if tip is None or tip != then:
            yield Problem("tip", path, "the file is not that of the latest snapshot")
    folder = layout.export_folder(address)
    present = [entry.path for entry in vault.repository.list(vault.tip, folder)]
    if present != [export]:
        yield Problem("tip", folder, "there is not exactly the latest export")

"""One axis after the other: its snapshots, their chain, and what the index shows of them.

No more than one axis's records are in memory.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from vault.jobs.verify.chain import check_chain, in_order
from vault.jobs.verify.outcome import Problem, problem_of
from vault.jobs.verify.recompute import Recomputer
from vault.jobs.verify.snapshot import check_snapshot
from vault.model.errors import VaultError
from vault.store.files import layout
from vault.store.git.ancestry import ancestry
from vault.store.index.redated import redated_times

if TYPE_CHECKING:
    from vault.jobs.verify.stored_snapshot import SnapshotPlace, SnapshotReader, StoredSnapshot
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(slots=True)
class CheckedAxis:
    """What was found on an axis: `snapshots` were checked, `readable` ones have a record.

    `is_indexed`: the index has these and no others; `has_values`: it has their values too.
    """

    problems: list[Problem] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    snapshots: int = 0
    readable: int = 0
    is_indexed: bool = True
    has_values: bool = True


class AxisChecker:
    """Checks axes one after the other, of all snapshots `axis_of` the axis by their commit.

    `corrected` are paths of corrections. With `is_partial` the index is not asked.
    """

    def __init__(
        self,
        vault: Vault,
        reader: SnapshotReader,
        axis_of: Mapping[str, Address],
        *,
        corrected: Collection[str] = (),
        is_partial: bool,
    ) -> None:
        self._vault, self._reader, self._axis_of = vault, reader, axis_of
        self._corrected = corrected
        self._is_partial = is_partial
        self.history = ancestry(vault.repository, vault.tip)
        self._recomputer = Recomputer()

    def check(
        self,
        address: Address,
        places: Sequence[SnapshotPlace],
        step: Callable[[], None] = lambda: None,
    ) -> CheckedAxis:
        """Check an axis; `step` is called after each snapshot."""
        checked = CheckedAxis(snapshots=len(places))
        readable: dict[str, Snapshot] = {}
        for stored in self._reader.snapshots(address, places):
            snapshot = stored.snapshot
            if self._check_snapshot(stored, checked):
                readable[snapshot.id] = snapshot
            step()
        checked.problems += check_chain(self._vault, address, readable, self.history)
        checked.readable = len(readable)
        if not self._is_partial:
            checked.is_indexed = self._is_indexed(address, readable)
            checked.has_values = self.has_values(address)
        return checked

    def _is_indexed(self, address: Address, readable: Mapping[str, Snapshot]) -> bool:
        """Whether the index shows these snapshots, each at the time that holds for it."""
        times = {}
        if (
            layout.corrections_file(address) in self._corrected
        ):  # asking git for each of many axes is slow
            times = redated_times(self._vault.repository, self._vault.tip, address)
        shown = {
            commit: replace(snapshot, redated=times[commit]) if commit in times else snapshot
            for commit, snapshot in readable.items()
        }
        return self._vault.index.has_exactly(address, in_order(shown, self.history))

    def has_values(self, address: Address) -> bool:
        """Whether the index has the values that git has, as far as it has any."""
        agreement = self._vault.index.agreement(address)
        for text in self._reader.parameters(address, agreement.commits):
            agreement.compare_next(text)
        return agreement.agrees

    def _check_snapshot(self, stored: StoredSnapshot, checked: CheckedAxis) -> bool:
        """Check a snapshot by itself; say whether its record can be read."""
        snapshot = stored.snapshot
        try:
            _ = snapshot.record
        except VaultError as error:
            checked.problems.append(problem_of("record", snapshot, str(error)))
            return False
        if self._axis_of[snapshot.id] != snapshot.address:
            details = "its commit records another axis too"
            checked.problems.append(problem_of("record", snapshot, details))
        else:
            checked.problems += check_snapshot(stored, self._recomputer, checked.remarks)
        return True

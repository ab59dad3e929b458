"""Checking axis after axis: its snapshots, their chain, and what the index shows of them.

No more than one axis's records are in memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from vault.jobs.verify.chain import check_chain, in_order
from vault.jobs.verify.outcome import Problem, problem_of
from vault.jobs.verify.snapshot import Looked, Place, Reading, check_snapshot
from vault.jobs.verify.values import Values
from vault.model.errors import Damaged, VaultError
from vault.model.names import Address
from vault.store.git.ancestry import ancestry

if TYPE_CHECKING:
    from vault.store.index.values_agreement import Agreement
    from vault.store.vault import Vault

Places = Mapping[Address, Sequence[Place]]
"""Where git has the snapshots of each axis, ancestors first."""


@dataclass(slots=True)
class AxisFound:
    """What was found on an axis: `snapshots` were looked at, `readable` ones have a record.

    `is_shown`: the index has these and no others; `agrees`: it has their values too.
    """

    problems: list[Problem] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    snapshots: int = 0
    readable: int = 0
    is_shown: bool = True
    agrees: bool = True


class Axes:
    """Checks axes one after the other. With `is_partial` the index is not asked."""

    def __init__(self, vault: Vault, reading: Reading, *, is_partial: bool) -> None:
        self._vault, self._reading, self.is_partial = vault, reading, is_partial
        self._history = ancestry(vault.repository, vault.tip)
        self._values = Values()

    def check(
        self,
        address: Address,
        places: Sequence[Place],
        axis_of: Mapping[str, Address],
        seen: Callable[[], None] = lambda: None,
    ) -> AxisFound:
        """Check an axis; `seen` is called after each snapshot."""
        found = AxisFound()
        agreement = None if self.is_partial else self._agreement(address)
        looked: dict[str, Looked] = {}
        for one in self._reading.snapshots(address, places):
            self._snapshot(one, axis_of, looked, found)
            # Now that its lines were computed they need no reading.
            commit = one.snapshot.id
            if agreement is not None and commit in looked and agreement.is_next(commit):
                agreement.show(one.kept)
            seen()
        found.problems += check_chain(self._vault, address, looked, self._history)
        if agreement is not None:
            found.is_shown = self._vault.index.shows(address, in_order(looked, self._history))
            found.agrees = self._agrees(address, agreement)
        found.readable = len(looked)
        return found

    def _snapshot(
        self,
        one: Looked,
        axis_of: Mapping[str, Address],
        looked: dict[str, Looked],
        found: AxisFound,
    ) -> None:
        """Check a snapshot by itself, and keep it where its record can be read."""
        snapshot = one.snapshot
        found.snapshots += 1
        try:
            _ = snapshot.record
            looked[snapshot.id] = one.without_files()
            if axis_of[snapshot.id] != snapshot.address:
                raise Damaged("its commit records another axis too")
            for kind, details in check_snapshot(one, self._values, found.remarks):
                found.problems.append(problem_of(kind, snapshot, details))
        except VaultError as error:
            found.problems.append(problem_of("record", snapshot, str(error)))

    def has_values(self, address: Address) -> bool:
        """Whether the index has the values that git has, of an axis that was not checked."""
        return self._agrees(address, self._agreement(address))

    def _agreement(self, address: Address) -> Agreement:
        return self._vault.index.agreement(address, self._values.told)

    def _agrees(self, address: Address, agreement: Agreement) -> bool:
        """Whether the values in the index are those in git; reads what was not shown yet."""
        for text in self._reading.parameters(address, agreement.rest):
            agreement.show(text)
        return agreement.holds

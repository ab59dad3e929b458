"""Checking the whole vault against itself.

Every snapshot is recomputed: the export has its hash, the dictionary has its hash, and both
together give the parameters that were kept, byte for byte. Each record is linked to the one before.
Axis after axis is read in one stream, so that no more than one axis's records are in memory.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.drift import kept_wrongly
from vault.jobs.selectors import by_id
from vault.jobs.verify_chain import check_chain, in_order
from vault.jobs.verify_outcome import Problem, Verified, problem_of, where
from vault.jobs.verify_signatures import bad_signatures
from vault.jobs.verify_snapshot import Looked, Place, Reading, check_snapshot
from vault.jobs.verify_values import Values
from vault.jobs.verify_witness import hear_witness
from vault.model.errors import Damaged, VaultError
from vault.model.names import Address
from vault.store import layout
from vault.store.commit_lines import CommitLines
from vault.store.index import walk
from vault.store.index_rows import Snapshot

if TYPE_CHECKING:
    from vault.store.values_agreement import Agreement
    from vault.store.vault import Vault

_STALE = "the index does not show the {} that git holds: run reindex"
_DAMAGED = "its file is damaged and answers come from git without it: run reindex"
Progress = Callable[[int, int], None]


def verify(
    vault: Vault,
    progress: Progress = lambda done, total: None,
    *,
    only: Collection[Address] | None = None,
    against: Path | None = None,
) -> Verified:
    """Check git's objects, the witness, every snapshot, the chain of records, tip and index.

    With `only` no more than the snapshots of some axes and their chains; `against` is a copy of
    the witness, or a tip that was written down, kept elsewhere.
    """
    outcome = Verified(tip=vault.tip)
    with _objects(vault) if only is None else nullcontext(list) as objects:
        try:
            if only is None:
                hear(vault, against, outcome)
            places = _places(vault, only)
            axis_of = {place.commit: axis for axis, found in places.items() for place in found}
            with Reading(vault) as reading:
                whole = _Whole(vault, reading, outcome, progress, is_partial=only is not None)
                whole.check(places, axis_of)
            if only is None:
                outcome.problems += unsigned(vault, axis_of, places)
                outcome.problems += _strangers(vault, places)
                outcome.problems += _baselines(vault)
                outcome.problems += whole.index_problems()
        except Damaged as error:
            outcome.problems.append(Problem("git", "history", str(error)))
        outcome.problems[:0] = objects()
    return outcome


def hear(vault: Vault, against: Path | None, outcome: Verified) -> None:
    """Add what the witness says."""
    heard = hear_witness(vault, against)
    outcome.problems += [Problem("witness", where, details) for where, details in heard.problems]
    outcome.remarks += heard.remarks
    outcome.witness, outcome.gone = heard.witness, heard.gone


@contextmanager
def _objects(vault: Vault) -> Iterator[Callable[[], list[Problem]]]:
    """Have git check its objects meanwhile; what this gives waits for the end and says its faults.

    Git and we each keep a core busy.
    """
    process = vault.repository.start("fsck", "--strict", "--no-dangling", "--no-progress")

    def problems() -> list[Problem]:
        printed = b"".join(process.communicate()).decode("utf-8", "replace")
        if process.returncode == 0:
            return []
        lines = [line for line in printed.splitlines() if line.strip()]
        said = "; ".join(lines[:5]) or f"git fsck ended with {process.returncode}"
        return [Problem("git", "objects", said)]

    with process:
        try:
            yield problems
        finally:
            process.kill()  # where nobody waited for it


def _places(vault: Vault, only: Collection[Address] | None) -> dict[Address, list[Place]]:
    """Where git has the snapshots of each axis, ancestors first."""
    found: dict[Address, list[Place]] = {}
    for seq, (address, commit, blob) in enumerate(walk(vault.repository, None, vault.tip), 1):
        if only is None or address in only:
            found.setdefault(address, []).append(Place(seq, commit, blob))
    return found


class _Whole:
    """One verification: every axis, and what of it the index must show."""

    def __init__(
        self,
        vault: Vault,
        reading: Reading,
        outcome: Verified,
        progress: Progress,
        *,
        is_partial: bool,
    ) -> None:
        self._vault, self._reading, self._outcome = vault, reading, outcome
        self._progress, self._is_partial = progress, is_partial
        self._values = Values()
        self._is_stale = False
        self._agreed: dict[Address, bool] = {}
        self._shown = 0
        self._total = 0

    def check(self, places: Mapping[Address, list[Place]], axis_of: Mapping[str, Address]) -> None:
        """Check axis after axis."""
        self._total = sum(map(len, places.values()))
        lines = CommitLines(self._vault.repository, self._vault.tip)
        for address, found in places.items():
            agreement = None if self._is_partial else self._agreement(address)
            looked = self._snapshots(address, found, axis_of, agreement)
            chain = check_chain(self._vault, address, looked, lines)
            self._outcome.problems += chain
            if agreement is not None:
                self._look_up(address, in_order(looked, lines))
                self._agreed[address] = self._holds(address, agreement)

    def _snapshots(
        self,
        address: Address,
        places: list[Place],
        axis_of: Mapping[str, Address],
        agreement: Agreement | None,
    ) -> dict[str, Looked]:
        """Check snapshots each by itself; returns those whose record can be read, by commit."""
        found: dict[str, Looked] = {}
        problems = self._outcome.problems
        for looked in self._reading.snapshots(address, places):
            snapshot = looked.snapshot
            try:
                _ = snapshot.record
                found[snapshot.id] = looked.without_files()
                if axis_of[snapshot.id] != address:
                    raise Damaged("its commit records another axis too")
                for kind, details in check_snapshot(looked, self._values, self._outcome.remarks):
                    problems.append(problem_of(kind, snapshot, details))
            except VaultError as error:
                problems.append(problem_of("record", snapshot, str(error)))
            # Now that its lines were computed they need no reading.
            if agreement is not None and snapshot.id in found and agreement.is_next(snapshot.id):
                agreement.show(looked.kept)
            self._outcome.snapshots += 1
            self._progress(self._outcome.snapshots, self._total)
        return found

    def _look_up(self, address: Address, snapshots: list[Snapshot]) -> None:
        self._shown += len(snapshots)
        self._is_stale |= not self._vault.index.shows(address, snapshots)

    def _agreement(self, address: Address) -> Agreement:
        return self._vault.index.agreement(address, self._values.told)

    def _holds(self, address: Address, agreement: Agreement) -> bool:
        """Whether the values in the index are those in git; reads what was not shown yet."""
        for text in self._reading.parameters(address, agreement.rest):
            agreement.show(text)
        return agreement.holds

    def index_problems(self) -> Iterator[Problem]:
        """What the index does not have as git does."""
        index = self._vault.index
        if self._is_stale or index.count() != self._shown or not index.is_sound():
            yield Problem("index", "index", _STALE.format("snapshots"))
        for address in index.axes():
            if address not in self._agreed:  # git has no snapshot of it
                self._agreed[address] = self._holds(address, self._agreement(address))
            if not self._agreed[address]:
                yield Problem("index", str(address), _STALE.format("values"))
        for address in kept_wrongly(self._vault):
            yield Problem("index", str(address), _STALE.format("drift"))
        if index.is_damaged:
            yield Problem("index", "index", _DAMAGED)


def unsigned(
    vault: Vault,
    axis_of: Mapping[str, Address],
    places: Mapping[Address, list[Place]],
    since: str | None = None,
) -> Iterator[Problem]:
    """Commits that are not signed as was required, snapshots or not."""
    for bad in bad_signatures(vault, since):
        address = axis_of.get(bad.commit)
        if address is None:
            yield Problem("signature", bad.commit[:10], bad.details)
            continue
        place = next(one for one in places[address] if one.commit == bad.commit)
        text = vault.repository.object(place.blob) or b""
        snapshot = Snapshot(place.seq, address, place.commit, text)
        yield Problem("signature", where(snapshot), bad.details, snapshot)


def _strangers(vault: Vault, axes: Collection[Address]) -> Iterator[Problem]:
    """Kept values without any snapshot."""
    for address in vault.axes():
        if address not in axes and vault.read(layout.parameters_file(address)) is not None:
            yield Problem("tip", layout.folder(address), "there are values, but no snapshot")


def _baselines(vault: Vault) -> Iterator[Problem]:
    """Baselines that cannot be read, or whose snapshot is not there."""
    for entry in vault.machine_files():
        parts = entry.path.split("/")
        if len(parts) != 4 or parts[3] != "golden.yaml":
            continue
        address = Address(parts[1], parts[2])
        try:
            approval = vault.golden(address).approval
            if approval is not None:
                by_id(vault, address, approval.snapshot)
        except VaultError as error:
            yield Problem("golden", entry.path, str(error))

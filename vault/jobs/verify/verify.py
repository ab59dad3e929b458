"""Checking the whole vault against itself.

Every snapshot is recomputed: the export has its hash, the dictionary has its hash, and both
together give the parameters that were kept, byte for byte. Each record is linked to the one before.
Git checks its objects meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.accounts.accounts import log_of_accounts
from vault.jobs.baseline.drift import wrongly_kept
from vault.jobs.verify.axis import AxisChecker, CheckedAxis
from vault.jobs.verify.corrections import called_alike, corrections_problems
from vault.jobs.verify.named import named_problems
from vault.jobs.verify.outcome import Problem, Verified
from vault.jobs.verify.search_texts import wrongly_found
from vault.jobs.verify.signatures import signature_problems
from vault.jobs.verify.stored_snapshot import SnapshotReader, places_since
from vault.jobs.verify.witness import check_witness
from vault.model.errors import Damaged, Unavailable
from vault.model.names import Address
from vault.store.files import layout
from vault.store.git.object_check import checking_objects
from vault.store.standing_still import standing_still

if TYPE_CHECKING:
    from vault.jobs.verify.stored_snapshot import SnapshotPlace
    from vault.store.vault import Vault

_STALE = "the index does not show the {} that git holds: run reindex"
_DAMAGED = "its file is damaged and answers come from git without it: run reindex"
Progress = Callable[[int, int], None]


def verify(
    vault: Vault,
    progress: Progress = lambda done, total: None,
    *,
    against: Path | None = None,
) -> Verified:
    """Check git's objects, the witness, every snapshot, the chain of records, tip and index.

    What others record meanwhile is not looked at. `against` is a copy of the witness, or a tip that
    was written down, kept elsewhere. Raises Unavailable where they record all the time.
    """
    with standing_still(vault):
        return _verified(vault, progress, against)


def _verified(vault: Vault, progress: Progress, against: Path | None) -> Verified:
    outcome = Verified(tip=vault.tip)
    with checking_objects(vault.repository) as wait_for_complaint:
        try:
            check_witness(vault, against, outcome)
            places, corrections = places_since(vault)
            with SnapshotReader(vault) as reader:
                checker = AxisChecker(
                    vault, reader, _axis_of(places), corrected=corrections, is_partial=False
                )
                checked = _check_axes(checker, places, progress, outcome)
                outcome.problems += signature_problems(vault, places)
                outcome.problems += _values_without_snapshot(vault, places)
                recorded = {
                    address: {place.commit for place in places[address]} for address in places
                }
                outcome.problems += named_problems(
                    vault,
                    (entry.path for entry in vault.machine_files()),
                    lambda address, commit: commit in recorded.get(address, ()),
                    checker.history.__contains__,
                )
                outcome.problems += _accounts_problems(vault)
                outcome.problems += corrections_problems(vault, corrections)
                outcome.remarks += map(called_alike, vault.names.clashes)
                outcome.problems += _index_problems(vault, checker, checked)
        except Damaged as error:
            outcome.problems.append(Problem("git", "history", str(error)))
        if (complaint := wait_for_complaint()) is not None:
            outcome.problems.insert(0, Problem("git", "objects", complaint))
    return outcome


def verify_axes(
    vault: Vault,
    axes: Collection[Address],
    progress: Progress = lambda done, total: None,
) -> Verified:
    """Check all snapshots of some axes and their chains, and nothing else."""
    outcome = Verified(tip=vault.tip)
    try:
        places, corrections = places_since(vault, axes=axes)
        outcome.problems += corrections_problems(vault, corrections)
        with SnapshotReader(vault) as reader:
            checker = AxisChecker(vault, reader, _axis_of(places), is_partial=True)
            _check_axes(checker, places, progress, outcome)
    except Damaged as error:
        outcome.problems.append(Problem("git", "history", str(error)))
    return outcome


def _axis_of(places: Mapping[Address, Sequence[SnapshotPlace]]) -> dict[str, Address]:
    return {place.commit: address for address in places for place in places[address]}


def _check_axes(
    checker: AxisChecker,
    places: Mapping[Address, Sequence[SnapshotPlace]],
    progress: Progress,
    outcome: Verified,
) -> dict[Address, CheckedAxis]:
    """Check axis after axis; what was found is added to the outcome too."""
    total, done = sum(map(len, places.values())), 0

    def step() -> None:
        nonlocal done
        done += 1
        progress(done, total)

    checked: dict[Address, CheckedAxis] = {}
    for address in places:
        axis = checked[address] = checker.check(address, places[address], step)
        outcome.problems += axis.problems
        outcome.remarks += axis.remarks
        outcome.snapshots += axis.snapshots
    return checked


def _index_problems(
    vault: Vault, checker: AxisChecker, checked: Mapping[Address, CheckedAxis]
) -> Iterator[Problem]:
    """What the index does not have as git does."""
    index = vault.index
    readable = sum(axis.readable for axis in checked.values())
    are_indexed = all(axis.is_indexed for axis in checked.values())
    if not are_indexed or index.count() != readable or not index.is_sound():
        yield Problem("index", "index", _STALE.format("snapshots"))
    for address in index.axes():
        axis = checked.get(address)  # None: git has no snapshot of it
        if not (checker.has_values(address) if axis is None else axis.has_values):
            yield Problem("index", str(address), _STALE.format("values"))
    for address in wrongly_kept(vault):
        yield Problem("index", str(address), _STALE.format("drift"))
    for address in wrongly_found(vault):
        name = str(address) if address.axis else address.machine
        yield Problem("index", name, _STALE.format("texts that the search finds"))
    if index.is_damaged:
        yield Problem("index", "index", _DAMAGED)


def _values_without_snapshot(vault: Vault, axes: Collection[Address]) -> Iterator[Problem]:
    for entry in vault.machine_files():
        place = layout.place_of(entry.path)
        if place is not None and place[1] == "parameters.yaml" and place[0] not in axes:
            yield Problem("tip", layout.folder(place[0]), "there are values, but no snapshot")


def _accounts_problems(vault: Vault) -> Iterator[Problem]:
    """Whether the log of accounts, beside the repository, is as it was written."""
    with suppress(Unavailable):  # whoever logs in hears of it
        broken = log_of_accounts(vault.state).broken
        if broken is not None:
            yield Problem("accounts", "log of accounts", broken)

"""Checking the whole vault against itself.

Every snapshot is recomputed: the export has its hash, the dictionary has its hash, and both
together give the parameters that were kept, byte for byte. Each record is linked to the one before.
Axis after axis is read in one stream, and where it pays half of the axes by a second process.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import nullcontext
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from vault.jobs.baseline.drift import wrongly_kept
from vault.jobs.state.selectors import by_id
from vault.jobs.verify.axes import Axes
from vault.jobs.verify.outcome import Problem, Verified, where
from vault.jobs.verify.second import second
from vault.jobs.verify.signatures import bad_signatures
from vault.jobs.verify.snapshot import Place, Reading
from vault.jobs.verify.witness import hear_witness
from vault.model.errors import Damaged, VaultError
from vault.model.names import Address
from vault.store.files import layout
from vault.store.git.object_check import checking_objects
from vault.store.index.recorded import recorded_between
from vault.store.index.rows import Snapshot

if TYPE_CHECKING:
    from vault.jobs.verify.axes import AxisFound, Places
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
    checking = checking_objects(vault.repository) if only is None else nullcontext(lambda: None)
    with checking as complaint:
        try:
            if only is None:
                hear(vault, against, outcome)
            places = _places(vault, only)
            axis_of = {place.commit: axis for axis, found in places.items() for place in found}
            with Reading(vault) as reading:
                axes = Axes(vault, reading, is_partial=only is not None)
                checked = _check(vault, axes, places, axis_of, progress, outcome)
                if only is None:
                    outcome.problems += unsigned(vault, axis_of, places)
                    outcome.problems += _strangers(vault, places)
                    outcome.problems += _baselines(vault)
                    outcome.problems += _index_problems(vault, axes, checked)
        except Damaged as error:
            outcome.problems.append(Problem("git", "history", str(error)))
        if (said := complaint()) is not None:
            outcome.problems.insert(0, Problem("git", "objects", said))
    return outcome


def hear(vault: Vault, against: Path | None, outcome: Verified) -> None:
    """Add what the witness says."""
    heard = hear_witness(vault, against)
    outcome.problems += [Problem("witness", where, details) for where, details in heard.problems]
    outcome.remarks += heard.remarks
    outcome.witness, outcome.gone = heard.witness, heard.gone


def _places(vault: Vault, only: Collection[Address] | None) -> dict[Address, list[Place]]:
    """Where git has the snapshots of each axis, ancestors first."""
    found: dict[Address, list[Place]] = {}
    recorded = recorded_between(vault.repository, None, vault.tip)
    for seq, (address, commit, blob) in enumerate(recorded, 1):
        if only is None or address in only:
            found.setdefault(address, []).append(Place(seq, commit, blob))
    return found


def _check(
    vault: Vault,
    axes: Axes,
    places: Places,
    axis_of: Mapping[str, Address],
    progress: Progress,
    outcome: Verified,
) -> dict[Address, AxisFound]:
    """Check axis after axis, in two processes where that pays; adds what was found."""
    total, done, lock = sum(map(len, places.values())), 0, Lock()

    def seen(number: int = 1) -> None:
        nonlocal done
        with lock:
            done += number
            progress(done, total)

    checked: dict[Address, AxisFound] = {}
    try:
        with second(vault, {} if axes.is_partial else places, axis_of, seen) as (theirs, wait):
            for address in (one for one in places if one not in theirs):
                checked[address] = axes.check(address, places[address], axis_of, seen)
            checked |= wait()
        left = [one for one in places if one not in checked]  # where the other process fell short
        for address in left:
            checked[address] = axes.check(address, places[address], axis_of, seen)
    finally:
        for address in filter(checked.__contains__, places):
            found = checked[address]
            outcome.problems += found.problems
            outcome.remarks += found.remarks
            outcome.snapshots += found.snapshots
    return checked


def _index_problems(
    vault: Vault, axes: Axes, checked: Mapping[Address, AxisFound]
) -> Iterator[Problem]:
    """What the index does not have as git does."""
    index = vault.index
    shown = sum(found.readable for found in checked.values())
    are_shown = all(found.is_shown for found in checked.values())
    if not are_shown or index.count() != shown or not index.is_sound():
        yield Problem("index", "index", _STALE.format("snapshots"))
    for address in index.axes():
        found = checked.get(address)  # None: git has no snapshot of it
        if not (axes.has_values(address) if found is None else found.agrees):
            yield Problem("index", str(address), _STALE.format("values"))
    for address in wrongly_kept(vault):
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
        text = vault.repository.blob(place.blob) or b""
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

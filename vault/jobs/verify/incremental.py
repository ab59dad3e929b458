"""Verifying what is new since everything was found to be as it was recorded.

Objects, records and values are read of what is new alone; only the list of commits that the witness
is held against is that of the whole history. What was found good before is not checked again: the
outcome says up to where that was.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from functools import partial
from hashlib import sha1
from typing import TYPE_CHECKING

from vault.jobs.verify.chain import check_tip
from vault.jobs.verify.corrections import called_alike, corrections_problems
from vault.jobs.verify.named import named_problems
from vault.jobs.verify.outcome import Problem, Verified, problem_of
from vault.jobs.verify.recompute import Recomputer
from vault.jobs.verify.signatures import signature_problems
from vault.jobs.verify.snapshot import check_snapshot
from vault.jobs.verify.stored_snapshot import SnapshotReader, places_since
from vault.jobs.verify.verify import Progress, verify, verify_axes
from vault.jobs.verify.witness import check_witness
from vault.model.errors import Damaged, VaultError
from vault.model.names import Address
from vault.store.clock import now, parse_time, time_text
from vault.store.files import layout
from vault.store.files.snapshot_text import digest
from vault.store.git.history import (
    changed_paths,
    commits_with_parents,
    is_ancestor,
    objects_between,
)
from vault.store.index.recorded import is_recorded
from vault.store.index.recorded_order import latest_recorded
from vault.store.standing_still import standing_still

if TYPE_CHECKING:
    from pathlib import Path

    from vault.jobs.verify.stored_snapshot import SnapshotPlace, StoredSnapshot
    from vault.store.vault import Vault

_NOTE = "verified.json"


def remember_verified(vault: Vault) -> None:
    """Note that everything up to the present tip was found good. Deleting the note is no harm.

    Where it cannot be written, as in a vault that may only be read, the next time takes longer.
    """
    path = vault.state / _NOTE
    with suppress(OSError):
        path.parent.mkdir(exist_ok=True)
        draft = path.with_name(f"{_NOTE}.new")
        draft.unlink(missing_ok=True)  # a link there leads to somebody else's file
        with draft.open("x") as file:
            file.write(json.dumps({"tip": vault.tip, "at": time_text(now())}) + "\n")
        draft.replace(path)


def last_verified(vault: Vault) -> tuple[str, str] | None:
    """The tip up to which everything was found good, and when."""
    try:
        note = json.loads((vault.state / _NOTE).read_bytes())
        tip, at = str(note["tip"]), str(note["at"])
        parse_time(at)
    except (OSError, ValueError, KeyError, TypeError, VaultError):
        return None
    return (tip, at) if is_ancestor(vault.repository, tip, vault.tip) else None


def verify_and_remember(
    vault: Vault, progress: Progress, *, only_new: bool, against: Path | None = None
) -> Verified:
    """Check everything, or what is new, and remember the tip where all is as it was recorded."""
    outcome = (verify_new if only_new else verify)(vault, progress, against=against)
    if outcome.ok:
        remember_verified(vault)
    return outcome


def verify_new(
    vault: Vault,
    progress: Progress = lambda done, total: None,
    *,
    against: Path | None = None,
) -> Verified:
    """Check what was recorded since the last verification that found everything good.

    Where there was none, or the history is no continuation of it, everything is checked. What
    others record meanwhile is not looked at.
    """
    last = last_verified(vault)
    if last is None:
        outcome = verify(vault, progress, against=against)
        outcome.remarks.append("Nothing was verified before, so everything was.")
        return outcome
    with standing_still(vault):
        return _verified_since(vault, *last, progress, against)


def _verified_since(
    vault: Vault, old: str, at: str, progress: Progress, against: Path | None
) -> Verified:
    outcome = Verified(tip=vault.tip)
    outcome.remarks.append(
        f"What stood there at {at} was found good then, and not looked at again."
    )
    try:
        outcome.problems += _object_problems(vault, old)
        check_witness(vault, against, outcome)
        _check_snapshots(vault, old, outcome, progress)
        outcome.problems += named_problems(
            vault,
            changed_paths(vault.repository, old, vault.tip),
            partial(is_recorded, vault.repository, vault.tip),
            lambda commit: is_ancestor(vault.repository, commit, vault.tip),
        )
    except Damaged as error:
        outcome.problems.append(Problem("git", "history", str(error)))
    return outcome


def _object_problems(vault: Vault, old: str) -> Iterator[Problem]:
    """Every new object is what its name says: SHA-1 of its kind, size and content (git)."""
    for name, path in objects_between(vault.repository, old, vault.tip):
        stored = vault.repository.object(name)
        if stored is None:
            yield Problem("git", name[:10], f"the object cannot be read: {path or 'a commit'}")
            continue
        header = f"{stored.kind} {len(stored.content)}\0".encode()
        if sha1(header + stored.content, usedforsecurity=False).hexdigest() != name:
            yield Problem("git", name[:10], f"the object is not what it was: {path or 'a commit'}")


def _check_snapshots(vault: Vault, old: str, outcome: Verified, progress: Progress) -> None:
    """Check new snapshots by themselves, or their whole axis where a merge changed its past."""
    places, corrections = places_since(vault, old)
    total = outcome.snapshots = sum(map(len, places.values()))
    merged = _merged_axes(vault, old, places)
    recomputer, done = Recomputer(), 0
    with SnapshotReader(vault) as reader:
        for address in (address for address in places if address not in merged):
            for stored in reader.snapshots(address, places[address]):
                outcome.problems += _link_problems(vault, stored)
                outcome.problems += check_snapshot(stored, recomputer, outcome.remarks)
                done += 1
                progress(done, total)
            outcome.problems += _tip_problems(vault, address)
    outcome.problems += signature_problems(vault, places, old)
    outcome.problems += corrections_problems(vault, corrections, old)
    outcome.remarks += map(called_alike, vault.names.clashes)
    if merged:
        whole = verify_axes(vault, merged)
        outcome.problems += whole.problems
        outcome.remarks += whole.remarks
        progress(total, total)


def _merged_axes(
    vault: Vault, old: str, places: Mapping[Address, Sequence[SnapshotPlace]]
) -> set[Address]:
    """Axes that merges since a commit brought new snapshots of, or changed files of.

    A late entry is put between others, and those after it are linked anew; what another copy of
    the vault had recorded comes from beside the main line too.
    """
    main = list(commits_with_parents(vault.repository, old, vault.tip, main_line=True))
    on_main = {commit for commit, *_ in main}
    axes = {
        address
        for address in places
        if any(place.commit not in on_main for place in places[address])
    }
    for merge, *parents in main:
        if len(parents) > 1:
            paths = changed_paths(vault.repository, parents[0], merge)
            axes.update(filter(None, map(_axis_of_file, paths)))
    return axes


def _axis_of_file(path: str) -> Address | None:
    place = layout.place_of(path)
    return None if place is None else place[0]


def _link_problems(vault: Vault, stored: StoredSnapshot) -> Iterator[Problem]:
    """Whether a snapshot's record has the hash of the one that its parent holds of the axis."""
    snapshot = stored.snapshot
    try:
        record, parents = snapshot.record, stored.header.parents
    except VaultError:  # told where the snapshot is checked
        return
    path = layout.snapshot_file(snapshot.address)
    before = vault.read(path, parents[0]) if parents else None
    if record.previous != (None if before is None else digest(before)):
        yield problem_of("chain", snapshot, "the link to the record before it is broken")


def _tip_problems(vault: Vault, address: Address) -> Iterator[Problem]:
    """What lies at the tip is what the newest snapshot of an axis says."""
    latest = latest_recorded(vault.index, vault.repository, address)
    if latest is None:
        return
    if vault.read(layout.snapshot_file(address)) != latest.text:
        yield Problem("chain", str(address), "the newest record does not close the chain")
    yield from check_tip(vault, address, latest)

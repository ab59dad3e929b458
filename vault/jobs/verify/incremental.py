"""Verifying what is new since everything was found to be as it was recorded.

Objects, records and values are read of what is new alone; only the list of commits that the witness
is held against is that of the whole history. What was found good before is not looked at again: the
outcome says up to where that was.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from hashlib import sha1
from typing import TYPE_CHECKING

from vault.jobs.verify.chain import check_tip
from vault.jobs.verify.outcome import Problem, Verified, problem_of
from vault.jobs.verify.snapshot import Place, Reading, check_snapshot
from vault.jobs.verify.values import Values
from vault.jobs.verify.verify import Progress, hear, unsigned, verify
from vault.model.errors import Damaged, VaultError
from vault.store.clock import now, parse_time, time_text
from vault.store.files import layout
from vault.store.files.snapshot_text import digest
from vault.store.git.history import (
    commits_between,
    commits_with_parents,
    is_ancestor,
    objects_between,
)
from vault.store.index.recorded import recorded_between

if TYPE_CHECKING:
    from pathlib import Path

    from vault.jobs.verify.snapshot import Looked
    from vault.model.names import Address
    from vault.store.vault import Vault

_FILE = "verified.json"


def remember_verified(vault: Vault) -> None:
    """Note that everything up to the present tip was found good. Deleting the note is no harm.

    Where it cannot be written, as in a vault that may only be read, the next time takes longer.
    """
    path = vault.state / _FILE
    with suppress(OSError):
        path.parent.mkdir(exist_ok=True)
        path.write_text(json.dumps({"tip": vault.tip, "at": time_text(now())}) + "\n")


def found_good(vault: Vault) -> tuple[str, str] | None:
    """The tip up to which everything was found good, and when."""
    try:
        found = json.loads((vault.state / _FILE).read_bytes())
        tip, at = str(found["tip"]), str(found["at"])
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

    Where there was none, or the history is no continuation of it, everything is checked.
    """
    good = found_good(vault)
    if good is None:
        outcome = verify(vault, progress, against=against)
        outcome.remarks.append("Nothing was verified before, so everything was.")
        return outcome
    tip, at = good
    outcome = Verified(tip=vault.tip)
    outcome.remarks.append(
        f"What stood there at {at} was found good then, and not looked at again."
    )
    try:
        outcome.problems += _objects(vault, tip)
        hear(vault, against, outcome)
        _snapshots(vault, tip, outcome, progress)
    except Damaged as error:
        outcome.problems.append(Problem("git", "history", str(error)))
    return outcome


def _objects(vault: Vault, old: str) -> Iterator[Problem]:
    """Every new object is what its name says: SHA-1 of its kind, size and content (git)."""
    for name, path in objects_between(vault.repository, old, vault.tip):
        found = vault.repository.object(name)
        if found is None:
            yield Problem("git", name[:10], f"the object cannot be read: {path or 'a commit'}")
            continue
        header = f"{found.kind} {len(found.content)}\0".encode()
        if sha1(header + found.content).hexdigest() != name:
            yield Problem("git", name[:10], f"the object is not what it was: {path or 'a commit'}")


def _snapshots(vault: Vault, old: str, outcome: Verified, progress: Progress) -> None:
    places: dict[Address, list[Place]] = {}
    recorded = recorded_between(vault.repository, old, vault.tip)
    for seq, (address, commit, blob) in enumerate(recorded, 1):
        places.setdefault(address, []).append(Place(seq, commit, blob))
    late = _merged_in(vault, old)
    whole_axes: set[Address] = set()
    total = sum(map(len, places.values()))
    values = Values()
    with Reading(vault) as reading:
        for address, found in places.items():
            for looked in reading.snapshots(address, found):
                snapshot = looked.snapshot
                try:
                    if late is None or snapshot.id in late:
                        whole_axes.add(address)
                    elif not _is_linked(vault, looked):
                        said = "the link to the record before it is broken"
                        outcome.problems.append(problem_of("chain", snapshot, said))
                    for kind, details in check_snapshot(looked, values, outcome.remarks):
                        outcome.problems.append(problem_of(kind, snapshot, details))
                except VaultError as error:
                    outcome.problems.append(problem_of("record", snapshot, str(error)))
                outcome.snapshots += 1
                progress(outcome.snapshots, total)
    axis_of = {place.commit: axis for axis, found in places.items() for place in found}
    outcome.problems += unsigned(vault, axis_of, places, old)
    if whole_axes:  # what was put between others links those after it anew
        outcome.problems += verify(vault, only=frozenset(whole_axes)).problems
    for address in places.keys() - whole_axes:
        outcome.problems += _tip(vault, address)


def _merged_in(vault: Vault, old: str) -> set[str] | None:
    """New commits that a merge took in; None where one took in more than a late entry."""
    found: set[str] = set()
    main = 0
    for _, _, *merged in commits_with_parents(vault.repository, old, vault.tip, main_line=True):
        main += 1
        found.update(merged)
    count = sum(1 for _ in commits_between(vault.repository, old, vault.tip))
    return found if count == main + len(found) else None


def _is_linked(vault: Vault, looked: Looked) -> bool:
    record, parents = looked.snapshot.record, looked.header.parents
    path = layout.snapshot_file(looked.snapshot.address)
    before = vault.read(path, parents[0]) if parents else None
    return record.previous == (None if before is None else digest(before))


def _tip(vault: Vault, address: Address) -> Iterator[Problem]:
    """What lies at the tip is what the newest snapshot of an axis says."""
    latest = vault.latest(address)
    if latest is None:
        return
    if vault.read(layout.snapshot_file(address)) != latest.text:
        yield Problem("chain", str(address), "the newest record does not close the chain")
    yield from check_tip(vault, address, latest)

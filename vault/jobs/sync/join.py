"""Joining the histories of two copies, before it becomes the vault's state.

A merge shows of each axis the snapshot that was taken last, and of the files that people write
those that one side changed. Where both changed the same file a person decides.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.sync.log import KEPT, TRAILER, took_title
from vault.model.corrections import joined_corrections
from vault.model.errors import Refused, Unreadable
from vault.model.names import Address
from vault.store.clock import microseconds
from vault.store.files import layout
from vault.store.files.corrections_text import corrections_text, read_corrections
from vault.store.files.fault_log_text import fault_log_text, read_fault_log
from vault.store.files.three_way import three_way
from vault.store.git.ancestry import Ancestry, ancestry
from vault.store.git.exchange import pin
from vault.store.git.history import (
    changed_paths,
    commits_between,
    differ_in_merges_only,
    is_ancestor,
    merge_bases,
    merges_with_trailer,
)
from vault.store.git.repository import commit_text
from vault.store.index.recorded import recorded_between
from vault.store.index.recorded_order import in_recorded_order
from vault.store.index.rows import Snapshot
from vault.store.recorder import closing_record

if TYPE_CHECKING:
    from vault.store.git.exchange import Partner
    from vault.store.vault import Vault

HERE, THERE = "here", "there"
_OF_MACHINE = 3  # parts of the path of a file of a machine
Kept = tuple[tuple[str, str], ...]
"""Path, and the side it was kept of."""
NewSnapshots = Mapping[Address, list[Snapshot]]
"""Snapshots that only the other side has, by axis."""


@dataclass(frozen=True, slots=True)
class Joined:
    """Both histories as one, on top of `ours`; not the vault's state yet.

    `files` are those that are another than in ours, `touched` axes whose kept snapshot is.
    """

    ours: str
    tip: str
    merge: str | None
    new: NewSnapshots
    kept: Kept
    files: tuple[str, ...]
    touched: set[Address]


def joined_histories(
    vault: Vault,
    partner: Partner,
    theirs: str,
    by: str,
    keep: str | None,
    held: Collection[str] = (),
) -> Joined | None:
    """Join both histories, files that are `held` as they are here; None where nothing is new."""
    ours = vault.tip
    if is_ancestor(vault.repository, theirs, ours):
        return None
    _check_copy(vault, partner, theirs)
    if not is_ancestor(vault.repository, ours, theirs) and is_in_step(vault, theirs):
        return None
    new = _new_snapshots(vault, theirs)
    tip, kept, merge = theirs, Kept(), None
    if held or not is_ancestor(vault.repository, ours, theirs):
        tip, kept = _merged(vault, partner, theirs, new, by, keep, held)
        pin(vault.repository, tip)
        merge = tip
    files, touched = _changed(vault, ours, tip)
    return Joined(ours, tip, merge, new, kept, files, touched)


def is_in_step(vault: Vault, theirs: str) -> bool:
    """Whether both sides have the same, and differ in merges alone, of which none there decided
    anything.

    To merge these would make another merge for others to take: of copies that take from each
    other in a ring none would ever be done.
    """
    repository = vault.repository
    if not differ_in_merges_only(repository, vault.tip, theirs):
        return False
    theirs_alone = set(commits_between(repository, vault.tip, theirs))
    merges = merges_with_trailer(repository, theirs, TRAILER, KEPT)
    return not any(kept and merge.commit in theirs_alone for merge, kept in merges)


def _check_copy(vault: Vault, partner: Partner, theirs: str) -> None:
    if vault.read(layout.VAULT, theirs) is None:
        raise Unreadable("it has no vault.yaml: this is no vault", file=partner.name)
    if not merge_bases(vault.repository, vault.tip, theirs):
        raise Refused(
            f"{partner.name} is no copy of this vault: they have no beginning in common",
            hint="take its exports in instead: axisvault ingest-tree",
        )


def _new_snapshots(vault: Vault, theirs: str) -> NewSnapshots:
    snapshots: dict[Address, list[Snapshot]] = {}
    recorded = recorded_between(vault.repository, vault.tip, theirs)
    for seq, (address, commit, blob) in enumerate(recorded, 1):
        text = vault.repository.blob(blob) or b""
        snapshots.setdefault(address, []).append(Snapshot(seq, address, commit, text))
    return snapshots


def _merged(
    vault: Vault,
    partner: Partner,
    theirs: str,
    new: NewSnapshots,
    by: str,
    keep: str | None,
    held: Collection[str],
) -> tuple[str, Kept]:
    """Write the commit that joins both histories; returns it and what was decided of which file."""
    ours, repository = vault.tip, vault.repository
    bases = merge_bases(repository, ours, theirs)
    unlike = [p for p in changed_paths(repository, ours, theirs) if not _is_of_snapshot(p)]
    our_files, their_files, *common = (
        _blobs(vault, commit, unlike) for commit in (ours, theirs, *bases)
    )
    compared = three_way(common, our_files, their_files)
    taken = {path: blob for path, blob in compared.taken.items() if path not in held}
    changes = {path: _blob(vault, blob) for path, blob in taken.items() if blob}
    removed = [path for path, blob in taken.items() if blob is None]
    conflicts = [path for path in compared.conflicts if path not in held]
    lists = dict(_joined_lists(vault, partner, conflicts, our_files, their_files))
    changes |= lists
    kept = (
        *((path, HERE) for path in dict.fromkeys(held)),
        *_decided([path for path in conflicts if path not in lists], partner, keep),
    )
    for path, side in kept:
        if side == THERE and path in their_files:
            changes[path] = _blob(vault, their_files[path])
        elif side == THERE:
            removed.append(path)
    order = _Order(vault, theirs)
    for address, snapshots in new.items():
        newest, files = _files_of_axis(vault, address, snapshots, order)
        changes |= files
        if newest in snapshots:
            removed.append(layout.export_folder(address))
    count = sum(map(len, new.values()))
    lines = [took_title(partner.name, count, len(new)), "", f"{TRAILER}: {partner.name}"]
    lines += [f"{KEPT}: {path}, as it was {side}" for path, side in kept]
    with repository.start_writing() as writer:
        text = commit_text("\n".join(lines) + "\n", by)
        tip = writer.commit(text, changes, parent=ours, merged=theirs, emptied=removed)
    return tip, kept


def _blobs(vault: Vault, commit: str, paths: Sequence[str]) -> dict[str, str]:
    """Blobs of those files that a commit has, by path."""
    with vault.repository.stream_ids() as ids:
        found = ids.ids(f"{commit}:{path}" for path in paths)
        return {path: blob for path, blob in zip(paths, found, strict=True) if blob is not None}


def _is_of_snapshot(path: str) -> bool:
    place = layout.place_of(path)
    of_snapshot = ("snapshot.yaml", "parameters.yaml", "export")
    return place is not None and place[1].partition("/")[0] in of_snapshot


def _blob(vault: Vault, blob: str) -> bytes:
    content = vault.repository.blob(blob)
    if content is None:
        raise Unreadable(f"a file of it is missing: {blob[:10]}")
    return content


def _joined_lists(
    vault: Vault,
    partner: Partner,
    conflicts: Collection[str],
    our_files: Mapping[str, str],
    their_files: Mapping[str, str],
) -> Iterator[tuple[str, bytes]]:
    """Fault logs and corrections that both sides added to: every entry that any of them has."""
    for path in conflicts:
        if path not in our_files or path not in their_files:
            continue
        ours, theirs = _blob(vault, our_files[path]), _blob(vault, their_files[path])
        their_path = f"{partner.name}:{path}"
        if path.endswith("/faults.yaml"):
            faults = {*read_fault_log(ours, path), *read_fault_log(theirs, their_path)}
            yield path, fault_log_text(faults)
        elif path.endswith("/corrections.yaml"):
            corrections = read_corrections(ours, path), read_corrections(theirs, their_path)
            yield path, corrections_text(joined_corrections(*corrections))


def _decided(conflicts: list[str], partner: Partner, keep: str | None) -> Iterator[tuple[str, str]]:
    if conflicts and keep is None:
        raise Refused(
            f"changed here and in {partner.name} since both were the same: {', '.join(conflicts)}",
            hint="nothing was taken; decide with --keep here or --keep there (the other one stays "
            "in the history), or make both the same",
        )
    for path in conflicts:
        yield path, keep or HERE


class _Order:
    """The order of an axis's snapshots once both sides are one, in every copy the same."""

    def __init__(self, vault: Vault, theirs: str) -> None:
        self._vault, self._theirs = vault, theirs
        self._histories: tuple[Ancestry, Ancestry] | None = None

    def sorted(self, ours: list[Snapshot], theirs: list[Snapshot]) -> list[Snapshot]:
        """All of them, oldest first."""
        moments = [microseconds(one.record.taken_at) for one in (*ours, *theirs)]
        if len(set(moments)) == len(moments):
            return sorted((*ours, *theirs), key=lambda one: microseconds(one.record.taken_at))
        if self._histories is None:
            repository, tip = self._vault.repository, self._vault.tip
            self._histories = ancestry(repository, tip), ancestry(repository, self._theirs)
        our_history, their_history = self._histories
        placed = [(microseconds(s.record.taken_at), our_history.rank(s.id), s) for s in ours]
        placed += [(microseconds(s.record.taken_at), their_history.rank(s.id), s) for s in theirs]
        return [snapshot for _, _, snapshot in sorted(placed, key=lambda row: row[:2])]


def _files_of_axis(
    vault: Vault, address: Address, new: list[Snapshot], order: _Order
) -> tuple[Snapshot, dict[str, bytes]]:
    """The newest snapshot of an axis, and its files where it came from the other side."""
    ordered = order.sorted(in_recorded_order(vault.index, vault.repository, address), new)
    newest = ordered[-1]
    files = {layout.snapshot_file(address): closing_record(ordered)}
    if newest in new:
        export = layout.export_file(address, newest.record.export_name)
        for path in (layout.parameters_file(address), export):
            files[path] = vault.read_required(path, newest.id)
    return newest, files


def _changed(vault: Vault, old: str, new: str) -> tuple[tuple[str, ...], set[Address]]:
    """What is not the same in two commits: files that people write, and axes to check whole."""
    paths = changed_paths(vault.repository, old, new)
    corrected = [path.split("/") for path in paths if path.endswith("/corrections.yaml")]
    machines = {parts[1] for parts in corrected if len(parts) == _OF_MACHINE}
    axes = {
        place[0] for path in paths if _is_of_snapshot(path) and (place := layout.place_of(path))
    }
    beside = {Address(parts[1], parts[2]) for parts in corrected if len(parts) > _OF_MACHINE}
    beside |= {axis for axis in vault.axis_folders() if axis.machine in machines}
    axes |= beside | {axis.controller for axis in beside}
    return tuple(path for path in paths if not _is_of_snapshot(path)), axes

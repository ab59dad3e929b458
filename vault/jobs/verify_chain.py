"""The records of one axis: each carries the hash of the one before it, and the tip closes them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from vault.jobs.verify_outcome import Problem, problem_of
from vault.store import layout
from vault.store.clock import microseconds
from vault.store.recorder import relinked
from vault.store.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.verify_snapshot import Looked
    from vault.model.names import Address
    from vault.store.index_rows import Snapshot
    from vault.store.vault import Vault


class Step(NamedTuple):
    """A snapshot's commit as the main line comes to it: by itself, or merged in from the side."""

    commit: str
    is_side: bool


@dataclass(slots=True)
class _Line:
    """The records of one axis on the main line so far; `newest` is known while it is clean."""

    snapshots: list[Snapshot] = field(default_factory=list)
    newest: bytes | None = None

    def closing(self) -> bytes:
        """The newest snapshot.yaml as it must stand."""
        if self.newest is None:
            self.snapshots.sort(key=_place)
            self.newest = relinked(self.snapshots)
        return self.newest


def _place(snapshot: Snapshot) -> tuple[int, int]:
    return microseconds(snapshot.record.taken_at), snapshot.seq


def steps_by_axis(vault: Vault, axis_of: Mapping[str, Address]) -> dict[Address, list[Step]]:
    """Along the first parents, oldest first: the commits of `axis_of` as the main line has them."""
    found: defaultdict[Address, list[Step]] = defaultdict(list)
    lines = vault.repository.lines(
        "log", "--first-parent", "--reverse", "--format=%H %P", vault.tip
    )
    for line in lines:
        commit, *parents = line.split()
        for one, is_side in ((commit, False), *((side, True) for side in parents[1:])):
            if (address := axis_of.get(one)) is not None:
                found[address].append(Step(one, is_side))
    return found


def check_chain(
    vault: Vault, address: Address, looked: Mapping[str, Looked], steps: Sequence[Step]
) -> Iterator[Problem]:
    """What is wrong with the links of an axis, over the history its snapshots were recorded on.

    `looked` are all its snapshots whose record can be read, by their commit.
    """
    line = _Line()
    seen: set[str] = set()
    for commit, is_side in steps:
        if (one := looked.get(commit)) is None:
            continue
        snapshot = one.snapshot
        seen.add(commit)
        if is_side:
            fits = _side_fits(one, looked)
        else:
            linked = digest(line.closing()) if line.snapshots else None
            fits = snapshot.record.previous == linked
        if not fits:
            yield problem_of("chain", snapshot, "the link to the record before it is broken")
        line.snapshots.append(snapshot)
        line.newest = None if is_side else snapshot.text
    for commit in looked.keys() - seen:
        said = "the snapshot stands outside of the history"
        yield problem_of("chain", looked[commit].snapshot, said)
    if line.snapshots:
        yield from _tip(vault, address, line)


def _side_fits(one: Looked, looked: Mapping[str, Looked]) -> bool:
    """A late entry stands on the snapshot before it in time, or on nothing."""
    record, parents = one.snapshot.record, one.header.parents
    if not parents:
        return record.previous is None
    before = looked.get(parents[0])
    return (
        before is not None
        and microseconds(before.snapshot.record.taken_at) <= microseconds(record.taken_at)
        and record.previous == digest(before.snapshot.text)
    )


def _tip(vault: Vault, address: Address, line: _Line) -> Iterator[Problem]:
    closing = line.closing()
    latest = max(line.snapshots, key=_place)
    if vault.read(layout.snapshot_file(address)) != closing:
        yield Problem("chain", str(address), "the newest record does not close the chain")
    yield from check_tip(vault, address, latest)


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

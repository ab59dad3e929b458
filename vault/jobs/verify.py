"""Checking the whole vault against itself.

Every snapshot is recomputed: the export has its hash, the dictionary has its hash, and both
together give the parameters that were kept, byte for byte. Each record is linked to the one before.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from vault.jobs.drift import kept_wrongly
from vault.jobs.read_export import read_export
from vault.jobs.selectors import by_id
from vault.jobs.verify_signatures import bad_signatures
from vault.jobs.verify_witness import Gone, hear_witness
from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.model.errors import Damaged, VaultError
from vault.model.names import Address
from vault.model.normalise import VERSIONS
from vault.store import layout, yaml_text
from vault.store.clock import git_time, microseconds, time_text
from vault.store.index import walk
from vault.store.index_rows import Snapshot
from vault.store.recorder import relinked
from vault.store.snapshot_text import commit_message, digest, snapshot_text
from vault.store.vault import FamilyFile, Vault
from vault.store.witness import Witness

_STALE = "the index does not show the {} that git holds: run reindex"
_DAMAGED = "its file is damaged and answers come from git without it: run reindex"
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that is not as it should be: what kind, where, and in words."""

    kind: str
    where: str
    details: str
    snapshot: Snapshot | None = None


@dataclass(frozen=True, slots=True)
class Untrusted:
    """The first snapshot that cannot be trusted, as far as it is known, and why."""

    snapshot: str | None
    axis: str | None
    taken_at: str | None
    why: str


@dataclass(slots=True)
class Verified:
    """Outcome of a verification; remarks are no problems (an older normalisation, say).

    `tip` and `witness` (lines, and the hash that stands for them all) are worth writing down.
    """

    snapshots: int = 0
    tip: str = ""
    witness: Witness | None = None
    gone: Gone | None = None
    problems: list[Problem] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def first_untrusted(self) -> Untrusted | None:
        """What is gone from the history goes first: everything after it was written anew."""
        if self.gone is not None:
            one = self.gone
            return Untrusted(one.snapshot, one.axis, one.taken_at, one.details)
        named = [(p.snapshot, p) for p in self.problems if p.snapshot is not None]
        if not named:
            return None
        snapshot, problem = min(named, key=lambda pair: pair[0].seq)
        try:
            taken: str | None = time_text(snapshot.record.taken_at)
        except VaultError:
            taken = None
        return Untrusted(snapshot.id, str(snapshot.address), taken, problem.details)


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
    if only is None:
        outcome.problems += _objects(vault)
    try:
        rows = list(walk(vault.repository, None, vault.tip))
        if only is None:
            _hear(vault, against, outcome)
        else:
            rows = [row for row in rows if row[0] in only]
        return _checked(vault, rows, outcome, progress, is_whole=only is None)
    except Damaged as error:
        outcome.problems.append(Problem("git", "history", str(error)))
        return outcome


def _checked(
    vault: Vault,
    rows: list[tuple[Address, str, str]],
    outcome: Verified,
    progress: Progress,
    *,
    is_whole: bool,
) -> Verified:
    recorded: dict[str, Snapshot] = {}
    readable: list[Snapshot] = []
    for number, (address, commit, blob) in enumerate(rows, 1):
        snapshot = Snapshot(number, address, commit, vault.repository.object(blob) or b"")
        try:
            _ = snapshot.record
            readable.append(snapshot)
            if recorded.setdefault(commit, snapshot) is not snapshot:
                raise Damaged("its commit records another axis too")
            for kind, details in check_snapshot(vault, snapshot, outcome):
                outcome.problems.append(Problem(kind, where(snapshot), details, snapshot))
        except VaultError as error:
            outcome.problems.append(Problem("record", where(snapshot), str(error), snapshot))
        progress(number, len(rows))
    outcome.snapshots = len(rows)
    if is_whole:
        outcome.problems += unsigned(vault, recorded)
    outcome.problems += _chain(vault, recorded)
    if not is_whole:
        return outcome
    outcome.problems += _strangers(vault, {s.address for s in recorded.values()})
    outcome.problems += _baselines(vault)
    outcome.problems += _index(vault, readable)
    return outcome


def _hear(vault: Vault, against: Path | None, outcome: Verified) -> None:
    heard = hear_witness(vault, against)
    outcome.problems += [Problem("witness", where, details) for where, details in heard.problems]
    outcome.remarks += heard.remarks
    outcome.witness, outcome.gone = heard.witness, heard.gone


def unsigned(
    vault: Vault, recorded: Mapping[str, Snapshot], since: str | None = None
) -> Iterator[Problem]:
    """Commits that are not signed as was required, snapshots or not."""
    for bad in bad_signatures(vault, since):
        snapshot = recorded.get(bad.commit)
        place = where(snapshot) if snapshot is not None else bad.commit[:10]
        yield Problem("signature", place, bad.details, snapshot)


def _objects(vault: Vault) -> Iterator[Problem]:
    status, printed = vault.repository.outcome("fsck", "--strict", "--no-dangling", "--no-progress")
    if status != 0:
        lines = [line for line in printed.splitlines() if line.strip()]
        yield Problem("git", "objects", "; ".join(lines[:5]) or f"git fsck ended with {status}")


def check_snapshot(
    vault: Vault, snapshot: Snapshot, outcome: Verified
) -> Iterator[tuple[str, str]]:
    """Kind and details of what is wrong with one snapshot by itself."""
    record, address, commit = snapshot.record, snapshot.address, snapshot.id
    if snapshot_text(record) != snapshot.text:
        yield "record", "snapshot.yaml is not as it was written"
    export = vault.read(layout.export_file(address, record.export_name), commit)
    if export is None:
        yield "export", f"the export {record.export_name} is missing"
        return
    if digest(export) != record.export_sha256:
        yield "export", f"the export {record.export_name} is not the one that was recorded"
    family = None
    if record.family is not None:
        content = vault.read(layout.family_file(record.family), commit) or b""
        family = FamilyFile(record.family, content)
        if digest(content) != record.family_sha256:
            yield "family", f"the dictionary {record.family} is not the one that was recorded"
            return
    try:
        kept = vault.needed(layout.parameters_file(address), commit)
        read = read_export(
            export, record.export_name, family, channel=record.channel, partial=True,
            version=record.normalisation,
        )  # fmt: skip
        recomputed = yaml_text.parameters_text(read.normalised.parameters)
        if recomputed != kept:
            yield from _differently(snapshot, kept, recomputed, outcome)
    except VaultError as error:
        yield "parameters", f"the values cannot be recomputed: {error}"
    yield from _message(vault, snapshot)


def _differently(
    snapshot: Snapshot, kept: bytes, recomputed: bytes, outcome: Verified
) -> Iterator[tuple[str, str]]:
    version = snapshot.record.normalisation
    if version in VERSIONS:
        yield "parameters", "parameters.yaml is not what the export and the dictionary give"
        return
    left, right = AxisView("kept", kept), AxisView("recomputed", recomputed)
    if compare(left, right).news:
        yield "parameters", f"the values are not those of version {version} of the rules"
        return
    outcome.remarks.append(
        f"{snapshot.address}@{snapshot.id[:10]}: written by version {version} of the rules; "
        "its values mean the same today"
    )


def _message(vault: Vault, snapshot: Snapshot) -> Iterator[tuple[str, str]]:
    header = vault.repository.commit_header(snapshot.id)
    record = snapshot.record
    if header.message != commit_message(snapshot.address, record):
        yield "message", "the commit message does not say what the record says"
    if header.author != record.by:
        yield "message", f"the commit's author is {header.author}, not {record.by}"
    if header.authored != git_time(record.taken_at):
        yield "message", "the commit's author date is not when the export was taken"


@dataclass(slots=True)
class _Line:
    """The records of one axis on the main line so far; `link` is known while it is clean."""

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


def _chain(vault: Vault, recorded: Mapping[str, Snapshot]) -> Iterator[Problem]:
    """Each record carries the hash of the one before it, over the history it was recorded on."""
    lines: defaultdict[Address, _Line] = defaultdict(_Line)
    seen: set[str] = set()
    for commit, parents in _main_line(vault):
        if (snapshot := recorded.get(commit)) is not None:
            line = lines[snapshot.address]
            linked = digest(line.closing()) if line.snapshots else None
            if snapshot.record.previous != linked:
                yield _broken(snapshot)
            line.snapshots.append(snapshot)
            line.newest = snapshot.text
            seen.add(commit)
        for side in parents[1:]:
            if (snapshot := recorded.get(side)) is None:
                continue
            if not _side_fits(vault, snapshot, recorded):
                yield _broken(snapshot)
            lines[snapshot.address].snapshots.append(snapshot)
            lines[snapshot.address].newest = None
            seen.add(side)
    for commit in recorded.keys() - seen:
        snapshot = recorded[commit]
        said = "the snapshot stands outside of the history"
        yield Problem("chain", where(snapshot), said, snapshot)
    for address, line in lines.items():
        yield from _tip(vault, address, line)


def _broken(snapshot: Snapshot) -> Problem:
    said = "the link to the record before it is broken"
    return Problem("chain", where(snapshot), said, snapshot)


def where(snapshot: Snapshot) -> str:
    """A snapshot in words."""
    return f"{snapshot.address}@{snapshot.id[:10]}"


def _main_line(vault: Vault) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Commits and their parents along the first parents, oldest first."""
    lines = vault.repository.lines(
        "log", "--first-parent", "--reverse", "--format=%H %P", vault.tip
    )
    for line in lines:
        commit, *parents = line.split()
        yield commit, tuple(parents)


def _side_fits(vault: Vault, snapshot: Snapshot, recorded: Mapping[str, Snapshot]) -> bool:
    """A late entry stands on the snapshot before it in time, or on nothing."""
    parents = vault.repository.commit_header(snapshot.id).parents
    if not parents:
        return snapshot.record.previous is None
    before = recorded.get(parents[0])
    return (
        before is not None
        and before.address == snapshot.address
        and microseconds(before.record.taken_at) <= microseconds(snapshot.record.taken_at)
        and snapshot.record.previous == digest(before.text)
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
        if vault.read(path) != vault.read(path, latest.id):
            yield Problem("tip", path, "the file is not that of the latest snapshot")
    present = [entry.path for entry in vault.repository.list(vault.tip, _exports(address))]
    if present != [export]:
        yield Problem("tip", _exports(address), "there is not exactly the latest export")


def _exports(address: Address) -> str:
    return layout.export_folder(address)


def _strangers(vault: Vault, axes: Collection[Address]) -> Iterator[Problem]:
    """Kept values without any snapshot."""
    for address in vault.axes():
        if address not in axes and vault.read(layout.parameters_file(address)) is not None:
            yield Problem("tip", layout.folder(address), "there are values, but no snapshot")


def _baselines(vault: Vault) -> Iterator[Problem]:
    """Baselines that cannot be read, or whose snapshot is not there."""
    for entry in vault.repository.list(vault.tip, layout.MACHINES, recursive=True):
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


def _index(vault: Vault, readable: Collection[Snapshot]) -> Iterator[Problem]:
    if not vault.index.shows(readable):
        yield Problem("index", "index", _STALE.format("snapshots"))
    for address in vault.index.axes():
        if not vault.index.values_agree(address):
            yield Problem("index", str(address), _STALE.format("values"))
    for address in kept_wrongly(vault):
        yield Problem("index", str(address), _STALE.format("drift"))
    if vault.index.is_damaged:
        yield Problem("index", "index", _DAMAGED)

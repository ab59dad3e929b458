"""Traces that an axis has, what each of them tells, and the earlier one it is held against."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.formats.trace_table import read_trace
from vault.jobs.state.selectors import State, by_id, policy_of, view_of
from vault.jobs.trials.required import are_equal
from vault.model.errors import Damaged, VaultError, WrongUsage
from vault.model.remembered import Remembered
from vault.model.written_form import minute_text
from vault.store.files import layout
from vault.store.files.moment_names import is_moment_name
from vault.store.files.snapshot_text import digest
from vault.store.files.trace_record_text import (
    TraceRecord,
    matches,
    read_trace_record,
)

if TYPE_CHECKING:
    from vault.behaviour.trace.against import Told
    from vault.meaning.traces.compared import TraceComparison
    from vault.model.names import Address
    from vault.model.trace import Trace
    from vault.store.vault import Vault

_KNOWN = Remembered[tuple[object, ...], "tuple[dict[str, Told], tuple[str, ...]]"](64)

_RECORDS = Remembered[tuple[str, str], tuple[TraceRecord, ...]](256)


@dataclass(frozen=True, slots=True)
class TraceResult:
    """A trace with what it tells, on the state that was in force."""

    address: Address
    record: TraceRecord
    trace: Trace
    state: State
    told: Mapping[str, Told]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TraceBeside:
    """A trace with the earlier one of its move; `is_baseline`: that one is of the golden set.

    `problem` is what of the earlier ones cannot be read: then it is held against none, or perhaps
    not against the one that it should be.
    """

    result: TraceResult
    earlier: TraceResult | None = None
    is_baseline: bool = False
    comparison: TraceComparison | None = None
    problem: str | None = None

    @property
    def against(self) -> str | None:
        """The trace that it is held against, in words; None where there is none."""
        return _which(self.earlier.record, self.is_baseline) if self.earlier is not None else None


def _which(record: TraceRecord, is_baseline: bool) -> str:
    kind = "the baseline's trace" if is_baseline else "the trace"
    return f"{kind} of {minute_text(record.taken_at)}"


@dataclass(frozen=True, slots=True)
class Earlier:
    """The record of the trace that a later one is held against; the rest as in TraceBeside."""

    record: TraceRecord | None = None
    is_baseline: bool = False
    problem: str | None = None


def trace_names(vault: Vault, address: Address, commit: str | None = None) -> list[str]:
    """Names of the traces of an axis, oldest first; now, or as of a commit."""
    entries = vault.repository.list(commit or vault.tip, layout.traces_folder(address))
    names = (entry.path.rsplit("/", 1)[1] for entry in entries)
    return sorted(name for name in names if is_moment_name(name))


def trace_record(vault: Vault, address: Address, name: str) -> TraceRecord:
    """The record of a trace, or of the latest for `latest`. Raises WrongUsage without one."""
    names = trace_names(vault, address)
    wanted = names[-1] if name == "latest" and names else name
    if wanted not in names:
        has = ", ".join(names[-3:]) or "none yet"
        raise WrongUsage(f"{address} has no trace {name!r}", hint=f"it has: {has}")
    return _named(vault, address, wanted)


def _named(vault: Vault, address: Address, name: str) -> TraceRecord:
    path = layout.trace_file(address, name)
    return read_trace_record(vault.read_required(path, vault.tip), path)


def trace_records(
    vault: Vault, address: Address, problems: list[str] | None = None
) -> Iterator[TraceRecord]:
    """The records of all traces of an axis, oldest first.

    Those that cannot be read are `problems`, or raised.
    """
    records, unread = _kept(vault, address)
    for error in unread.values():
        if problems is None:
            raise error
        problems.append(str(error))
    yield from records


def _kept(vault: Vault, address: Address) -> tuple[Sequence[TraceRecord], Mapping[str, VaultError]]:
    """Records of the traces of an axis, oldest first, and by name why others cannot be read.

    They are asked for once for each trace, so they are remembered by the id of their folder.
    """
    folder = layout.traces_folder(address)
    beside_it = vault.repository.list(vault.tip, layout.trials_folder(address))
    tree = next((entry.id for entry in beside_it if entry.path == folder), None)
    if tree is None:
        return (), {}
    try:
        return _RECORDS.of((folder, tree), lambda: _all_of(vault, address)), {}
    except VaultError:  # not remembered: an object that is put right has the same id
        return _some_of(vault, address)


def _all_of(vault: Vault, address: Address) -> tuple[TraceRecord, ...]:
    return tuple(_named(vault, address, name) for name in trace_names(vault, address))


def _some_of(
    vault: Vault, address: Address
) -> tuple[Sequence[TraceRecord], Mapping[str, VaultError]]:
    records: list[TraceRecord] = []
    unread: dict[str, VaultError] = {}
    for name in trace_names(vault, address):
        try:
            records.append(_named(vault, address, name))
        except VaultError as error:
            unread[name] = error
    return records, unread


def recording(vault: Vault, address: Address, record: TraceRecord) -> bytes:
    """The file of a trace as it came. Raises Damaged where it is not the one that was kept."""
    path = f"{layout.trace_folder(address, record.name)}/{record.file}"
    content = vault.read(path)
    if content is None or not matches(record, content):
        raise Damaged("the recording of this trace is not the one that was kept", file=path)
    return content


def trace_result(vault: Vault, address: Address, record: TraceRecord) -> TraceResult:
    """What a kept trace tells. Raises Damaged, WrongUsage without its snapshot."""
    content = recording(vault, address, record)
    snapshot = by_id(vault, address, record.snapshot)
    trace = read_by_family(vault, snapshot.record.family, content, record.file)
    return evaluated(vault, address, record, trace)


def read_by_family(vault: Vault, family: str | None, content: bytes, file: str) -> Trace:
    """Read a trace by what the dictionary of a family says of columns, as it is today.

    Raises Unreadable.
    """
    said = vault.family_file(family).family.trace if family is not None else None
    if said is None:
        return read_trace(content, file)
    return read_trace(content, file, said.columns, said.units)


def read_by(vault: Vault, address: Address, record: TraceRecord) -> str | None:
    """Digest of the dictionary that a trace is read by: what it tells rests on that too."""
    family = by_id(vault, address, record.snapshot).record.family
    return None if family is None else digest(vault.family_file(family).content)


def rests_on(vault: Vault, address: Address, record: TraceRecord) -> tuple[str | None, ...]:
    """What else than its record a trace is told by: its dictionary, and the files as they lie."""
    entries = vault.repository.list(vault.tip, layout.trace_folder(address, record.name))
    return (read_by(vault, address, record), *(entry.id for entry in entries))


def evaluated(vault: Vault, address: Address, record: TraceRecord, trace: Trace) -> TraceResult:
    """What a trace tells on the state that it belongs to."""
    from vault.behaviour.trace.against import told_of  # numpy is loaded for a trace alone

    snapshot = by_id(vault, address, record.snapshot)
    name = f"{address}@{snapshot.id[:10]}"
    state = State(name, vault, address, snapshot, built_at=record.vault_at)
    key = (
        str(address), record.sha256, record.snapshot, record.vault_at, record.move,
        read_by(vault, address, record),
    )  # fmt: skip
    told, remarks = _KNOWN.of(key, lambda: told_of(trace, view_of(state).state, record.move))
    return TraceResult(address, record, trace, state, told, remarks)


def beside(vault: Vault, result: TraceResult, but: Container[str] = ()) -> TraceBeside:
    """A trace held against that of the baseline of the same move, else the one before it.

    `but` are snapshots whose traces prove nothing of this one.
    """
    from vault.meaning.traces.compared import compare_traces

    found = earlier_trace(vault, result.address, result.record, but)
    if found.record is None:
        return TraceBeside(result, problem=found.problem)
    try:
        earlier = trace_result(vault, result.address, found.record)
    except VaultError as error:
        which = _which(found.record, found.is_baseline)
        return TraceBeside(result, problem=f"{which} cannot be read: {error}")
    same = are_equal(earlier.state, result.state)
    share = float(policy_of(vault).material_share)
    comparison = compare_traces(earlier.told, result.told, share, same_set=same)
    return TraceBeside(result, earlier, found.is_baseline, comparison, found.problem)


def earlier_trace(
    vault: Vault, address: Address, record: TraceRecord, but: Container[str] = ()
) -> Earlier:
    """The trace that a later one of the same move is held against; of none of the snapshots `but`.

    Of several on the golden set it is the first: wear that comes slowly would hide from the latest.
    One that cannot be read may be of any move, and so may be the one that was wanted.
    """
    records, unread = _kept(vault, address)
    problem = next(
        (
            f"an earlier trace cannot be read, of whatever move it is: {error}"
            for name, error in unread.items()
            if name < record.name
        ),
        None,
    )
    move = record.move.casefold()
    older = [
        one
        for one in records
        if one.name < record.name and one.move.casefold() == move and one.snapshot not in but
    ]
    if not older:
        return Earlier(problem=problem)
    approval = vault.golden(address).approval
    golden = [one for one in older if approval is not None and one.snapshot == approval.snapshot]
    return Earlier(golden[0] if golden else older[-1], bool(golden), problem)

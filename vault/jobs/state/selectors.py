"""Selectors: `machine/axis[@WHEN]` and `file:PATH`, and the state of an axis they stand for."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.state.addenda import addenda_of
from vault.meaning.axis_view import AxisView
from vault.model.cached_property import cached_property
from vault.model.errors import VaultError, WrongUsage
from vault.model.export import SELF_DESCRIBING
from vault.model.hazard_policy import HazardPolicy
from vault.model.names import Address
from vault.model.normalise import VERSION, family_definitions, reads_as_today
from vault.model.wording import plural
from vault.model.written_form import in_iso, minute_text
from vault.store.clock import microseconds, parse_time
from vault.store.files import layout
from vault.store.files.edited_files import cached_axis
from vault.store.files.parameters_text import read_parameters
from vault.store.files.snapshot_text import read_snapshot
from vault.store.index.recorded_order import recorded_between
from vault.store.index.rows import Snapshot
from vault.store.vault import FamilyFile, Vault

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.jobs.export.parameter_set import Export
    from vault.model.axis import AxisRecord
    from vault.model.corrections import Correction
    from vault.model.coverage import Coverage
    from vault.model.families import Family
    from vault.model.golden import Approval
    from vault.model.normalise import Definition
    from vault.model.parameters import ParameterSet
    from vault.model.snapshots import SnapshotRecord

_ID = re.compile(r"[0-9a-fA-F]{7,40}")
_BACK = re.compile(r"~([0-9]{1,9})")
_FILE = "file:"


@dataclass(frozen=True)
class State:
    """An axis at a moment, or an export on disk: what every reading job works on.

    `built_at` is the commit whose axis.yaml goes with it, where that is not the snapshot's.
    `reread` is the kept export of a snapshot as another dictionary reads it than the recorded one.
    """

    name: str
    vault: Vault | None = None
    address: Address | None = None
    snapshot: Snapshot | None = None
    is_latest: bool = False
    export: Export | None = None
    built_at: str | None = None
    reread: Export | None = None

    @property
    def _read(self) -> Export | None:
        """The export that the set is read from; None where it is as recorded."""
        return self.export or self.reread

    @property
    def record(self) -> SnapshotRecord | None:
        """Who took it, when and why; None for a file."""
        return self.snapshot.record if self.snapshot else None

    @cached_property
    def parameters_text(self) -> bytes:
        """parameters.yaml of this state, by the rules of today: what is compared has the same."""
        if self._read is not None:
            return self._read.parameters_text
        vault, address, snapshot = self._stored()
        version = snapshot.record.normalisation
        if version != VERSION and not reads_as_today(version, self.family):
            return self.kept_export().parameters_text
        return vault.read_required(layout.parameters_file(address), snapshot.id)

    @cached_property
    def parameters(self) -> ParameterSet:
        """The parameter set."""
        if self._read is not None:
            return self._read.parameters
        return read_parameters(self.parameters_text, f"{self.name}: parameters.yaml")

    @property
    def nameplate(self) -> Mapping[str, str]:
        """Nameplate as the export states it."""
        if self._read is not None:
            return self._read.nameplate
        record = self.record
        return record.nameplate if record else {}

    @property
    def family_name(self) -> str | None:
        """Name of the family, None where the export describes itself."""
        if self.export is not None:
            return self.export.family_name
        record = self.record
        return record.family if record else None

    @cached_property
    def family(self) -> Family | None:
        """The dictionary that the set is read with: of a snapshot the one it was taken with."""
        if self._read is not None:
            return self._read.dictionary
        vault, _, snapshot = self._stored()
        name = self.family_name
        return vault.family_file(name, snapshot.id).family if name else None

    @cached_property
    def definitions(self) -> Mapping[str, Definition]:
        """What the dictionary, or a self-describing export, says about each parameter."""
        if self._read is not None:
            return self._read.definitions
        if self.family is None or self.family.export.format in SELF_DESCRIBING:
            return self.kept_export().definitions
        known = family_definitions(self.family, self.nameplate.get("firmware"))
        return {**self.kept_export().definitions, **known} if self.family.open else known

    @cached_property
    def coverage(self) -> Coverage:
        """What of the drive's set it has: as it was recorded, else worked out again.

        Raises Damaged where the export that it would be worked out from is not there.
        """
        if self._read is not None:
            return self._read.coverage
        held = self.snapshot.coverage if self.snapshot is not None else None
        return held if held is not None else self.kept_export().coverage

    @cached_property
    def axis_text(self) -> bytes | None:
        """axis.yaml: as of now for the latest snapshot, else as of the snapshot.

        Where none was recorded by then, the present one stands in.
        """
        if self.vault is None or self.address is None or self.snapshot is None:
            return None
        path = layout.axis_file(self.address)
        commit = self.built_at or self.snapshot.id
        then = None if self.is_latest else self.vault.read(path, commit)
        return then if then is not None else self.vault.axis_text(self.address)

    @property
    def axis(self) -> AxisRecord | None:
        """The axis as built."""
        return None if self.axis_text is None else cached_axis(self.axis_text, "axis.yaml")

    @property
    def addenda(self) -> tuple[Correction, ...]:
        """What people added about the snapshot afterwards."""
        if self.vault is None or self.address is None or self.snapshot is None:
            return ()
        return addenda_of(self.vault, self.address).get(self.snapshot.id, ())

    def export_content(self) -> bytes:
        """The export, byte for byte."""
        if self.export is not None:
            return self.export.content
        vault, address, snapshot = self._stored()
        path = layout.export_file(address, snapshot.record.export_name)
        return vault.read_required(path, snapshot.id)

    def kept_export(self) -> Export:
        """The export of a snapshot, read with the dictionary that it was taken with."""
        from vault.jobs.export.read_export import read_export  # loads every format

        _, _, snapshot = self._stored()
        record = snapshot.record
        family = None
        if record.family and self.vault is not None:
            family = self.vault.family_file(record.family, snapshot.id)
        return read_export(
            self.export_content(),
            record.export_name,
            family,
            channel=record.channel,
            node_id=record.node_id,
            pick=record.pick,
            partial=True,
        )

    def _stored(self) -> tuple[Vault, Address, Snapshot]:
        if self.vault is None or self.address is None or self.snapshot is None:
            raise WrongUsage(f"{self.name} is not kept in a vault")
        return self.vault, self.address, self.snapshot


def view_of(state: State, other: State | None = None, *, text: bytes | None = None) -> AxisView:
    """The state with everything that gives its numbers a meaning.

    What an export on disk does not know about the machine is taken from the `other` side. With
    `text` only those of its parameters are seen.
    """
    axis_text = state.axis_text
    if axis_text is None and other is not None and (state.export or state.address == other.address):
        axis_text = other.axis_text
    return AxisView(
        state.name,
        state.parameters_text if text is None else text,
        state.family_name,
        lambda: state.definitions,
        nameplate=state.nameplate,
        axis_text=axis_text,
        read_axis=lambda text: cached_axis(text, "axis.yaml"),
        may_lack=lambda: may_lack(state),
        defaults=lambda: defaults_of(state),
        read_policy=lambda: policy_of(state.vault or (other.vault if other is not None else None)),
    )


def policy_of(vault: Vault | None) -> HazardPolicy:
    """What counts as a hazard on the site; our own choice for files of no vault."""
    if vault is not None:
        with suppress(VaultError):  # a vault.yaml that cannot be read: who needs it is told so
            return vault.site_record.hazards
    return HazardPolicy()


def may_lack(state: State) -> bool:
    """Whether the drive may have what the set has not: also where its export tells no more."""
    try:
        return state.coverage.may_lack
    except VaultError:  # verify tells that better
        return True


def defaults_of(state: State) -> tuple[str, ...]:
    """Codes whose value is the file's default; none where the export tells no more."""
    try:
        return state.coverage.defaults
    except VaultError:  # verify tells that better
        return ()


def is_file(selector: str) -> bool:
    """Say whether a selector stands for an export on disk."""
    return selector.startswith(_FILE)


def state_of_file(
    selector: str, family: FamilyFile | None, known: list[FamilyFile], channel: int | None = None
) -> State:
    """State that an export on disk holds."""
    from vault.jobs.export.content import read_content
    from vault.jobs.export.read_export import read_export

    path = Path(selector.removeprefix(_FILE))
    export = read_export(
        read_content(path), str(path), family, known=known, channel=channel, partial=True
    )
    return State(name=selector, export=export)


def resolve(
    vault: Vault, selector: str, family: str | None = None, channel: int | None = None
) -> State:
    """State that a selector stands for. Raises WrongUsage saying what there is instead."""
    if is_file(selector):
        named = vault.family_file(family) if family else None
        known = [] if named else [vault.family_file(name) for name in vault.family_names()]
        return state_of_file(selector, named, known, channel)
    text, _, when = selector.partition("@")
    address = vault.require_axis(vault.address(text))
    selector = f"{address}@{when}" if when else str(address)
    if when == "golden":
        return replace(golden_state(vault, address), name=selector)
    snapshot = _snapshot(vault, address, when or "latest")
    latest = vault.latest(address)
    is_latest = latest is not None and latest.id == snapshot.id
    return State(selector, vault, address, snapshot, is_latest)


def _snapshot(vault: Vault, address: Address, when: str) -> Snapshot:
    index = vault.index
    count = index.count(address)
    if count == 0:
        raise WrongUsage(f"{address} has no snapshot yet", hint="axisvault ingest FILE --to M/A")
    if back := _BACK.fullmatch(when):
        return _needed(index.nth_latest(address, int(back[1])), address, when, f"it has {count}")
    if when == "latest":
        return _needed(index.nth_latest(address, 0), address, when)
    if when == "previous":
        return _needed(index.nth_latest(address, 1), address, when, "it has only one")
    if when == "first":
        return _needed(index.first(address), address, when)
    if _ID.fullmatch(when):
        return by_id(vault, address, when.lower())
    moment = parse_time(when) if re.match(r"\d{4}-", in_iso(when)) else None
    if moment is None:
        raise WrongUsage(
            f"{when!r} names no moment",
            hint="latest, previous, first, golden, ~N, a commit id, or a date",
        )
    first = _needed(index.first(address), address, "first").record.taken_at
    reason = f"its first is of {minute_text(first)}"
    return _needed(index.latest_at(address, microseconds(moment)), address, when, reason)


def _needed(
    found: Snapshot | None, address: Address, when: str, reason: str | None = None
) -> Snapshot:
    if found is None:
        raise WrongUsage(f"{address} has no snapshot {when!r}" + (f": {reason}" if reason else ""))
    return found


def golden_state(vault: Vault, address: Address) -> State:
    """The golden baseline of an axis, which is another axis's where it follows one.

    Raises WrongUsage where there is none.
    """
    source = vault.follows(address) or address
    approval = vault.golden(source).approval
    if approval is None:
        raise WrongUsage(
            f"{source} has no golden baseline", hint=f"axisvault golden approve {source}"
        )
    return approved_state(vault, f"{address}@golden", source, approval)


def approved_state(vault: Vault, name: str, address: Address, approval: Approval) -> State:
    """The snapshot that an approval names, on the machine as it was recorded then."""
    snapshot = by_id(vault, address, approval.snapshot)
    return State(name, vault, address, snapshot, built_at=approval.vault_at)


def by_id(vault: Vault, address: Address, start: str) -> Snapshot:
    """The snapshot whose commit id starts so. Raises WrongUsage where there is not just one."""
    found = vault.index.by_id(address, start)
    if len(found) > 1:
        raise WrongUsage(
            f"{start!r} is the start of {plural(len(found), 'snapshot')}", hint="give more digits"
        )
    if found:
        return found[0]
    commit = vault.repository.resolve(f"{start}^{{commit}}")
    if commit is not None and not commit.startswith(start):  # a branch or tag of that name
        commit = None
    text = vault.read(layout.snapshot_file(address), commit) if commit else None
    if text is None:
        raise WrongUsage(f"{address} has no snapshot {start!r}")
    shown = replace(read_snapshot(text, layout.snapshot_file(address)), previous=None)
    moment = microseconds(shown.taken_at)
    then = recorded_between(vault.index, address, moment, moment)
    same = (s for s in reversed(then) if replace(s.as_recorded.record, previous=None) == shown)
    return _needed(next(same, None), address, start)

"""Recording snapshots: each at its place in time, all of them or none.

A snapshot newer than its axis's latest becomes the next commit. A late entry becomes a side commit
on top of the snapshot before it in time, and a merge that keeps the newer tree; there the newest
snapshot.yaml is linked anew, so the tip depends on what was recorded and not in which order.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from vault.model.names import Address
from vault.model.snapshots import SnapshotRecord
from vault.store.clock import microseconds, now
from vault.store.files import layout
from vault.store.files.snapshot_text import commit_message, digest, snapshot_text
from vault.store.files.vault_format import RECORDS
from vault.store.git.fast_import import CommitText, FastImport
from vault.store.git.repository import commit_text
from vault.store.index.recorded_order import in_recorded_order, latest_recorded
from vault.store.index.rows import Snapshot
from vault.store.vault import RAISED, FamilyFile, Vault


@contextmanager
def recording(vault: Vault) -> Iterator[Recorder]:
    """Record snapshots; the branch moves once, at the end, if everything went well.

    The vault must be held for writing.
    """
    with vault.index.recording():
        with vault.repository.start_writing() as writer:
            recorder = Recorder(vault, writer)
            yield recorder
        if recorder.tip != vault.tip:
            vault.advance(recorder.tip)
            vault.index.branch_moved(recorder.tip)
            vault.tip = recorder.tip


class Recorder:
    """Writes snapshots that become visible together. See `recording`."""

    def __init__(self, vault: Vault, writer: FastImport) -> None:
        self._vault = vault
        self._writer = writer
        self._links: dict[Address, str] = {}
        self._fresh: dict[str, bytes] = {}
        self._read: tuple[str, bytes] | None = None
        self._format = 0
        self.tip = vault.tip

    def parameters_of(self, snapshot: Snapshot) -> bytes:
        """parameters.yaml of a snapshot of the vault, or of one recorded here."""
        if self._read is None or self._read[0] != snapshot.id:
            packed = self._fresh.get(snapshot.id)
            if packed is not None:  # git reads it only once the import has ended
                text = zlib.decompress(packed)
            else:
                text = self._vault.read_required(
                    layout.parameters_file(snapshot.address), snapshot.id
                )
            self._read = snapshot.id, text
        return self._read[1]

    def record(
        self,
        address: Address,
        record: SnapshotRecord,
        parameters: bytes,
        export: bytes,
        family: FamilyFile | None,
    ) -> Snapshot:
        """Record one snapshot; `record.previous` is filled in here."""
        self._raise_format(
            record.by, layout.CONTROLLER_FORMAT if address.is_controller else RECORDS
        )
        latest = latest_recorded(self._vault.index, self._vault.repository, address)
        moment = microseconds(record.taken_at)
        if latest is not None and moment < microseconds(latest.record.taken_at):
            before = latest_recorded(self._vault.index, self._vault.repository, address, moment)
            return self._insert(address, record, parameters, export, family, before)
        if latest is not None:
            record = replace(record, previous=self._link(address))
        snapshot = self._commit(address, record, parameters, export, self.tip, latest)
        self.tip = snapshot.id
        self._links[address] = digest(snapshot.text)
        return snapshot

    def _raise_format(self, by: str, wanted: int) -> None:
        """Have vault.yaml say what reads the first record of today's kind."""
        if wanted <= self._format:
            return
        self._format = wanted
        if changes := self._vault.raised_format(wanted):
            text = commit_text(RAISED, by)
            self.tip = self._writer.commit(text, changes, parent=self.tip)

    def _insert(
        self,
        address: Address,
        record: SnapshotRecord,
        parameters: bytes,
        export: bytes,
        family: FamilyFile | None,
        before: Snapshot | None,
    ) -> Snapshot:
        if before is not None:
            record = replace(record, previous=digest(before.text))
        parent = None if before is None else before.id
        snapshot = self._commit(address, record, parameters, export, parent, before, family)
        newest = closing_record(
            in_recorded_order(self._vault.index, self._vault.repository, address)
        )
        moment = now()
        subject = f"{address}: late entry of {record.taken_at:%Y-%m-%d} put at its place in time\n"
        self.tip = self._writer.commit(
            CommitText(subject, record.by, moment, moment),
            {layout.snapshot_file(address): newest},
            parent=self.tip,
            merged=snapshot.id,
        )
        self._links[address] = digest(newest)
        return snapshot

    def _link(self, address: Address) -> str:
        """Hash of the newest snapshot.yaml as it stands at the tip."""
        if address not in self._links:
            content = self._vault.read_required(layout.snapshot_file(address), self._vault.tip)
            self._links[address] = digest(content)
        return self._links[address]

    def _commit(
        self,
        address: Address,
        record: SnapshotRecord,
        parameters: bytes,
        export: bytes,
        parent: str | None,
        before: Snapshot | None,
        family: FamilyFile | None = None,
    ) -> Snapshot:
        text = snapshot_text(record)
        files = {
            layout.snapshot_file(address): text,
            layout.parameters_file(address): parameters,
            layout.export_file(address, record.export_name): export,
        }
        if family is not None:  # a side commit may not have it, or an older one
            files[layout.family_file(family.name)] = family.content
        commit = self._writer.commit(
            CommitText(commit_message(address, record), record.by, record.taken_at, now()),
            files,
            parent=parent,
            emptied=[] if before is None else [layout.export_folder(address)],
        )
        old = None if before is None else self.parameters_of(before)
        self._vault.index.add(address, commit, text, record, parameters, old)
        self._fresh[commit] = zlib.compress(parameters, 1)
        return Snapshot(0, address, commit, text)


def closing_record(snapshots: Iterable[Snapshot]) -> bytes:
    """The newest snapshot.yaml, linked as if all had been recorded in the order they were taken."""
    text, previous = b"", None
    for snapshot in snapshots:
        text = snapshot_text(replace(snapshot.record, previous=previous))
        previous = digest(text)
    return text

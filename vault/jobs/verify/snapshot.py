"""One snapshot against itself: its record, its export, what both give, and its commit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem, problem_of
from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.model.errors import Damaged, VaultError
from vault.model.normalise import VERSIONS
from vault.store.clock import git_time
from vault.store.files import layout
from vault.store.files.snapshot_text import commit_message, digest, snapshot_text

if TYPE_CHECKING:
    from vault.jobs.verify.recompute import Recomputer
    from vault.jobs.verify.stored_snapshot import StoredSnapshot
    from vault.store.index.rows import Snapshot


def check_snapshot(
    stored: StoredSnapshot, recomputer: Recomputer, remarks: list[str]
) -> Iterator[Problem]:
    """What is wrong with one snapshot by itself; `remarks` gets what is worth knowing and right."""
    try:
        for kind, details in _misfits(stored, recomputer, remarks):
            yield problem_of(kind, stored.snapshot, details)
    except VaultError as error:
        yield problem_of("record", stored.snapshot, str(error))


def _misfits(
    stored: StoredSnapshot, recomputer: Recomputer, remarks: list[str]
) -> Iterator[tuple[str, str]]:
    """Kind and details of every problem. Raises Damaged where record or commit cannot be read."""
    record = stored.snapshot.record
    if snapshot_text(record) != stored.snapshot.text:
        yield "record", "snapshot.yaml is not as it was written"
    if stored.export is None:
        yield "export", f"the export {record.export_name} is missing"
        return
    if digest(stored.export) != record.export_sha256:
        yield "export", f"the export {record.export_name} is not the one that was recorded"
    if stored.family_sha256 != record.family_sha256:
        yield "family", f"the dictionary {record.family} is not the one that was recorded"
        return
    try:
        yield from _parameter_misfits(stored, stored.export, recomputer, remarks)
    except VaultError as error:
        yield "parameters", f"the values cannot be recomputed: {error}"
    yield from _commit_misfits(stored)


def _parameter_misfits(
    stored: StoredSnapshot, export: bytes, recomputer: Recomputer, remarks: list[str]
) -> Iterator[tuple[str, str]]:
    snapshot, record, kept = stored.snapshot, stored.snapshot.record, stored.parameters
    if kept is None:
        path = layout.parameters_file(snapshot.address)
        raise Damaged("the vault misses this file", file=f"{snapshot.id[:10]}:{path}")
    recomputed, coverage = recomputer.recompute(export, stored.family, record)
    if record.coverage is not None and record.coverage != coverage:
        yield "coverage", f"recorded as {record.coverage.kind}, and it is: {coverage.sentence}"
    if recomputed == kept:
        return
    if record.normalisation in VERSIONS:
        yield "parameters", "parameters.yaml is not what the export and the dictionary give"
        return
    left, right = AxisView("kept", kept), AxisView("recomputed", recomputed)
    if compare(left, right).news:
        version = record.normalisation
        yield "parameters", f"the values are not those of version {version} of the rules"
        return
    remarks.append(_of_older_rules(snapshot))


def _of_older_rules(snapshot: Snapshot) -> str:
    return (
        f"{snapshot.address}@{snapshot.id[:10]}: written by version "
        f"{snapshot.record.normalisation} of the rules; its values mean the same today"
    )


def _commit_misfits(stored: StoredSnapshot) -> Iterator[tuple[str, str]]:
    snapshot, header, record = stored.snapshot, stored.header, stored.snapshot.record
    if header.message != commit_message(snapshot.address, record):
        yield "message", "the commit message does not say what the record says"
    if header.author != record.by:
        yield "message", f"the commit's author is {header.author}, not {record.by}"
    if header.authored != git_time(record.taken_at):
        yield "message", "the commit's author date is not when the export was taken"

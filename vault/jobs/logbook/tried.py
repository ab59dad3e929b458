"""Entries of what was tried at the axis: trials, and traces of its moves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.logbook.entries import LogEntry, LogLink
from vault.jobs.trials.kept import result_of
from vault.jobs.trials.trace_told import trace_told
from vault.model.errors import VaultError

if TYPE_CHECKING:
    from vault.meaning.trials.verdict import TrialFinding
    from vault.model.names import Address
    from vault.store.files.trace_record_text import TraceRecord
    from vault.store.files.trial_text import Trial
    from vault.store.vault import Vault


def trial_entry(vault: Vault, address: Address, trial: Trial) -> LogEntry:
    """A trial with what it came to, and what failed of it."""
    links = [
        LogLink("the trial", "trial", trial.name),
        LogLink(trial.snapshot[:10], "snapshot", trial.snapshot),
    ]
    said = [f"On snapshot {trial.snapshot[:10]}: the trial."]
    failed: tuple[TrialFinding, ...] = ()
    try:
        verdict = result_of(vault, address, trial).verdict
    except VaultError as error:
        said.append(f"It cannot be held against its snapshot: {error.message}.")
    else:
        failed = verdict.failed
        said.append(verdict.summary)
    if trial.record.note:
        said.append(trial.record.note)
    links += (
        LogLink(suspect.code, "parameter", suspect.code)
        for found in failed
        for suspect in found.suspects
        if suspect.code is not None
    )
    return LogEntry(
        "trial", trial.taken_at, trial.by, "trial", tuple(said),
        tuple(found.sentence for found in failed), links=tuple(links), snapshot=trial.snapshot,
    )  # fmt: skip


def trace_entry(vault: Vault, address: Address, record: TraceRecord) -> LogEntry:
    """A trace with what became of the axis since the earlier one of its move."""
    told = trace_told(vault, address, record)
    said = f"On snapshot {record.snapshot[:10]}: the trace. {told.summary}"
    links = (
        LogLink("the trace", "trace", record.name),
        LogLink(record.snapshot[:10], "snapshot", record.snapshot),
    )
    return LogEntry(
        "trace", record.taken_at, record.by, "trace", (said,), told.changes, links=links,
        snapshot=record.snapshot,
    )  # fmt: skip

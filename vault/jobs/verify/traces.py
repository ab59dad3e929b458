"""Traces: each can be read, has the recording that was kept, is of a snapshot of its axis."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem
from vault.model.errors import VaultError
from vault.store.files.trace_record_text import (
    is_trace_name,
    matches,
    read_trace_record,
    trace_folder,
)

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.git.ancestry import Ancestry
    from vault.store.vault import Vault


def trace_problems(
    vault: Vault, address: Address, name: str, recorded: Collection[str], history: Ancestry
) -> Iterator[Problem]:
    """What is wrong with a trace; `recorded` are the snapshots of its axis."""
    path = f"{trace_folder(address, name)}/trace.yaml"
    if not is_trace_name(name):
        yield Problem("trace", path, "it lies under a name that no trace has")
        return
    try:
        trace = read_trace_record(vault.read_required(path, vault.tip), path)
        recording = f"{trace_folder(address, name)}/{trace.file}"
        if not matches(trace, vault.read_required(recording, vault.tip)):
            yield Problem("trace", recording, "it is not the recording that was kept")
    except VaultError as error:
        yield Problem("trace", path, str(error))
        return
    if trace.snapshot not in recorded:
        yield Problem("trace", path, f"{trace.snapshot} is no snapshot of this axis")
    if trace.vault_at not in history:
        yield Problem("trace", path, f"{trace.vault_at} is no commit of this vault")

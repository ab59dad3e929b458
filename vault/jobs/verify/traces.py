"""Traces: each can be read, is of a snapshot of its axis, and its recording is the one kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from vault.jobs.trials.trace_kept import recording
from vault.jobs.verify.outcome import Problem
from vault.model.errors import VaultError
from vault.store.files import layout
from vault.store.files.moment_names import is_moment_name
from vault.store.files.trace_record_text import read_trace_record

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def trace_problems(
    vault: Vault,
    address: Address,
    name: str,
    is_snapshot: Callable[[Address, str], bool],
    is_commit: Callable[[str], bool],
) -> Iterator[Problem]:
    """What is wrong with a trace; the questions are those of `named_problems`."""
    path = layout.trace_file(address, name)
    if not is_moment_name(name):
        yield Problem("trace", path, "it lies under a name that no trace has")
        return
    try:
        record = read_trace_record(vault.read_required(path, vault.tip), path)
    except VaultError as error:
        yield Problem("trace", path, str(error))
        return
    if not is_snapshot(address, record.snapshot):
        yield Problem("trace", path, f"{record.snapshot} is no snapshot of this axis")
    if not is_commit(record.vault_at):
        yield Problem("trace", path, f"{record.vault_at} is no commit of this vault")
    try:
        recording(vault, address, record)
    except VaultError as error:
        yield Problem("trace", error.file or path, error.message)
    own = {path, f"{layout.trace_folder(address, name)}/{record.file}"}
    folder = layout.trace_folder(address, name)
    for entry in vault.repository.list(vault.tip, folder, recursive=True):
        if entry.path not in own:
            yield Problem("trace", entry.path, "it is no file of this trace")

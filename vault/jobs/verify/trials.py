"""Trials: each can be read, is of a snapshot of its axis, and was added to this history."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem
from vault.model.errors import VaultError
from vault.store.files import layout
from vault.store.files.moment_names import is_moment_name
from vault.store.files.trial_text import read_kept_trial

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def trial_problems(
    vault: Vault,
    address: Address,
    name: str,
    is_snapshot: Callable[[Address, str], bool],
    is_commit: Callable[[str], bool],
) -> Iterator[Problem]:
    """What is wrong with a trial; the questions are those of `named_problems`."""
    path = layout.trial_file(address, name)
    if not is_moment_name(name):
        yield Problem("trial", path, "it lies under a name that no trial has")
        return
    try:
        trial = read_kept_trial(vault.read_required(path, vault.tip), path)
    except VaultError as error:
        yield Problem("trial", path, str(error))
        return
    if not is_snapshot(address, trial.snapshot):
        yield Problem("trial", path, f"{trial.snapshot} is no snapshot of this axis")
    if not is_commit(trial.vault_at):
        yield Problem("trial", path, f"{trial.vault_at} is no commit of this vault")

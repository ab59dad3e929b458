"""Trials: each can be read, is of a snapshot of its axis, and was added to this history."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem
from vault.model.errors import VaultError
from vault.store.files import layout
from vault.store.files.moment_names import is_moment_name
from vault.store.files.trial_text import read_kept_trial

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.git.ancestry import Ancestry
    from vault.store.vault import Vault


def trial_problems(
    vault: Vault, address: Address, name: str, recorded: Collection[str], history: Ancestry
) -> Iterator[Problem]:
    """What is wrong with a trial; `recorded` are the snapshots of its axis."""
    path = layout.trial_file(address, name)
    if not is_moment_name(name):
        yield Problem("trial", path, "it lies under a name that no trial has")
        return
    try:
        trial = read_kept_trial(vault.read_required(path, vault.tip), path)
    except VaultError as error:
        yield Problem("trial", path, str(error))
        return
    if trial.snapshot not in recorded:
        yield Problem("trial", path, f"{trial.snapshot} is no snapshot of this axis")
    if trial.vault_at not in history:
        yield Problem("trial", path, f"{trial.vault_at} is no commit of this vault")

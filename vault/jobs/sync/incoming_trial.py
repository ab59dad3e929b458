"""Why a trial that another copy has does not hold here: what an approval may rest on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.store.files.trial_text import read_kept_trial
from vault.store.git.history import is_ancestor
from vault.store.index.recorded import is_recorded

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def foreign_trial_objection(
    vault: Vault, address: Address, path: str, content: bytes, authors: Sequence[str],
    *, partner: str, tip: str,
) -> str | None:  # fmt: skip
    """Why it needs consent; None where it does not. `authors` wrote the file there, in turn.

    A trial stays as it was added. Raises Damaged for one that cannot be read.
    """
    there = read_kept_trial(content, f"{partner}:{path}")
    if vault.read(path) is not None:
        return "it is not the trial that was added"
    if not is_recorded(vault.repository, tip, address, there.snapshot):
        return "what it belongs to is no snapshot of this axis"
    if not is_ancestor(vault.repository, there.vault_at, tip):
        return "it was added on a history that is not there"
    return f"it was written {len(authors)} times" if len(authors) > 1 else None

"""What tests of names and retirement share."""

from __future__ import annotations

from vault.jobs.verify.verify import verify
from vault.store.vault import Vault


def sound(vault: Vault) -> None:
    """Nothing is wrong, before and after the index is made anew."""
    vault.refresh()
    for _ in range(2):
        outcome = verify(vault)
        assert (outcome.problems, outcome.remarks) == ([], [])
        vault.index.rebuild()

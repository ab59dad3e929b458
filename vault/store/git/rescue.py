"""A vault that git cannot read any more: which of its states is still there.

Git is asked in a folder of ours that shows the other one's objects, so that it answers although
files of that one are empty or garbage, as after a power cut.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from vault.model.errors import VaultError
from vault.store.git.folder import view_of
from vault.store.git.repository import BRANCH, Repository


def whole_state(folder: Path, commits: Iterable[str]) -> str | None:
    """The first of some commits that is there with everything in its history; None without one."""
    for commit in commits:
        try:
            with view_of(folder, BRANCH, commit) as view, Repository(view) as repository:
                listed = repository.git.outcome("rev-list", "--objects", "--quiet", commit)
                if listed.status == 0 and repository.read(commit, "vault.yaml") is not None:
                    return commit
        except VaultError:
            continue
    return None

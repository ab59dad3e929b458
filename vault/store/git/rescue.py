"""A vault that git cannot read any more: why, and which of its states is still there.

Git is asked in a folder of ours that shows the other one's objects, so that it answers although
files of that one are empty or garbage, as after a power cut.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from vault.model.errors import Damaged, VaultError
from vault.store.git.folder import branch_of, view_of
from vault.store.git.repository import BRANCH, SEE_VERIFY, Repository

_HEAD = re.compile(rb"ref: refs/\S+\n?|[0-9a-f]{40}\n?")


def why_unreadable(folder: Path) -> Damaged:
    """The error for a vault whose branch cannot be read."""
    if not _HEAD.fullmatch((folder / "HEAD").read_bytes()[:500]):
        return Damaged("git's file is empty or garbage", file=str(folder / "HEAD"), hint=SEE_VERIFY)
    commit = branch_of(folder, BRANCH)
    file = folder / BRANCH
    if commit is None:
        what = "is empty or garbage" if file.exists() else "is gone"
        return Damaged(f"the vault's branch {what}", file=str(file), hint=SEE_VERIFY)
    return Damaged(
        f"git cannot read the vault's newest state, commit {commit[:10]}", file=str(folder),
        hint=SEE_VERIFY,
    )  # fmt: skip


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

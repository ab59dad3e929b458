"""Are commits signed where that is required, and by whom?

What holds for a commit is what the main line had before it came in: policy and allowed signers of
its first parent; of the merge's, for a late entry and for what another copy of the vault had. So
nobody can allow himself to sign.
"""

from __future__ import annotations

import tempfile
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.model.errors import Unreadable
from vault.store.files import layout
from vault.store.files.edited_files import read_site
from vault.store.git.commit_lines import CommitLines

if TYPE_CHECKING:
    from vault.store.vault import Vault

# What git says of a signature (git log, %G?).
_WHY = {
    "N": "it is not signed, and had to be",
    "B": "its signature is wrong: the commit was changed after it was signed",
    "U": "it is signed with a key that was not allowed then",
    "E": "its signature cannot be checked",
    "X": "its signature had expired",
    "Y": "it is signed with a key that had expired",
    "R": "it is signed with a key that was revoked",
}


@dataclass(frozen=True, slots=True)
class BadSignature:
    """A commit that is not signed as it had to be, and why."""

    commit: str
    details: str


def bad_signatures(vault: Vault, since: str | None = None) -> Iterator[BadSignature]:
    """Commits, of the whole history or since one, that are not signed as was required."""
    if not _was_ever_required(vault):
        return
    by_signers: defaultdict[bytes, list[str]] = defaultdict(list)
    for commit, policy_of in _commits(vault, since):
        if policy_of is not None and _is_required(vault, policy_of):
            by_signers[vault.read(layout.SIGNERS, policy_of) or b""].append(commit)
    for signers, commits in by_signers.items():
        yield from _checked(vault, signers, commits)


def bad_under(vault: Vault, before: str, tip: str) -> Iterator[BadSignature]:
    """Commits that a tip has beyond another one, and that are not signed as that one requires."""
    if _is_required(vault, before):
        signers = vault.read(layout.SIGNERS, before) or b""
        commits = vault.repository.run("rev-list", tip, f"^{before}").split()
        yield from _checked(vault, signers, commits)


def _was_ever_required(vault: Vault) -> bool:
    return any(_is_required(vault, one.commit) for one in vault.repository.log(layout.VAULT))


def _is_required(vault: Vault, commit: str) -> bool:
    content = vault.read(layout.VAULT, commit) or b""
    if b"signing" not in content:
        return False
    try:
        return read_site(content, layout.VAULT).signing.required
    except Unreadable:  # somebody broke it by hand: what cannot be read requires nothing
        return False


def _commits(vault: Vault, since: str | None) -> Iterator[tuple[str, str | None]]:
    """Every commit, and the one whose policy holds for it; None for the first."""
    lines = CommitLines(vault.repository, vault.tip)
    range_ = [vault.tip, *([f"^{since}"] if since else [])]
    for commit in vault.repository.lines("rev-list", *range_):
        yield commit, lines.before_on_main(commit)


def _checked(vault: Vault, signers: bytes, commits: list[str]) -> Iterator[BadSignature]:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "allowed_signers"
        file.write_bytes(signers)
        arguments = ("-c", f"gpg.ssh.allowedSignersFile={file}", "log", "--no-walk=unsorted",
                     "--format=%H %G?")  # fmt: skip
        for start in range(0, len(commits), 500):
            for line in vault.repository.lines(*arguments, *commits[start : start + 500]):
                commit, verdict = line.split()[:2]
                if verdict != "G":
                    yield BadSignature(commit, _WHY.get(verdict, "its signature is not good"))

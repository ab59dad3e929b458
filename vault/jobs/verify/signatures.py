"""Are commits signed where that is required, each by its author?

What holds for a commit is what the main line had before it came in: policy and allowed signers of
its first parent; of the merge's, for a late entry and for what another copy of the vault had. So
nobody can allow himself to sign.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem, problem_of
from vault.model.errors import Unreadable
from vault.store.files import layout
from vault.store.files.edited_files import read_site
from vault.store.files.yaml_text import may_mention
from vault.store.git.ancestry import ancestry
from vault.store.git.history import commits_between, commits_changing
from vault.store.git.signatures import signatures
from vault.store.index.rows import Snapshot

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from vault.jobs.verify.stored_snapshot import SnapshotPlace
    from vault.model.names import Address
    from vault.store.vault import Vault


def signature_problems(
    vault: Vault, places: Mapping[Address, Sequence[SnapshotPlace]], since: str | None = None
) -> Iterator[Problem]:
    """Commits that are not signed as was required, those of the snapshots at `places` by name."""
    snapshots = {place.commit: (address, place) for address in places for place in places[address]}
    for bad in bad_signatures(vault, since):
        if bad.commit not in snapshots:
            yield Problem("signature", bad.commit[:10], bad.details)
            continue
        address, place = snapshots[bad.commit]
        text = vault.repository.blob(place.blob) or b""
        yield problem_of("signature", Snapshot(place.seq, address, place.commit, text), bad.details)


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
        commits = list(commits_between(vault.repository, before, tip))
        yield from _checked(vault, signers, commits)


def _was_ever_required(vault: Vault) -> bool:
    edits = commits_changing(vault.repository, vault.tip, layout.VAULT)
    return any(_is_required(vault, edit.commit) for edit in edits)


def _is_required(vault: Vault, commit: str) -> bool:
    content = vault.read(layout.VAULT, commit) or b""
    if not may_mention(content, b"signing"):
        return False
    try:
        return read_site(content, layout.VAULT).signing.required
    except Unreadable:  # somebody broke it by hand: what cannot be read requires nothing
        return False


def _commits(vault: Vault, since: str | None) -> Iterator[tuple[str, str | None]]:
    """Every commit, and the one whose policy holds for it; None for the first."""
    history = ancestry(vault.repository, vault.tip)
    for commit in commits_between(vault.repository, since, vault.tip):
        yield commit, history.before_on_main(commit)


def _checked(vault: Vault, signers: bytes, commits: list[str]) -> Iterator[BadSignature]:
    for signature in signatures(vault.repository, commits, signers):
        if signature.objection is not None:
            yield BadSignature(signature.commit, signature.objection)

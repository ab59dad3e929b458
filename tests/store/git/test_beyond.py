"""Histories whose clocks went back: what git gives of them, and what is true."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from tests.store.git.trees import Git, tree_of
from vault.store.git.history import (
    WrittenFile,
    commits_between,
    commits_with_parents,
    differ_in_merges_only,
    last_changes,
    written_files,
)
from vault.store.git.repository import Repository
from vault.store.vault import Vault


class Skewed(NamedTuple):
    """Two histories that both have `known`, which wrote k; `new` wrote n beside it.

    In that of `old` a computer joined it whose clock was behind, and went on for a while: so
    `git rev-list new ^old` gives `known` too (git 2.39).
    """

    repository: Repository
    old: str
    new: str
    known: str


@pytest.fixture
def skewed(vault: Vault, git: Git) -> Skewed:
    def commit(second: int, files: dict[str, str], *parents: str) -> str:
        who = f"Mira <mira@tileworks.example> {second} +0000"
        head = [f"tree {tree_of(git, files)}", *(f"parent {one}" for one in parents)]
        text = "\n".join([*head, f"author {who}", f"committer {who}", "", "made\n"])
        return git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()

    first = commit(500, {"f": "1"})
    other = commit(600, {"f": "1", "o": "1"}, first)
    known = commit(1000, {"k": "1"})  # a root of its own, as a late entry may be
    behind = commit(100, {"f": "1", "k": "1"}, first, known)
    for second in range(101, 120):
        behind = commit(second, {"f": "1", "k": "1", "b": str(second)}, behind)
    old = commit(700, {"f": "1", "k": "1", "o": "1", "b": "119"}, other, behind)
    added = commit(1050, {"f": "1", "n": "1"}, first)
    new = commit(1100, {"f": "1", "k": "1", "n": "1"}, added, known)
    return Skewed(vault.repository, old, new, known)


def test_what_both_have_is_not_between_them(skewed: Skewed, git: Git) -> None:
    repository, old, new, known = skewed
    there = set(git("rev-list", new).split()) - set(git("rev-list", old).split())
    assert len(there) == 2
    assert set(commits_between(repository, old, new)) == there
    assert list(commits_between(repository, old, new, merges=False)) == list(there - {new})
    assert {commit for commit, *_ in commits_with_parents(repository, old, new)} == there
    written = list(written_files(repository, old, new))
    assert [(one.commit, one.path) for one in written] == [(*(there - {new}), "n")]
    assert all(isinstance(one, WrittenFile) for one in written)
    assert last_changes(repository, old, new) == {"n": min(there - {new})}
    assert known in set(commits_between(repository, None, new))


def test_two_histories_that_differ_in_merges_alone(skewed: Skewed, git: Git) -> None:
    repository, old, new, _ = skewed
    tree = git("rev-parse", f"{old}^{{tree}}").strip()
    sides = [
        git("commit-tree", tree, *(f"-p{one}" for one in parents), stdin=b"joined").strip()
        for parents in ((old, new), (new, old))
    ]
    assert differ_in_merges_only(repository, *sides)
    assert not differ_in_merges_only(repository, sides[0], new), "other files"
    more = git("commit-tree", tree, f"-p{sides[1]}", stdin=b"more").strip()
    assert not differ_in_merges_only(repository, sides[0], more)
    assert not differ_in_merges_only(repository, more, sides[0])

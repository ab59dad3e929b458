"""Questions about a history that was made with the program git, by hand."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from tests.store.git.trees import Git, tree_of
from vault.model.errors import Damaged
from vault.store.git.history import (
    WrittenFile,
    changed_paths,
    commits_between,
    commits_changing,
    commits_with_parents,
    is_ancestor,
    merge_bases,
    merges_with_trailer,
    objects_between,
    written_files,
)
from vault.store.git.repository import Repository
from vault.store.vault import Vault


class Made(NamedTuple):
    """A history: `first`, then `ours` and `theirs` apart from each other, joined by `merge`.

    `ours` writes a/1/x, `theirs` writes a/2/x and takes `old` away; `stranger` stands on nothing.
    """

    repository: Repository
    first: str
    ours: str
    theirs: str
    merge: str
    stranger: str


@pytest.fixture
def made(vault: Vault, git: Git) -> Made:
    def commit(message: str, files: dict[str, str], *parents: str) -> str:
        on = [word for parent in parents for word in ("-p", parent)]
        return git("commit-tree", tree_of(git, files), *on, stdin=message.encode()).strip()

    first = commit("First\n", {"old": "1", "é": "1"})
    ours = commit("Ours\n\nmore\n", {"old": "1", "é": "1", "a/1/x": "1"}, first)
    theirs = commit("Theirs\n", {"é": "1", "a/2/x": "2"}, first)
    joined = "Joined\n\nFrom: laptop\nKept: a\nKept: b c\n"
    merge = commit(joined, {"é": "1", "a/1/x": "1", "a/2/x": "2"}, ours, theirs)
    return Made(vault.repository, first, ours, theirs, merge, commit("Alone\n", {"a/3/x": "3"}))


def test_a_commit_lies_in_its_own_history_and_in_that_of_what_stands_on_it(made: Made) -> None:
    assert is_ancestor(made.repository, made.first, made.merge)
    assert is_ancestor(made.repository, made.ours, made.ours)
    assert not is_ancestor(made.repository, made.merge, made.first)
    assert not is_ancestor(made.repository, made.ours, made.theirs)
    assert not is_ancestor(made.repository, "0" * 40, made.merge)


def test_what_two_histories_have_last_had_in_common(made: Made, git: Git) -> None:
    assert merge_bases(made.repository, made.ours, made.theirs) == [made.first]
    assert merge_bases(made.repository, made.ours, made.merge) == [made.ours]
    assert merge_bases(made.repository, made.ours, made.stranger) == []
    tree = git("rev-parse", f"{made.merge}^{{tree}}").strip()
    crossed = git("commit-tree", tree, "-p", made.theirs, "-p", made.ours, "-m", "Crossed").strip()
    assert set(merge_bases(made.repository, made.merge, crossed)) == {made.ours, made.theirs}


def test_a_history_that_is_not_there_has_nothing_that_could_be_said(made: Made) -> None:
    with pytest.raises(Damaged, match="git merge-base failed: "):
        merge_bases(made.repository, made.ours, "0" * 40)
    with pytest.raises(Damaged, match="git rev-list failed: "):
        list(commits_between(made.repository, None, "0" * 40))


def test_what_one_history_has_beyond_another(made: Made) -> None:
    new = list(commits_between(made.repository, made.ours, made.merge))
    assert new == [made.merge, made.theirs]
    every = list(commits_between(made.repository, None, made.merge))
    assert (every[0], every[-1], len(every)) == (made.merge, made.first, 4)


def test_commits_come_after_their_parents_and_with_them(made: Made) -> None:
    rows = list(commits_with_parents(made.repository, None, made.merge))
    assert rows[0] == (made.first,)
    assert set(rows[1:3]) == {(made.ours, made.first), (made.theirs, made.first)}
    assert rows[3] == (made.merge, made.ours, made.theirs)
    main = list(commits_with_parents(made.repository, made.first, made.merge, main_line=True))
    assert main == [(made.ours, made.first), (made.merge, made.ours, made.theirs)]


def test_objects_that_commits_brought_have_their_paths(made: Made, git: Git) -> None:
    found = dict(objects_between(made.repository, made.first, made.ours))
    assert found.pop(made.ours) == ""
    assert found.pop(git("rev-parse", f"{made.ours}^{{tree}}").strip()) == ""
    assert sorted(found.values()) == ["a", "a/1"]  # the content of a/1/x was there as `old`


def test_files_that_differ_in_two_commits(made: Made) -> None:
    assert changed_paths(made.repository, made.ours, made.theirs) == ["a/1/x", "a/2/x", "old"]
    assert changed_paths(made.repository, made.ours, made.ours) == []


def test_commits_that_changed_a_file_are_told_oldest_first_and_merges_are_none(made: Made) -> None:
    found = list(commits_changing(made.repository, made.merge, "old", "a/2"))
    assert [one.commit for one in found] == [made.first, made.theirs]
    assert (found[0].subject, found[0].by) == ("First", "Somebody Else <else@tileworks.example>")
    assert [one.subject for one in commits_changing(made.repository, made.merge, "é")] == ["First"]
    assert list(commits_changing(made.repository, made.merge, "no such file")) == []


def test_merges_are_found_by_a_trailer_and_tell_the_values_of_another(made: Made) -> None:
    ((logged, kept),) = merges_with_trailer(made.repository, made.merge, "From", "Kept")
    assert (logged.commit, logged.subject, kept) == (made.merge, "Joined", ("a", "b c"))
    ((_, none),) = merges_with_trailer(made.repository, made.merge, "Kept", "No-Such")
    assert none == ()
    assert list(merges_with_trailer(made.repository, made.merge, "To", "Kept")) == []
    assert list(merges_with_trailer(made.repository, made.ours, "From", "Kept")) == []


def test_files_of_a_pattern_come_as_commits_wrote_them(made: Made, git: Git) -> None:
    def blob(commit: str, path: str) -> str:
        return git("rev-parse", f"{commit}:{path}").strip()

    found = list(written_files(made.repository, None, made.merge, "a/*/x"))
    assert sorted(found) == sorted([
        WrittenFile(made.ours, "a/1/x", blob(made.ours, "a/1/x")),
        WrittenFile(made.theirs, "a/2/x", blob(made.theirs, "a/2/x")),
    ])  # fmt: skip
    new = written_files(made.repository, made.ours, made.merge, "*")
    assert [one.path for one in new] == [], "it took `old` away, and a star is no slash"
    assert [one.commit for one in written_files(made.repository, made.ours, made.merge, "**")] == [
        made.theirs
    ]


def test_a_setting_of_the_vault_is_kept_in_its_own_file(vault: Vault, git: Git) -> None:
    assert vault.repository.setting("axisvault.example") is None
    vault.repository.keep_setting("axisvault.example", "two words")
    assert vault.repository.setting("axisvault.example") == "two words"
    assert git("config", "--local", "axisvault.example") == "two words\n"

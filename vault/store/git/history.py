"""Questions about histories: which commits are in one, what they changed, what two have in common.

Commits are named by their id, or by the branch.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from sys import intern
from typing import TYPE_CHECKING, NamedTuple

from vault.model.errors import Damaged
from vault.store.git._program import first_line
from vault.store.git.beyond import Beyond
from vault.store.git.objects import LoggedCommit

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_LOGGED = ("%H", "%cI", "%an <%ae>", "%s")


class WrittenFile(NamedTuple):
    """A file as a commit wrote it, by the id of its content; empty where it was removed."""

    commit: str
    path: str
    blob: str


def is_ancestor(repository: Repository, old: str, new: str) -> bool:
    """Whether one commit lies in the history of another, or is it."""
    return repository.git.outcome("merge-base", "--is-ancestor", old, new).status == 0


def merge_bases(repository: Repository, left: str, right: str) -> list[str]:
    """The newest commits that two histories have in common; empty where they have none.

    Raises Damaged where one of them cannot be read.
    """
    found = repository.git.outcome("merge-base", "--all", left, right)
    if found.status not in (0, 1):  # 1: nothing in common
        raise Damaged(f"git merge-base failed: {first_line(found.complaint)}")
    return found.printed.split()


def differ_in_merges_only(repository: Repository, left: str, right: str) -> bool:
    """Whether two commits show the same files, and each knows of no more than merges that the
    other one does not know.
    """
    trees = {repository.resolve(f"{commit}^{{tree}}") for commit in (left, right)}
    return len(trees) == 1 and not any(
        next(commits_between(repository, *pair, merges=False), None)
        for pair in ((left, right), (right, left))
    )


def commits_between(
    repository: Repository, old: str | None, new: str, *, merges: bool = True
) -> Iterator[str]:
    """Commits in the history of one commit that another one has not, newest first; with `merges`
    or without.
    """
    which = () if merges else ("--no-merges",)
    beyond = Beyond(repository, old, new)
    for commit in repository.git.lines("rev-list", *which, *_range(old, new)):
        if commit in beyond:
            yield commit


def commits_with_parents(
    repository: Repository, old: str | None, new: str, *, main_line: bool = False
) -> Iterator[tuple[str, ...]]:
    """Commits as in `commits_between`, each with its parents, every one after its parents.

    With `main_line` no more than the first parents of the newest.
    """
    only = ("--first-parent",) if main_line else ()
    order = ("--topo-order", "--reverse", "--parents")
    beyond = Beyond(repository, old, new)
    for line in repository.git.lines("rev-list", *order, *only, *_range(old, new)):
        commits = tuple(map(intern, line.split()))  # each id once in memory
        if commits[0] in beyond:
            yield commits


def objects_between(repository: Repository, old: str, new: str) -> Iterator[tuple[str, str]]:
    """Objects that commits in between brought: id, and path (empty for a commit). Where a clock
    went back there may be some that were there.
    """
    for line in repository.git.lines("rev-list", "--objects", *_range(old, new)):
        object_id, _, path = line.partition(" ")
        yield object_id, path


def changed_paths(repository: Repository, old: str, new: str) -> list[str]:
    """Files that are not the same in two commits."""
    printed = repository.git.run("diff-tree", "-r", "-z", "--name-only", old, new)
    return [path for path in printed.split("\0") if path]


def commits_changing(repository: Repository, tip: str, *paths: str) -> Iterator[LoggedCommit]:
    """Commits that changed any of some paths, oldest first; merges are none of them."""
    sides = ("--full-history", "--no-merges")  # else what a merge did not keep is left out
    for logged, _ in _log(repository, *sides, tip, "--", *paths):
        yield logged


def merges_with_trailer(
    repository: Repository, tip: str, trailer: str, listed: str
) -> Iterator[tuple[LoggedCommit, tuple[str, ...]]]:
    """Merges whose message has a trailer, oldest first, each with the values of another one."""
    form = f"%(trailers:key={listed},valueonly,separator=%x1f)"
    wanted = ("--merges", f"--grep=^{trailer}: ")
    for logged, values in _log(repository, *wanted, tip, also=form):
        yield logged, tuple(value for value in values.split("\x1f") if value)


def last_changes(repository: Repository, old: str, new: str) -> dict[str, str]:
    """The newest commit that changed each file, of those between two; merges are none of them."""
    changed: dict[str, str] = {}
    commit, beyond = "", Beyond(repository, old, new)
    for line in repository.git.lines(
        "log", "--topo-order", "--no-merges", "--no-renames", "--name-only", "--format=commit %H",
        *_range(old, new),
    ):  # fmt: skip
        if line.startswith("commit "):
            commit = line[7:]
        elif line and line not in changed and commit in beyond:
            changed[line] = commit
    return changed


def written_files(
    repository: Repository, old: str | None, new: str, *patterns: str, removed: bool = False
) -> Iterator[WrittenFile]:
    """Files of some glob patterns that commits in between wrote, ancestors first; with `removed`
    also those that they took away.

    Merges are left out: what they show was written before.
    """
    paths = (f":(glob){pattern}" for pattern in patterns)
    lines = repository.git.lines(
        "log", "--reverse", "--topo-order", "--full-history", "--no-merges", "--no-renames",
        "--raw", "--no-abbrev", "--format=commit %H", *_range(old, new), "--", *paths,
    )  # fmt: skip
    commit, beyond = "", Beyond(repository, old, new)
    for line in lines:
        if line.startswith("commit "):
            commit = intern(line[7:])
        elif line.startswith(":") and commit in beyond:
            fields, path = line.split("\t", 1)
            blob = fields.split(" ")[3]
            is_there = bool(blob.strip("0"))
            if is_there or removed:
                yield WrittenFile(commit, path, blob if is_there else "")


def _log(
    repository: Repository, *arguments: str, also: str = ""
) -> Iterator[tuple[LoggedCommit, str]]:
    form = "%x00".join((*_LOGGED, also))
    for line in repository.git.lines("log", "--reverse", f"--format={form}", *arguments):
        commit, moment, by, subject, more = line.split("\0", 4)
        yield LoggedCommit(commit, datetime.fromisoformat(moment), by, subject), more


def _range(old: str | None, new: str) -> list[str]:
    return [new] if old is None else [new, f"^{old}"]

"""The shape of a history: branches, where each forks off, and which merge takes it in.

The main branch are the first parents of the tip. What a merge brings lies on branches of its own: a
late entry on one of a single commit, what another copy of the vault had recorded on one as long as
that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from vault.store.git.history import commits_with_parents

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

MAIN = 0
Place = tuple[int, int]
"""Number of a branch, and position of a commit on it."""


@dataclass(slots=True)
class Branch:
    """Commits along first parents, oldest first.

    `forks_from` is the commit before the first, None where the history begins with it; `merged_at`
    the place of the merge that takes the branch in, None for the main one. `merges` are positions
    of merges that take a branch in, with its number; `rejoins` those of merges with a commit of a
    branch that was there already.
    """

    commits: list[str]
    forks_from: str | None
    merged_at: Place | None
    merges: list[tuple[int, int]] = field(default_factory=list)
    rejoins: list[tuple[int, str]] = field(default_factory=list)


def ancestry(repository: Repository, tip: str) -> Ancestry:
    """The shape of the history of a commit. Raises Damaged where it cannot be read."""
    return Ancestry(commits_with_parents(repository, None, tip))


class Ancestry:
    """All commits up to a tip by branch. A branch that another one takes in has the higher number.

    They are given with their parents, every one after its parents and the tip last. `rejoins` are
    the places of all merges with a commit of a branch that was there already.
    """

    def __init__(self, commits: Iterable[tuple[str, ...]]) -> None:
        self.branches: list[Branch] = []
        parents: dict[str, tuple[str, ...]] = {}
        self._generation: dict[str, int] = {}
        tip = ""
        for tip, *before in commits:
            parents[tip] = tuple(before)
            self._generation[tip] = 1 + max(map(self._generation.__getitem__, before), default=0)
        self._place: dict[str, Place] = {}
        self._divide(tip, parents)
        self.rejoins: list[Place] = [
            (number, at) for number, branch in enumerate(self.branches) for at, _ in branch.rejoins
        ]

    def _divide(self, tip: str, parents: Mapping[str, tuple[str, ...]]) -> None:
        """Whatever an older merge brings is found before what a newer one does."""
        running = [self._merges(self._add(tip, None, parents), parents)]
        while running:
            for number, position, second in running[-1]:
                if second in self._place:
                    self.branches[number].rejoins.append((position, second))
                    continue
                new = self._add(second, (number, position), parents)
                self.branches[number].merges.append((position, new))
                running.append(self._merges(new, parents))
                break
            else:
                running.pop()

    def _add(
        self, end: str, merged_at: Place | None, parents: Mapping[str, tuple[str, ...]]
    ) -> int:
        number, commits, commit = len(self.branches), [], end
        forks_from: str | None = None
        while True:
            commits.append(commit)
            before = parents[commit]
            if not before:
                break
            commit = before[0]
            if commit in self._place:
                forks_from = commit
                break
        commits.reverse()
        self._place |= {each: (number, position) for position, each in enumerate(commits)}
        self.branches.append(Branch(commits, forks_from, merged_at))
        return number

    def _merges(
        self, number: int, parents: Mapping[str, tuple[str, ...]]
    ) -> Iterator[tuple[int, int, str]]:
        for position, commit in enumerate(self.branches[number].commits):
            for second in parents[commit][1:]:
                yield number, position, second

    def place(self, commit: str) -> Place:
        """Where a commit lies."""
        return self._place[commit]

    def end(self, number: int) -> Place:
        """Where the newest commit of a branch lies."""
        return number, len(self.branches[number].commits) - 1

    def __contains__(self, commit: str) -> bool:
        return commit in self._place

    def generation(self, commit: str) -> int:
        """How many commits the longest way from the beginning to this one has, itself included.

        It grows along the history, and is the same in every copy of the vault.
        """
        return self._generation[commit]

    def rank(self, commit: str) -> tuple[int, str]:
        """What to order snapshots of one moment by: in every copy of the vault the same."""
        return self._generation[commit], commit

    def merge_of(self, commit: str) -> str | None:
        """The merge that took a commit in; None on the main branch."""
        merged_at = self.branches[self._place[commit][0]].merged_at
        return None if merged_at is None else self.branches[merged_at[0]].commits[merged_at[1]]

    def before_on_main(self, commit: str) -> str | None:
        """The newest commit of the main branch that was there before this one came in."""
        number, position = self._place[commit]
        while (merged_at := self.branches[number].merged_at) is not None:
            number, position = merged_at
        return self.branches[MAIN].commits[position - 1] if position else None

    def history_of(self, commit: str) -> CommitHistory:
        """A commit with everything before it."""
        return CommitHistory(self, commit)


class CommitHistory:
    """A commit with everything before it: for each branch, the newest position that it has."""

    def __init__(self, ancestry: Ancestry, commit: str) -> None:
        self._ancestry = ancestry
        self._newest: dict[int, int] = {}
        waiting = [ancestry.place(commit)]
        while waiting:
            number, position = waiting.pop()
            before = self._newest.get(number, -1)
            if before >= position:
                continue
            self._newest[number] = position
            branch = ancestry.branches[number]
            if before < 0 and branch.forks_from is not None:
                waiting.append(ancestry.place(branch.forks_from))
            waiting += [ancestry.place(c) for at, c in branch.rejoins if before < at <= position]
            if number != MAIN:  # there, what a branch that is merged rests on is always there too
                waiting += [ancestry.end(n) for at, n in branch.merges if before < at <= position]

    def __contains__(self, commit: str) -> bool:
        number, position = self._ancestry.place(commit)
        while self._newest.get(number, -1) < position:
            merged_at = self._ancestry.branches[number].merged_at
            if merged_at is None:
                return False
            number, position = merged_at  # whoever has the merge has the branch that it takes in
        return True

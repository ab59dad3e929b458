"""The shape of a history: lines of commits, where each branches off, and which merge takes it in.

The main line are the first parents of the tip. What a merge brings lies on lines of its own: a late
entry on one of a single commit, what another copy of the vault had recorded on one as long as that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from sys import intern
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

MAIN = 0


@dataclass(slots=True)
class Line:
    """Commits along first parents, oldest first.

    `branch` is the commit that it begins on, None where it begins the history; `taken` is the line
    and position of the merge that takes it in, None for the main line. `hung` are the positions of
    merges that take lines in, with those; `known` those of merges with a commit of another line.
    """

    commits: list[str]
    branch: str | None
    taken: tuple[int, int] | None
    hung: list[tuple[int, int]] = field(default_factory=list)
    known: list[tuple[int, str]] = field(default_factory=list)


class CommitLines:
    """All commits up to a tip by line. A line that another one takes in has the higher number."""

    def __init__(self, repository: Repository, tip: str) -> None:
        self.lines: list[Line] = []
        parents: dict[str, list[str]] = {}
        self._generation: dict[str, int] = {}
        rows = repository.lines("rev-list", "--topo-order", "--reverse", "--parents", tip)
        for row in rows:
            commit, *before = map(intern, row.split())  # each id once in memory
            parents[commit] = before
            self._generation[commit] = 1 + max(map(self._generation.__getitem__, before), default=0)
        self._place: dict[str, tuple[int, int]] = {}
        self._divide(tip, parents)

    def _divide(self, tip: str, parents: dict[str, list[str]]) -> None:
        """Whatever an older merge brings is found before what a newer one does."""
        running = [self._merges(self._add(tip, None, parents), parents)]
        while running:
            for line, position, second in running[-1]:
                if second in self._place:
                    self.lines[line].known.append((position, second))
                    continue
                new = self._add(second, (line, position), parents)
                self.lines[line].hung.append((position, new))
                running.append(self._merges(new, parents))
                break
            else:
                running.pop()

    def _add(self, end: str, taken: tuple[int, int] | None, parents: dict[str, list[str]]) -> int:
        number, commits, commit = len(self.lines), [], end
        branch: str | None = None
        while True:
            commits.append(commit)
            before = parents[commit]
            if not before:
                break
            commit = before[0]
            if commit in self._place:
                branch = commit
                break
        commits.reverse()
        self._place |= {one: (number, position) for position, one in enumerate(commits)}
        self.lines.append(Line(commits, branch, taken))
        return number

    def _merges(self, line: int, parents: dict[str, list[str]]) -> Iterator[tuple[int, int, str]]:
        for position, commit in enumerate(self.lines[line].commits):
            for second in parents[commit][1:]:
                yield line, position, second

    def place(self, commit: str) -> tuple[int, int]:
        """Line and position of a commit."""
        return self._place[commit]

    def end(self, line: int) -> tuple[int, int]:
        """Line and position of the newest commit of a line."""
        return line, len(self.lines[line].commits) - 1

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
        """The merge that took a commit in; None on the main line."""
        taken = self.lines[self._place[commit][0]].taken
        return None if taken is None else self.lines[taken[0]].commits[taken[1]]

    def before_on_main(self, commit: str) -> str | None:
        """The newest commit of the main line that was there before this one came in."""
        line, position = self._place[commit]
        while (taken := self.lines[line].taken) is not None:
            line, position = taken
        return self.lines[MAIN].commits[position - 1] if position else None

    def history_of(self, commit: str) -> History:
        """What a commit has in its history."""
        return History(self, commit)


class History:
    """A commit with everything before it: for each line, the newest position that it has."""

    def __init__(self, lines: CommitLines, commit: str) -> None:
        self._lines = lines
        self._newest: dict[int, int] = {}
        waiting = [lines.place(commit)]
        while waiting:
            number, position = waiting.pop()
            before = self._newest.get(number, -1)
            if before >= position:
                continue
            self._newest[number] = position
            line = lines.lines[number]
            if before < 0 and line.branch is not None:
                waiting.append(lines.place(line.branch))
            waiting += [lines.place(c) for at, c in line.known if before < at <= position]
            if number != MAIN:  # there, what a line that is taken in rests on is always there too
                waiting += [lines.end(n) for at, n in line.hung if before < at <= position]

    def __contains__(self, commit: str) -> bool:
        line, position = self._lines.place(commit)
        while self._newest.get(line, -1) < position:
            taken = self._lines.lines[line].taken
            if taken is None:
                return False
            line, position = taken  # whoever has the merge has the line that it takes in
        return True

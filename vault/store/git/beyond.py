"""Which commits are not in a history, whatever the clocks said when they were made.

Git ends its search for what two histories have in common by the dates of commits: where a clock
went back it may give commits of the one as if only the other one had them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.cached_property import cached_property

if TYPE_CHECKING:
    from vault.store.git.repository import Repository


class Beyond:
    """The commits that `new` has in its history and `old` has not; ask it of those that git gives.

    The whole history of `old` is looked at only where a commit does not come after `old` itself,
    as in a merge of two histories.
    """

    def __init__(self, repository: Repository, old: str | None, new: str) -> None:
        self._repository, self._old, self._new = repository, old, new

    def __contains__(self, commit: str) -> bool:
        return self._old is None or commit in self._after or commit not in self._history

    @cached_property
    def _after(self) -> set[str | None]:
        """What has `old` in its own history."""
        words = ("--topo-order", "--reverse", "--parents", self._new, f"^{self._old}")
        after = {self._repository.resolve(f"{self._old}^{{commit}}")}
        for line in self._repository.git.lines("rev-list", *words):
            commit, *parents = line.split()
            if not after.isdisjoint(parents):
                after.add(commit)
        return after

    @cached_property
    def _history(self) -> set[str]:
        return set(self._repository.git.lines("rev-list", str(self._old)))

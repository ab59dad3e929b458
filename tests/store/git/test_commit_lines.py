"""Lines of a history against what each commit reaches, walked one by one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, cast

from hypothesis import given
from hypothesis import strategies as st

from vault.store.git.commit_lines import MAIN, CommitLines
from vault.store.git.repository import Repository

Parents = dict[str, list[str]]


class Printed:
    """As much of a repository as `CommitLines` asks for."""

    def __init__(self, parents: Parents) -> None:
        self._parents = parents

    def lines(self, *_: str) -> Iterator[str]:
        return (" ".join([commit, *before]) for commit, before in self._parents.items())


def reached(parents: Parents, commit: str) -> set[str]:
    """A commit and everything before it."""
    found: set[str] = set()
    waiting = [commit]
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += parents[one]
    return found


@st.composite
def histories(draw: st.DrawFn) -> Parents:
    """Up to thirty commits, each on one or two of those before it (or on none); one tip at last."""
    parents: Parents = {"c0": []}
    for number in range(1, draw(st.integers(1, 30))):
        known = list(parents)
        before = draw(st.lists(st.sampled_from(known), max_size=2, unique=True))
        parents[f"c{number}"] = before
    ends = [c for c in parents if not any(c in before for before in parents.values())]
    while len(ends) > 1:
        joined = f"j{len(parents)}"
        parents[joined] = [ends.pop(), ends.pop()]
        ends.append(joined)
    return parents


def lines_of(parents: Parents) -> CommitLines:
    tip = next(c for c in parents if not any(c in before for before in parents.values()))
    return CommitLines(cast(Repository, Printed(parents)), tip)


@given(histories())
def test_what_a_commit_has_in_its_history(parents: Parents) -> None:
    lines = lines_of(parents)
    for commit in parents:
        history = lines.history_of(commit)
        assert {one for one in parents if one in history} == reached(parents, commit)


@given(histories())
def test_a_commit_has_a_longer_way_than_any_before_it(parents: Parents) -> None:
    lines = lines_of(parents)
    for commit, before in parents.items():
        assert lines.generation(commit) == 1 + max(map(lines.generation, before), default=0)


@given(histories())
def test_every_commit_lies_on_one_line_and_every_line_is_taken_in(parents: Parents) -> None:
    lines = lines_of(parents)
    assert sorted(c for line in lines.lines for c in line.commits) == sorted(parents)
    for number, line in enumerate(lines.lines):
        assert (line.taken is None) == (number == MAIN)
        for commit in line.commits:
            merge = lines.merge_of(commit)
            assert (merge is None) == (number == MAIN)
            assert merge is None or commit in reached(parents, merge)


@given(histories())
def test_what_the_main_line_had_before_a_commit_came_in(parents: Parents) -> None:
    lines = lines_of(parents)
    main = lines.lines[MAIN].commits
    for commit in parents:
        first = next(i for i, one in enumerate(main) if commit in reached(parents, one))
        assert lines.before_on_main(commit) == (main[first - 1] if first else None)


def example() -> dict[str, Any]:
    """Two lines: `b` and `c` were recorded apart from `x`, and joined by `m`."""
    return {"a": [], "x": ["a"], "b": ["a"], "c": ["b"], "m": ["x", "c"]}


def test_an_example() -> None:
    lines = lines_of(example())
    assert [line.commits for line in lines.lines] == [["a", "x", "m"], ["b", "c"]]
    assert (lines.lines[1].branch, lines.lines[1].taken) == ("a", (MAIN, 2))
    assert (lines.merge_of("b"), lines.before_on_main("b")) == ("m", "x")

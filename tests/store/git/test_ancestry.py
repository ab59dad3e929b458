"""Branches of a history against what each commit reaches, walked one by one."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from vault.store.git.ancestry import MAIN, Ancestry

Parents = dict[str, list[str]]


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


def ancestry_of(parents: Parents) -> Ancestry:
    return Ancestry((commit, *before) for commit, before in parents.items())


@given(histories())
def test_what_a_commit_has_in_its_history(parents: Parents) -> None:
    ancestry = ancestry_of(parents)
    for commit in parents:
        history = ancestry.history_of(commit)
        assert {one for one in parents if one in history} == reached(parents, commit)


@given(histories())
def test_a_commit_has_a_longer_way_than_any_before_it(parents: Parents) -> None:
    ancestry = ancestry_of(parents)
    for commit, before in parents.items():
        assert ancestry.generation(commit) == 1 + max(map(ancestry.generation, before), default=0)


@given(histories())
def test_every_commit_lies_on_one_branch_and_every_branch_is_merged(parents: Parents) -> None:
    ancestry = ancestry_of(parents)
    assert sorted(c for branch in ancestry.branches for c in branch.commits) == sorted(parents)
    for number, branch in enumerate(ancestry.branches):
        assert (branch.merged_at is None) == (number == MAIN)
        for commit in branch.commits:
            merge = ancestry.merge_of(commit)
            assert (merge is None) == (number == MAIN)
            assert merge is None or commit in reached(parents, merge)


@given(histories())
def test_what_the_main_branch_had_before_a_commit_came_in(parents: Parents) -> None:
    ancestry = ancestry_of(parents)
    main = ancestry.branches[MAIN].commits
    for commit in parents:
        first = next(i for i, one in enumerate(main) if commit in reached(parents, one))
        assert ancestry.before_on_main(commit) == (main[first - 1] if first else None)


def example() -> Parents:
    """Two branches: `b` and `c` were recorded apart from `x`, and joined by `m`."""
    return {"a": [], "x": ["a"], "b": ["a"], "c": ["b"], "m": ["x", "c"]}


def test_an_example() -> None:
    ancestry = ancestry_of(example())
    assert [branch.commits for branch in ancestry.branches] == [["a", "x", "m"], ["b", "c"]]
    assert (ancestry.branches[1].forks_from, ancestry.branches[1].merged_at) == ("a", (MAIN, 2))
    assert (ancestry.merge_of("b"), ancestry.before_on_main("b")) == ("m", "x")

"""A difference of the invented tile works is told in two lines, whatever is compared there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations, pairwise

import pytest

from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.meaning.judging import TWO_LINES
from vault.store.vault import Vault

Pairs = Callable[[Vault], Iterator[tuple[str, str]]]


def neighbours(vault: Vault) -> Iterator[tuple[str, str]]:
    """Every snapshot of every axis, and the one before it."""
    for axis in vault.axes():
        ids = [snapshot.id for snapshot in vault.index.snapshots(axis)]
        yield from ((f"{axis}@{one}", f"{axis}@{other}") for one, other in pairwise(ids))


def twins(vault: Vault) -> Iterator[tuple[str, str]]:
    """Axes of one name on two machines."""
    for one, other in combinations(vault.axes(), 2):
        if one.axis == other.axis:
            yield str(one), str(other)


@pytest.mark.parametrize("pairs", [neighbours, twins])
def test_every_difference_fits_two_lines(plant: Vault, pairs: Pairs) -> None:
    told = []
    for left, right in pairs(plant):
        found = compare_states(resolve(plant, left), resolve(plant, right)).comparison
        rows = (*found.news, *found.causes, *found.surroundings)
        told += [row.explanation for row in rows]
    assert told
    assert [text for text in told if len(text) > TWO_LINES] == []

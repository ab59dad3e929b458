"""Who gets what: held against scipy's assignment, which solves the same."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from vault.jobs.families.assignment import best_assignment


@pytest.mark.parametrize("seed", range(60))
def test_the_sum_is_that_of_a_reference(seed: int) -> None:
    """scipy.optimize.linear_sum_assignment on the full matrix; what nobody wants is worth 0."""
    dice = Random(seed)
    many, things = dice.randint(1, 14), dice.randint(1, 9)
    worth = [
        {
            str(thing): dice.choice((0.3, 0.5, dice.random() + 0.01))
            for thing in range(things)
            if dice.random() < 0.5
        }
        for _ in range(many)
    ]
    matrix = np.array([[wants.get(str(t), 0.0) for t in range(things)] for wants in worth])
    found = best_assignment(worth)
    taken = [thing for thing in found if thing is not None]
    assert len(set(taken)) == len(taken)
    ours = sum(worth[one][thing] for one, thing in enumerate(found) if thing is not None)
    rows, columns = linear_sum_assignment(matrix, maximize=True)
    assert ours == pytest.approx(matrix[rows, columns].sum())


def test_nobody_gets_what_it_does_not_want() -> None:
    assert best_assignment([{}, {"a": 1.0}, {"a": 0.5}]) == [None, "a", None]

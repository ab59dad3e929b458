"""What the program says of an encoder at the load, against counts that are added up one by one."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.oracle.cases import Case, draw
from tests.oracle.load_encoder import position, with_load_encoder
from tests.oracle.program import behaviour_of

QUANTITIES = ("ratio of the load encoder",)
CASES = [
    with_load_encoder(case) for case in draw(7, 200) if case.mechanism != "linear_motor"
]  # its own encoder is at the load


def test_there_are_enough_axes_of_each_mechanism() -> None:
    assert min(Counter(case.mechanism for case in CASES).values()) >= 30


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case.number))
def test_an_axis_goes_as_far_as_its_load_encoder_lets_it(case: Case) -> None:
    found = position(case, 3)
    (name,) = QUANTITIES
    said = behaviour_of(case).facts[name]
    assert said.bound == "exact"
    assert said.value == pytest.approx(found.made / found.told, rel=0.005)

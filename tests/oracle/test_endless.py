"""What the program says of endless axes, against counters that are turned until they run over."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.oracle.cases import Case, draw
from tests.oracle.endless import turn_on, without_ends
from tests.oracle.program import behaviour_of
from tests.oracle.units import number
from vault.behaviour.facts import Fact

QUANTITIES = (
    "zero lost when the turns run over", "time until the turns run over", "increments of a turn",
    "user units of a turn",
)  # fmt: skip


def _counts_turns(case: Case) -> bool:
    encoder = case.record["encoder"]
    assert isinstance(encoder, dict)
    return "multi_turn_bits" in encoder


CASES = [
    without_ends(case)
    for case in draw(5, 300)
    if case.mechanism in ("rotary", "rotary_table") and _counts_turns(case)
]


def one_way(case: Case) -> Case:
    """The same axis with a duty that goes on and on: its last move forwards too."""
    duty = case.record["duty"]
    assert isinstance(duty, dict)
    moves = [{**move, "distance": move["distance"].lstrip("-")} for move in duty["moves"]]
    return replace(case, record={**case.record, "duty": {**duty, "moves": moves}})


def facts(case: Case) -> dict[str, Fact]:
    found = behaviour_of(case).facts
    return {name: found[name] for name in QUANTITIES}


def test_there_are_enough_axes_and_gears_that_do_not_close() -> None:
    lost = [turn_on(case, 1.0, by_duty=False).lost for case in CASES]
    assert len(CASES) >= 30
    assert sum(rest > 0 for rest in lost) >= 10


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case.number))
def test_an_endless_axis_does_what_is_said_of_it(case: Case) -> None:
    duty = case.record["duty"]
    assert isinstance(duty, dict)
    said = facts(replace(case, record={k: v for k, v in case.record.items() if k != "duty"}))
    speed = behaviour_of(case).facts["profile speed"].value
    found = turn_on(case, speed or 1.0, by_duty=False)
    assert said["zero lost when the turns run over"].value == pytest.approx(found.lost, abs=1e-9)
    assert said["increments of a turn"].value == pytest.approx(found.counts)
    assert said["user units of a turn"].value == pytest.approx(found.units)
    if speed is not None:
        assert said["time until the turns run over"].value == pytest.approx(found.time)
        assert said["time until the turns run over"].bound == "at_least"


@pytest.mark.parametrize("case", CASES[:20], ids=lambda case: str(case.number))
def test_a_duty_that_goes_one_way_runs_over_when_it_is_said_to(case: Case) -> None:
    going = one_way(case)
    duty = going.record["duty"]
    assert isinstance(duty, dict)
    if sum(number(move["distance"]) for move in duty["moves"]) < 0.5:
        pytest.skip("so small a duty would be turned for a long time here")
    said = facts(going)["time until the turns run over"]
    found = turn_on(going, 1.0, by_duty=True)
    assert said.value == pytest.approx(found.time, abs=found.step)
    assert said.bound == "exact"

"""Two traces of a move: what counts as a change, what is left out, and what is said first."""

from __future__ import annotations

import pytest

from vault.behaviour.trace.against import Told
from vault.behaviour.trace.measured import QUANTITIES, Measured
from vault.meaning.traces.compared import TraceComparison, compare_traces

UNITS = {"settling_time": "s", "resonance": "Hz", "inertia": "kg*m^2", "friction": "N*m"}
SHARE = 0.05


def tells(doubt: float = 0.0, speed: float | None = None, **values: float) -> dict[str, Told]:
    """A trace that tells these quantities, each `doubt` unsure, and no other."""
    found = {name: Told(name, None, "it was not recorded") for name in QUANTITIES}
    for name, value in values.items():
        unit = UNITS.get(name, "m")
        found[name] = Told(name, Measured(value, unit, doubt, "a test", speed), "")
    return found


def held(before: dict[str, Told], after: dict[str, Told], same_set: bool = True) -> TraceComparison:
    return compare_traces(before, after, SHARE, same_set=same_set)


@pytest.mark.parametrize(
    ("after", "doubt", "is_material"),
    [
        (1.04, 0.0, False),  # less than the share
        (1.06, 0.0, True),
        (0.94, 0.0, True),
        (1.06, 0.04, True),  # both together unsure by 0.057
        (1.06, 0.05, False),  # by 0.071
    ],
)
def test_a_change_is_more_than_the_share_and_than_both_are_unsure(
    after: float, doubt: float, is_material: bool
) -> None:
    found = held(tells(doubt, friction=1.0), tells(doubt, friction=after))
    (change,) = found.changes
    assert change.is_material is is_material
    assert found.as_it_did is not is_material


def test_what_only_one_trace_tells_is_not_compared() -> None:
    found = held(tells(friction=1.0, inertia=1.0), tells(friction=1.0, resonance=40.0))
    assert [change.name for change in found.changes] == ["friction"]


def test_two_traces_that_tell_nothing_in_common_say_so_and_pass_for_nothing() -> None:
    found = held(tells(friction=1.0), tells(inertia=1.0))
    assert (found.changes, found.as_it_did) == ((), None)
    assert "nothing that could be compared" in found.summary


@pytest.mark.parametrize(("speed", "is_compared"), [(0.31, False), (0.29, False), (0.308, True)])
def test_at_another_speed_what_depends_on_it_is_left_out_and_that_is_said(
    speed: float, is_compared: bool
) -> None:
    before = tells(speed=0.3, steady_lag=0.01, inertia=1.0)
    found = held(before, tells(speed=speed, steady_lag=0.02, inertia=1.0))
    assert ("steady_lag" in {change.name for change in found.changes}) is is_compared
    assert ("not recorded at the same speed" in found.summary) is not is_compared
    assert found.as_it_did is not is_compared


def test_the_largest_change_is_told_first_and_what_came_from_nothing_before_it() -> None:
    before = tells(friction=1.0, inertia=1.0, overshoot=0.0, settling_time=1.0)
    after = tells(friction=1.2, inertia=1.5, overshoot=0.001, settling_time=0.9)
    found = held(before, after)
    order = [change.name for change in found.material]
    assert order == ["overshoot", "inertia", "friction", "settling_time"]
    assert found.summary.index("inertia") < found.summary.index("friction")
    assert "(+50 %)" in found.summary
    assert "(−10 %)" in found.summary
    assert "it was nothing" in found.summary


def test_the_mechanics_come_first_only_where_no_parameter_differs() -> None:
    before, after = tells(friction=1.0), tells(friction=2.0)
    assert "look at the mechanics" in held(before, after).summary
    assert "compare the snapshots before" in held(before, after, same_set=False).summary
    assert "look at" not in held(before, before).summary

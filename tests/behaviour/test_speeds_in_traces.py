"""What the columns of a trace are in SI: whose speed, where motor and axis turn, and whose share.

A table on a gear of 7:3 of its motor, at 30 r/min.
"""

from __future__ import annotations

from math import pi

import pytest

from tests.meaning.checks.both_sides import TABLE, TURNS
from tests.meaning.checks.sets import view_of
from vault.behaviour.trace.in_si import recorded_of
from vault.model.trace import Column, Trace

TIMES = tuple(n / 100 for n in range(100))
GEAR = 7 / 3


def trace(speed: float, unit: str, *, with_position: bool) -> Trace:
    columns = {"velocity_actual": Column("velocity_actual", "v", unit, (speed,) * 100)}
    if with_position:
        places = tuple(180 * at for at in TIMES)  # 30 r/min
        columns["position_actual"] = Column("position_actual", "p", "deg", places)
    return Trace("v.csv", TIMES, columns)


@pytest.mark.parametrize(("speed", "is_told"), [(30.0, True), (30 * GEAR, True), (45.0, False)])
def test_a_position_tells_whose_speed_it_is(speed: float, is_told: bool) -> None:
    found, remarks = recorded_of(
        trace(speed, "r/min", with_position=True), view_of(TURNS, TABLE).state
    )
    assert (found.velocity is not None) == is_told == (not remarks)
    if found.velocity is not None:
        assert float(found.velocity[50]) == pytest.approx(pi)


def test_without_a_position_it_may_be_either_and_is_not_taken() -> None:
    state = view_of(TURNS, TABLE).state
    found, (remark,) = recorded_of(trace(70.0, "r/min", with_position=False), state)
    assert found.velocity is None
    assert "whether it is the motor's speed" in remark
    own, remarks = recorded_of(trace(180_000.0, "user_velocity", with_position=False), state)
    assert own.velocity is not None
    assert not remarks


@pytest.mark.parametrize(("unit", "share"), [("percent", 0.01), ("permille", 0.001)])
def test_a_torque_in_a_plain_share_is_one_of_the_rated_torque(unit: str, share: float) -> None:
    state = view_of({**TURNS, "motor_rated_torque": "3200 mN*m"}, TABLE).state
    column = Column("torque_actual", "torque", unit, (40.0,) * 100)
    places = Column("position_actual", "p", "deg", TIMES)
    found, remarks = recorded_of(
        Trace("t.csv", TIMES, {"torque_actual": column, "position_actual": places}), state
    )
    assert not remarks
    assert found.torque is not None
    assert float(found.torque[0]) == pytest.approx(40 * share * 3.2)

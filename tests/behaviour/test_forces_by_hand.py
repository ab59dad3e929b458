"""What pulls and pushes the axis, and its ramps, term by term: worked by hand.

Axes are those of `tests/behaviour/axes.py`, all invented. Mechanics of a textbook throughout.
"""

from __future__ import annotations

from math import pi, radians, sin
from typing import Any

import pytest
from scipy import constants

from tests.behaviour.axes import LIFT_RECORD, axis
from tests.meaning.checks.sets import Settings, with_mechanics
from vault.behaviour import commutation, force, ramp, stop
from vault.behaviour.behave import behave
from vault.behaviour.missing import Missing
from vault.behaviour.state import State

R = 0.020 / (2 * pi * 2)  # of the lift, m for a radian of the motor
ROTOR = 1.6e-4 / R**2  # kg at the axis
PULL = 60 * constants.g


def lift(record: dict[str, Any] | None = None, **settings: Any) -> State:
    return axis("lift", record, **settings).state


def mech(**mechanics: Any) -> dict[str, Any]:
    return with_mechanics(LIFT_RECORD, **mechanics)


# ----- what pulls


@pytest.mark.parametrize(
    ("mechanics", "hanging", "newtons"),
    [
        ({}, True, PULL),
        ({"orientation": "horizontal"}, False, 0),
        ({"orientation": "inclined", "inclination": "30 deg"}, True, PULL / 2),
        ({"orientation": "inclined", "inclination": "-30 deg"}, True, PULL / 2),
        # A tangent of 0.1 is 5.71 deg: what creeps is held by its guide, and pulls all the same.
        ({"orientation": "inclined", "inclination": "5.7 deg"}, False, PULL * sin(radians(5.7))),
        ({"orientation": "inclined", "inclination": "5.72 deg"}, True, PULL * sin(radians(5.72))),
        ({"counterbalance": "1"}, False, 0),
        ({"counterbalance": "0.25"}, True, PULL * 0.75),
        ({"counterbalance": "1.25"}, True, -PULL * 0.25),
    ],
)
def test_what_hangs_and_how_hard_it_pulls(
    mechanics: dict[str, Any], hanging: bool, newtons: float
) -> None:
    state = lift(mech(**mechanics))
    assert state.ask(force.hangs) is hanging
    assert state.ask(force.gravity_force) == pytest.approx(newtons)
    assert state.ask(force.hanging_force) == pytest.approx(newtons if hanging else 0)


def test_a_slope_that_is_not_recorded_pulls_as_if_plumb_at_most() -> None:
    sloped = lift(mech(orientation="inclined", counterbalance="0.25"))
    assert sloped.ask(force.steepest_pull) == pytest.approx(constants.g * 0.75)
    assert lift({"motor": {}}).ask(force.steepest_pull) == 0


@pytest.mark.parametrize(("eta", "share"), [("0.9", 2 - 1 / 0.9), ("0.5", 0), ("0.4", 0)])
def test_a_screw_below_one_half_is_not_driven_back(eta: str, share: float) -> None:
    assert lift(mech(efficiency=eta)).ask(force.back_efficiency) == pytest.approx(share)


def test_a_counterweight_moves_along_unless_the_axis_lies() -> None:
    half = lift(mech(counterbalance="0.5")).ask(force.moved)
    assert (half.least, half.most) == (pytest.approx(60 + ROTOR), pytest.approx(90 + ROTOR))
    lying = lift(mech(counterbalance="0.5", orientation="horizontal")).ask(force.moved)
    assert lying.most == lying.least


# ----- what pushes


@pytest.mark.parametrize(
    ("before", "after", "degrees"), [(10, 40, 30), (40, 10, 30), (350, 10, 20), (0, 180, 180)]
)
def test_commutation_angles_lie_apart_the_shorter_way(
    before: float, after: float, degrees: float
) -> None:
    found = commutation.apart(radians(before), radians(after))
    assert found.value == pytest.approx(radians(degrees))


def test_a_field_that_is_aimed_wrongly_leaves_the_cosine() -> None:
    for degrees, share in ((0, 1), (60, 0.5), (90, 0), (180, -1)):
        assert commutation.torque_share(radians(degrees)).value == pytest.approx(share, abs=1e-9)


@pytest.mark.parametrize(
    ("settings", "positive", "negative"),
    [
        ({}, 8, 8),
        ({"max_torque": 2000}, 6.4, 6.4),
        ({"positive_torque_limit": 1000}, 3.2, 8),
        ({"negative_torque_limit": 1000}, 8, 3.2),
        ({"negative_torque_limit": -1000}, 8, 3.2),
        ({"max_torque": None, "positive_torque_limit": None}, 9.6, 8),
        ({"max_torque": 4000, "positive_torque_limit": 4000}, 9.6, 8),
        ({"max_current": 1500}, 4.8, 4.8),
    ],
)
def test_the_least_of_all_limits_is_left(
    settings: Settings, positive: float, negative: float
) -> None:
    both = lift(**settings).ask(force.limits)
    assert (both.positive, both.negative) == pytest.approx((positive, negative))
    assert both.weaker == pytest.approx(min(positive, negative))


def test_without_any_limit_the_torque_is_not_known() -> None:
    motor = {k: v for k, v in LIFT_RECORD["motor"].items() if k != "max_torque"}
    roles = ("max_torque", "positive_torque_limit", "negative_torque_limit")
    bare = lift({**LIFT_RECORD, "motor": motor}, **dict.fromkeys(roles))
    with pytest.raises(Missing, match=r"^max_torque$"):
        bare.ask(force.limits)


def test_torque_to_hold_lift_and_brake() -> None:
    found = behave(lift()).facts
    assert found["torque to hold the load"].value == pytest.approx(PULL * R)
    assert found["torque to lift the load"].value == pytest.approx(PULL * R / 0.9)
    braking = (PULL + 60 * 4 + ROTOR * 4) * R
    assert found["torque to brake a descent"].value == pytest.approx(braking)
    assert found["torque to hold the load"].bound == "up_to"
    lossless = behave(lift(mech(efficiency="1"))).facts
    assert lossless["torque to hold the load"].bound == "exact"
    assert lossless["torque to brake a descent"].bound == "exact"


def test_a_counterweight_is_sped_up_and_braked_too() -> None:
    found = behave(lift(mech(counterbalance="0.5"), modes_of_operation=1)).facts
    up = ((PULL / 2 + 90 * 1.5) / 0.9 + ROTOR * 1.5) * R
    down = (PULL / 2 + 90 * 4 + ROTOR * 4) * R
    for name, size in (("torque to speed up", up), ("torque to brake a descent", down)):
        assert (found[name].value, found[name].bound) == (pytest.approx(size), "up_to")


def test_acceleration_and_braking_at_the_limit() -> None:
    found = behave(lift()).facts
    up = (8 / R - PULL / 0.9) / (60 / 0.9 + ROTOR)
    assert found["acceleration at the torque limit"].value == pytest.approx(up)
    assert found["acceleration at the torque limit"].bound == "exact"
    down = (8 / R - PULL) / (60 + ROTOR)
    assert found["deceleration at the torque limit"].value == pytest.approx(down)
    weighed = behave(lift(mech(counterbalance="0.5"))).facts["acceleration at the torque limit"]
    half = (8 / R - PULL / 2 / 0.9) / (90 / 0.9 + ROTOR)
    assert (weighed.value, weighed.bound) == (pytest.approx(half), "at_least")
    # 0.96 N*m hold 0.936 and do not lift 1.041.
    weak = behave(lift(max_torque=300)).facts
    assert "acceleration at the torque limit" not in weak
    assert "deceleration at the torque limit" in weak
    assert "deceleration at the torque limit" not in behave(lift(max_torque=290)).facts


@pytest.mark.parametrize(
    ("down", "settings", "newtons"),
    [
        ("low", {"positive_torque_limit": 1000}, 3.2 / R - PULL),
        ("low", {"negative_torque_limit": 100}, 0.32 / R + PULL),
        ("high", {"negative_torque_limit": 1000}, 3.2 / R - PULL),
        ("high", {"positive_torque_limit": 100}, 0.32 / R + PULL),
        (None, {"positive_torque_limit": 1000}, 3.2 / R - PULL),
        (None, {"negative_torque_limit": 1000}, 3.2 / R - PULL),
    ],
)
def test_each_way_is_braked_by_its_own_limit(
    down: str | None, settings: Settings, newtons: float
) -> None:
    found = lift(mech(down=down), **settings).ask(stop.braking_rate)
    assert found == pytest.approx(newtons / (60 + ROTOR))


@pytest.mark.parametrize(
    ("settings", "role", "rate"),
    [
        ({}, ramp.RISE, 1.5),
        ({"max_acceleration": "1 m/s^2"}, ramp.RISE, 1),
        ({"max_acceleration": "2 m/s^2"}, ramp.RISE, 1.5),
        ({"max_acceleration": "0 m/s^2"}, ramp.RISE, 1.5),
        ({"max_deceleration": "1 m/s^2"}, ramp.RISE, 1.5),
        ({"max_deceleration": "1 m/s^2"}, ramp.FALL, 1),
        ({"max_deceleration": "1 m/s^2"}, ramp.QUICK_STOP, 1),
        ({"max_acceleration": "1 m/s^2"}, ramp.QUICK_STOP, 4),
    ],
)
def test_a_ramp_is_cut_to_its_maximum(settings: Settings, role: str, rate: float) -> None:
    assert ramp.ramp(lift(**settings), role) == pytest.approx(rate)

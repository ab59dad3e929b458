"""What would explain a measured move: ratios worked by hand, and when two axes go as far.

Measured over commanded is (R_set G_set / F_set) / (R_real G_real / L_real) (CiA 402-2, factor
group). Axes are those of `tests/behaviour/axes.py`, all invented.
"""

from __future__ import annotations

from fractions import Fraction
from math import pi
from typing import Any

import pytest

from tests.behaviour.axes import (
    CARRIAGE_RECORD,
    CARRIAGE_SET,
    LIFT_RECORD,
    LIFT_SET,
    TABLE_RECORD,
    axis,
)
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour.measured_travel import against_the_record, causes_of
from vault.behaviour.refit import counting_ratio, rating_ratio, same_size
from vault.behaviour.state import State
from vault.behaviour.travel import (
    delivered,
    feed_in_turns,
    is_calibration,
    of_motor_at_axis,
    ratio_between,
    speed_at_rated,
    speed_ratio,
    thrust_at_rated,
    torque_of_current,
    ways_of_a_command,
)
from vault.model.quantities import Physical


def found(ratio: float, tolerance: float = 1e-3, **settings: Any) -> dict[str, Any]:
    """Causes of a measured ratio on the lift, and the size that each is about."""
    state = axis("lift", **settings).state
    return {one.cause: one.size for one in causes_of(state, ratio, tolerance)}


@pytest.mark.parametrize(
    ("ratio", "causes"),
    [
        (1, {}),
        (1.0009, {}),
        (0.9991, {}),
        (-1, {"direction": None}),
        (25.4, {"mix_up": 25.4}),
        (1 / 25.4, {"mix_up": 25.4}),
        (-1000, {"direction": None, "mix_up": 1000}),
        (2, {"bits": 1, "not_fitted": 2, "other_gear": 1, "other_lead": 40}),
        # 2:1 set, 4:1 fitted; 20 mm set, 10 mm fitted; one bit less.
        (0.5, {"bits": -1, "other_gear": 4, "other_lead": 10}),
        (4, {"bits": 2, "upside_down": 2}),
        (2 / 3, {"other_gear": 3}),
        (0.8, {"other_lead": 16}),
        (2.0**16, {"bits": 16}),
        (2.0**17, {}),
        (1.07, {}),
    ],
)
def test_a_ratio_has_its_causes(ratio: float, causes: dict[str, Any]) -> None:
    assert found(ratio) == causes


def test_the_tolerance_is_that_of_the_measurement() -> None:
    assert found(1.02, 0.01) == {}
    assert found(0.81, 0.02) == {"other_lead": 16}


@pytest.mark.parametrize("stage", [2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 16, 20, 25, 28, 30, 32, 35,
                                   40, 50, 64, 70, 80, 100])  # fmt: skip
def test_gearboxes_of_one_and_two_stages_are_known(stage: int) -> None:
    without = {"gear_ratio_motor_revolutions": None, "gear_ratio_shaft_revolutions": None}
    assert found(1 / stage, **without)["not_counted"] == stage
    if stage != 2:
        assert found(2 / stage)["other_gear"] == stage


@pytest.mark.parametrize("lead", ["1", "2", "2.5", "3", "4", "5", "5.08", "6", "8", "10", "12",
                                  "12.7", "16", "25", "25.4", "32", "40", "50"])  # fmt: skip
def test_leads_of_screws_are_known(lead: str) -> None:
    # ISO 3408-2 and inch screws, from memory.
    assert found(float(lead) / 20)["other_lead"] == Fraction(lead)


def test_a_mix_up_is_looked_for_at_the_feed_else_at_the_unit() -> None:
    for settings, role in (({}, "feed_constant_feed"),
                           ({"feed_constant_feed": None}, "si_unit_position")):  # fmt: skip
        (told,) = causes_of(lift(**settings), 1000, 1e-3)
        assert (told.cause, told.role) == ("mix_up", role)


def test_a_gear_that_the_drive_does_not_count_makes_moves_short() -> None:
    set_without = {"gear_ratio_motor_revolutions": None, "gear_ratio_shaft_revolutions": None}
    assert found(1 / 10, **set_without)["not_counted"] == 10


@pytest.mark.parametrize(
    ("settings", "causes"),
    [
        ({}, {}),
        ({"gear_ratio_motor_revolutions": 3}, {"gear": 1.5}),
        ({"feed_constant_feed": 10}, {"feed": 2}),
        # 1.5 x 2
        ({"gear_ratio_motor_revolutions": 3, "feed_constant_feed": 10},
         {"gear": 1.5, "feed": 2, "together": 3}),
    ],
)  # fmt: skip
def test_what_the_record_contradicts_is_a_cause(
    settings: Settings, causes: dict[str, float]
) -> None:
    told = against_the_record(axis("lift", **settings).state)
    assert {one.cause: one.ratio for one in told} == causes


def test_another_encoder_than_is_counted_is_a_cause() -> None:
    view = view_of(LIFT_SET, LIFT_RECORD, {"encoder_single_turn_bits": "24"})
    (told,) = against_the_record(view.state)
    assert (told.cause, told.role, told.ratio) == ("encoder", "position_encoder_increments", 1 / 16)


def test_only_a_screw_has_leads() -> None:
    assert not [
        one for one in causes_of(axis("carriage").state, 0.8, 1e-3) if one.cause == "other_lead"
    ]
    turned = {one.cause: one.size for one in causes_of(axis("table").state, 360, 1e-3)}
    assert turned == {"mix_up": 360}


# ----- another encoder or motor on the same set


def test_an_encoder_of_more_bits_makes_ways_shorter() -> None:
    assert counting_ratio(Fraction(2**20), 24).value == 1 / 16


def test_a_share_of_another_rating_is_another_torque() -> None:
    before, after = (Physical(Fraction(size), 0, "torque", "N*m") for size in (3, 4))
    assert rating_ratio(before, after) == pytest.approx(4 / 3)
    assert same_size(Fraction(1000), before, after) == 750


# ----- two axes


def lift(**settings: Any) -> State:
    return axis("lift", **settings).state


def test_a_command_goes_by_the_ratio_of_the_units() -> None:
    one, other = lift(), lift(gear_ratio_motor_revolutions=3)
    assert ratio_between(one, other) == Fraction(3, 2)
    assert ways_of_a_command(one, other, 0.1) == (0.1, pytest.approx(0.15))
    assert ways_of_a_command(other, one, 0.1) == (pytest.approx(0.15), 0.1)
    bare, geared = (
        view_of({**LIFT_SET, "gear_ratio_motor_revolutions": gear}, {}).state for gear in (2, 3)
    )
    assert ratio_between(bare, geared) == Fraction(3, 2)
    assert ways_of_a_command(bare, geared, 0.1) == (0.1, pytest.approx(0.15))
    assert ways_of_a_command(bare, other, 0.1) == (None, None)
    unscaled = view_of({}, {}).state
    assert ratio_between(bare, unscaled) is ratio_between(unscaled, bare) is None


def belt(feed: int, **mechanics: Any) -> State:
    """The carriage with a feed in 1e-7 m: 2,000,000 are as built."""
    settings = {**CARRIAGE_SET, "si_unit_position": 0xF9010000, "feed_constant_feed": feed}
    return view_of(settings, with_mechanics(CARRIAGE_RECORD, **mechanics)).state


@pytest.mark.parametrize(
    ("feed", "mechanics", "is_fine"),
    [
        # 0.0125 mm, a quarter of the window of 0.05 mm, over 3.3 m are 3.788 ppm.
        (2_000_007, {}, True),  # 3.5 ppm
        (2_000_008, {}, False),  # 4 ppm
        (2_000_000, {}, False),  # nothing differs
        (2_000_007, {"kind": "ball_screw", "lead": "200 mm"}, True),
        # Over 0.1 m that is 125 ppm, but 100 are the most.
        (2_000_199, {"stroke": "100 mm"}, True),
        (2_000_201, {"stroke": "100 mm"}, False),
        (2_000_007, {"stroke": None, "hard_stop_low": None, "hard_stop_high": None}, False),
    ],
)
def test_a_calibration_is_small_and_stays_within_the_window(
    feed: int, mechanics: dict[str, Any], is_fine: bool
) -> None:
    assert is_calibration(belt(2_000_000, **mechanics), belt(feed, **mechanics)) is is_fine


def test_a_motor_speed_is_a_speed_of_each_machine() -> None:
    # 20 mm behind 2:1, 200 mm direct: 20 times as fast.
    slow, fast = lift().scaling.travel, axis("carriage").state.scaling.travel
    turning = axis("table").state.scaling.travel
    assert slow is not None and fast is not None and turning is not None
    assert speed_ratio(slow, fast) == 20
    assert speed_ratio(slow, turning) is None
    speed = Physical(Fraction(100), 1, "angular_velocity", "rad/s")  # 50 turns a second
    at_lift, at_table = (of_motor_at_axis(travel, speed) for travel in (slow, turning))
    assert (float(at_lift.number()), at_lift.unit) == (pytest.approx(0.5), "m/s")
    assert (float(at_table.number()), at_table.unit) == (pytest.approx(100 * pi / 40), "rad/s")


def test_torque_and_thrust_of_a_current() -> None:
    # 3.2 N*m at 3.1 A; at the axis 2 pi 0.9 2 T / 20 mm.
    state = lift()
    assert torque_of_current(state, 6.2) == pytest.approx(6.4)
    assert torque_of_current(lift(motor_rated_current=None), 6.2) is None
    pushed, turned = delivered(state, 3.2), delivered(axis("table").state, 2)
    assert pushed is not None and turned is not None
    assert (pushed.value, pushed.unit) == (pytest.approx(3.2 * 2 * pi * 0.9 * 2 / 0.020), "N")
    assert (turned.value, turned.unit) == (pytest.approx(2 * 40 * 0.9), "N*m")
    assert state.ask(thrust_at_rated).value == pytest.approx(pushed.value)
    # 3,000 r/min: 50 turns of 10 mm a second.
    assert state.ask(speed_at_rated).value == pytest.approx(0.5)
    direct = view_of({}, {"mechanics": {"kind": "linear_motor", "pole_pitch": "24 mm"}}).state
    assert delivered(direct, 3.2) is direct.asked(speed_at_rated) is None


def test_a_feed_in_angles_states_turns() -> None:
    # 360 deg; of a lift the feed is a length.
    assert axis("table").state.ask(feed_in_turns).value == 1
    half = view_of({"feed_constant_feed": 180, "si_unit_position": 0x00410000}, TABLE_RECORD)
    assert half.state.ask(feed_in_turns).value == 0.5
    assert lift().asked(feed_in_turns) is None

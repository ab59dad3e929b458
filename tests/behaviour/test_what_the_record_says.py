"""What behaviour makes of the axis record, and what it does not take for granted. All invented."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi
from typing import Any

import pytest

from tests.behaviour.axes import CARRIAGE_RECORD, LIFT_RECORD, LIFT_SET, TABLE_RECORD, TABLE_SET
from tests.meaning.checks.sets import complaints, view_of, with_mechanics
from vault.behaviour.behave import behave
from vault.behaviour.facts import Fact, Margin

RMS = "r.m.s. torque of the duty"
HANGING = ("hold", "lift", "acceleration", "descent", "brake_hold", "brake_apply", "drop_room")


def margin(name: str, record: Mapping[str, Any]) -> Margin:
    """A margin of the lift with another record, while it positions by itself."""
    return behave(view_of({**LIFT_SET, "modes_of_operation": 1}, record).state).margins[name]


def rms_of(duty: Mapping[str, Any], record: Mapping[str, Any] = LIFT_RECORD) -> Fact:
    """The r.m.s. torque of the lift with a duty."""
    return behave(view_of(LIFT_SET, {**record, "duty": duty}).state).facts[RMS]


def test_a_measured_force_goes_through_screw_gear_and_losses() -> None:
    """200 N, 20 mm, 2:1, 0.9: F L / (2 pi eta G); work per revolution, mechanics textbooks."""
    found = rms_of({"cycle": "4 s", "rms_force": "200 N"})
    assert found.value == pytest.approx(200 * 0.020 / (2 * pi * 0.9 * 2))
    assert (found.unit, found.bound) == ("N*m", "up_to")
    assert "at the axis" in found.hedge
    lossless = rms_of({"rms_force": "200 N"}, with_mechanics(LIFT_RECORD, efficiency=None))
    assert (lossless.value, lossless.bound) == (pytest.approx(200 * 0.020 / (2 * pi * 2)), "exact")


def test_a_measured_torque_is_that_of_the_motor() -> None:
    found = rms_of({"rms_force": "2 N*m"})
    assert (found.value, found.unit, found.bound) == (2.0, "N*m", "exact")


def test_a_linear_motor_gives_the_force_that_was_measured() -> None:
    mechanics = {
        "kind": "linear_motor", "pole_pitch": "30 mm", "orientation": "horizontal",
        "moving_mass": "20 kg",
    }  # fmt: skip
    found = rms_of({"rms_force": "200 N"}, {"mechanics": mechanics})
    assert (found.value, found.unit, found.hedge) == (200.0, "N", "")


@pytest.mark.parametrize("name", HANGING)
def test_what_rests_on_how_the_axis_lies_asks_for_it(name: str) -> None:
    found = margin(name, with_mechanics(LIFT_RECORD, orientation=None))
    assert (found.ratio, found.missing) == (None, ("mechanics.orientation",))
    assert margin(name, LIFT_RECORD).ratio is not None


def test_an_axis_that_turns_is_not_asked_how_it_lies() -> None:
    found = behave(view_of(TABLE_SET, TABLE_RECORD).state)
    assert all("mechanics.orientation" not in m.missing for m in found.margins.values())
    assert "hold" not in found.margins


def test_no_brake_is_asked_for_where_none_is_fitted() -> None:
    bare = {**with_mechanics(LIFT_RECORD, orientation=None), "brake": {"fitted": False}}
    found = behave(view_of(LIFT_SET, bare).state).margins
    assert "brake_hold" not in found
    assert found["hold"].missing == ("mechanics.orientation",)


def test_a_stop_whose_orientation_nobody_recorded_takes_at_least_its_ramp() -> None:
    """A load that hangs may stop later than its ramp says: there may be less left."""
    found = margin("stop_room", with_mechanics(LIFT_RECORD, orientation=None))
    assert (found.ratio is not None, found.bound) == (True, "up_to")


def test_check_says_that_nobody_recorded_whether_the_load_hangs() -> None:
    (found,) = complaints("orientation", view_of({}, with_mechanics(LIFT_RECORD, orientation=None)))
    assert "mechanics.orientation" in found.sentence
    for record in (LIFT_RECORD, CARRIAGE_RECORD, TABLE_RECORD, {}):
        assert not complaints("orientation", view_of({}, record))


def test_a_gearbox_that_is_not_recorded_is_taken_as_one_to_one_and_told() -> None:
    found = margin("machine_speed", with_mechanics(LIFT_RECORD, gearbox=None, max_speed="1 m/s"))
    assert "the gearbox is taken as 1:1" in found.hedge
    straight = with_mechanics(LIFT_RECORD, gearbox={"motor": 1, "output": 1}, max_speed="1 m/s")
    assert "gearbox" not in margin("machine_speed", straight).hedge


def test_a_travel_ratio_tells_the_gearbox_that_it_takes_for_granted() -> None:
    found = behave(view_of(LIFT_SET, with_mechanics(LIFT_RECORD, gearbox=None)).state)
    assert found.facts["travel ratio"].value == pytest.approx(2.0)
    assert "the gearbox is taken as 1:1" in found.facts["travel ratio"].hedge


UP = {"distance": "300 mm", "wait": "1 s"}
DOWN = {"distance": "-300 mm"}


@pytest.mark.parametrize(
    ("record", "moves", "is_told"),
    [(LIFT_RECORD, [UP], True), (LIFT_RECORD, [UP, DOWN], False), (CARRIAGE_RECORD, [UP], False)],
)
def test_what_goes_up_for_ever_is_hedged(
    record: Mapping[str, Any], moves: list[dict[str, str]], is_told: bool
) -> None:
    found = rms_of({"cycle": "9 s", "moves": moves}, record)
    assert found.value is not None
    assert ("the way back is not reckoned" in found.hedge) == is_told


@pytest.mark.parametrize(
    ("rule", "moves", "said"),
    [
        ("duty_way_back", [UP], "end 300 mm from where they began"),
        ("duty_stroke", [{"distance": "3000 mm"}, {"distance": "-3000 mm"}],
         "go over 3,000 mm, the stroke is 690 mm"),
        ("duty_speed", [{**UP, "speed": "5 m/s"}, DOWN],
         "moves at 5,000 mm/s, the set lets the axis go 400 mm/s"),
    ],
)  # fmt: skip
def test_check_tells_a_duty_that_cannot_be(
    rule: str, moves: list[dict[str, str]], said: str
) -> None:
    duty = {"cycle": "90 s", "moves": moves}
    (found,) = complaints(rule, view_of(LIFT_SET, {**LIFT_RECORD, "duty": duty}))
    assert said in found.sentence
    good = {"cycle": "9 s", "moves": [{**UP, "speed": "400 mm/s"}, DOWN]}
    assert not complaints(rule, view_of(LIFT_SET, {**LIFT_RECORD, "duty": good}))


def test_a_belt_without_ends_may_go_on_for_ever() -> None:
    endless = with_mechanics(CARRIAGE_RECORD, stroke=None, hard_stop_low=None, hard_stop_high=None)
    record = {**endless, "duty": {"cycle": "9 s", "moves": [UP]}}
    assert not complaints("duty_way_back", view_of(LIFT_SET, record))


def test_a_hedge_names_whose_manual_it_is_that_tells() -> None:
    zero = {**LIFT_SET, "following_error_window": "0 mm", "max_profile_velocity": "0 mm/s"}
    hedges = " ".join(m.hedge for m in behave(view_of(zero, LIFT_RECORD).state).margins.values())
    assert "see the drive's manual" in hedges
    assert "the manual" not in hedges

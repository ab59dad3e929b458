"""Speeds and frequencies of a set against motor and machine."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import (
    SCREW,
    Settings,
    complaints,
    the_complaint,
    view_of,
    with_mechanics,
)

# 16 mm behind 4:1: 4500 r/min are 300 mm/s, 3000 r/min are 200 mm/s.
MOTOR = {**SCREW, "motor": {"rated_speed": "3000 r/min", "max_speed": "4500 r/min"}}
PUMP = {"motor": {"rated_speed": "1440 r/min", "max_speed": "1800 r/min"}}
DRIVE: Settings = {"modes_of_operation": 2, "motor_pole_pairs": 2, "rated_frequency": 50}


@pytest.mark.parametrize(("speed", "count"), [("300 mm/s", 0), ("301 mm/s", 1)])
def test_the_highest_speed_is_what_the_motor_may_turn(speed: str, count: int) -> None:
    assert len(complaints("motor_speed", view_of({"max_profile_velocity": speed}, MOTOR))) == count


def test_the_motor_s_speed_may_stand_in_the_set() -> None:
    settings = {"max_profile_velocity": "301 mm/s", "motor_max_speed": 4500}
    assert the_complaint("motor_speed", view_of(settings, SCREW)).consequence == "hazard"
    assert not complaints("motor_speed", view_of({"max_profile_velocity": "301 mm/s"}, SCREW))


@pytest.mark.parametrize(("limit", "count"), [(4500, 0), (6000, 0), (4499, 1)])
def test_a_limit_of_the_motor_speed_protects_the_motor_and_cuts_the_axis(
    limit: int, count: int
) -> None:
    # 300 mm/s need 4500 r/min.
    view = view_of({"max_profile_velocity": "300 mm/s", "max_motor_speed": limit}, MOTOR)
    assert len(complaints("motor_speed_limit", view)) == count
    assert not complaints("motor_speed", view)


def test_too_high_a_speed_that_the_motor_limit_cuts_is_no_hazard() -> None:
    view = view_of({"max_profile_velocity": "400 mm/s", "max_motor_speed": 4500}, MOTOR)
    assert not complaints("motor_speed", view)


@pytest.mark.parametrize(("speed", "count"), [("200 mm/s", 0), ("201 mm/s", 1), ("301 mm/s", 0)])
def test_a_profile_speed_above_the_rated_one_is_told_below_the_maximum(
    speed: str, count: int
) -> None:
    assert len(complaints("rated_speed", view_of({"profile_velocity": speed}, MOTOR))) == count


def test_where_only_the_rated_speed_is_known_the_highest_speed_is_held_against_it() -> None:
    record = {**SCREW, "motor": {"rated_speed": "3000 r/min"}}
    settings = {"profile_velocity": "100 mm/s", "max_profile_velocity": "201 mm/s"}
    assert "highest" in the_complaint("rated_speed", view_of(settings, record)).sentence
    assert not complaints("rated_speed", view_of(settings, MOTOR))


@pytest.mark.parametrize(("speed", "count"), [("320 mm/s", 0), ("321 mm/s", 1)])
def test_the_machine_bears_the_highest_speed(speed: str, count: int) -> None:
    record = with_mechanics(SCREW, max_speed="320 mm/s")
    view = view_of({"max_profile_velocity": speed}, record)
    assert len(complaints("machine_speed", view)) == count
    assert not complaints("machine_speed", view_of({"max_profile_velocity": speed}, SCREW))


@pytest.mark.parametrize(("limit", "count"), [(4800, 0), (5000, 1)])
def test_the_motor_limit_counts_for_the_machine_too(limit: int, count: int) -> None:
    # 4800 r/min / 4 x 16 mm / 60 s = 320 mm/s; 5000 r/min are 333.3 mm/s.
    record = with_mechanics(SCREW, max_speed="320 mm/s")
    settings = {"max_profile_velocity": "900 mm/s", "max_motor_speed": limit}
    found = complaints("machine_speed", view_of(settings, record))
    assert len(found) == count
    assert all("333.3 mm/s" in one.sentence for one in found)


@pytest.mark.parametrize(("speed", "count"), [("300 mm/s", 0), ("301 mm/s", 1)])
def test_a_profile_speed_stays_below_the_maximum_of_the_set(speed: str, count: int) -> None:
    settings = {"profile_velocity": speed, "max_profile_velocity": "300 mm/s"}
    assert len(complaints("profile_speed", view_of(settings))) == count
    assert not complaints("profile_speed", view_of({"profile_velocity": speed}))


def test_a_linear_motor_is_not_held_against_revolutions() -> None:
    record = {
        "mechanics": {"kind": "linear_motor", "pole_pitch": "32 mm"},
        "motor": {"rated_speed": "2 m/s", "max_speed": "3 m/s"},
    }
    view = view_of({"max_profile_velocity": "2000 mm/s", "profile_velocity": "1 mm/s"}, record)
    assert not complaints("motor_speed", view) and not complaints("rated_speed", view)


@pytest.mark.parametrize(("hertz", "consequence"), [(50, None), (55, "dynamics"), (61, "hazard")])
def test_the_highest_frequency_is_held_against_the_motor(
    hertz: int, consequence: str | None
) -> None:
    # Two pole pairs: 60 Hz are the 1800 r/min that the motor may turn.
    found = complaints("highest_frequency", view_of({**DRIVE, "max_frequency": hertz}, PUMP))
    assert [one.consequence for one in found] == ([consequence] if consequence else [])


@pytest.mark.parametrize(("most", "count"), [(1800, 0), (1801, 1)])
def test_the_velocity_mode_s_maximum_is_the_motor_s_own_speed(most: int, count: int) -> None:
    view = view_of({**DRIVE, "vl_velocity_max_amount": most}, PUMP)
    assert len(complaints("motor_speed", view)) == count


@pytest.mark.parametrize(("pairs", "count"), [(2, 0), (1, 1), (3, 1)])
def test_pole_pairs_fit_rated_frequency_and_speed(pairs: int, count: int) -> None:
    # 60 x 50 Hz / 1440 r/min = 2.08: two pairs, with slip.
    found = complaints("pole_pairs", view_of({**DRIVE, "motor_pole_pairs": pairs}, PUMP))
    assert len(found) == count
    assert not complaints("pole_pairs", view_of({**DRIVE, "motor_pole_pairs": pairs}))
    servo = {**DRIVE, "modes_of_operation": 8, "motor_pole_pairs": pairs}
    assert not complaints("pole_pairs", view_of(servo, PUMP))


@pytest.mark.parametrize(("limit", "count"), [("300 mm/s", 0), ("301 mm/s", 1)])
def test_a_safely_limited_speed_is_one_that_the_axis_can_reach(limit: str, count: int) -> None:
    found = complaints("safely_limited_speed", view_of({"safe_limited_speed": limit}, MOTOR))
    assert len(found) == count
    for one in found:
        assert "301 mm/s" in one.sentence
        assert "300 mm/s" in one.sentence
        assert (one.consequence, one.look_at) == ("dynamics", ("p/safe_limited_speed",))


@pytest.mark.parametrize(("highest", "count"), [("50 Hz", 0), ("60 Hz", 1)])
def test_a_highest_frequency_above_the_rated_one_weakens_the_field(
    highest: str, count: int
) -> None:
    # 2 pole pairs: 60 Hz are 1800 r/min; 50 / 60 = 83.3 % of the torque is left.
    found = complaints("highest_frequency", view_of({**DRIVE, "max_frequency": highest}, PUMP))
    assert len(found) == count
    for one in found:
        assert "1,800 r/min" in one.sentence
        assert "83.3 %" in one.sentence
        assert one.consequence == "dynamics"
        assert one.look_at == ("p/max_frequency", "p/rated_frequency", "p/motor_pole_pairs")


def test_without_a_rated_frequency_no_field_is_said_to_be_weakened() -> None:
    bare = {role: setting for role, setting in DRIVE.items() if role != "rated_frequency"}
    assert not complaints("highest_frequency", view_of({**bare, "max_frequency": "60 Hz"}, PUMP))

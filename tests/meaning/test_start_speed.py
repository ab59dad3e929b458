"""The speed that stops begin at, and why. Axes are invented."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import SCREW, Settings, view_of
from vault.behaviour.behave import margins_of
from vault.meaning.start_speed import StartSpeed, begins_at_speed, start_speed

# 16 mm behind 4:1: 4500 r/min are 300 mm/s.
MOTOR = {**SCREW, "motor": {"max_speed": "4500 r/min"}}


def begun(settings: Settings) -> StartSpeed:
    found = start_speed(view_of(settings, MOTOR).state)
    assert found is not None
    return found


def test_a_stop_begins_at_what_the_motor_can_turn_and_not_at_what_is_commanded() -> None:
    found = begun({"modes_of_operation": 8, "max_profile_velocity": "200 mm/s"})
    assert found.worst.value == pytest.approx(0.3)
    assert found.text == "300 mm/s"
    assert "begin at 300 mm/s, the motor's highest speed: the 200 mm/s" in found.why


def test_a_limit_of_the_set_is_told_as_one() -> None:
    # 3750 r/min are 250 mm/s.
    found = begun(
        {"modes_of_operation": 8, "max_profile_velocity": "200 mm/s", "max_motor_speed": 3750}
    )
    assert "begin at 250 mm/s, what the set's own limit leaves the motor" in found.why


def test_what_is_commanded_needs_no_reason() -> None:
    assert begun({"modes_of_operation": 8, "max_profile_velocity": "300 mm/s"}).why == ""


def test_without_a_speed_none_is_told() -> None:
    assert start_speed(view_of({}, {}).state) is None


def test_margins_of_stops_are_about_that_speed_and_margins_of_loops_are_not() -> None:
    margins = margins_of(
        view_of({"max_profile_velocity": "200 mm/s", "velocity_gain": "100 1/s"}, MOTOR).state
    )
    about = {name: begins_at_speed(margin) for name, margin in margins.items()}
    assert not about["phase"]
    assert any(about.values())

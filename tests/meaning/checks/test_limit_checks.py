"""Software limits, over-travel inputs and the room behind them."""

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

LOW, HIGH = "min_software_position_limit", "max_software_position_limit"
STOPS = with_mechanics(SCREW, hard_stop_low="-10 mm", hard_stop_high="510 mm")
LIMITS: Settings = {LOW: "10 mm", HIGH: "490 mm"}
OFF: Settings = {LOW: "0 mm", HIGH: "0 mm"}
TABLE = {
    "mechanics": {"kind": "rotary_table", "hard_stop_low": "-205 deg", "hard_stop_high": "205 deg"}
}


@pytest.mark.parametrize(("low", "high", "count"), [(0, 1, 0), (1, 1, 1), (2, 1, 1)])
def test_the_lower_limit_lies_below_the_upper(low: int, high: int, count: int) -> None:
    assert len(complaints("software_limits", view_of({LOW: low, HIGH: high}))) == count


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("-10 mm", "510 mm", []),
        ("-11 mm", "510 mm", ["lower software limit at -11 mm lies 1 mm"]),
        ("-10 mm", "512 mm", ["upper software limit at 512 mm lies 2 mm"]),
    ],
)
def test_each_limit_lies_inside_its_hard_stop(low: str, high: str, words: list[str]) -> None:
    found = complaints("software_limits", view_of({LOW: low, HIGH: high}, STOPS))
    assert len(found) == len(words)
    assert all(word in one.sentence for word, one in zip(words, found, strict=True))


@pytest.mark.parametrize(("high", "count"), [("520 mm", 0), ("521 mm", 1)])
def test_without_hard_stops_the_limits_lie_no_farther_apart_than_the_stroke(
    high: str, count: int
) -> None:
    record = with_mechanics(SCREW, stroke="520 mm")
    assert len(complaints("software_limits", view_of({LOW: "0 mm", HIGH: high}, record))) == count


@pytest.mark.parametrize(
    "used", [{LOW: "0 mm", HIGH: "0 mm"}, {"software_position_limits_used": 0}]
)
def test_limits_that_are_off_on_a_linear_axis_with_hard_stops_are_a_hazard(used: Settings) -> None:
    view = view_of({**LIMITS, **used}, STOPS)
    assert the_complaint("limits_off", view).consequence == "hazard"
    assert not complaints("software_limits", view)


def test_limits_that_are_on_or_not_in_the_set_are_not_off() -> None:
    assert not complaints(
        "limits_off", view_of({**LIMITS, "software_position_limits_used": 1}, STOPS)
    )
    assert not complaints("limits_off", view_of({}, STOPS))


def test_limits_that_are_off_are_no_hazard_without_hard_stops_or_on_a_table() -> None:
    assert not complaints("limits_off", view_of(OFF, SCREW))
    assert not complaints("limits_off", view_of(OFF, TABLE))


ENABLE: Settings = {"digital_input_function": 1, "digital_input_function.2": 0}
SWITCH: Settings = {"digital_input_function": 3, "digital_input_function.2": 4}


def test_neither_over_travel_inputs_nor_limits_leave_the_stroke_open() -> None:
    assert complaints("open_ended_travel", view_of({**OFF, **ENABLE}, STOPS))
    assert not complaints("open_ended_travel", view_of({**OFF, **SWITCH}, STOPS))
    assert not complaints("open_ended_travel", view_of({**LIMITS, **ENABLE}, STOPS))
    assert not complaints("open_ended_travel", view_of(OFF, STOPS))  # nothing known of inputs


# v^2 / 2a = 200^2 / (2 x 1000) = 20 mm; from 490 mm to the stop at 510 mm there are 20 mm.
FAST: Settings = {**LIMITS, "quick_stop_deceleration": "1000 mm/s^2"}


@pytest.mark.parametrize(("speed", "count"), [("200 mm/s", 0), ("201 mm/s", 1)])
def test_a_quick_stop_fits_between_limit_and_hard_stop(speed: str, count: int) -> None:
    view = view_of({**FAST, "max_profile_velocity": speed}, STOPS)
    assert len(complaints("room_to_stop", view)) == count


@pytest.mark.parametrize(("jerk", "count"), [("10000 mm/s^3", 0), ("9000 mm/s^3", 1)])
def test_a_jerk_limit_makes_the_stop_longer(jerk: str, count: int) -> None:
    # v^2 / 2a + v a / 2j with 100 mm/s and 500 mm/s^2: 10 + 2.5 mm, and 10 + 2.78 mm.
    settings: Settings = {
        LOW: "2.5 mm",
        HIGH: "497.5 mm",
        "max_profile_velocity": "100 mm/s",
        "quick_stop_deceleration": "500 mm/s^2",
        "motion_profile_type": 3,
        "profile_jerk": jerk,
    }
    assert len(complaints("room_to_stop", view_of(settings, STOPS))) == count


@pytest.mark.parametrize(("code", "count"), [(2, 0), (6, 0), (1, 1), (5, 1), (0, 1), (3, 0)])
def test_the_option_code_chooses_the_ramp_of_a_quick_stop(code: int, count: int) -> None:
    # The deceleration ramp of 500 mm/s^2 takes 40 mm; coasting has no end that is known,
    # the current limit none where masses are not recorded.
    settings = {
        **FAST,
        "max_profile_velocity": "200 mm/s",
        "profile_deceleration": "500 mm/s^2",
        "quick_stop_option_code": code,
    }
    assert len(complaints("room_to_stop", view_of(settings, STOPS))) == count


def test_a_fault_that_stops_on_the_deceleration_ramp_needs_its_room_too() -> None:
    settings = {
        **FAST,
        "max_profile_velocity": "200 mm/s",
        "profile_deceleration": "500 mm/s^2",
        "fault_reaction_option_code": 1,
    }
    found = the_complaint("fault_room", view_of(settings, STOPS))
    assert "the stop of a fault" in found.sentence and "40 mm" in found.sentence


def test_without_stops_or_ramp_nothing_is_said_about_room() -> None:
    fast = {**FAST, "max_profile_velocity": "900 mm/s"}
    assert complaints("room_to_stop", view_of(fast, STOPS))
    assert not complaints("room_to_stop", view_of(fast, SCREW))
    assert not complaints("room_to_stop", view_of({**LIMITS, "max_profile_velocity": 1}, STOPS))


def test_limits_out_of_order_are_told_with_both_places() -> None:
    settings: Settings = {
        "min_software_position_limit": "40 mm", "max_software_position_limit": "30 mm"
    }  # fmt: skip
    found = the_complaint("software_limits", view_of(settings, SCREW))
    assert "40 mm" in found.sentence
    assert "30 mm" in found.sentence
    assert found.consequence == "hazard"
    assert found.look_at == ("p/min_software_position_limit", "p/max_software_position_limit")
    assert [(one.value, one.unit) for one in found.findings] == [("40", "mm"), ("30", "mm")]

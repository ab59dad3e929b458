"""The search for home, and where an axis that turns on and on loses its place: worked by hand.

Axes are those of `tests/behaviour/axes.py`, all invented. Counting and textbook kinematics.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import pi
from typing import Any

import pytest
from scipy import constants

from tests.behaviour.axes import TABLE_RECORD, TABLE_SET, axis, changed
from tests.meaning.checks.sets import Settings, complaints, the_complaint, view_of, with_mechanics
from vault.behaviour import homing
from vault.behaviour.move import profile_jerk
from vault.behaviour.position import closes, time_to_run_over
from vault.behaviour.position_limits import least_room, rooms, travel_between_limits
from vault.meaning.findings import duration

SEARCH: Settings = {"homing_switch_search_speed": "100 mm/s", "homing_acceleration": "5000 mm/s^2"}
PER_RADIAN = 0.020 / (2 * pi * 2)  # of the lift: 20 mm a turn behind 2:1


def test_a_search_runs_on_by_its_ramp() -> None:
    found = axis("lift", **SEARCH).state.ask(homing.switch_overrun)
    assert (found.value, found.unit, found.bound) == (pytest.approx(0.1**2 / 2 / 5), "m", "exact")


def test_a_search_with_little_torque_runs_on_farther_than_its_ramp() -> None:
    view = axis("lift", **SEARCH, homing_torque_limit="1.2 N*m")
    moved = 60 + 1.6e-4 / PER_RADIAN**2
    rate = (1.2 / PER_RADIAN - 60 * constants.g) / moved
    found = view.state.ask(homing.switch_overrun)
    assert found.value == pytest.approx(0.1**2 / 2 / rate)
    assert found.bound == "up_to"
    (told,) = changed(
        "lift",
        homing_acceleration=("5000 mm/s^2",) * 2,
        homing_torque_limit=("1.2 N*m",) * 2,
        homing_switch_search_speed=("50 mm/s", "100 mm/s"),
    ).changes
    assert "overruns its mark by up to 3.719 mm" in f"{told.explanation} {told.more}"


def test_a_search_whose_torque_does_not_hold_the_load_has_no_end() -> None:
    view = axis("lift", **SEARCH, homing_torque_limit="0.8 N*m")  # it takes 0.94 N*m
    assert view.state.ask(homing.sinks_while_homing)
    assert view.state.ask(homing.switch_overrun).value == float("inf")


def test_the_slow_search_has_an_overrun_of_its_own() -> None:
    view = axis("lift", **SEARCH, homing_zero_search_speed="10 mm/s")
    assert view.state.ask(homing.pulse_overrun).value == pytest.approx(0.01**2 / 2 / 5)


@pytest.mark.parametrize(
    ("before", "after", "gap"), [(1, 17, 0.010), (17, 1, 0.010), (1, 2, None), (17, 18, None)]
)
def test_home_lies_up_to_a_motor_turn_elsewhere_with_or_without_the_index_pulse(
    before: int, after: int, gap: float | None
) -> None:
    found = homing.index_pulse_gap(axis("lift").state, before, after)
    assert (None if found is None else found.value) == (gap and pytest.approx(gap))


@pytest.mark.parametrize(
    ("before", "after", "moves"), [(35, 1, True), (0, 33, True), (1, 2, False)]
)
def test_a_method_that_moves_where_none_did_newly_moves(
    before: int, after: int, moves: bool
) -> None:
    assert homing.newly_moves(before, after) is moves


def test_an_offset_of_a_linear_motor_counts_by_its_pole_pitch() -> None:
    record: Mapping[str, Any] = {"mechanics": {"kind": "linear_motor", "pole_pitch": "24 mm"}}
    sides = [
        view_of({"position_encoder_increments": 2**20, "encoder_absolute_offset": offset}, record)
        for offset in (0, 2**19)
    ]
    found = homing.absolute_shift(sides[0].state, sides[1].state, "encoder_absolute_offset")
    assert (found.value, found.unit) == (pytest.approx(0.012), "m")


def test_a_shift_is_taken_off_the_nearer_room() -> None:
    state = axis("lift").state
    assert state.ask(rooms) == pytest.approx((0.045, 0.045))
    assert state.ask(least_room).value == pytest.approx(0.045)
    assert homing.room_after(state, -0.05).value == pytest.approx(-0.005)
    assert state.ask(travel_between_limits).value == pytest.approx(0.6)


def test_limits_that_are_off_leave_no_travel_to_tell() -> None:
    state = axis("lift", software_position_limits_used=0).state
    assert state.asked(travel_between_limits) is None
    assert state.asked(rooms) is None


# ----- axes that turn on and on


ENDLESS = with_mechanics(TABLE_RECORD, stroke=None, hard_stop_low=None, hard_stop_high=None)
TURNING: Settings = {
    **{role: value for role, value in TABLE_SET.items() if "software" not in role},
    "encoder_multi_turn_bits": 12,
}


def table(motor: int = 40, duty: Mapping[str, Any] | None = None) -> Any:
    record = with_mechanics(ENDLESS, gearbox={"motor": motor, "output": 1})
    settings = {**TURNING, "gear_ratio_motor_revolutions": motor}
    return view_of(settings, {**record, **({} if duty is None else {"duty": duty})})


def test_turns_that_run_over_between_whole_turns_lose_zero() -> None:
    # 4096 motor turns are 102.4 of the table: 0.4 of 360 deg, after 102.4 x 360 / 90 s.
    found = the_complaint("encoder_runs_over", table())
    assert "zero lies 144 deg elsewhere" in found.sentence
    assert "after 6.8 min one way at profile speed" in found.sentence
    assert table().state.ask(time_to_run_over).bound == "at_least"


def test_the_duty_tells_when_they_run_over() -> None:
    # 90 deg every 4 s: 102.4 x 4 cycles of 4 s.
    found = table(duty={"cycle": "4 s", "moves": [{"distance": "90 deg"}]})
    assert found.state.ask(time_to_run_over).value == pytest.approx(102.4 * 4 * 4)
    assert (
        "by its duty they run over after 27 min"
        in the_complaint("encoder_runs_over", found).sentence
    )


def test_a_duty_that_comes_back_runs_over_no_sooner_than_at_profile_speed() -> None:
    moves = [{"distance": "90 deg"}, {"distance": "-90 deg"}]
    found = table(duty={"cycle": "4 s", "moves": moves}).state.ask(time_to_run_over)
    assert found.bound == "at_least"


def test_a_gear_that_closes_loses_nothing() -> None:
    assert not complaints("encoder_runs_over", table(motor=32))


def test_an_axis_with_ends_never_runs_over() -> None:
    assert not complaints("encoder_runs_over", view_of(TURNING, TABLE_RECORD))


@pytest.mark.parametrize(("width", "whole"), [(360, True), (359, True), (720, True), (361, False)])
def test_positions_start_over_after_whole_turns_or_a_unit_less(width: int, whole: bool) -> None:
    assert closes(Fraction(width), Fraction(360)) is whole


@pytest.mark.parametrize(
    ("size", "words"),
    [(90, "90 s"), (409.6, "6.8 min"), (7300, "2 h"), (3 * 86400, "3 days"), (7e7, "2.2 years")],
)
def test_a_long_time_is_told_in_the_largest_unit_that_it_has_two_of(
    size: float, words: str
) -> None:
    assert duration(size) == words


def test_a_jerk_that_60a3h_turns_off_rounds_no_move() -> None:
    jerky = {"motion_profile_type": 3, "profile_jerk": "20000 mm/s^3"}
    assert axis("lift", **jerky).state.ask(profile_jerk) == pytest.approx(20)
    assert axis("lift", **jerky, profile_jerk_use=0).state.ask(profile_jerk) is None

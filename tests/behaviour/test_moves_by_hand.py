"""Speed over time of a move, and the reference move of an axis: textbook kinematics by hand."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, axis
from tests.meaning.checks.sets import Settings, with_mechanics
from vault.behaviour import formulas
from vault.behaviour.behave import behave
from vault.behaviour.move import (
    Ramp,
    move_profile,
    profile_jerk,
    reference_move_time,
    reference_way,
)

BY_ITSELF: Settings = {"modes_of_operation": 1}


@pytest.mark.parametrize(
    ("ramp", "time", "speed"),
    [
        (Ramp(1, 2), 0.25, 0.5),
        # A sine-squared ramp lasts 2 v / a = 1 s; at a quarter a/2 (1/4 - 1/2pi).
        (Ramp(1, 2, sine_squared=True), 0.5, 0.5),
        (Ramp(1, 2, sine_squared=True), 0.25, 0.25 - 1 / (2 * pi)),
        # j = 10: 0.2 s to 2 m/s^2, 0.3 s at it, 0.2 s back; j t^2 / 2, then j tj (t - tj / 2).
        (Ramp(1, 2, 10), 0.1, 0.05),
        (Ramp(1, 2, 10), 0.2, 0.2),
        (Ramp(1, 2, 10), 0.3, 0.4),
        (Ramp(1, 2, 10), 0.35, 0.5),
        (Ramp(1, 2, 10), 0.6, 0.95),
        # 0.1 m/s: 2 sqrt(v / j) = 0.2 s, and 10 m/s^2 are not reached.
        (Ramp(0.1, 10, 10), 0.05, 0.0125),
        (Ramp(0.1, 10, 10), 0.1, 0.05),
        (Ramp(0.1, 10, 10), 0.15, 0.0875),
    ],
)
def test_speed_within_a_ramp(ramp: Ramp, time: float, speed: float) -> None:
    assert ramp.speed_at(time) == pytest.approx(speed)
    assert ramp.speed_at(ramp.time) == pytest.approx(ramp.speed)


@pytest.mark.parametrize(
    ("time", "speed"), [(-1, 0), (0, 0), (0.25, 0.25), (1, 0.5), (2.25, 0.25), (2.375, 0), (3, 0)]
)
def test_a_move_goes_up_on_and_down(time: float, speed: float) -> None:
    # 1 m at 0.5 m/s, 1 and 2 m/s^2: 0.5 s and 0.25 s take 0.1875 m, the rest 1.625 s.
    move = move_profile(1, 0.5, 1, 2)
    assert (move.even_time, move.time) == (pytest.approx(1.625), pytest.approx(2.375))
    assert move.speed_at(time) == pytest.approx(speed)


def test_a_straight_move_has_four_corners_and_a_round_one_more() -> None:
    corners = [(0, 0), (0.5, 0.5), (2.125, 0.5), (2.375, 0)]
    assert [*move_profile(1, 0.5, 1, 2).points()] == [pytest.approx(corner) for corner in corners]
    assert len(move_profile(1, 0.5, 1, 2, jerk=20).points()) == 50
    assert len(move_profile(1, 0.5, 1, 2, sine_squared=True).points()) == 50


def test_a_short_move_has_no_even_part() -> None:
    move = move_profile(0.01, 10, 4, 4)  # sqrt(a s)
    assert (move.speed, move.even_time) == (pytest.approx(0.2), pytest.approx(0, abs=1e-9))


@pytest.mark.parametrize(
    ("way", "seconds"),
    [
        # At 1 m/s on 1 m/s^2 ramps take 1 m; below that 2 sqrt(s / a).
        (0.9, 2 * 0.9**0.5), (1, 2), (1.5, 2.5), (0.5, 2 * 0.5**0.5),
    ],
)  # fmt: skip
def test_a_move_turns_round_where_its_ramps_are_all_of_it(way: float, seconds: float) -> None:
    assert formulas.move_time(way, 1, 1, 1) == pytest.approx(seconds)
    assert formulas.move_time(0, 1, 1, 1) == 0


def test_moves_look_alike_by_time_and_speed() -> None:
    # Both take 2 s over 1 m: up to 1 m/s at 1 m/s^2, or at 0.75 m/s with 1.125 m/s^2.
    peak, flat = move_profile(1, 1, 1, 1), move_profile(1, 0.75, 1.125, 1.125)
    assert peak.time == pytest.approx(flat.time)
    assert not peak.looks_like(flat)
    assert peak.looks_like(peak)
    # 2.1 s instead of 2 s is a twentieth, 2.02 s a hundredth.
    assert not peak.looks_like(move_profile(1.05**2, 1.05, 1, 1))
    assert peak.looks_like(move_profile(1.01**2, 1.01, 1, 1))


@pytest.mark.parametrize(
    ("settings", "seconds"),
    [
        # Half of 690 mm at 300 mm/s, 1.5 m/s^2: 1.15 s and a ramp of 0.2 s.
        ({}, 1.35),
        # Up in 0.1 s; without a deceleration down as well.
        ({"profile_acceleration": "3000 mm/s^2"}, 1.3),
        ({"profile_acceleration": "3000 mm/s^2", "profile_deceleration": None}, 1.25),
        ({"motion_profile_type": 0}, 1.35),
        ({"motion_profile_type": 1}, 1.55),  # 2 v / a
        ({"motion_profile_type": 3, "profile_jerk": "15 m/s^3"}, 1.45),  # a / j = 0.1 s
        ({"motion_profile_type": 3, "profile_jerk": "0 m/s^3"}, 1.35),
        ({"motion_profile_type": 0, "profile_jerk": "15 m/s^3"}, 1.35),
        ({"motion_profile_type": 2}, None),
        ({"profile_deceleration": "0 mm/s^2"}, None),
        ({"modes_of_operation": 8}, None),
    ],
)
def test_time_of_the_reference_move(settings: Settings, seconds: float | None) -> None:
    found = behave(axis("lift", **{**BY_ITSELF, **settings}).state).facts.get(
        "time of the reference move"
    )
    assert (None if found is None else found.value) == (seconds and pytest.approx(seconds))


def recorded(way: str) -> dict[str, Any]:
    return with_mechanics(LIFT_RECORD, reference_move=way)


def test_the_recorded_move_goes_before_half_the_stroke() -> None:
    assert axis("lift").state.ask(reference_way).value == pytest.approx(0.345)
    state = axis("lift", recorded("600 mm"), **BY_ITSELF).state
    assert state.ask(reference_way).value == pytest.approx(0.6)
    assert state.ask(reference_move_time).value == pytest.approx(2 + 0.2)


def test_only_a_jerk_limited_profile_has_a_jerk() -> None:
    jerky = {"profile_jerk": "20 m/s^3"}
    assert axis("lift", **jerky, motion_profile_type=3).state.ask(profile_jerk) == 20
    assert axis("lift", **jerky, motion_profile_type=1).state.ask(profile_jerk) is None
    assert axis("lift", **jerky).state.ask(profile_jerk) is None

"""Profiles of moves, against the textbook and against scipy's integration of the acceleration."""

from __future__ import annotations

from itertools import pairwise
from math import pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import cumulative_simpson

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, view_of, with_mechanics
from vault.behaviour.move import MoveProfile, move_profile, reference_move, reference_move_time
from vault.meaning.move_profile import two_profiles

JERK_LIMITED, SINE_SQUARED = 3, 1
MOVING: Settings = {
    **CARRIAGE,
    "modes_of_operation": 1,
    "profile_velocity": "250 mm/s",
    "profile_acceleration": "2000 mm/s^2",
    "profile_deceleration": "1000 mm/s^2",
    "motion_profile_type": 0,
}
BUILT = with_mechanics(SCREW, stroke="300 mm")


def test_a_trapezoid_is_that_of_the_textbook() -> None:
    """Time d/v + v/2a + v/2b (textbook kinematics)."""
    profile = move_profile(1.2, 0.6, 1.2, 0.8)
    assert profile.speed == 0.6
    assert profile.up.time == pytest.approx(0.5)
    assert profile.down.time == pytest.approx(0.75)
    assert profile.time == pytest.approx(1.2 / 0.6 + 0.6 / 2.4 + 0.6 / 1.6)
    assert profile.speed_at(0.25) == pytest.approx(0.3)
    assert profile.speed_at(1.0) == 0.6
    assert profile.speed_at(profile.time - 0.25) == pytest.approx(0.2)
    assert profile.speed_at(0) == profile.speed_at(profile.time + 1) == 0


def test_a_short_move_is_a_triangle() -> None:
    """Peak sqrt(2 d a b / (a + b)) (textbook kinematics)."""
    profile = move_profile(0.01, 5, 2, 3)
    assert profile.speed == pytest.approx(sqrt(2 * 0.01 * 2 * 3 / 5))
    assert profile.even_time == pytest.approx(0, abs=1e-12)


rates = st.floats(0.01, 50)
ways = st.floats(0.001, 10)


def accelerations(profile: MoveProfile, times: np.ndarray) -> np.ndarray:
    """The acceleration from its definition: jerk on, off, and on again the other way."""

    def ramp(up: bool, time: float) -> float:
        part = profile.up if up else profile.down
        if part.sine_squared:
            return part.rate * sin(pi * time / part.time) ** 2
        if part.jerk is None:
            return part.rate
        rate = min(part.rate, sqrt(part.speed * part.jerk))  # whether it is reached
        return min(rate, part.jerk * time, part.jerk * (part.time - time))

    found = []
    for time in times:
        left = profile.time - time
        if time <= profile.up.time:
            found.append(ramp(True, time))
        elif left <= profile.down.time:
            found.append(-ramp(False, left))
        else:
            found.append(0.0)
    return np.array(found)


@given(ways, rates, rates, rates, st.one_of(st.none(), st.floats(0.1, 500)), st.booleans())
def test_integrating_the_acceleration_gives_the_speed_and_the_way(
    way: float, speed: float, up: float, down: float, jerk: float | None, sine_squared: bool
) -> None:
    """Twice with scipy, from the acceleration alone, piece by piece so that no corner is cut."""
    profile = move_profile(
        way, speed, up, down, jerk=None if sine_squared else jerk, sine_squared=sine_squared
    )
    corners = [0.0, profile.up.time, profile.up.time + profile.even_time, profile.time]
    for ramp, start, sign in ((profile.up, 0.0, 1), (profile.down, profile.time, -1)):
        if ramp.jerk is not None:
            build_up = min(ramp.rate, sqrt(ramp.speed * ramp.jerk)) / ramp.jerk
            corners += [start + sign * build_up, start + sign * (ramp.time - build_up)]
    corners = sorted(corners)
    gone, reached = 0.0, 0.0
    for one, other in pairwise(corners):
        if other - one < 1e-9 * profile.time:
            continue
        inner = 1e-7 * (other - one)  # at a corner the acceleration has two values
        times = np.linspace(one, other, 201)
        rates = accelerations(profile, np.clip(times, one + inner, other - inner))
        speeds = reached + cumulative_simpson(rates, x=times, initial=0)
        gone += cumulative_simpson(speeds, x=times, initial=0)[-1]
        reached = speeds[-1]
        ours = [profile.speed_at(time) for time in times[1:-1]]
        assert ours == pytest.approx(speeds[1:-1], rel=1e-4, abs=1e-4 * profile.speed)
    assert reached == pytest.approx(0, abs=1e-4 * profile.speed)
    assert gone == pytest.approx(way, rel=1e-4)
    assert profile.speed <= speed


def test_the_points_of_a_drawn_line_are_the_corners_of_a_trapezoid() -> None:
    profile = move_profile(1.2, 0.6, 1.2, 0.8)
    end = profile.time
    expected = ((0, 0), (0.5, 0.6), (end - 0.75, 0.6), (end, 0))
    for found, corner in zip(profile.points(), expected, strict=True):
        assert found == pytest.approx(corner, abs=1e-12)
    curved = move_profile(1.2, 0.6, 1.2, 0.8, jerk=6).points()
    assert len(curved) > 20
    times = [time for time, _ in curved]
    assert times == sorted(times)


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"motion_profile_type": SINE_SQUARED},
        {"motion_profile_type": JERK_LIMITED, "profile_jerk": "20000 mm/s^3"},
        {"max_profile_velocity": "100 mm/s"},
        {"profile_velocity": "5000 mm/s"},
    ],
)
def test_a_state_moves_for_as_long_as_the_sentence_says(more: Settings) -> None:
    view = view_of({**MOVING, **more}, BUILT)
    profile = view.state.asked(reference_move)
    assert profile is not None
    assert profile.way == pytest.approx(0.15)  # half the stroke
    assert profile.time == pytest.approx(view.state.ask(reference_move_time).value)


@pytest.mark.parametrize(
    "more",
    [
        {"motion_profile_type": -1},
        {"profile_velocity": 0},
        {"profile_deceleration": "-5 mm/s^2"},  # what no drive has: it has no time, nor a picture
    ],
)
def test_what_only_the_drive_knows_has_no_profile(more: Settings) -> None:
    assert view_of({**MOVING, **more}, BUILT).state.asked(reference_move) is None
    assert view_of(MOVING).state.asked(reference_move) is None  # no machine, no move


@pytest.mark.parametrize(
    ("more", "rise", "fall"),
    [
        ({}, 2, 1),
        ({"max_acceleration": "1500 mm/s^2"}, 1.5, 1),
        ({"max_deceleration": "900 mm/s^2"}, 2, 0.9),
        ({"max_acceleration": "3000 mm/s^2", "max_deceleration": 0}, 2, 1),
    ],
)
def test_the_highest_rates_cut_the_ramps(more: Settings, rise: float, fall: float) -> None:
    """Textbook trapezoid, t = s/v + v/2 (1/a + 1/d). 60C5h, 60C6h cut: CiA 402-2, from memory."""
    view = view_of({**MOVING, **more}, BUILT)
    expected = 0.15 / 0.25 + 0.25 / 2 * (1 / rise + 1 / fall)
    assert view.state.ask(reference_move_time).value == pytest.approx(expected)
    profile = view.state.asked(reference_move)
    assert profile is not None
    assert profile.time == pytest.approx(expected)


def test_two_profiles_are_there_where_one_sees_a_difference() -> None:
    left = view_of(MOVING, BUILT)
    slower = view_of({**MOVING, "profile_velocity": "200 mm/s"}, BUILT)
    both = two_profiles(left, slower)
    assert both is not None
    assert (both.before.speed, both.after.speed) == pytest.approx((0.25, 0.2))
    assert two_profiles(left, left) is None
    assert two_profiles(left, view_of({**MOVING, "profile_velocity": "251 mm/s"}, BUILT)) is None
    other_move = view_of(MOVING, with_mechanics(SCREW, stroke="200 mm"))
    assert two_profiles(left, other_move) is None
    # Ramps of one length in time, of another shape: a = 2 a is as long when sine-squared.
    steep = {"profile_acceleration": "4000 mm/s^2", "profile_deceleration": "2000 mm/s^2"}
    round_ = view_of({**MOVING, **steep, "motion_profile_type": SINE_SQUARED}, BUILT)
    assert two_profiles(left, round_) is not None


def test_in_cyclic_modes_the_controller_makes_the_moves() -> None:
    cyclic = view_of({**MOVING, "modes_of_operation": 8}, BUILT)
    assert cyclic.state.asked(reference_move_time) is None

"""Following error against worked lags; all axes and values are invented."""

from __future__ import annotations

from decimal import Decimal

import pytest
from scipy.integrate import solve_ivp

from tests.meaning.explainers.sides_of_travel import LIFT, SCREW, TABLE, TURNS, Entry, tell, told

SET: dict[str, Entry] = {
    **SCREW,
    "profile_velocity": (200, "mm/s"),
    "max_profile_velocity": (400, "mm/s"),
    "position_gain": (40, "1/s"),
}
"""Lags of 5 and 10 mm: v / Kv."""
WINDOW = "following_error_window"


def test_the_steady_lag_is_what_the_simulated_loop_settles_at() -> None:
    # dx/dt = Kv (v t - x) + f v, integrated for two seconds (80 time constants).
    speed, gain, forward = 0.2, 40.0, 0.75
    found = solve_ivp(
        lambda t, x: gain * (speed * t - x) + forward * speed, (0, 2), [0.0], rtol=1e-10, atol=1e-12
    )
    lag = speed * 2 - float(found.y[0][-1])
    said = told(WINDOW, (20, "mm"), (15, "mm"), {**SET, "velocity_feed_forward": (75, "percent")})
    assert said.figures["steady lag at profile speed"] == pytest.approx(lag, rel=1e-6)


def test_metres_a_minute_per_millimetre_are_a_thousand_sixtieths() -> None:
    # 1 (m/min)/mm = 1000 / 60 1/s: 0.2 m/s lag 12 mm (from the units alone).
    said = told(WINDOW, (20, "mm"), (15, "mm"), {**SET, "position_gain": (1, "(m/min)/mm")})
    assert said.figure("steady lag at profile speed", 0.2 / (1000 / 60))


@pytest.mark.parametrize(
    ("window", "verdict"),
    [
        (4, "it trips as soon as the axis runs"),
        (20, "well inside"),
        (120, "well inside"),
    ],
)
def test_the_window_is_held_against_the_lag(window: int, verdict: str) -> None:
    said = told(WINDOW, (21, "mm"), (window, "mm"), SET)
    assert verdict in said.effect
    assert said.figure("following error window", window / 1000)


def test_two_speeds_with_one_verdict_make_one_sentence() -> None:
    said = told(WINDOW, (21, "mm"), (20, "mm"), SET)
    assert said.effect == (
        "The steady lag is 5 mm at the profile speed of 200 mm/s and 10 mm at the maximum speed "
        "of 400 mm/s: well inside."
    )


def test_two_verdicts_make_two_sentences() -> None:
    said = told(WINDOW, (21, "mm"), (8, "mm"), SET)
    assert said.effect.count("The steady lag is") == 2
    assert "close to that" not in said.effect
    assert "10 mm at the maximum speed of 400 mm/s: more than that" in said.effect


def test_only_a_wider_window_is_a_hazard_and_says_how_far_the_axis_may_stray() -> None:
    wider, tighter = (
        told(WINDOW, (2, "mm"), (20, "mm"), SET),
        told(WINDOW, (20, "mm"), (11, "mm"), SET),
    )
    assert (wider.consequence, tighter.consequence) == ("hazard", "dynamics")
    assert "may stray 20 mm" in wider.effect
    assert "stray" not in tighter.effect


def test_a_warning_that_comes_later_protects_nobody_less() -> None:
    said = told("following_error_warning", (2, "mm"), (20, "mm"), SET)
    assert said.consequence == "dynamics"
    assert "trips" not in told("following_error_warning", (20, "mm"), (4, "mm"), SET).effect


def test_a_window_of_all_ones_switches_monitoring_off() -> None:
    # 6065h = FFFF FFFFh: no monitoring (CiA 402-2, from memory).
    off = (0xFFFF_FFFF, "user_position")
    said = told(WINDOW, (2000, "user_position"), off, SET)
    assert said.consequence == "hazard"
    assert "without a fault" in said.effect
    assert told(WINDOW, off, (20, "mm"), SET).consequence == "dynamics"
    assert told(WINDOW, off, off, SET).consequence == "dynamics"


def test_a_window_that_is_gone_is_a_hazard() -> None:
    assert told(WINDOW, (2, "mm"), None, SET).consequence == "hazard"


def test_without_gain_or_speed_only_the_way_is_told() -> None:
    said = told(WINDOW, (2, "mm"), (20, "mm"), SCREW)
    assert said.effect == "The axis may stray 20 mm from where it should be before it trips."
    assert tell(WINDOW, (2, None), (20, None), SET) is None


def test_a_turning_axis_is_told_in_degrees() -> None:
    # 36 deg/s at 20 1/s lag 1.8 deg.
    common: dict[str, Entry] = {
        **TURNS,
        "profile_velocity": (36, "deg/s"),
        "position_gain": (20, "1/s"),
    }
    said = told(WINDOW, (2, "deg"), (4, "deg"), common, TABLE)
    assert "1.8 deg at the profile speed of 6 r/min" in said.effect
    assert "stray 4 deg" in said.effect


def test_more_feed_forward_than_all_leads_by_the_rest() -> None:
    said = told(WINDOW, (20, "mm"), (15, "mm"), {**SET, "velocity_feed_forward": (110, "percent")})
    assert said.figures["steady lag at profile speed"] == pytest.approx(0.0005)


def test_a_longer_time_out_is_a_hazard_with_the_way_made_in_it() -> None:
    # Nothing holds the motor to less than its 4500 r/min: 0.75 m/s for 50 ms are 37.5 mm.
    said = told("following_error_time_out", (10, "ms"), (50, "ms"), SET)
    assert said.consequence == "hazard"
    assert said.figure("way in that time", 0.0375)
    assert "37.5 mm in that time" in said.effect
    assert told("following_error_time_out", (50, "ms"), (10, "ms"), SET).consequence == "dynamics"
    assert told("following_error_time_out", (10, "ms"), (50, "ms"), axis=None).effect.endswith(
        "trips."
    )


def test_a_window_tells_what_it_lets_through_of_the_room() -> None:
    # 0.4 m/s: 20 mm of window, 0.4 x 10 ms, and 0.4^2 / (2 x 4) = 20 mm: 44 of 100 mm.
    watched: dict[str, Entry] = {
        **SET,
        "modes_of_operation": (1, None),
        "max_motor_speed": (2400, "r/min"),
        "quick_stop_deceleration": (4000, "mm/s^2"),
        "following_error_time_out": (10, "ms"),
        "min_software_position_limit": (75, "mm"),
        "max_software_position_limit": (525, "mm"),
    }
    said = told(WINDOW, (30, "mm"), (20, "mm"), watched, LIFT)
    assert (
        "Running away, the axis goes at least 44 mm until it stands: 44 % of the 100 mm behind the "
        "software limits."
    ) in said.effect  # at least: the torque that brakes is not known
    assert said.figures["share of the room that a runaway takes"] == pytest.approx(0.44)


@pytest.mark.parametrize(
    ("window", "verdict"),
    [("9.9", "more than that"), ("10", "close to that"), ("12.4", "close to that"),
     ("12.6", "well inside")],
)  # fmt: skip
def test_a_lag_of_four_fifths_of_the_window_is_close_to_it(window: str, verdict: str) -> None:
    said = told(WINDOW, (20, "mm"), (Decimal(window), "mm"), SET)
    assert f"10 mm at the maximum speed of 400 mm/s: {verdict}" in said.effect or (
        verdict == "well inside" and said.effect.count("The steady lag is") == 1
    )


def test_a_lag_is_told_as_it_is_reckoned() -> None:
    said = told(WINDOW, (20, "mm"), (20, "mm"), {**SET, "velocity_feed_forward": (110, "percent")})
    assert said.figure("steady lag at profile speed", 0.0005)
    assert said.figure("steady lag at maximum speed", 0.001)


@pytest.mark.parametrize(
    ("before", "after", "worst"),
    [(10, 20, "hazard"), (20, 10, "dynamics"), (10, 0, "dynamics"), (10, 10, "dynamics")],
)
def test_a_longer_time_out_is_a_hazard(before: int, after: int, worst: str) -> None:
    found = told("following_error_time_out", (before, "ms"), (after, "ms"), SET)
    assert found.consequence == worst


def test_the_way_within_the_time_out_is_told() -> None:
    # 4500 r/min x 10 mm = 750 mm/s, x 20 ms = 15 mm.
    found = told("following_error_time_out", (10, "ms"), (20, "ms"), SET)
    assert found.figure("way in that time", 0.015)
    assert "at 750 mm/s the axis makes 15 mm" in found.effect
    bare = told("following_error_time_out", (10, "ms"), (20, "ms"), axis=None)
    assert bare.figures == {}
    assert told("following_error_time_out", (10, "ms"), None, SET).consequence == "dynamics"
    assert tell("following_error_time_out", (10, "ms"), (20, "mm"), SET) is None


@pytest.mark.parametrize(
    ("role", "after", "worst"),
    [
        (WINDOW, None, "hazard"),
        (WINDOW, (0, "mm"), "hazard"),
        (WINDOW, (2**32 - 1, "mm"), "hazard"),
        ("following_error_warning", None, "dynamics"),
        ("following_error_warning", (0, "mm"), "dynamics"),
        ("following_error_warning", (2**32 - 1, "mm"), "dynamics"),
    ],
)
def test_a_window_that_is_gone_is_a_hazard_and_a_warning_is_not(
    role: str, after: Entry | None, worst: str
) -> None:
    assert told(role, (10, "mm"), after, SET).consequence == worst
    never = (2**32 - 1, "mm")
    assert told(role, never, never, SET).consequence == "dynamics"
    assert told(role, never, (10, "mm"), SET).consequence == "dynamics"
    assert tell(role, (10, "mm"), (10, "ms"), SET) is None

"""The following error window against the steady lag (1 - f) v / Kv."""

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
from vault.behaviour.behave import margins_of

# v / Kv: 300 / 30 = 10 mm at profile speed, 600 / 30 = 20 mm at the maximum.
SLOW: Settings = {"profile_velocity": "300 mm/s", "position_gain": "30 1/s"}
BOTH: Settings = {**SLOW, "max_profile_velocity": "600 mm/s"}
WINDOW = "following_error_window"


@pytest.mark.parametrize(
    ("window", "words"),
    [
        ("9 mm", "as soon as it runs"),
        ("10 mm", "goes that fast"),
        ("19 mm", "goes that fast"),
        ("20 mm", None),
        ("2000 mm", None),
    ],
)
def test_the_window_is_wider_than_the_lag_at_both_speeds(window: str, words: str | None) -> None:
    found = complaints("window_and_lag", view_of({**BOTH, WINDOW: window}))
    assert [words in one.sentence for one in found if words] == ([True] if words else [])
    assert bool(found) is (words is not None)


@pytest.mark.parametrize(("window", "count"), [("1 mm", 1), ("2 mm", 0)])
def test_feed_forward_makes_the_lag_smaller(window: str, count: int) -> None:
    # 80 %: a fifth of 10 mm is 2 mm.
    settings = {**SLOW, "velocity_feed_forward": 80, WINDOW: window}
    assert len(complaints("window_and_lag", view_of(settings))) == count


# 500 mm/s on 2500 mm/s^2 stop in 50 mm, 10 ms until it trips are 5 mm more; the room is 100 mm.
WATCHED: Settings = {
    "max_motor_speed": "7500 r/min",
    "quick_stop_deceleration": "2500 mm/s^2",
    "following_error_time_out": "10 ms",
    "min_software_position_limit": "0 mm",
    "max_software_position_limit": "400 mm",
}
ENDS = {"hard_stop_low": "-100 mm", "hard_stop_high": "500 mm"}


@pytest.mark.parametrize(("window", "count"), [("45 mm", 0), ("46 mm", 1)])
def test_a_window_is_judged_by_what_it_lets_through_of_the_room(window: str, count: int) -> None:
    view = view_of({**WATCHED, WINDOW: window}, with_mechanics(SCREW, **ENDS))
    assert len(complaints("trip_room", view)) == count


def test_where_no_room_is_known_nothing_is_said_of_a_wide_window() -> None:
    view = view_of({**WATCHED, **SLOW, WINDOW: "400 mm"}, SCREW)
    assert not complaints("trip_room", view) and not complaints("window_and_lag", view)
    found = margins_of(view.state)["trip_room"]
    assert set(found.missing) == {"mechanics.hard_stop_low", "mechanics.hard_stop_high"}


def test_a_speed_in_motor_revolutions_counts_as_the_way_of_the_axis() -> None:
    # 4500 r/min / 4 x 16 mm / 60 s = 300 mm/s.
    settings = {**SLOW, "profile_velocity": "4500 r/min"}
    assert not complaints("window_and_lag", view_of({**settings, WINDOW: "11 mm"}, SCREW))
    found = the_complaint("window_and_lag", view_of({**settings, WINDOW: "9 mm"}, SCREW))
    assert "lags 10 mm" in found.sentence


def test_a_forward_in_a_unit_of_its_own_leaves_the_lag_open() -> None:
    settings = {**SLOW, "velocity_feed_forward": "0.5 1/s", WINDOW: "1 mm"}
    assert not complaints("window_and_lag", view_of(settings))


@pytest.mark.parametrize("lacking", ["profile_velocity", "position_gain", WINDOW])
def test_without_speed_gain_or_window_nothing_is_said(lacking: str) -> None:
    settings: Settings = {**SLOW, WINDOW: "1 mm"}
    settings = {role: value for role, value in settings.items() if role != lacking}
    assert not complaints("window_and_lag", view_of(settings))


@pytest.mark.parametrize(("mode", "count"), [(8, 1), (1, 1), (9, 0), (2, 0)])
def test_a_drive_that_closes_no_position_loop_needs_no_window(mode: int, count: int) -> None:
    settings = {**SLOW, WINDOW: "1 mm", "modes_of_operation": mode}
    assert len(complaints("window_and_lag", view_of(settings))) == count


@pytest.mark.parametrize(("raw", "words"), [(0xFFFFFFFF, "switched off"), (0, "is 0")])
def test_a_window_that_is_off_or_nought_is_told(raw: int, words: str) -> None:
    # FFFFFFFFh switches it off (6065h, from memory).
    found = the_complaint("window_off", view_of({WINDOW: raw}))
    assert words in found.sentence and found.consequence == "hazard"
    assert not complaints("window_off", view_of({WINDOW: 2000}))
    assert not complaints("window_and_lag", view_of({**SLOW, WINDOW: raw}))

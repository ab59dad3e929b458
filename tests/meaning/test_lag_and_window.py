"""Lag beside window: v / Kv by hand, and no picture where nothing differs."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, view_of
from vault.meaning.lag_and_window import lag_and_window

WATCHED: Settings = {
    **CARRIAGE,
    "modes_of_operation": 1,
    "position_gain": "40 1/s",
    "velocity_feed_forward": "75 %",
    "profile_velocity": "400 mm/s",
    "max_profile_velocity": "800 mm/s",
    "following_error_window": "2.5 mm",
}
OFF: Settings = {"following_error_window": 0xFFFF_FFFF}


def test_lags_and_windows_of_both_sides() -> None:
    both = lag_and_window(
        view_of(WATCHED, SCREW), view_of({**WATCHED, "position_gain": "20 1/s"}, SCREW)
    )
    assert both is not None
    assert both.before.window == both.after.window == pytest.approx(0.0025)
    assert [lag.at for lag in both.before.lags] == ["profile speed", "top speed"]
    # (1 - 0.75) x 400 / 40 = 2.5 mm, at 800 mm/s twice that; half the gain lags twice as much.
    assert [lag.size for lag in both.before.lags] == pytest.approx([0.0025, 0.005])
    assert [lag.size for lag in both.after.lags] == pytest.approx([0.005, 0.01])


def test_a_speed_that_both_roles_have_is_there_once() -> None:
    left = view_of({**WATCHED, "max_profile_velocity": "400 mm/s"}, SCREW)
    both = lag_and_window(left, view_of(WATCHED, SCREW))
    assert both is not None
    assert [len(side.lags) for side in (both.before, both.after)] == [1, 2]


def test_a_window_that_is_off_has_no_size() -> None:
    both = lag_and_window(view_of(WATCHED, SCREW), view_of({**WATCHED, **OFF}, SCREW))
    assert both is not None
    assert both.after.window is None


@pytest.mark.parametrize(
    "lacking",
    ["position_gain", "following_error_window", "profile_velocity max_profile_velocity"],
)
def test_nothing_is_drawn_of_what_is_not_known_on_both_sides(lacking: str) -> None:
    rest = {role: value for role, value in WATCHED.items() if role not in lacking.split()}
    whole, part = view_of(WATCHED, SCREW), view_of(rest, SCREW)
    assert lag_and_window(whole, part) is None
    assert lag_and_window(part, whole) is None
    assert lag_and_window(whole, view_of({**WATCHED, "velocity_gain": 7}, SCREW)) is None

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
        ("200 mm", None),
        ("201 mm", "noticed late"),
    ],
)
def test_the_window_lies_between_the_lag_at_both_speeds_and_a_multiple(
    window: str, words: str | None
) -> None:
    found = complaints("window_and_lag", view_of({**BOTH, WINDOW: window}))
    assert [words in one.sentence for one in found if words] == ([True] if words else [])
    assert bool(found) is (words is not None)


@pytest.mark.parametrize(("window", "count"), [("200 mm", 0), ("201 mm", 1)])
def test_with_the_profile_speed_alone_twenty_times_its_lag_is_too_wide(
    window: str, count: int
) -> None:
    assert len(complaints("window_and_lag", view_of({**SLOW, WINDOW: window}))) == count


def test_a_window_for_a_far_higher_maximum_speed_is_not_too_wide() -> None:
    # 3000 mm/s / 30 1/s = 100 mm: 300 mm are thirty times the lag at profile speed, three at that.
    settings = {**SLOW, "max_profile_velocity": "3000 mm/s", WINDOW: "300 mm"}
    assert not complaints("window_and_lag", view_of(settings))


@pytest.mark.parametrize(("window", "count"), [("1 mm", 1), ("2 mm", 0), ("41 mm", 1)])
def test_feed_forward_makes_the_lag_smaller(window: str, count: int) -> None:
    # 80 %: a fifth of 10 mm is 2 mm.
    settings = {**SLOW, "velocity_feed_forward": 80, WINDOW: window}
    assert len(complaints("window_and_lag", view_of(settings))) == count


@pytest.mark.parametrize(("window", "count"), [("100 mm", 0), ("101 mm", 1)])
def test_without_lag_a_tenth_of_the_stroke_is_too_wide(window: str, count: int) -> None:
    settings = {**SLOW, "velocity_feed_forward": 100, WINDOW: window}
    record = with_mechanics(SCREW, stroke="1000 mm")
    assert len(complaints("window_and_lag", view_of(settings, record))) == count
    assert not complaints("window_and_lag", view_of(settings, SCREW))


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

"""Where an axis may go and how far it goes, by hand from gear, lead and limits."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, view_of, with_mechanics
from vault.meaning.changes import Change, Finding
from vault.meaning.travel_scale import position_shift, travel_scale
from vault.model.parameters import Parameter

LIMITED: Settings = {
    **CARRIAGE,
    "software_position_limits_used": 1,
    "min_software_position_limit": 0,
    "max_software_position_limit": 300_000,
}
BUILT = with_mechanics(SCREW, stroke="340 mm", hard_stop_low="-20 mm", hard_stop_high="320 mm")


def test_a_moved_limit() -> None:
    wider = view_of({**LIMITED, "max_software_position_limit": 310_000}, BUILT)
    scale = travel_scale(view_of(LIMITED, BUILT), wider)
    assert scale is not None
    assert (scale.is_limited_anew, scale.is_rescaled) == (True, False)
    assert (scale.before.low, scale.before.high) == pytest.approx((0, 0.3))
    assert scale.after.high == pytest.approx(0.31)
    assert scale.stops == pytest.approx((-0.02, 0.32))


def test_limits_that_are_off_are_none() -> None:
    off = view_of({**LIMITED, "software_position_limits_used": 0}, BUILT)
    scale = travel_scale(view_of(LIMITED, BUILT), off)
    assert scale is not None
    assert scale.before.has_limits
    assert not scale.after.has_limits


def test_another_feed_takes_a_command_elsewhere() -> None:
    """A feed of 10 mm on a screw of 16 mm: 1.6 times as far, and so do the limits."""
    wrong = view_of({**LIMITED, "feed_constant_feed": 10_000}, BUILT)
    scale = travel_scale(view_of(LIMITED, BUILT), wrong)
    assert scale is not None
    assert scale.is_rescaled
    assert scale.is_real
    assert scale.commanded == pytest.approx(0.17)  # half the stroke
    assert scale.before.moved == pytest.approx(0.17)
    assert scale.after.moved == pytest.approx(0.272)
    assert scale.after.high == pytest.approx(0.48)


def test_without_a_machine_only_the_ratio_is_known() -> None:
    scale = travel_scale(view_of(LIMITED), view_of({**LIMITED, "feed_constant_feed": 10_000}))
    assert scale is not None
    assert not scale.is_real
    assert (scale.before.moved, scale.after.moved) == pytest.approx((0.1, 0.16))


def test_what_is_alike_has_no_picture() -> None:
    assert travel_scale(view_of(LIMITED, BUILT), view_of(LIMITED, BUILT)) is None
    # The same motion in other units: 16 mm in 0.01 mm.
    assert travel_scale(view_of({}), view_of({})) is None


def shift_of(value: str, unit: str = "m", settings: Settings = LIMITED) -> object:
    shown = Parameter("p/home_offset", "Home offset", 5, 5, "home_offset")
    change = Change(
        "changed", "travel", shown, shown,
        findings=(Finding("shift of every position", value, unit, "right less left"),),
    )  # fmt: skip
    return position_shift(change, view_of(settings, BUILT))


def test_a_shift_is_held_against_the_room_behind_the_limits() -> None:
    shift = shift_of("-0.0305")
    assert getattr(shift, "size", None) == pytest.approx(0.0305)
    assert getattr(shift, "rooms", None) == pytest.approx((0.02, 0.02))
    assert shift_of("0") is None
    assert shift_of("1", "rad") is None
    off = {**LIMITED, "software_position_limits_used": 0}
    assert shift_of("0.01", settings=off) is None

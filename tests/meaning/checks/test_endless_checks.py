"""Endless axes: where positions start over, and where the encoder's turns run over."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import CARRIAGE, Settings, complaints, the_complaint, view_of

TABLE = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 7, "output": 3}}}
# Degrees, a gear of 7:3, 360 to a turn.
TURNED: Settings = {
    **CARRIAGE,
    "si_unit_position": 0x00410000,
    "gear_ratio_motor_revolutions": 7,
    "gear_ratio_shaft_revolutions": 3,
    "feed_constant_feed": 360,
}
RANGE = ("min_position_range_limit", "max_position_range_limit")


@pytest.mark.parametrize(("high", "count"), [(360, 0), (720, 0), (300, 1), (0, 0)])
def test_positions_start_over_after_whole_turns(high: int, count: int) -> None:
    settings = {**TURNED, **dict(zip(RANGE, (0, high), strict=True))}
    assert len(complaints("modulo_range", view_of(settings, TABLE))) == count


def test_a_range_of_no_whole_turn_is_told_with_both_widths() -> None:
    settings = {**TURNED, **dict(zip(RANGE, (-50, 250), strict=True))}
    found = the_complaint("modulo_range", view_of(settings, TABLE))
    assert "start over after 300 user units, a turn has 360" in found.sentence
    assert found.consequence == "travel"
    assert found.look_at == (*(f"p/{role}" for role in RANGE), "axis.yaml: mechanics")


def test_a_range_of_the_whole_number_is_none_that_anybody_means() -> None:
    wide = dict(zip(RANGE, (-(2**31), 2**31 - 1), strict=True))
    assert not complaints("modulo_range", view_of({**TURNED, **wide}, TABLE))


def test_turns_that_do_not_close_lose_the_zero_when_they_run_over() -> None:
    # 2^12 motor turns are 4096 x 3 / 7 = 1755 3/7 turns of the table.
    settings: Settings = {**TURNED, "encoder_multi_turn_bits": 12}
    found = the_complaint("encoder_runs_over", view_of(settings, TABLE))
    assert "some time they run over" in found.sentence
    assert found.consequence == "travel"
    assert found.look_at == ("p/encoder_multi_turn_bits", "axis.yaml: mechanics")


def test_at_profile_speed_it_is_told_when_the_turns_run_over() -> None:
    # 4096 x 3 / 7 x 360 deg at 90 deg/s are 7021.7 s; half of it, if counted from the middle.
    settings: Settings = {
        **TURNED, "encoder_multi_turn_bits": 12, "profile_velocity": "90 deg/s",
        "max_profile_velocity": "90 deg/s",
    }  # fmt: skip
    found = the_complaint("encoder_runs_over", view_of(settings, TABLE))
    assert "they run over after" in found.sentence
    assert "one way at profile speed" in found.sentence
    assert len(found.findings) == 2


def test_turns_that_close_lose_nothing() -> None:
    eight = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 8, "output": 1}}}
    settings: Settings = {
        **TURNED, "gear_ratio_motor_revolutions": 8, "gear_ratio_shaft_revolutions": 1,
        "encoder_multi_turn_bits": 12,
    }  # fmt: skip
    assert not complaints("encoder_runs_over", view_of(settings, eight))

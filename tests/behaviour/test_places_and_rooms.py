"""Where the axis may go, how far it knows its place, and what a shift leaves: worked by hand.

Axes are those of `tests/behaviour/axes.py`, all invented.
"""

from __future__ import annotations

from fractions import Fraction
from math import pi
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, TABLE_RECORD, TABLE_SET, axis
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour.behave import margins_of
from vault.behaviour.force import moved
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import (
    absolute_range,
    counts_of_turn,
    increments_of_turn,
    is_endless,
    lost_turn,
    multi_turn_bits,
    stated_range,
    stroke,
    time_to_run_over,
    units_of_turn,
    user_units_of_turn,
    way_of_motor_turn,
)
from vault.behaviour.position_limits import (
    both_zero,
    hard_stops,
    high_limit_and_stop,
    limits_are_off,
    low_limit_and_stop,
    position_range,
    rooms,
    stated_limits,
)
from vault.behaviour.room import falling_room, room, rooms_left
from vault.behaviour.scale import direction, travel_ratio
from vault.behaviour.speed import motor_top_speed
from vault.behaviour.state import State

LOW, HIGH = "min_software_position_limit", "max_software_position_limit"
STOPS = ("mechanics.hard_stop_low", "mechanics.hard_stop_high")


def lift(record: dict[str, Any] | None = None, **settings: Any) -> State:
    return axis("lift", record, **settings).state


# ----- over which way the encoder knows its place


@pytest.mark.parametrize(
    ("bits", "way"), [(0, 0.010), (1, 0.020), (12, 40.96), (64, 2.0**64 * 0.010)]
)
def test_bits_of_turns_give_a_range(bits: int, way: float) -> None:
    assert lift(encoder_multi_turn_bits=bits).ask(stated_range).value == pytest.approx(way)


@pytest.mark.parametrize("bits", [-1, 65])
def test_no_encoder_has_so_many_bits(bits: int) -> None:
    for asked in (stated_range, absolute_range):
        with pytest.raises(DoesNotApply):
            lift(encoder_multi_turn_bits=bits).ask(asked)


def test_an_encoder_without_bits_of_turns_knows_its_place_within_one() -> None:
    with pytest.raises(DoesNotApply):
        lift(encoder_multi_turn_bits=0).ask(multi_turn_bits)
    assert lift(encoder_multi_turn_bits=64).ask(multi_turn_bits) == 64
    with pytest.raises(Missing, match=r"^encoder\.multi_turn_bits$"):
        lift().ask(multi_turn_bits)
    recorded = {**LIFT_RECORD, "encoder": {"multi_turn_bits": 13}}
    assert lift(recorded).ask(multi_turn_bits) == 13
    assert lift(recorded, encoder_multi_turn_bits=12).ask(multi_turn_bits) == 12


def table(motor: int = 40, output: int = 1, **settings: Any) -> State:
    """A table that turns on and on."""
    record = with_mechanics(
        TABLE_RECORD, gearbox={"motor": motor, "output": output},
        stroke=None, hard_stop_low=None, hard_stop_high=None,
    )  # fmt: skip
    gears = {"gear_ratio_motor_revolutions": motor, "gear_ratio_shaft_revolutions": output}
    bits = {"encoder_multi_turn_bits": 12}
    return view_of({**TABLE_SET, **bits, **gears, **settings}, record).state


@pytest.mark.parametrize(
    ("motor", "lost"),
    [
        (32, 0),  # 4096 / 32 = 128 turns
        (40, 144),  # 102.4
        (30, 168),  # 136.533: 0.533 one way round, 0.467 the other
        (48, 120),  # 85.333
    ],
)
def test_zero_is_lost_by_what_is_no_whole_turn(motor: int, lost: float) -> None:
    assert table(motor).ask(lost_turn).value * 180 / pi == pytest.approx(lost)


def test_turns_run_over_after_their_range() -> None:
    # 102.4 turns of 360 deg at 90 deg/s.
    assert table().ask(time_to_run_over).value == pytest.approx(102.4 * 4)


def test_an_axis_with_ends_or_in_a_line_is_not_endless() -> None:
    assert table().ask(is_endless)
    assert not axis("table").state.ask(is_endless)
    assert not lift(with_mechanics(LIFT_RECORD, stroke=None, hard_stop_low=None)).ask(is_endless)
    for asked in (lost_turn, time_to_run_over, increments_of_turn, user_units_of_turn):
        assert axis("table", encoder_multi_turn_bits=12).state.asked(asked) is None


def test_increments_and_units_of_a_turn() -> None:
    # 2^20 x 10 / 3; 360 user units of 1 deg.
    assert table(10, 3).ask(counts_of_turn) == Fraction(2**20 * 10, 3)
    assert table().ask(units_of_turn) == 360
    assert table(feed_constant_feed=720).ask(units_of_turn) == 720
    assert table(gear_ratio_motor_revolutions=80).ask(units_of_turn) == 180
    with pytest.raises(Missing, match=r"^position_encoder_increments$"):
        table(position_encoder_increments="0 increments").ask(counts_of_turn)


def test_the_stroke_is_recorded_or_lies_between_the_stops() -> None:
    longer = with_mechanics(LIFT_RECORD, stroke="680 mm")
    assert lift(longer).ask(stroke).value == pytest.approx(0.680)
    between = with_mechanics(LIFT_RECORD, stroke=None)
    assert lift(between).ask(stroke).value == pytest.approx(0.690)
    with pytest.raises(Missing, match=r"^mechanics\.stroke$"):
        lift(with_mechanics(between, hard_stop_low=None)).ask(stroke)
    with pytest.raises(DoesNotApply):
        table().ask(stroke)


@pytest.mark.parametrize(
    ("kind", "key"),
    [("ball_screw", "lead"), ("belt", "pulley_circumference"), ("rack", "pinion_circumference")],
)
def test_a_turn_of_the_motor_goes_by_the_mechanics(kind: str, key: str) -> None:
    # 120 mm a turn behind 4:1.
    mechanics: dict[str, Any] = {"kind": kind, "gearbox": {"motor": 4, "output": 1}}
    state = view_of({}, {"mechanics": {**mechanics, key: "120 mm"}}).state
    assert state.ask(way_of_motor_turn).value == pytest.approx(0.030)
    with pytest.raises(Missing, match=rf"^mechanics\.{key}$"):
        view_of({}, {"mechanics": mechanics}).state.ask(way_of_motor_turn)


def test_a_linear_motor_without_its_pole_pitch_has_no_turn() -> None:
    record: dict[str, Any] = {"mechanics": {"kind": "linear_motor", "moving_mass": "20 kg"}}
    state = view_of({"encoder_multi_turn_bits": 12, "motor_max_speed": "3000 r/min"}, record).state
    for asked in (absolute_range, motor_top_speed):
        with pytest.raises(Missing) as caught:
            state.ask(asked)
        assert "mechanics.pole_pitch" in caught.value.names
    assert state.ask(moved).most == 20


# ----- limits and stops


@pytest.mark.parametrize(
    ("settings", "are_off"),
    [
        ({}, False),
        ({LOW: None, HIGH: None}, None),
        ({LOW: None}, False),
        ({HIGH: None}, False),
        ({LOW: "0 mm", HIGH: "0 mm"}, True),
        ({LOW: "5 mm", HIGH: "5 mm"}, False),
        ({"software_position_limits_used": 0}, True),
        ({"software_position_limits_used": 1}, False),
    ],
)
def test_whether_limits_act(settings: Settings, are_off: bool | None) -> None:
    assert lift(**settings).ask(limits_are_off) is are_off
    assert lift(**settings).ask(both_zero) is (settings.get(HIGH) == "0 mm")


def test_limits_against_their_stops() -> None:
    # Stops at -45 and 645 mm.
    state = lift(**{LOW: "-60 mm", HIGH: "650 mm"})
    low, high = state.ask(low_limit_and_stop), state.ask(high_limit_and_stop)
    assert (low.limit, low.stop, low.beyond) == pytest.approx((-0.060, -0.045, 0.015))
    assert (high.limit, high.stop, high.beyond) == pytest.approx((0.650, 0.645, 0.005))
    within = lift(**{LOW: "-40 mm", HIGH: "600 mm"})
    assert within.ask(low_limit_and_stop).beyond == pytest.approx(-0.005)
    assert within.ask(high_limit_and_stop).beyond == pytest.approx(-0.045)
    assert within.ask(rooms) == pytest.approx((0.005, 0.045))
    assert within.ask(stated_limits).apart == pytest.approx(0.640)
    assert within.ask(room).value == pytest.approx(0.005)


@pytest.mark.parametrize(
    ("record", "settings", "asked", "names"),
    [
        ({"hard_stop_low": None}, {}, hard_stops, STOPS[:1]),
        ({"hard_stop_high": None}, {}, hard_stops, STOPS[1:]),
        ({"hard_stop_low": None, "hard_stop_high": None}, {}, hard_stops, STOPS),
        ({"hard_stop_low": None}, {}, low_limit_and_stop, STOPS[:1]),
        ({"hard_stop_high": None}, {}, high_limit_and_stop, STOPS[1:]),
        ({}, {LOW: None}, low_limit_and_stop, (LOW,)),
        ({}, {HIGH: None}, high_limit_and_stop, (HIGH,)),
        ({}, {LOW: None}, stated_limits, (LOW,)),
        ({}, {HIGH: None}, stated_limits, (HIGH,)),
    ],
)
def test_the_end_that_is_missing_is_named(
    record: dict[str, Any], settings: Settings, asked: Any, names: tuple[str, ...]
) -> None:
    with pytest.raises(Missing) as caught:
        lift(with_mechanics(LIFT_RECORD, **record), **settings).ask(asked)
    assert caught.value.names == names


def test_a_range_of_positions_is_upper_less_lower() -> None:
    ends = {"min_position_range_limit": "-100 mm", "max_position_range_limit": "700 mm"}
    assert lift(**ends).ask(position_range).value == pytest.approx(0.8)
    for role in ends:
        with pytest.raises(Missing) as caught:
            lift(**{**ends, role: None}).ask(position_range)
        assert caught.value.names == (role,)


@pytest.mark.parametrize(
    ("high", "ratio"), [("600 mm", 690 / 600), ("700 mm", 690 / 700), ("0.001 mm", 690_000)]
)
def test_limits_are_held_against_the_stroke(high: str, ratio: float) -> None:
    assert margins_of(lift(**{HIGH: high}))["limits_in_stroke"].ratio == pytest.approx(ratio)


def test_limits_at_one_place_are_not_held_against_the_stroke() -> None:
    assert "limits_in_stroke" not in margins_of(lift(**{LOW: "5 mm", HIGH: "5 mm"}))
    for role in (LOW, HIGH):
        assert margins_of(lift(**{role: None}))["limits_in_stroke"].missing == (role,)


# ----- room


def test_a_shift_leaves_less_at_both_ends() -> None:
    far = with_mechanics(LIFT_RECORD, hard_stop_low="-80 mm")
    shifted = lift(far).substituted({}, shift=0.01)
    assert shifted.ask(rooms_left) == pytest.approx((0.070, 0.035))
    found = shifted.ask(room)
    assert (found.value, found.bound) == (pytest.approx(0.035), "at_least")
    assert (lift(far).ask(room).value, lift(far).ask(room).bound) == (0.045, "exact")
    down = lift(with_mechanics(far, down="low")).substituted({}, shift=0.01).ask(falling_room)
    assert (down.value, down.bound) == (pytest.approx(0.070), "at_least")


def test_a_shift_is_hedged_as_it_may_go_either_way() -> None:
    for shift, is_told in ((0.01, True), (0.0, False)):
        state = lift().substituted({}, shift=shift)
        state.ask(room)
        assert any("taken either way" in hedge for hedge in state.told(room)[1]) is is_told


def test_a_table_with_ends_has_room_and_a_line_without_asks_for_them() -> None:
    assert axis("table").state.ask(room).value == pytest.approx(pi / 6)  # 215 less 185 deg
    with pytest.raises(Missing) as caught:
        lift(with_mechanics(LIFT_RECORD, hard_stop_low=None)).ask(room)
    assert caught.value.names == STOPS[:1]


def test_there_is_no_room_to_tell_of() -> None:
    for state in (table(), lift(modes_of_operation=3)):
        with pytest.raises(DoesNotApply):
            state.ask(room)
    for settings in ({LOW: "5 mm", HIGH: "5 mm"}, {LOW: "9 mm", HIGH: "5 mm"}):
        with pytest.raises(Missing) as caught:
            lift(**settings).ask(room)
        assert caught.value.names == ()


# ----- scale


@pytest.mark.parametrize(
    ("polarity", "counted", "sign"),
    [(0, 0, 1), (0x80, 0, -1), (0, 1, -1), (0x80, 1, 1), (0x40, 0, 1), (None, 1, -1), (0, None, 1)],
)
def test_the_way_it_goes_is_a_product(polarity: int | None, counted: int | None, sign: int) -> None:
    state = lift(polarity=polarity, encoder_direction=counted)
    assert state.ask(direction).value == sign


def test_no_direction_is_told_without_both() -> None:
    with pytest.raises(Missing, match=r"^polarity$"):
        lift(polarity=None, encoder_direction=None).ask(direction)


@pytest.mark.parametrize(
    ("settings", "k"),
    [({}, 1), ({"gear_ratio_motor_revolutions": 4}, 2), ({"feed_constant_feed": 40}, 0.5)],
)
def test_k_is_way_moved_over_way_stated(settings: Settings, k: float) -> None:
    assert lift(**settings).ask(travel_ratio).value == k


@pytest.mark.parametrize(
    ("record", "settings", "way"),
    [
        ({}, {}, 0.690),
        ({"stroke": None}, {}, 0.600),
        ({"stroke": None}, {LOW: "-700 mm"}, 0.700),
        ({"stroke": None}, {HIGH: None, LOW: "-100 mm"}, 0.100),
    ],
)
def test_counts_go_over_the_stroke_or_to_the_farther_limit(
    record: dict[str, Any], settings: Settings, way: float
) -> None:
    # 2^20 increments a turn of 10 mm, of 2^31.
    found = margins_of(lift(with_mechanics(LIFT_RECORD, **record), **settings))["counts"]
    assert found.ratio == pytest.approx(2**31 / (way * 2**20 / 0.010))


def test_counts_without_a_way_are_not_told() -> None:
    bare = with_mechanics(LIFT_RECORD, stroke=None)
    found = margins_of(lift(bare, **{LOW: None, HIGH: None}))["counts"]
    assert found.missing == ("mechanics.stroke",)
    assert "counts" not in margins_of(lift(bare, **{LOW: "0 mm", HIGH: "0 mm"}))

"""Homing, absolute offset and encoder against worked numbers. Axes are invented.

Methods by the numbers of CiA 402-2, from memory.
"""

from __future__ import annotations

from math import pi

import pytest
from scipy import constants

from tests.meaning.explainers.sides_of_travel import (
    ENDLESS_TABLE,
    LIFT,
    RAMPS,
    SCREW,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    between,
    tell,
    told,
    view,
)
from vault.behaviour.homing import direction
from vault.model import choices

OFFSET, ABSOLUTE, METHOD = "home_offset", "encoder_absolute_offset", "homing_method"
HOME: Entry = (22, None, "Homing switch")
NEGATIVE: Entry = (21, None, "Negative over-travel")


def test_a_home_offset_shifts_every_position_by_its_difference() -> None:
    found = told(OFFSET, (100, "mm"), (118, "mm"), RAMPS)
    assert "lies 18 mm elsewhere" in found.effect
    assert found.figure("shift of every position", 0.018)


@pytest.mark.parametrize("axis", [LIFT, SLIDE])
@pytest.mark.parametrize(("after", "worst"), [(120, "travel"), (130, "hazard"), (70, "hazard")])
def test_a_shift_beyond_the_room_at_the_limits_is_a_hazard(
    axis: str, after: int, worst: str
) -> None:
    # Room of 25 mm at each end: 20 mm fit, 30 mm do not, whichever way.
    found = told(OFFSET, (100, "mm"), (after, "mm"), RAMPS, axis)
    assert ("25 mm" in found.effect) == (worst == "hazard")
    assert found.consequence == worst


def test_where_no_room_is_known_a_hanging_axis_makes_it_a_hazard() -> None:
    assert told(OFFSET, (100, "mm"), (101, "mm"), SCREW, LIFT).consequence == "hazard"
    assert told(OFFSET, (100, "mm"), (101, "mm"), SCREW, SLIDE).consequence == "travel"
    assert told(OFFSET, (100, "mm"), (101, "mm"), axis=None).consequence == "travel"


def test_an_offset_of_nought_is_what_an_empty_drive_holds() -> None:
    assert "never set up" in told(OFFSET, (118, "mm"), (0, "mm"), RAMPS).effect
    assert "never set up" not in told(OFFSET, (0, "mm"), (118, "mm"), RAMPS).effect


def test_an_offset_of_one_side_tells_where_zero_is() -> None:
    assert "118 mm from the home mark" in told(OFFSET, None, (118, "mm"), RAMPS).effect
    assert "the drive itself" in told(OFFSET, (118, "mm"), None, RAMPS).effect
    assert tell(OFFSET, (1, "user_position"), (2, "user_position"), axis=None) is None


def test_an_absolute_offset_is_a_way_through_encoder_gear_and_lead() -> None:
    # Half a motor revolution of 2^20 increments: 5 mm of 10 mm.
    found = told(ABSOLUTE, (0, "increments"), (2**19, "increments"), RAMPS)
    assert "lies 5 mm elsewhere" in found.effect
    assert found.figure("shift of every position", 0.005)


def test_an_absolute_offset_of_a_table_is_an_angle() -> None:
    # Forty motor revolutions are one of the table, ten are 90 deg.
    found = told(ABSOLUTE, (0, "increments"), (10 * 2**20, "increments"), TURNS, TABLE)
    assert "lies 90 deg elsewhere" in found.effect
    assert found.figure("shift of every position", pi / 2)


@pytest.mark.parametrize(("turns", "worst"), [(2, "travel"), (3, "hazard")])
def test_an_absolute_shift_beyond_the_room_is_a_hazard(turns: int, worst: str) -> None:
    # 10 mm a revolution, 25 mm of room.
    found = told(ABSOLUTE, (0, "increments"), (turns * 2**20, "increments"), RAMPS, SLIDE)
    assert found.consequence == worst


def test_offsets_of_two_encoders_are_not_subtracted() -> None:
    entries = {**RAMPS, ABSOLUTE: (1000, "increments")}
    left = view(entries, nameplate={"encoder_single_turn_bits": "20"})
    right = view(
        {**RAMPS, ABSOLUTE: (0, "increments")}, nameplate={"encoder_single_turn_bits": "24"}
    )
    found = between(ABSOLUTE, left, right)
    assert found is not None
    assert "another encoder" in found.effect
    assert "never referenced" in found.effect
    assert not found.figures
    assert found.consequence == "hazard"


def test_without_a_transmission_the_shift_has_no_length() -> None:
    found = told(ABSOLUTE, (0, "increments"), (2**19, "increments"), axis=None)
    assert "mm" not in found.effect
    assert found.consequence == "travel"


# CiA 402-2, from memory: which way each method starts while the switch does not act.
STARTS = {
    **dict.fromkeys((1, 11, 12, 13, 14, 17, 27, 28, 29, 30, 33), -1),
    **dict.fromkeys((2, 7, 8, 9, 10, 18, 23, 24, 25, 26, 34), 1),
    **dict.fromkeys((3, 4, 19, 20), 1),
    **dict.fromkeys((5, 6, 21, 22), -1),
    **dict.fromkeys((35, 37), 0),
}


@pytest.mark.parametrize("number", STARTS)
def test_a_method_is_told_with_its_direction_as_its_standard_name_has_it(number: int) -> None:
    label = choices.label(METHOD, number)
    found = told(METHOD, 0, (number, None, label), RAMPS)
    assert direction(number) == STARTS[number]
    words = {-1: "negative direction", 1: "positive direction", 0: "direction"}[STARTS[number]]
    assert (words in found.effect) == (STARTS[number] != 0)
    for word in ("starting positive", "starting negative"):
        if word in (label or ""):
            assert word.split()[1] + " direction" in found.effect


@pytest.mark.parametrize("number", [n for n in STARTS if n < 33])
def test_a_method_is_told_with_its_switch_and_pulse(number: int) -> None:
    found = told(METHOD, 0, number, RAMPS)
    switch = "homing switch" if (number - 1) % 16 >= 2 else "limit switch"
    assert switch in found.effect
    assert ("index pulse" in found.effect) == (number <= 14)


def test_a_method_that_starts_the_other_way_is_a_hazard() -> None:
    found = told(METHOD, 1, 18, RAMPS)
    assert "opposite way" in found.effect
    assert found.consequence == "hazard"
    assert told(METHOD, 1, 17, RAMPS).consequence == "travel"


def test_homing_that_starts_to_move_the_axis_is_a_hazard_and_that_stops_it_is_not() -> None:
    assert told(METHOD, 37, 17, RAMPS).consequence == "hazard"
    found = told(METHOD, 17, 37, RAMPS)
    assert "does not move" in found.effect
    assert found.consequence == "travel"


def test_a_method_without_index_pulse_is_as_exact_as_its_switch() -> None:
    assert "no index pulse" in told(METHOD, 1, 17, RAMPS).effect
    assert "no index pulse" not in told(METHOD, 2, 17, RAMPS).effect


def test_a_switch_that_no_input_reads_is_told() -> None:
    wired = {**RAMPS, "digital_input_function": NEGATIVE}
    assert "No input reads" not in told(METHOD, 2, 17, wired).effect
    assert "No input reads the homing switch" in told(METHOD, 2, 19, wired).effect
    assert "No input reads" not in told(METHOD, 2, 19, RAMPS).effect  # inputs are not known


@pytest.mark.parametrize(
    ("number", "says"),
    [(-3, "maker's own"), (15, "no meaning"), (36, "no meaning"), (99, "no meaning"),
     (0, "not homed")],
)  # fmt: skip
def test_methods_without_a_search_are_not_given_one(number: int, says: str) -> None:
    found = told(METHOD, 1, number, RAMPS)
    assert says in found.effect
    assert found.consequence == ("hazard" if number < 0 else "travel")


def test_a_label_that_the_standard_does_not_have_is_not_explained() -> None:
    assert tell(METHOD, 1, (17, None, "Towards the fan"), RAMPS) is None


RAMP: dict[str, Entry] = {**RAMPS, "homing_acceleration": (500, "mm/s^2")}
SEARCH = "homing_switch_search_speed"


def test_a_faster_search_overruns_its_switch_by_the_square() -> None:
    # v^2 / 2a: 20^2 / 1000 = 0.4 mm, 60^2 / 1000 = 3.6 mm.
    found = told(SEARCH, (20, "mm/s"), (60, "mm/s"), RAMP)
    assert "From 60 mm/s the axis overruns its mark by 3.6 mm instead of 0.4 mm" in found.effect
    assert found.figure("overrun at homing", 0.0036)
    assert found.consequence == "travel"
    slower = told(SEARCH, (60, "mm/s"), (20, "mm/s"), RAMP)
    assert slower.consequence == "dynamics"


def test_a_softer_homing_ramp_overruns_farther() -> None:
    common = {**RAMP, SEARCH: (60, "mm/s")}
    found = told("homing_acceleration", (500, "mm/s^2"), (250, "mm/s^2"), common)
    assert "7.2 mm instead of 3.6 mm" in found.effect
    assert found.consequence == "travel"
    assert tell("homing_acceleration", (500, "mm/s^2"), (250, "mm/s^2"), RAMPS) is None


def test_without_a_homing_ramp_no_way_is_told() -> None:
    found = told("homing_zero_search_speed", (5, "mm/s"), (10, "mm/s"), RAMPS)
    assert not found.figures
    assert tell("homing_zero_search_speed", (10, "mm/s"), (5, "mm/s"), RAMPS) is None


def test_a_homing_time_out_is_told_as_way_against_the_stroke() -> None:
    # 50 mm/s x 10 s = 500 mm, 20 s: 1000 mm; the stroke is 650 mm.
    common = {**RAMPS, SEARCH: (50, "mm/s")}
    short = told("homing_time_out", (20_000, "ms"), (10_000, "ms"), common)
    assert "500 mm in that time, less than its stroke of 650 mm" in short.effect
    long = told("homing_time_out", (10_000, "ms"), (20_000, "ms"), common)
    assert "1,000 mm in that time; its stroke" in long.effect
    assert long.figure("way searched", 1.0)
    assert short.consequence == long.consequence == "travel"


def test_a_homing_time_out_of_nought_is_a_hazard() -> None:
    assert told("homing_time_out", (10, "s"), (0, "s"), RAMPS).consequence == "hazard"
    assert "after 10 s" in told("homing_time_out", (5, "s"), (10, "s"), RAMPS).effect


PUSH = "homing_torque_limit"
RATED: dict[str, Entry] = {**RAMPS, "motor_rated_torque": (3200, "mN*m")}


def test_a_homing_torque_limit_is_told_as_thrust() -> None:
    # Work of one motor turn: 2 pi x 1.6 N*m x 0.9 over 10 mm.
    found = told(PUSH, (600, "permille_rated_torque"), (500, "permille_rated_torque"), RATED)
    assert found.figure("torque while homing", 1.6)
    assert found.figure("thrust while homing", 2 * pi * 1.6 * 0.9 / 0.010)
    assert found.consequence == "dynamics"


def test_a_push_that_does_not_hold_a_hanging_load_is_a_hazard() -> None:
    # 60 kg x g x 10 mm / 2 pi = 0.936 N*m; 20 % of 3.2 N*m are 0.64.
    parts: tuple[Entry, Entry] = (500, "permille_rated_torque"), (200, "permille_rated_torque")
    found = told(PUSH, *parts, RATED, LIFT)
    assert found.figure("torque to hold the load", 60 * constants.g * 0.010 / (2 * pi))
    assert "sinks" in found.effect
    assert found.consequence == "hazard"
    assert told(PUSH, *parts, RATED, SLIDE).consequence == "dynamics"


def test_a_harder_push_or_none_to_limit_it_is_a_hazard() -> None:
    parts: tuple[Entry, Entry] = (500, "permille_rated_torque"), (900, "permille_rated_torque")
    assert told(PUSH, *parts, RATED, SLIDE).consequence == "hazard"
    assert told(PUSH, parts[0], None, RATED, SLIDE).consequence == "hazard"
    assert tell(PUSH, *parts, RAMPS, axis=None) is None


# The encoder.

BITS, TYPE = "encoder_multi_turn_bits", "encoder_type"


def test_the_absolute_range_is_counted_in_motor_revolutions() -> None:
    # 4096 revolutions of 10 mm; the stroke is 650 mm, 2^6 revolutions are 640 mm.
    wide = told(BITS, (6, "bit"), (12, "bit"), RAMPS)
    assert "over 40,960 mm instead of 640 mm, enough for the stroke of 650 mm" in wide.effect
    assert wide.figure("absolute range", 40.96)
    assert wide.consequence == "travel"
    narrow = told(BITS, (12, "bit"), (6, "bit"), RAMPS)
    assert "less than the stroke" in narrow.effect
    assert narrow.consequence == "hazard"


def test_no_multi_turn_bits_leave_one_revolution() -> None:
    assert told(BITS, (12, "bit"), (0, "bit"), RAMPS).figure("absolute range", 0.010)


@pytest.mark.parametrize(("gear", "drifts"), [(40, True), (32, False), (64, False)])
def test_an_endless_table_drifts_unless_its_gear_divides_the_range(gear: int, drifts: bool) -> None:
    """Common practice, no source: 2^12 revolutions are 102.4 turns at 40:1, 128 at 32:1."""
    axis = ENDLESS_TABLE.replace("motor: 40", f"motor: {gear}")
    found = told(BITS, (10, "bit"), (12, "bit"), TURNS, axis)
    assert ("no whole number of turns" in found.effect) == drifts


def test_a_range_that_cannot_be_told_is_not() -> None:
    assert tell(BITS, (12, "bit"), (10, "bit"), axis=None) is None
    assert tell(BITS, (12, "bit"), (10**9, "bit"), RAMPS) is None
    assert tell(BITS, (12, "bit"), None, RAMPS) is None


@pytest.mark.parametrize(
    ("label", "says"),
    [
        ("Incremental", "homed whenever power was off"),
        ("Absolute, multi-turn, used as incremental", "homed whenever power was off"),
        ("Absolute, single-turn", "within one motor revolution only"),
        ("Absolute, multi-turn", "knows its place when power comes back"),
    ],
)
def test_an_encoder_type_tells_what_is_known_after_power_was_off(label: str, says: str) -> None:
    assert says in told(TYPE, (7, None, "Resolver"), (1, None, label), RAMPS).effect


def test_no_encoder_on_a_hanging_axis_is_a_hazard() -> None:
    parts: tuple[Entry, Entry] = (5, None, "Absolute, multi-turn"), (0, None, "None")
    assert told(TYPE, *parts, RAMPS, LIFT).consequence == "hazard"
    assert told(TYPE, *parts, RAMPS, SLIDE).consequence == "travel"
    assert tell(TYPE, 5, 0, RAMPS) is None


@pytest.mark.parametrize(
    ("before", "after", "share"), [(0, 60, 0.5), (350, 50, 0.5), (10, 10, 1.0), (90, 60, 0.75**0.5)]
)
def test_a_wrong_commutation_leaves_the_cosine_of_its_angle(
    before: int, after: int, share: float
) -> None:
    found = told("commutation_offset", (before, "deg"), (after, "deg"), RAMPS)
    assert found.figures["torque per ampere"] == pytest.approx(share, rel=1e-5)
    assert found.consequence == "hazard"


def test_a_commutation_a_quarter_turn_off_runs_away() -> None:
    found = told("commutation_offset", (0, "deg"), (120, "deg"), RAMPS)
    assert "runs away" in found.effect
    assert tell("commutation_offset", None, (120, "deg"), RAMPS) is None


PUSH = "homing_torque_limit"
STRONG: dict[str, Entry] = {
    **SCREW, "motor_rated_torque": (3200, "mN*m"), METHOD: (1, None, None),
}  # fmt: skip


@pytest.mark.parametrize(
    ("before", "after", "axis", "worst"),
    [
        (500, 700, SLIDE, "hazard"),  # it pushes harder
        (700, 500, SLIDE, "dynamics"),
        (700, 500, LIFT, "dynamics"),
        # 0.9365 N m hold the load: 292.7 permille of 3.2 N m.
        (700, 290, LIFT, "hazard"),
        (700, 300, LIFT, "dynamics"),
        (None, 500, SLIDE, "dynamics"),
        (500, None, SLIDE, "hazard"),
    ],
)
def test_a_push_while_homing_is_a_hazard_where_it_is_harder_or_lets_the_load_sink(
    before: int | None, after: int | None, axis: str, worst: str
) -> None:
    unit = "permille_rated_torque"
    sides = [None if n is None else (n, unit) for n in (before, after)]
    found = told(PUSH, *sides, STRONG, axis)
    assert found.consequence == worst
    if after is not None:
        assert found.figure("torque while homing", 3.2 * after / 1000)
        assert found.figures["thrust while homing"] == pytest.approx(
            2 * pi * 0.9 * 2 * 3.2 * after / 1000 / 0.020
        )
        assert ("sinks" in found.effect) is (after == 290)
        assert ("stop that much harder" in found.effect) is False


def test_a_method_of_the_maker_may_look_for_a_stop() -> None:
    common = {**STRONG, METHOD: -1}
    unit = "permille_rated_torque"
    harder = told(PUSH, (500, unit), (700, unit), common, SLIDE)
    assert "stop that much harder" in harder.effect
    assert "harder" not in told(PUSH, (700, unit), (500, unit), common, SLIDE).effect
    assert tell(PUSH, (500, unit), (700, unit), SCREW, None) is None
    assert tell(PUSH, (500, "mm"), (700, "mm"), STRONG, SLIDE) is None

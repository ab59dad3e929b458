"""Software limits, position range, inputs. Numbers are worked beside the checks; axes invented."""

from __future__ import annotations

import pytest

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    RAMPS,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    between,
    tell,
    told,
    view,
)
from vault.model import choices

LOW, HIGH = "min_software_position_limit", "max_software_position_limit"
USED = "software_position_limits_used"
YES, NO = (1, None, "Yes"), (0, None, "No")


# Hard stops at -25 and 625 mm.
@pytest.mark.parametrize(
    ("role", "before", "after", "says", "worst"),
    [
        (HIGH, 600, 604, "4 mm farther at its positive end", "hazard"),
        (HIGH, 600, 580, "20 mm less far at its positive end", "travel"),
        (LOW, 0, -4, "4 mm farther at its negative end", "hazard"),
        (LOW, 0, 20, "20 mm less far at its negative end", "travel"),
    ],
)
def test_travel_gained_is_a_hazard_and_travel_lost_is_not(
    role: str, before: int, after: int, says: str, worst: str
) -> None:
    found = told(role, (before, "mm"), (after, "mm"), RAMPS)
    assert says in found.effect
    assert found.figure("limit moved by", (after - before) / 1000)
    assert found.consequence == worst


def test_the_travel_between_the_limits_is_told_before_and_after() -> None:
    found = told(HIGH, (600, "mm"), (580, "mm"), RAMPS)
    assert "Between the limits lie 580 mm instead of 600 mm." in found.effect
    assert found.figure("travel between the limits", 0.58)


@pytest.mark.parametrize(
    ("role", "after", "says"),
    [
        (HIGH, 640, "15 mm beyond the hard stop at 625 mm"),
        (LOW, -30, "5 mm beyond the hard stop at -25 mm"),
    ],
)
def test_a_limit_beyond_its_hard_stop_is_a_hazard(role: str, after: int, says: str) -> None:
    found = told(role, (10, "mm"), (after, "mm"), RAMPS)
    assert says in found.effect
    assert found.consequence == "hazard"


def test_a_limit_that_comes_in_but_is_still_beyond_the_stop_is_a_hazard() -> None:
    assert told(HIGH, (700, "mm"), (640, "mm"), RAMPS).consequence == "hazard"


def test_a_limit_at_its_hard_stop_is_not_beyond_it() -> None:
    assert "beyond" not in told(HIGH, (600, "mm"), (625, "mm"), RAMPS).effect


def test_a_limit_too_near_for_a_quick_stop_says_so() -> None:
    # 15 mm to the hard stop at 625 mm, and 0.4^2 / (2 x 4) = 20 mm to stop.
    found = told(HIGH, (600, "mm"), (610, "mm"), RAMPS)
    assert "there are 15 mm; a quick stop from 400 mm/s takes 20 mm" in found.effect


def test_limits_that_are_both_zero_are_off() -> None:
    """Common practice with CiA 402 drives, from memory."""
    found = told(HIGH, (600, "mm"), (0, "mm"), RAMPS)
    assert "switches them off" in found.effect
    assert found.consequence == "hazard"
    back = told(HIGH, (0, "mm"), (600, "mm"), RAMPS)
    assert "the other set has the limits off" in back.effect
    assert back.consequence == "travel"


def test_a_lower_limit_above_the_upper_one_is_a_hazard() -> None:
    found = told(LOW, (0, "mm"), (610, "mm"), RAMPS)
    assert "lower limit is not below the upper" in found.effect
    assert found.consequence == "hazard"


def test_a_limit_that_is_gone_is_a_hazard_and_one_that_is_there_is_not() -> None:
    gone = told(HIGH, (600, "mm"), None, RAMPS)
    assert "no software limit at the positive end" in gone.effect
    assert gone.consequence == "hazard"
    assert told(HIGH, None, (600, "mm"), RAMPS).consequence == "travel"
    assert told(HIGH, None, (640, "mm"), RAMPS).consequence == "hazard"


def test_limits_that_are_not_used_have_no_effect() -> None:
    found = told(HIGH, (500, "mm"), (600, "mm"), {**RAMPS, USED: NO})
    assert "no effect" in found.effect
    assert found.consequence == "travel"


def test_a_turning_axis_gains_degrees() -> None:
    found = told(HIGH, (185, "deg"), (200, "deg"), {**TURNS, LOW: (-185, "deg")}, axis=TABLE)
    assert "15 deg farther" in found.effect
    assert "385 deg instead of 370 deg" in found.effect


def test_a_limit_without_a_known_size_says_nothing() -> None:
    assert tell(HIGH, (600, "user_position"), (700, "user_position"), axis=None) is None


def test_switching_limits_off_is_a_hazard_and_on_is_not() -> None:
    off = told(USED, YES, NO, RAMPS)
    assert off.consequence == "hazard"
    on = told(USED, NO, YES, RAMPS)
    assert "stop the axis at 0 mm and 600 mm" in on.effect
    assert on.consequence == "travel"


def test_switching_on_limits_that_are_zero_protects_nothing() -> None:
    assert told(USED, NO, YES, {**RAMPS, HIGH: (0, "mm")}).consequence == "hazard"


def test_limits_whose_use_is_not_stated_are_a_hazard_where_they_were_used() -> None:
    assert told(USED, YES, None, RAMPS).consequence == "hazard"
    assert tell(USED, NO, None, RAMPS) is None


def test_positions_that_start_over_within_the_stroke_are_a_hazard() -> None:
    # Stroke 650 mm.
    common = {**RAMPS, "min_position_range_limit": (0, "mm")}
    short = told("max_position_range_limit", (1000, "mm"), (500, "mm"), common)
    assert "run over 500 mm" in short.effect
    assert short.consequence == "hazard"
    assert told("max_position_range_limit", (500, "mm"), (1000, "mm"), common).consequence == (
        "travel"
    )


# Inputs: labels as the example families have them, numbers as each maker likes.

FUNCTION, INVERTED = "digital_input_function", "digital_input_inverted"
FREE: Entry = (0, None, "Not assigned")
POSITIVE: Entry = (20, None, "Positive over-travel")
NEGATIVE: Entry = (21, None, "Negative over-travel")
HOME: Entry = (22, None, "Homing switch")
STOP: Entry = (30, None, "Quick stop")


@pytest.mark.parametrize("axis", [LIFT, SLIDE])
@pytest.mark.parametrize(
    ("entry", "end", "limit"), [(POSITIVE, "positive", "600 mm"), (NEGATIVE, "negative", "0 mm")]
)
def test_an_over_travel_input_that_is_taken_away_is_a_hazard(
    axis: str, entry: Entry, end: str, limit: str
) -> None:
    found = told(FUNCTION, entry, FREE, RAMPS, axis)
    assert f"over-travel switch at the {end} end" in found.effect
    assert f"only the software limit at {limit}" in found.effect
    assert found.consequence == "hazard"


def test_without_software_limits_the_hard_stop_is_what_is_left() -> None:
    off = {**RAMPS, USED: NO}
    assert "before its hard stop at 625 mm" in told(FUNCTION, POSITIVE, FREE, off).effect
    assert "no software limit is known" in told(FUNCTION, POSITIVE, FREE, axis=None).effect


def test_an_input_that_moves_is_told_with_its_new_place() -> None:
    left = view({**RAMPS, FUNCTION: POSITIVE, f"{FUNCTION}.5": FREE})
    right = view({**RAMPS, FUNCTION: FREE, f"{FUNCTION}.5": POSITIVE})
    found = between(FUNCTION, left, right)
    assert found is not None
    assert "Positive over-travel is read from input 5" in found.effect
    assert found.consequence == "travel"


def test_an_unassigned_input_elsewhere_is_no_new_place() -> None:
    other = {**RAMPS, f"{FUNCTION}.5": FREE}
    assert "is read from" not in told(FUNCTION, FREE, POSITIVE, other).effect


def test_another_protective_function_in_its_place_does_not_hide_the_loss() -> None:
    found = told(FUNCTION, POSITIVE, STOP, RAMPS)
    assert "positive end" in found.effect
    assert "serves as quick stop" in found.effect
    assert found.consequence == "hazard"


def test_an_input_that_gains_a_protective_function_is_no_hazard() -> None:
    assert told(FUNCTION, FREE, POSITIVE, RAMPS).consequence == "travel"


@pytest.mark.parametrize("function", ["Run forward", "Jog negative", "Start homing"])
def test_an_input_that_starts_motion_is_a_hazard(function: str) -> None:
    found = told(FUNCTION, FREE, (7, None, function), RAMPS)
    assert function.lower() in found.effect
    assert found.consequence == "hazard"


@pytest.mark.parametrize("function", ["Quick stop", "Halt", "Enable", "External fault"])
def test_whatever_stops_the_axis_is_missed(function: str) -> None:
    assert told(FUNCTION, (7, None, function), FREE, RAMPS).consequence == "hazard"


def test_a_function_that_is_not_known_is_taken_for_protective() -> None:
    """No explanation leaves the usual class of inputs, which is hazard."""
    assert tell(FUNCTION, (9, None, "Guard of the belt"), FREE, RAMPS) is None
    assert tell(FUNCTION, FREE, (9, None, "Guard of the belt"), RAMPS) is None


def test_a_lost_start_is_no_hazard() -> None:
    found = told(FUNCTION, (7, None, "Run forward"), FREE, RAMPS)
    assert "No input serves as run forward" in found.effect
    assert found.consequence == "dynamics"


def test_a_lost_homing_switch_and_a_lost_reset_are_no_hazard() -> None:
    assert told(FUNCTION, HOME, FREE, RAMPS).consequence == "travel"
    assert told(FUNCTION, (2, None, "Fault reset"), FREE, RAMPS).consequence == "dynamics"


def test_the_number_alone_names_no_function() -> None:
    """Makers number inputs as they like: our number 3 is positive over-travel only in our table."""
    assert choices.label("digital_input_function", 3) == "Positive over-travel"
    assert tell(FUNCTION, 3, 0, RAMPS) is None


def test_a_function_that_only_starts_like_a_known_one_is_another() -> None:
    assert tell(FUNCTION, (9, None, "Halter oil"), (8, None, "Enabled lamp"), RAMPS) is None


def test_an_input_that_is_gone_with_its_function_is_a_hazard() -> None:
    assert told(FUNCTION, POSITIVE, None, RAMPS).consequence == "hazard"
    assert told(FUNCTION, None, POSITIVE, RAMPS).consequence == "travel"


@pytest.mark.parametrize(
    ("function", "worst"),
    [
        (POSITIVE, "hazard"),
        (STOP, "hazard"),
        ((7, None, "Run forward"), "hazard"),
        (HOME, "travel"),
        ((2, None, "Fault reset"), "dynamics"),
        (FREE, "record"),
        ((99, None, "Lamp test"), "hazard"),
    ],
)
def test_an_inverted_input_weighs_what_its_function_weighs(function: Entry, worst: str) -> None:
    common = {**RAMPS, f"{FUNCTION}.4": function, FUNCTION: POSITIVE}
    assert told(f"{INVERTED}.4", YES, NO, common).consequence == worst


def test_an_inverted_input_of_one_side_is_left_alone() -> None:
    assert tell(INVERTED, YES, None, {**RAMPS, FUNCTION: POSITIVE}) is None


REACTION = "overtravel_reaction"
HOLD: Entry = (3, None, "Stop on the quick-stop ramp, then hold with power on")
# Family larch has 3 and 4 the other way round: the label decides.
OFF: Entry = (3, None, "Stop on the quick-stop ramp, then output off")
COAST: Entry = (2, None, "Output off at once, the motor coasts")
WARN: Entry = (1, None, "Warning only")


def test_a_weak_reaction_to_over_travel_is_a_hazard() -> None:
    assert told(REACTION, HOLD, WARN, RAMPS).consequence == "hazard"
    assert told(REACTION, WARN, HOLD, RAMPS).consequence == "dynamics"


def test_coasting_at_over_travel_is_a_hazard_where_a_load_hangs() -> None:
    assert told(REACTION, HOLD, COAST, RAMPS, LIFT).consequence == "hazard"
    assert "load falls" in told(REACTION, HOLD, COAST, RAMPS, LIFT).effect
    assert told(REACTION, HOLD, COAST, RAMPS, SLIDE).consequence == "dynamics"


def test_the_way_behind_the_switch_is_told() -> None:
    # 0.4^2 / (2 x 4) = 20 mm.
    assert "needs 20 mm to stop from 400 mm/s; then power stays on" in (
        told(REACTION, COAST, HOLD, RAMPS).effect
    )
    assert "then power goes off" in told(REACTION, HOLD, OFF, RAMPS).effect


def test_a_reaction_by_number_alone_is_not_guessed() -> None:
    assert tell(REACTION, 3, 4, RAMPS) is None


def test_a_slower_input_sees_its_switch_later() -> None:
    # 400 mm/s x 5 ms = 2 mm.
    found = told("digital_input_filter_time", (2, "ms"), (5, "ms"), RAMPS)
    assert found.figure("way before a switch is noticed", 0.002)
    assert "at 400 mm/s the axis goes 2 mm" in found.effect
    assert found.consequence == "travel"
    faster = told("digital_input_filter_time", (5, "ms"), (2, "ms"), RAMPS)
    assert faster.consequence == "dynamics"


def test_limits_that_were_off_and_become_zero_were_off_already() -> None:
    assert told(HIGH, (600, "mm"), (0, "mm"), {**RAMPS, USED: NO}).consequence == "travel"
    assert told(HIGH, (600, "mm"), (0, "mm"), {**RAMPS, USED: YES}).consequence == "hazard"


RANGE = "max_position_range_limit"


@pytest.mark.parametrize(
    ("low", "high", "says", "worst"),
    [
        (0, 0, "do not start over", "travel"),
        (0, -5, "do not start over", "travel"),
        (0, 650, "run over 650 mm", "travel"),  # the whole stroke
        (0, 649, "run over 649 mm", "hazard"),
        (-100, 549, "run over 649 mm", "hazard"),
    ],
)
def test_a_range_is_held_against_the_stroke(low: int, high: int, says: str, worst: str) -> None:
    common = {**RAMPS, "min_position_range_limit": (low, "mm")}
    found = told(RANGE, (1000, "mm"), (high, "mm"), common)
    assert says in found.effect
    assert found.consequence == worst
    if high > low:
        assert found.figure("position range", (high - low) / 1000)
    assert tell(RANGE, (1000, "mm"), (high, "mm"), RAMPS) is None


def test_limits_that_are_switched_on_are_told_with_their_places_and_the_room_behind() -> None:
    # 15 mm to the stop at 625 mm, and 20 mm to stop from 400 mm/s at 4 m/s^2.
    fits = told(USED, NO, YES, RAMPS)
    assert fits.figures == {}
    short = told(USED, NO, YES, {**RAMPS, HIGH: (610, "mm")})
    assert short.figure("way of a quick stop", 0.020)
    assert "20 mm" in short.effect
    assert "15 mm" in short.effect
    assert short.consequence == "travel"
    bare = told(USED, NO, YES)
    assert bare.consequence == "travel"
    assert " mm" not in bare.effect
    off = told(USED, NO, NO, RAMPS)
    assert off.consequence == "travel"


def test_without_a_speed_an_input_is_late_by_its_time_alone() -> None:
    found = told("digital_input_filter_time", (2, "ms"), (5, "ms"), axis=None)
    assert (found.figures, found.consequence) == ({}, "travel")
    assert "5 ms late" in found.effect


def test_the_first_input_is_told_by_its_number_too() -> None:
    left = view({**RAMPS, FUNCTION: FREE, f"{FUNCTION}.5": POSITIVE})
    right = view({**RAMPS, FUNCTION: POSITIVE, f"{FUNCTION}.5": FREE})
    found = between(f"{FUNCTION}.5", left, right)
    assert found is not None
    assert "is read from input 1" in found.effect

"""Positions, limits, following error and homing of the controller, from both sides of each edge.

Sets and machines are invented; the arithmetic stands beside the cases. The drive's unit is 0.001
mm: limits of 0 and 600,000 are 0 and 600 mm.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.controller_texts import old_pou, old_project, old_st, old_variables
from tests.meaning.checks.both_sides import DRIVE, RECORD, SCALED, across, both, the_one
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.formats import iec61131
from vault.meaning.axis_view import AxisView
from vault.meaning.checks import cross_check
from vault.meaning.controller_side import with_controller
from vault.model.normalise import normalise
from vault.model.parameters import Parameter
from vault.store.files.parameters_text import parameters_text

ENDS = {"min_software_position_limit": 0, "max_software_position_limit": 600_000}
WITHIN = {**DRIVE, **ENDS}
STOPS = with_mechanics(RECORD, stroke="650 mm", hard_stop_low="-25 mm", hard_stop_high="625 mm")


def told(
    rule: str, drive: Settings, controller: Settings, record: Any = STOPS
) -> list[tuple[str, str]]:
    view = both(drive, {**SCALED, **controller}, record)
    return [(one.consequence, one.sentence) for one in across(rule, view)]


@pytest.mark.parametrize(
    ("position", "consequence", "says"),
    [
        (600, "", ""),
        (0, "", ""),
        (601, "travel", "is at 601 mm, 1 mm beyond the drive's software limits (0 mm to 600 mm)"),
        (-5, "travel", "is at -5 mm, 5 mm beyond the drive's software limits"),
        ("24 in", "travel", "609.6 mm, 9.6 mm beyond"),
        (625, "travel", "25 mm beyond the drive's software limits"),
        (626, "hazard", "is at 626 mm, 1 mm beyond the hard stops (-25 mm to 625 mm)"),
    ],
)
def test_a_move_ends_where_the_axis_may_go(
    position: str | int, consequence: str, says: str
) -> None:
    found = told("controller_position", WITHIN, {"controller_move_position": position})
    assert [one for one, _ in found] == ([consequence] if consequence else [])
    assert all(says in text for _, text in found)


@pytest.mark.parametrize(
    ("stop", "position", "is_beyond"),
    [
        ({"hard_stop_low": "-25 mm"}, -26, True),
        ({"hard_stop_low": "-25 mm"}, -25, False),
        ({"hard_stop_low": "-25 mm"}, 9000, False),  # nobody says where it ends
        ({"hard_stop_high": "625 mm"}, 626, True),
        ({"hard_stop_high": "625 mm"}, -26, False),
    ],
)
def test_one_hard_stop_alone_is_an_end(
    stop: dict[str, str], position: int, is_beyond: bool
) -> None:
    record = with_mechanics(RECORD, **stop)
    limit = "controller_min_software_limit" if position < 0 else "controller_max_software_limit"
    for rule, role in (
        ("controller_position", "controller_move_position"),
        ("controller_software_limit", limit),
    ):
        found = across(rule, both(DRIVE, {**SCALED, role: position}, record))
        assert [one.consequence for one in found] == (["hazard"] if is_beyond else [])


def test_limits_of_the_drive_that_are_out_of_order_hold_nothing() -> None:
    swapped = {**WITHIN, "min_software_position_limit": 600_000, "max_software_position_limit": 1}
    assert not told("controller_position", swapped, {"controller_move_position": 300})


def test_positions_are_held_against_the_controllers_own_limits_too() -> None:
    own: Settings = {"controller_max_software_limit": 550, "controller_move_position.2": 560}
    ((consequence, text),) = told("controller_position", WITHIN, own)
    assert consequence == "travel"
    assert "10 mm beyond the controller's own software limits (no end to 550 mm)" in text
    inside: Settings = {**own, "controller_move_position.2": 550}
    assert not told("controller_position", WITHIN, inside)


def test_positions_of_several_blocks_are_told_once_at_their_worst_end() -> None:
    moves: Settings = {
        "controller_move_position": 700,
        "controller_move_position.2": 610,
        "controller_homing_position": 630,
        "controller_move_position.3": 300,
    }
    found = told("controller_position", WITHIN, moves)
    assert [one for one, _ in found] == ["hazard", "travel"]
    assert "at 700 mm, 75 mm beyond the hard stops" in found[0][1]
    assert found[0][1].endswith("; so does one more.")
    assert "at 610 mm, 10 mm beyond" in found[1][1] and "more" not in found[1][1]


@pytest.mark.parametrize(
    ("drive", "distance", "says"),
    [
        (WITHIN, 600, ""),
        (WITHIN, 750, "goes 750 mm at once, the way between the drive's software limits is 600 mm"),
        (WITHIN, -750, "1.25 times as much"),
        (DRIVE, 650, ""),
        (DRIVE, 650.5, "the stroke is 650 mm"),
    ],
)
def test_a_relative_move_is_no_longer_than_the_way_there_is(
    drive: Settings, distance: float, says: str
) -> None:
    found = told("controller_distance", drive, {"controller_move_distance": f"{distance} mm"})
    assert len(found) == bool(says)
    assert all(says in text for _, text in found)


@pytest.mark.parametrize(
    ("controller", "consequence", "says"),
    [
        ({"controller_max_software_limit": 600}, "", ""),
        ({"controller_max_software_limit": 500, "controller_min_software_limit": 20}, "", ""),
        ({"controller_max_software_limit": 605}, "travel",
         "upper software limit is at 605 mm, the drive's at 600 mm: the drive stops the axis 5 mm"),
        ({"controller_min_software_limit": -10}, "travel", "lower software limit is at -10 mm"),
        ({"controller_max_software_limit": 630}, "hazard",
         "limit at 630 mm lies 5 mm beyond the hard stop at 625 mm"),
        ({"controller_min_software_limit": -26}, "hazard", "1 mm beyond the hard stop at -25 mm"),
        ({"controller_min_software_limit": 300, "controller_max_software_limit": 200}, "hazard",
         "the lower one is 300 mm, the upper one 200 mm"),
        ({"controller_min_software_limit": 0, "controller_max_software_limit": 0}, "", ""),
    ],
)  # fmt: skip
def test_software_limits_of_both_sides_are_held_against_each_other(
    controller: Settings, consequence: str, says: str
) -> None:
    found = told("controller_software_limit", WITHIN, controller)
    assert [one for one, _ in found] == ([consequence] if consequence else [])
    assert all(says in text for _, text in found)


WATCHED = {**DRIVE, "following_error_window": 2000}  # 2 mm


@pytest.mark.parametrize(
    ("drive", "limit", "says"),
    [
        (WATCHED, "2 mm", ""),
        (WATCHED, "1 mm", ""),  # the drive's is twice that: our own edge
        (WATCHED, "3 mm", "of 3 mm, the drive at 2 mm: the drive's comes first, and the "
         "controller's, 1.5 times as wide"),
        (WATCHED, "0.8 mm", "may stray 2.5 times as far"),
        (WATCHED, "0.1 in", "of 2.54 mm, the drive at 2 mm"),
        ({**WATCHED, "modes_of_operation": 9}, "3 mm", ""),  # the drive closes no position loop
        ({**WATCHED, "following_error_window": 0xFFFFFFFF}, "3 mm", ""),  # off: told of the drive
        (DRIVE, "3 mm", ""),
        # 100 mm/s / 20 1/s = 5 mm behind.
        ({**DRIVE, "position_gain": 20}, "5 mm", ""),
        ({**DRIVE, "position_gain": 20}, "4 mm",
         "at 100 mm/s (Main.controller_move_velocity) the axis is 5 mm behind anyway: 1.25 times"),
    ],
)  # fmt: skip
def test_following_errors_of_both_sides_are_held_against_each_other(
    drive: Settings, limit: str, says: str
) -> None:
    asked: Settings = {
        "controller_following_error_limit": limit, "controller_move_velocity": 100,
    }  # fmt: skip
    found = told("controller_following_error", drive, asked)
    assert len(found) == bool(says)
    assert all(says in text for _, text in found)


@pytest.mark.parametrize(
    ("own", "drive", "consequence"),
    [
        (7, 7, ""),
        (7, None, ""),
        (7, 8, "travel"),
        (7, 11, "hazard"),  # 7 starts in the positive direction, 11 in the negative one
        (37, 7, "hazard"),  # 37 takes the place where it stands, 7 moves
        (7, 37, "hazard"),
    ],
)
def test_the_block_homes_by_the_drives_method(
    own: int, drive: int | None, consequence: str
) -> None:
    set_up = DRIVE if drive is None else {**DRIVE, "homing_method": drive}
    found = told("controller_homing_method", set_up, {"controller_homing_method": own})
    assert [one for one, _ in found] == ([consequence] if consequence else [])
    assert all(f"method {own}, the drive is set to {drive}" in text for _, text in found)


@pytest.mark.parametrize(
    ("controller", "drive", "says"),
    [
        ({"controller_homing_direction": 0}, 7, ""),
        ({"controller_homing_direction": 1}, 7, "method 7 of the drive starts in the positive one"),
        ({"controller_homing_direction": 1}, 11, ""),
        ({"controller_homing_direction": 1}, 37, ""),
        ({"controller_homing_direction": 0, "controller_homing_method": 11}, 7,
         "method 11 of the same program starts in the negative one"),
        # Counted against the drive, its negative is the drive's positive.
        ({"controller_homing_direction": 1, "controller_direction": 1}, 7, ""),
        ({"controller_homing_direction": 1, "controller_direction": 1}, 11, "starts in the"),
    ],
)  # fmt: skip
def test_the_block_homes_the_way_the_method_starts(
    controller: Settings, drive: int, says: str
) -> None:
    found = told("controller_homing_direction", {**DRIVE, "homing_method": drive}, controller)
    assert [one for one, _ in found] == (["hazard"] if says else [])
    assert all(says in text for _, text in found)


@pytest.mark.parametrize(
    ("direction", "says"),
    [
        ("mcNegativeDirection", "method 7 of the drive starts in the positive one"),
        ("MC_DIRECTION#mcNegativeDirection", "method 7 of the drive starts in the positive one"),
        ("mcPositiveDirection", ""),
        ("mcShortestWay", ""),
        ("1", ""),  # by which enumeration it counts, nobody says
    ],
)
def test_a_direction_of_homing_in_a_project_is_held_against_the_drives_method(
    direction: str, says: str
) -> None:
    program = old_pou(
        "Main",
        old_variables([("Home", "MC_Home", "")]),
        old_st(f"Home(Axis := LiftAxis, Direction := {direction});"),
    )
    listing = iec61131.read_axis(old_project(program), file="line.xml", pick=None)
    read = normalise(listing, None).parameters
    drive = view_of({**DRIVE, "homing_method": 7}, STOPS)
    view = with_controller(drive, AxisView("the controller", parameters_text(read)))
    found = [one.sentence for one in across("controller_homing_direction", view)]
    assert len(found) == (1 if says else 0)
    assert all(says in text for text in found)


@pytest.mark.parametrize(
    ("label", "drive", "count"), [("Homing switch", 37, 0), ("Enable", 37, 1), ("Enable", 7, 0)]
)
def test_the_switch_that_the_block_looks_for_is_wired(label: str, drive: int, count: int) -> None:
    # What the drive's own method looks for is told of the drive alone.
    given = Parameter("p/in", "In", 1, 1, "digital_input_function", None, label)
    set_up: Settings = {**DRIVE, "homing_method": drive, "digital_input_function": given}
    found = told("controller_homing_inputs", set_up, {"controller_homing_method": 7})
    assert len(found) == count
    assert all("looks for the homing switch input" in text for _, text in found)


@pytest.mark.parametrize(
    ("drive", "method", "count"),
    [
        ({"encoder_multi_turn_bits": 12}, 7, 1),
        ({"encoder_multi_turn_bits": 12}, 37, 0),
        ({"encoder_multi_turn_bits": 0}, 7, 0),
        ({}, 7, 0),
        ({"encoder_multi_turn_bits": 12, "homing_method": 7}, 7, 1),
    ],
)
def test_a_drive_that_knows_its_place_is_not_homed_by_a_move(
    drive: Settings, method: int, count: int
) -> None:
    asked: Settings = {"controller_homing_method": method}
    found = told("controller_homing_absolute", {**DRIVE, **drive}, asked)
    assert len(found) == count
    assert all("12 multi-turn bits" in text for _, text in found)


@pytest.mark.parametrize(
    ("drive", "count", "look_at"),
    [
        ({}, 1, "axis.yaml: encoder"),
        ({"encoder_multi_turn_bits": 12}, 1, "p/encoder_multi_turn_bits"),
        ({"encoder_multi_turn_bits": 0}, 0, ""),  # the set goes before what is fitted
        ({"encoder_type": 4}, 0, ""),  # absolute in one turn: so the drive uses it
    ],
)
def test_the_record_says_what_encoder_is_fitted_where_the_set_does_not(
    drive: Settings, count: int, look_at: str
) -> None:
    record = {**STOPS, "encoder": {"multi_turn_bits": 12}}
    view = both({**DRIVE, **drive}, {**SCALED, "controller_homing_method": 7}, record)
    found = across("controller_homing_absolute", view)
    assert len(found) == count
    assert all("12 multi-turn bits" in one.sentence for one in found)
    assert all(look_at in one.look_at for one in found)


@pytest.mark.parametrize(
    ("drive", "method", "told_along"),
    [
        ({"encoder_multi_turn_bits": 12, "homing_method": 37}, 7, True),
        ({"encoder_multi_turn_bits": 12, "homing_method": 7}, 37, False),
        ({"homing_method": 37}, 7, False),
    ],
)
def test_a_block_that_asks_for_another_method_on_an_absolute_encoder_is_told_once(
    drive: Settings, method: int, told_along: bool
) -> None:
    view = both({**DRIVE, **drive}, {**SCALED, "controller_homing_method": method}, RECORD)
    (found,) = cross_check(view)
    assert found.rule == "controller_homing_method"
    assert ("By 7 the axis moves, and the zero" in found.sentence) is told_along


@pytest.mark.parametrize(
    ("position", "says"),
    [
        ("20 mm", ""),
        ("20.0005 mm", ""),  # half a step of 0.001 mm is the same
        ("20.001 mm", "lies 0.001 mm or 40"),
        ("-5 mm", "sets home at -5 mm, the drive's home offset is 20 mm"),
        ("1 in", "5.4 mm or 45.4 mm, by the sign that the drive's manual gives its offset, else"),
        ("0 mm", "every position lies 20 mm elsewhere"),
        ("-20 mm", ""),  # CiA 402-2: zero lies at home plus offset, home at less the offset
    ],
)
def test_home_is_at_one_place_on_both_sides(position: str, says: str) -> None:
    drive = {**DRIVE, "home_offset": 20_000}
    found = told("controller_home", drive, {"controller_homing_position": position})
    assert len(found) == bool(says)
    assert all(says in text for _, text in found)


def test_a_way_that_the_scale_shortens_is_shortened() -> None:
    # 15,900 counts of 0.001 mm for 16 mm: k = 0.99375; 603 mm are 599.23 mm of the axis.
    short: Settings = {"controller_counts": 15_900, "controller_counts_per": "16 mm"}
    view = both(WITHIN, {**short, "controller_move_position": 603}, STOPS)
    assert not across("controller_position", view)
    view = both(WITHIN, {**short, "controller_move_position": 604}, STOPS)
    assert "is at 600.2 mm" in the_one("controller_position", view).sentence


def test_a_drive_without_a_controllers_set_has_no_rule_that_fires() -> None:
    assert cross_check(both(WITHIN, None, STOPS)) == []
    assert cross_check(both(WITHIN, {}, STOPS)) == []


@pytest.mark.parametrize(
    "turned",
    [{"controller_direction": 1}, {"controller_counts": -16_000}],
)
def test_a_controller_that_counts_against_its_drive_is_held_against_it_turned_round(
    turned: Settings,
) -> None:
    drive = {
        **DRIVE, "home_offset": 20_000,
        "min_software_position_limit": -10_000, "max_software_position_limit": 500_000,
    }  # fmt: skip
    fits = {
        **SCALED, **turned, "controller_min_software_limit": "-500 mm",
        "controller_max_software_limit": "10 mm", "controller_move_position": "-400 mm",
        "controller_homing_position": "-20 mm",
    }  # fmt: skip
    rules = ("controller_position", "controller_software_limit", "controller_home")
    for rule in rules:
        assert not across(rule, both(drive, fits))
    wide = {**fits, "controller_min_software_limit": "-501 mm", "controller_move_position": "20 mm"}
    (limit,) = across("controller_software_limit", both(drive, wide))
    assert "lower software limit is at 501 mm as the drive counts, the drive's at 500" in (
        limit.sentence
    )
    (position,) = [
        one for one in across("controller_position", both(drive, wide)) if "drive" in one.sentence
    ]
    assert "is at -20 mm as the drive counts, 10 mm beyond" in position.sentence


def test_the_lag_is_that_at_a_speed_that_a_block_asks_for_and_not_at_a_ceiling() -> None:
    drive = {**DRIVE, "position_gain": 20}
    asked = {
        **SCALED, "controller_following_error_limit": "6 mm",
        "controller_move_velocity": 100, "controller_max_velocity": 1000,
    }  # fmt: skip
    assert not across("controller_following_error", both(drive, asked))  # 100 / 20 = 5 mm
    ceiling = {key: setting for key, setting in asked.items() if "move" not in key}
    (said,) = across("controller_following_error", both(drive, ceiling))
    assert "the axis is 50 mm behind anyway" in said.sentence

"""Counts per unit, direction and modulo of the controller, from both sides of each edge.

Sets and machines are invented; the arithmetic stands beside the cases. Real figures are those of a
screw of 16 mm behind 4:1 in 0.001 mm, and of a table in 0.001 deg.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.meaning.checks.both_sides import (
    DRIVE,
    RECORD,
    SCALED,
    TABLE,
    TURNED,
    TURNS,
    across,
    both,
    the_one,
)
from tests.meaning.checks.sets import Settings, recorded, view_of, with_mechanics
from vault.meaning.compare import compare
from vault.meaning.controller_side import ControllerSide
from vault.meaning.reader import reading_in
from vault.model.parameters import Parameter


def scaled(counts: int, per: str) -> Settings:
    return {"controller_counts": counts, "controller_counts_per": per}


@pytest.mark.parametrize(
    ("drive", "record", "counts", "per"),
    [
        (DRIVE, RECORD, 16_000, "16 mm"),  # 16,000 x 0.001 mm = 16 mm
        (DRIVE, RECORD, 25_400, "1 in"),  # 25,400 x 0.001 mm = 25.4 mm
        (DRIVE, RECORD, 16_000, "1 rev"),  # a turn of the screw is 16 mm
        (TURNS, TABLE, 360_000, "360 deg"),
        (TURNS, TABLE, 360_000, "1 rev"),
        (TURNS, TABLE, -360_000, "1 rev"),  # of the direction another rule speaks
        (DRIVE, RECORD, 16_000_000, "16.00001 m"),  # 0.6 ppm: a length is written rounded
    ],
)
def test_counts_that_fit_are_not_told(
    drive: Settings, record: dict[str, Any], counts: int, per: str
) -> None:
    assert not across("controller_scale", both(drive, scaled(counts, per), record))


@pytest.mark.parametrize(
    ("drive", "record", "counts", "per", "consequence", "says"),
    [
        # 20,000 x 0.001 = 20 mm for 16: k = 1.25, and 150 x 1.25 = 187.5.
        (DRIVE, RECORD, 20_000, "16 mm", "hazard", "150 mm moves 187.5 mm, 1.25 times as far"),
        # 16,160 / 16,000 = 1.01: at the edge of a hundredth, and not beyond it.
        (DRIVE, RECORD, 16_160, "16 mm", "travel", "150 mm moves 151.5 mm, 1.01 times as far"),
        (DRIVE, RECORD, 16_161, "16 mm", "hazard", "1.01006 times as far"),
        (DRIVE, RECORD, 15_839, "16 mm", "hazard", "0.989938 times as far"),
        # 180,000 x 0.001 deg = 180 deg for a turn.
        (TURNS, TABLE, 180_000, "1 rev", "hazard", "150 deg moves 75 deg, 0.5 times as far"),
        # 2.8 ppm of an endless axis adds up: there is no rounding.
        (TURNS, TABLE, 360_001, "360 deg", "travel", "1.00000278 times as far"),
        (TURNS, TABLE, 3_600_001, "3600 deg", "travel", "1.00000028 times as far"),  # 0.28 ppm
    ],
)
def test_counts_that_do_not_fit_are_told_with_both_numbers(
    drive: Settings, record: dict[str, Any], counts: int, per: str, consequence: str, says: str
) -> None:
    found = the_one("controller_scale", both(drive, scaled(counts, per), record))
    assert found.consequence == consequence
    assert says in found.sentence and f"{counts:,}" in found.sentence
    assert "p/feed_constant_feed" in found.look_at
    assert "controller: Main.controller_counts" in found.look_at
    assert "axis.yaml: mechanics" in found.look_at


def test_a_reader_in_inch_is_told_in_inch() -> None:
    # 25,000 x 0.001 mm = 25 mm for 25.4: 6 in x 25 / 25.4 = 5.90551 in.
    with reading_in("inch"):
        found = the_one("controller_scale", both(DRIVE, scaled(25_000, "1 in")))
    assert "25,000 for 1 in" in found.sentence
    assert "6 in moves 5.90551 in, 0.984252 times" in found.sentence


def test_the_figures_of_the_scale_are_in_si() -> None:
    found = the_one("controller_scale", both(DRIVE, scaled(20_000, "16 mm")))
    assert [(f.value, f.unit) for f in found.findings] == [
        ("20000", "1"), ("0.016", "m"), ("1e-06", "m"), ("1.25", "1"),
    ]  # fmt: skip


FEED = Parameter("0x6092:01", "Feed", 16_000, 16_000, "feed_constant_feed", "user_position")


def test_increments_fit_a_drive_that_may_be_sent_them_alone() -> None:
    # R G / L = 2^20 x 4 in 16 mm: what the encoder gives. By the standard a drive is sent its own
    # units, as 6092h says that it has them.
    assert not across("controller_scale", both(DRIVE, scaled(2**22, "16 mm")))
    standard = {**DRIVE, "feed_constant_feed": FEED}
    found = the_one("controller_scale", both(standard, scaled(2**22, "16 mm")))
    assert "It would fit if the controller were sent increments" in found.sentence
    assert found.consequence == "hazard"
    assert not across("controller_scale", both(standard, SCALED))


def test_without_a_scale_of_the_drive_a_count_is_an_increment() -> None:
    bare: Settings = {"modes_of_operation": 8, "position_encoder_increments": 2**20}
    assert not across("controller_scale", both(bare, scaled(2**22, "16 mm")))
    found = the_one("controller_scale", both(bare, scaled(2**21, "16 mm")))
    assert "8 mm of so many increments of the encoder" in found.sentence


def test_a_drive_that_does_not_fit_its_machine_is_told_of_the_drive_alone() -> None:
    # A gear of 5 set where 4 is built: k = 1.25 of the drive, to whose unit the controller fits.
    wrong = {**DRIVE, "gear_ratio_motor_revolutions": 5}
    assert not across("controller_scale", both(wrong, SCALED))
    assert across("controller_scale", both(wrong, scaled(16_001, "16 mm")))


def test_ways_of_a_controller_that_is_off_are_not_reckoned_with() -> None:
    fast: Settings = {"controller_move_velocity": 300}
    slow = {**DRIVE, "max_motor_speed": 3000}
    assert across("controller_block_speed", both(slow, {**SCALED, **fast}))
    assert not across("controller_block_speed", both(slow, {**scaled(20_000, "16 mm"), **fast}))
    # Up to a hundredth they are; 300 mm/s are 303 then, where 200 are to be had.
    found = the_one("controller_block_speed", both(slow, {**scaled(16_160, "16 mm"), **fast}))
    assert "303 mm/s" in found.sentence
    assert not across("controller_block_speed", both(slow, {**scaled(16_161, "16 mm"), **fast}))


def with_scale(counts: int, per: str) -> dict[str, Any]:
    return {**RECORD, "controller": {"match": ["Lift"], "scale": {"counts": counts, "per": per}}}


def test_what_the_set_counts_goes_before_what_the_record_says_it_counts() -> None:
    other = with_scale(20_000, "16 mm")
    assert not across("controller_scale", both(DRIVE, SCALED, other))
    assert across("controller_scale_record", both(DRIVE, SCALED, other))
    assert across("controller_scale", both(DRIVE, {"controller_move_velocity": 1}, other))


def test_the_users_unit_is_the_sets_where_both_name_one() -> None:
    slow = {**DRIVE, "max_motor_speed": 3000}
    view = both(
        slow, {**scaled(25_400, "1 in"), "controller_move_velocity": 8}, with_scale(16_000, "16 mm")
    )
    # 8 in/s = 203.2 mm/s; 8 mm/s would be told of nowhere.
    assert "203.2 mm/s" in the_one("controller_block_speed", view).sentence


@pytest.mark.parametrize(
    ("own", "recorded", "place", "says"),
    [
        # Of one size, 25,400 for 25.4 mm and for 1 in, and yet 100 is another place.
        (scaled(25_400, "25.4 mm"), (25_400, "1 in"), 100, "its unit is mm, by axis.yaml in"),
        (scaled(25_400, "25.4 mm"), (25_400, "1 in"), "100 mm", ""),  # it says itself what it is
        (scaled(16_000, "1 rev"), (16_000, "16 mm"), 100, "its unit is rev, by axis.yaml mm"),
        (scaled(16_000, "16 mm"), (1_000, "1 mm"), 100, ""),
        ({}, (25_400, "1 in"), 100, ""),
        ({"controller_counts": 16_000, "controller_counts_per": 16}, (16_000, "16 mm"), 100, ""),
    ],
)
def test_units_that_differ_are_told_where_a_value_states_none(
    own: Settings, recorded: tuple[int, str], place: int | str, says: str
) -> None:
    view = both(DRIVE, {**own, "controller_move_position": place}, with_scale(*recorded))
    found = across("controller_scale_record", view)
    assert [one.consequence for one in found] == (["travel"] if says else [])
    assert all(says in one.sentence for one in found)
    assert all("axis.yaml: controller" in one.look_at for one in found)


@pytest.mark.parametrize(
    ("own", "recorded", "metres"),
    [
        (scaled(25_400, "1 in"), (16_000, "16 mm"), 0.2032),
        (scaled(16_000, "16 mm"), (25_400, "1 in"), 0.008),
        (scaled(25_400, "1 in"), None, 0.2032),
        ({}, (25_400, "1 in"), 0.2032),
        # A bare way is in the unit that the record names.
        ({"controller_counts": 16_000, "controller_counts_per": 16}, (25_400, "1 in"), 0.2032),
    ],
)
def test_the_set_alone_and_beside_the_drive_is_read_in_one_unit(
    own: Settings, recorded: tuple[int, str] | None, metres: float
) -> None:
    record = RECORD if recorded is None else with_scale(*recorded)
    said: Settings = {**own, "controller_move_position": 8}
    alone = view_of(said, record).physical("controller_move_position")
    assert alone is not None
    assert (float(alone.number()), alone.kind) == (pytest.approx(metres), "length")
    view = both(DRIVE, said, record)
    assert view.controller is not None
    unit = ControllerSide(view, view.controller).said.user_unit
    assert unit is not None
    assert float(unit.number()) * 8 == pytest.approx(metres)


def test_other_counts_for_one_way_are_a_change_and_no_restatement() -> None:
    left, right = (view_of(scaled(counts, "16 mm"), RECORD) for counts in (16_000, 20_000))
    right = right.with_record(recorded({**RECORD, "title": "Lift"}))
    (change,) = compare(left, right).changes
    assert (change.kind, change.shown.role) == ("changed", "controller_counts")
    assert view_of(SCALED, RECORD).physical("controller_counts") is None


@pytest.mark.parametrize(
    ("own", "recorded", "increment"),
    [
        (scaled(20_000, "16 mm"), (16_000, "16 mm"), 0.8e-6),  # 16 mm / 20,000
        ({}, (16_000, "16 mm"), 1e-6),
        (scaled(20_000, "16 mm"), None, 0.8e-6),
        (scaled(-20_000, "16 mm"), None, 0.8e-6),  # the other way round, and as large
    ],
)
def test_an_increment_of_the_set_is_what_the_set_counts(
    own: Settings, recorded: tuple[int, str] | None, increment: float
) -> None:
    record = RECORD if recorded is None else with_scale(*recorded)
    counted = Parameter("c", "Counted", 1000, 1000, "controller_modulo", "increments")
    size = view_of({**own, "controller_modulo": counted}, record).physical("controller_modulo")
    assert size is not None
    assert float(size.number()) == pytest.approx(1000 * increment)


@pytest.mark.parametrize(
    ("controller", "count", "says"),
    [
        ({**SCALED, "controller_move_velocity": 100}, 0, ""),
        ({"controller_move_velocity": 100}, 1, "in no unit"),
        ({"controller_move_velocity": "100 mm/s"}, 1, "taken for a true one"),
        ({"controller_task_interval": 1000}, 0, ""),
    ],
)
def test_what_is_not_known_of_the_unit_is_said_once(
    controller: Settings, count: int, says: str
) -> None:
    found = across("controller_scale_unknown", both(DRIVE, controller))
    assert len(found) == count
    assert all(says in one.sentence and one.consequence == "record" for one in found)


def test_without_a_unit_no_figure_is_made() -> None:
    bare: Settings = {
        "controller_move_velocity": 10**9,
        "controller_move_position": 10**9,
        "controller_max_software_limit": 10**9,
        "controller_following_error_limit": 10**9,
        "controller_modulo": 7,
    }
    strict = {**DRIVE, "max_motor_speed": 3000, "following_error_window": 1}
    view = both(strict, bare, with_mechanics(RECORD, stroke="650 mm"))
    rules = {"controller_block_speed", "controller_position", "controller_software_limit"}
    rules |= {"controller_following_error", "controller_modulo", "controller_scale"}
    assert not [one for rule in rules for one in across(rule, view)]


@pytest.mark.parametrize(
    ("drive", "controller", "link", "consequences"),
    [
        ({}, {"controller_direction": 0}, {}, []),
        ({}, {"controller_direction": 1}, {}, []),  # the mounting may be so
        ({"polarity": 0x80}, {"controller_direction": 0}, {}, []),
        ({"polarity": 0x80}, {"controller_direction": 1}, {}, ["travel"]),
        ({"polarity": 0x80}, {"controller_counts": -16_000}, {}, ["travel"]),
        ({"encoder_direction": 1}, {"controller_direction": 1}, {}, ["travel"]),
        # Twice turned on either side is straight.
        ({"polarity": 0x80, "encoder_direction": 1}, {"controller_direction": 1}, {}, []),
        ({"polarity": 0x80},
         {"controller_direction": 1, "controller_counts": -16_000}, {}, []),
        ({}, {"controller_direction": 1, "controller_counts": -16_000},
         {"invert_direction": "yes"}, ["hazard"]),
        ({}, {"controller_counts": -16_000}, {"invert_direction": "no"}, ["hazard"]),
        ({}, {"controller_direction": 1}, {"invert_direction": "no"}, ["hazard"]),
        ({}, {"controller_direction": 0}, {"invert_direction": "no"}, []),
        ({}, {"controller_direction": 0}, {"direction": "reversed"}, ["hazard"]),
        ({}, {"controller_direction": 1}, {"direction": "as the hand says"}, []),
    ],
)  # fmt: skip
def test_directions_that_contradict_are_told(
    drive: Settings, controller: Settings, link: dict[str, str], consequences: list[str]
) -> None:
    view = both({**DRIVE, **drive}, controller, {**RECORD, "controller_link": link})
    found = across("controller_direction", view)
    assert [one.consequence for one in found] == consequences


@pytest.mark.parametrize("in_record", [False, True])
def test_negative_counts_turn_positions_round_wherever_their_way_stands(in_record: bool) -> None:
    """The sign is the set's, also where axis.yaml alone says how many counts are how much way."""
    counts: Settings = {"controller_counts": -16_000}
    own = counts if in_record else {**counts, "controller_counts_per": "16 mm"}
    ends = {**DRIVE, "min_software_position_limit": 0, "max_software_position_limit": 600_000}
    record = with_scale(16_000, "16 mm")
    # The controller's -500 mm is the drive's 500 mm, within 0 to 600; its 500 mm is none.
    for place, count in ((-500, 0), (500, 1)):
        view = both(ends, {**own, "controller_move_position": place}, record)
        assert len(across("controller_position", view)) == count
    (told,) = across("controller_direction", both({**ends, "polarity": 0x80}, own, record))
    assert told.consequence == "travel"


@pytest.mark.parametrize(
    ("drive", "modulo", "says"),
    [
        ({}, "360 deg", []),
        ({}, "720 deg", []),
        ({}, "120 deg", []),
        # 360 / 350 is no whole number.
        ({}, "350 deg", ["start over after 350 deg, a turn of the axis has 360 deg"]),
        # Of 0 to 359,999 the upper end is a place of its own: 360 deg too.
        ({"min_position_range_limit": 0, "max_position_range_limit": 359_999}, "360 deg", []),
        ({"min_position_range_limit": 0, "max_position_range_limit": 360_000}, "360 deg", []),
        ({"min_position_range_limit": 0, "max_position_range_limit": 180_000}, "360 deg",
         ["those of the drive after 180 deg: 2 times"]),
    ],
)  # fmt: skip
def test_positions_start_over_after_whole_turns_on_both_sides(
    drive: Settings, modulo: str, says: list[str]
) -> None:
    view = both({**TURNS, **drive}, {**TURNED, "controller_modulo": modulo}, TABLE)
    found = across("controller_modulo", view)
    assert len(found) == len(says)
    assert all(text in one.sentence for one, text in zip(found, says, strict=True))


def test_a_modulo_is_a_whole_number_of_counts() -> None:
    # 1,000,000 counts a turn: a quarter is 250,000, a third is 333,333 1/3.
    drive = {**TURNS, "feed_constant_feed": 1_000_000, "si_unit_position": 0}
    turned = scaled(1_000_000, "360 deg")
    quarter = {**turned, "controller_modulo": "90 deg"}
    assert not across("controller_modulo", both(drive, quarter, TABLE))
    found = the_one("controller_modulo", both(drive, {**turned, "controller_modulo": 120}, TABLE))
    assert "120 deg takes 333,333.333 counts" in found.sentence


@pytest.mark.parametrize(("modulo", "count"), [("650 mm", 0), ("640 mm", 1)])
@pytest.mark.parametrize(
    "mechanics",
    [
        {"stroke": "650 mm"},
        # Without a stroke the axis goes from hard stop to hard stop: 625 + 25 = 650 mm.
        {"hard_stop_low": "-25 mm", "hard_stop_high": "625 mm"},
    ],
)
def test_a_modulo_within_a_stroke_makes_two_places_of_one(
    mechanics: dict[str, str], modulo: str, count: int
) -> None:
    record = with_mechanics(RECORD, **mechanics)
    found = across(
        "controller_modulo", both(DRIVE, {**SCALED, "controller_modulo": modulo}, record)
    )
    assert len(found) == count
    assert all("a stroke of 650 mm" in one.sentence for one in found)
    assert all("axis.yaml: mechanics" in one.look_at for one in found)

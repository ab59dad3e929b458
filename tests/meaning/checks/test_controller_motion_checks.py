"""Speeds and ramps of the controller's blocks, from both sides of each edge.

Sets and machines are invented; the arithmetic stands beside the cases. A screw of 16 mm behind 4:1:
3,000 r/min are 3,000 / 60 / 4 x 16 = 200 mm/s.
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
from tests.meaning.checks.sets import Settings, with_mechanics
from vault.meaning.reader import reading_in

LIMITED = {**DRIVE, "max_motor_speed": 3000}
PROFILED = {**DRIVE, "modes_of_operation": 1, "max_profile_velocity": 150_000}
FAST = "controller_block_speed"


def told(rule: str, drive: Settings, controller: Settings, record: Any = RECORD) -> list[str]:
    return [one.sentence for one in across(rule, both(drive, {**SCALED, **controller}, record))]


@pytest.mark.parametrize(
    ("drive", "speed", "says"),
    [
        (LIMITED, "200 mm/s", ""),
        (LIMITED, "201 mm/s", "for 201 mm/s, the drive's limit of the motor speed is 200 mm/s"),
        (LIMITED, "-201 mm/s", "asks for 201 mm/s"),  # a velocity has a sign
        (LIMITED, 201, "it asks for 1.005 times as much"),  # in the controller's unit, mm
        (LIMITED, "7.8 in/s", ""),  # 198.12 mm/s
        (LIMITED, "7.9 in/s", "asks for 200.7 mm/s"),  # 200.66 mm/s
        ({**LIMITED, "max_motor_speed": 0}, "999 mm/s", ""),  # many drives take 0 for none
        (PROFILED, "150 mm/s", ""),
        (PROFILED, "151 mm/s", "the drive's maximum profile velocity is 150 mm/s"),
        # Of both the lesser counts.
        ({**PROFILED, "max_motor_speed": 1500}, "101 mm/s", "motor speed is 100 mm/s"),
    ],
)  # fmt: skip
def test_a_block_asks_for_no_more_speed_than_there_is(
    drive: Settings, speed: str | int, says: str
) -> None:
    found = told(FAST, drive, {"controller_move_velocity": speed})
    assert len(found) == bool(says)
    assert all(says in text and "Main.controller_move_velocity" in text for text in found)


@pytest.mark.parametrize(
    ("speed", "count"),
    # 3,000 r/min / (7 / 3) = 1,285.7 r/min = 21.43 rev/s = 7,714.3 deg/s.
    [("21.4 rev/s", 0), ("21.5 rev/s", 1), ("7714 deg/s", 0), ("7720 deg/s", 1)],
)
def test_a_table_is_held_to_its_motor_through_the_gear(speed: str, count: int) -> None:
    drive = {**TURNS, "max_motor_speed": 3000}
    found = across(FAST, both(drive, {**TURNED, "controller_jog_velocity": speed}, TABLE))
    assert len(found) == count
    assert all("1,286 r/min" in one.sentence for one in found)


def test_the_motors_highest_speed_limits_a_block_too() -> None:
    record = {**RECORD, "motor": {"max_speed": "3000 r/min"}}
    assert not told(FAST, DRIVE, {"controller_homing_velocity": "200 mm/s"}, record)
    found = told(FAST, DRIVE, {"controller_homing_velocity": "250 mm/s"}, record)
    assert [
        "the motor's highest speed is 200 mm/s: it asks for 1.25 times" in t for t in found
    ] == [True]


def test_several_blocks_beyond_one_limit_are_one_complaint_with_all_their_places() -> None:
    found = the_one(
        FAST,
        both(
            LIMITED,
            {
                **SCALED,
                "controller_move_velocity": 250,
                "controller_move_velocity.2": 300,
                "controller_move_velocity.3": 150,
                "controller_jog_velocity": 260,
            },
        ),
    )
    assert found.sentence.startswith("Main.controller_move_velocity.2 of the controller")
    assert found.sentence.endswith("; so do 2 more.")
    assert found.look_at == (
        "p/max_motor_speed",
        "controller: Main.controller_move_velocity.2",
        "controller: Main.controller_jog_velocity",
        "controller: Main.controller_move_velocity",
    )
    assert [(f.value, f.unit) for f in found.findings] == [
        ("0.3", "m/s"), ("0.2", "m/s"), ("1.5", "1"),
    ]  # fmt: skip


def test_a_ceiling_counts_only_where_no_block_says_what_it_asks_for() -> None:
    ceiling: Settings = {"controller_max_velocity": 300}
    assert told(FAST, LIMITED, ceiling)
    assert not told(FAST, LIMITED, {**ceiling, "controller_move_velocity": 100})


@pytest.mark.parametrize(("speed", "count"), [(150, 0), (151, 1)])
def test_in_a_cyclic_mode_the_drive_may_not_cut_to_its_maximum(speed: int, count: int) -> None:
    cyclic = {**PROFILED, "modes_of_operation": 8}
    found = told("controller_profile_speed", cyclic, {"controller_move_velocity": speed})
    assert len(found) == count
    assert all("may not cut it" in text and "150 mm/s" in text for text in found)
    assert not told("controller_profile_speed", PROFILED, {"controller_move_velocity": speed})
    assert not told(FAST, cyclic, {"controller_move_velocity": speed})


@pytest.mark.parametrize(("speed", "count"), [("100 mm/s", 0), ("125 mm/s", 1)])
def test_what_the_machine_is_built_for_is_a_hazard_to_go_beyond(speed: str, count: int) -> None:
    view = both(
        DRIVE, {**SCALED, "controller_move_velocity": speed},
        with_mechanics(RECORD, max_speed="100 mm/s"),
    )  # fmt: skip
    found = across("controller_machine_speed", view)
    assert [one.consequence for one in found] == ["hazard"] * count
    assert all("1.25 times" in one.sentence for one in found)


@pytest.mark.parametrize(("speed", "count"), [(50, 0), (60, 1)])
def test_the_controller_jogs_no_faster_than_the_drive(speed: int, count: int) -> None:
    drive = {**DRIVE, "jog_velocity": 50_000}  # 0.001 mm/s each
    found = told("controller_jog_speed", drive, {"controller_jog_velocity.2": speed})
    assert len(found) == count
    assert all("60 mm/s, the drive at 50 mm/s: 1.2 times as fast" in text for text in found)
    still = {**DRIVE, "jog_velocity": 0}  # a drive that does not jog by itself
    assert not told("controller_jog_speed", still, {"controller_jog_velocity.2": speed})


@pytest.mark.parametrize(
    ("role", "ramp", "count"),
    [
        ("controller_move_acceleration", 2000, 0),
        ("controller_move_acceleration", 2500, 1),  # 1.25 times
        ("controller_jog_acceleration", 2500, 1),
        ("controller_homing_acceleration", 2500, 1),
        ("controller_move_deceleration", 2500, 0),  # of which the limit is another
        ("controller_move_deceleration", 3000, 0),
        ("controller_move_deceleration", 3750, 1),
        ("controller_stop_deceleration", 3750, 1),
        ("controller_jog_deceleration", 3750, 1),
    ],
)
def test_ramps_stay_below_what_the_drive_takes(role: str, ramp: int, count: int) -> None:
    drive = {**DRIVE, "max_acceleration": 2_000_000, "max_deceleration": 3_000_000}
    found = told("controller_block_ramp", drive, {role: ramp})
    assert len(found) == count
    assert all("1.25 times as much" in text for text in found)


HEAVY = {
    "mechanics": {**RECORD["mechanics"], "moving_mass": "100 kg"},
    "motor": {"rated_torque": "2 N*m", "inertia": "1 kg*cm^2"},
}
STRONG = {**DRIVE, "max_torque": 1000}


@pytest.mark.parametrize(
    ("role", "ramp", "count"),
    # r = 16 mm / (2 pi 4) = 0.63662 mm; T / r = 2 / 0.00063662 = 3,141.6 N; m + J / r^2 =
    # 100 + 1e-4 / 0.00063662^2 = 346.74 kg; 3,141.6 / 346.74 = 9.0604 m/s^2.
    [
        ("controller_move_acceleration", 9050, 0),
        ("controller_move_acceleration", 9966.5, 1),  # 1.1 times
        ("controller_stop_deceleration", 9050, 0),
        ("controller_stop_deceleration", 9966.5, 1),
    ],
)
def test_the_torque_is_enough_for_a_ramp(role: str, ramp: float, count: int) -> None:
    asked: Settings = {role: f"{ramp} mm/s^2"}
    found = told("controller_block_torque", STRONG, asked, HEAVY)
    assert len(found) == count
    assert all("the torque limit gives 9,060 mm/s^2" in t and "1.1 times" in t for t in found)


def test_a_load_that_hangs_leaves_less_torque_to_brake_it() -> None:
    # (3,141.6 - 100 x 9.80665) / 346.74 = 6.2321 m/s^2.
    record = {**HEAVY, "mechanics": {**HEAVY["mechanics"], "orientation": "vertical"}}
    rule = "controller_block_torque"
    for ramp, count in (("6.2 m/s^2", 0), ("6.3 m/s^2", 1)):
        found = told(rule, STRONG, {"controller_move_deceleration": ramp}, record)
        assert len(found) == count
        assert all("gives 6,232 mm/s^2" in text for text in found)


@pytest.mark.parametrize(
    ("down", "says"),
    # 1,500 permille brake a load that comes down: (4,712.4 - 980.7) / 346.74 = 10.762 m/s^2, and
    # 700 one that goes up: (2,199.1 + 980.7) / 346.74 = 9.1705 m/s^2.
    # Where nobody says which way is down, 700 may have to do both: 1,218.5 / 346.74 = 3.514 m/s^2.
    [("low", "gives 9,170 mm/s^2"), (None, "gives 3,514 mm/s^2")],
)
def test_each_way_is_braked_by_the_torque_that_the_drive_has_for_it(
    down: str | None, says: str
) -> None:
    more = {} if down is None else {"down": down}
    record = {
        **HEAVY, "mechanics": {**HEAVY["mechanics"], "orientation": "vertical", **more},
    }  # fmt: skip
    drive = {**STRONG, "max_torque": 2000, "positive_torque_limit": 1500,
             "negative_torque_limit": 700}  # fmt: skip
    (text,) = told("controller_block_torque", drive, {"controller_stop_deceleration": 9200}, record)
    assert says in text


def test_without_a_mass_nothing_is_said_of_torque() -> None:
    asked: Settings = {"controller_move_acceleration": "99 m/s^2"}
    assert not told("controller_block_torque", STRONG, asked)


@pytest.mark.parametrize(("ramp", "count"), [(1000, 0), (1500, 1)])
def test_the_drives_quick_stop_is_no_gentler_than_the_programs_stop(ramp: int, count: int) -> None:
    drive = {**DRIVE, "quick_stop_deceleration": 1_000_000}
    found = told("controller_quick_stop", drive, {"controller_stop_deceleration": ramp})
    assert len(found) == count
    assert all("takes 1.5 times the way to stop" in text for text in found)


def test_a_reader_in_inch_is_told_in_inch() -> None:
    with reading_in("inch"):
        (found,) = told(FAST, LIMITED, {"controller_move_velocity": "10 in/s"})
    assert "10 in/s" in found and "7.874 in/s" in found  # 200 / 25.4


@pytest.mark.parametrize(
    ("mode", "so"), [(1, "the axis runs slower than it is told"), (8, "the axis falls behind")]
)
def test_a_drive_that_makes_its_own_profile_does_not_fall_behind(mode: int, so: str) -> None:
    drive = {**DRIVE, "modes_of_operation": mode, "max_motor_speed": 3000}  # 200 mm/s
    fast = {**SCALED, "controller_move_velocity": "300 mm/s"}
    assert so in the_one("controller_block_speed", both(drive, fast)).sentence

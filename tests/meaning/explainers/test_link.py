"""The controller link against worked numbers. Axes are invented; CiA 301 from memory."""

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

INTERVAL, PERIOD = "update_interval", "task_period"
TIMEOUT, HEARTBEAT = "fieldbus_timeout", "consumer_heartbeat_time"


def test_an_interval_that_is_not_the_task_period_of_the_axis_record_is_told() -> None:
    # axis.yaml says 1 ms. At 400 mm/s the 3 ms between them are 1.2 mm.
    found = told(INTERVAL, (1000, "us"), (4000, "us"), RAMPS)
    assert "every 4 ms, the controller's task runs every 1 ms" in found.effect
    assert found.figure("way in the difference", 0.0012)
    assert "1.2 mm" in found.effect
    assert found.consequence == "link"


def test_an_interval_that_is_the_task_period_is_in_step() -> None:
    assert "in step, every 1 ms" in told(INTERVAL, (4000, "us"), (1000, "us"), RAMPS).effect
    assert "in step, every 1 ms" in told(INTERVAL, (4, "ms"), (1, "ms"), RAMPS).effect


def test_the_task_period_of_the_set_goes_before_that_of_the_axis_record() -> None:
    common = {**RAMPS, PERIOD: (4000, "us")}
    assert "in step, every 4 ms" in told(INTERVAL, (1000, "us"), (4000, "us"), common).effect
    slower = told(PERIOD, (1000, "us"), (8000, "us"), {**RAMPS, INTERVAL: (1000, "us")})
    assert "runs in steps" in slower.effect


def test_an_interpolation_time_is_mantissa_and_power_of_ten() -> None:
    """60C2h, from memory: 4 x 10^-3 s."""
    common: dict[str, Entry] = {**RAMPS, "interpolation_time_period": 4}
    found = told("interpolation_time_index", -4, -3, common)
    assert found.figure("update interval", 0.004)


def test_an_interval_without_a_task_period_is_not_judged() -> None:
    found = told(INTERVAL, (1000, "us"), (2000, "us"), axis=None)
    assert "must be the controller's task period" in found.effect
    assert tell(PERIOD, (1000, "us"), None, axis=None) is None


@pytest.mark.parametrize("text", ["often", "3 mm"])
def test_a_task_period_that_is_no_time_is_left_out(text: str) -> None:
    axis = LIFT.replace("task_period: 1 ms", f"task_period: {text}")
    assert "must be" in told(INTERVAL, (1000, "us"), (2000, "us"), RAMPS, axis).effect


def test_an_address_is_held_against_the_axis_record() -> None:
    assert "The axis record has 13." in told("node_address", 13, 14, RAMPS).effect
    assert "the same 13" in told("node_address", 14, 13, RAMPS).effect
    assert "axis record" not in told("node_address", 13, 14, axis=None).effect
    assert told("node_address", 13, 14, RAMPS).consequence == "link"


def test_a_safety_address_stays_a_hazard() -> None:
    assert told("safety_address", 13, 14, RAMPS).consequence == "hazard"


def test_process_data_are_held_against_the_axis_record() -> None:
    found = told("process_data_in_size", (24, "byte"), (26, "byte"), RAMPS)
    assert "The axis record has 24 byte." in found.effect
    back = told("process_data_in_size", (26, "byte"), (24, "byte"), RAMPS)
    assert "The axis record has the same." in back.effect
    assert "axis record" not in told("bit_rate", 125, 500, RAMPS).effect
    assert found.consequence == "link"


def test_a_time_out_is_told_as_way_at_the_highest_speed() -> None:
    # 400 mm/s x 100 ms = 40 mm.
    found = told(TIMEOUT, (40, "ms"), (100, "ms"), RAMPS)
    assert "noticed after 100 ms instead of 40 ms" in found.effect
    assert "at 400 mm/s the axis makes 40 mm" in found.effect
    assert found.figure("way until it is noticed", 0.040)


def test_a_turning_axis_makes_degrees_in_a_time_out() -> None:
    # 1000 r/min behind 40:1 are 150 deg/s, in 100 ms 15 deg.
    common: dict[str, Entry] = {**TURNS, "max_motor_speed": (1000, "r/min")}
    assert "makes 15 deg" in told(TIMEOUT, (40, "ms"), (100, "ms"), common, TABLE).effect


@pytest.mark.parametrize("axis", [LIFT, SLIDE])
def test_a_longer_time_out_is_a_hazard_and_a_shorter_one_is_not(axis: str) -> None:
    assert told(TIMEOUT, (40, "ms"), (100, "ms"), RAMPS, axis).consequence == "hazard"
    assert told(TIMEOUT, (100, "ms"), (40, "ms"), RAMPS, axis).consequence == "link"


def test_supervision_that_is_off_or_gone_is_a_hazard_and_on_is_not() -> None:
    assert told(TIMEOUT, (40, "ms"), (0, "ms"), RAMPS).consequence == "hazard"
    assert told(TIMEOUT, (40, "ms"), None, RAMPS).consequence == "hazard"
    on = told(TIMEOUT, (0, "ms"), (40, "ms"), RAMPS)
    assert "the other set does not notice it" in on.effect
    assert on.consequence == "link"
    assert tell(TIMEOUT, (0, "ms"), None, RAMPS) is None
    assert told(TIMEOUT, None, (40, "ms"), RAMPS).consequence == "link"


def test_guarding_lasts_its_time_as_often_as_its_factor() -> None:
    """CiA 301, 100Ch and 100Dh, from memory: 100 ms x 3."""
    common: dict[str, Entry] = {**RAMPS, "guard_time": (100, "ms"), "life_time_factor": 3}
    assert "after 300 ms instead of 200 ms" in told("life_time_factor", 2, 3, common).effect
    assert "after 300 ms instead of 150 ms" in (
        told("guard_time", (50, "ms"), (100, "ms"), common).effect
    )
    assert told("life_time_factor", 3, 0, common).consequence == "hazard"
    assert tell("life_time_factor", 3, 0, RAMPS) is None


@pytest.mark.parametrize("role", [HEARTBEAT, f"{HEARTBEAT}.2"])
def test_a_watched_heartbeat_has_its_time_in_the_low_half(role: str) -> None:
    """CiA 301, 1016h, from memory: node 7Fh, 12Ch = 300 ms; the node number is no time."""
    found = told(role, 0x007F0064, 0x007F012C, RAMPS)
    assert "after 300 ms instead of 100 ms" in found.effect
    assert found.consequence == "hazard"
    assert told(role, 0x007F012C, 0x007F0000, RAMPS).consequence == "hazard"
    assert told(role, 0x007F012C, 0x00010064, RAMPS).consequence == "link"


def test_a_heartbeat_without_a_node_watches_nobody() -> None:
    # CiA 301, 1016h, from memory: an entry with node 0 is not used.
    found = told(HEARTBEAT, 0x007F0064, 0x00000064, RAMPS)
    assert found.consequence == "hazard"
    assert "does not notice" in found.effect


def test_missed_updates_are_told_as_time_and_way() -> None:
    # Five of 4 ms: 20 ms, at 400 mm/s 8 mm.
    common: dict[str, Entry] = {**RAMPS, INTERVAL: (4000, "us")}
    found = told("missed_update_limit", 3, 5, common)
    assert found.figure("time bridged", 0.020)
    assert "5 missing updates, 20 ms" in found.effect
    assert "makes 8 mm" in found.effect
    assert found.consequence == "hazard"
    assert told("missed_update_limit", 5, 3, common).consequence == "link"
    assert "ms" not in told("missed_update_limit", 3, 5, axis=None).effect


def test_no_missed_updates_at_all_are_not_guessed() -> None:
    found = told("missed_update_limit", 3, 0, RAMPS)
    assert "manual" in found.effect
    assert found.consequence == "hazard"


def test_a_sign_of_life_is_told_with_its_time() -> None:
    assert "every 200 ms" in told("producer_heartbeat_time", (0, "ms"), (200, "ms")).effect
    off = told("producer_heartbeat_time", (200, "ms"), (0, "ms"))
    assert "no sign of life" in off.effect
    assert off.consequence == "link"


def test_link_roles_of_one_side_alone_do_not_break() -> None:
    for role in ("node_address", "process_data_in_size", "missed_update_limit"):
        assert between(role, view({role: 3}), view({})) is None
        assert between(role, view({}), view({role: 3})) is not None


@pytest.mark.parametrize(
    ("interval", "cycle", "even"),
    [(4000, 4000, True), (4000, 2000, True), (4000, 3000, False), (4000, 8000, False),
     (4000, 0, True)],
)  # fmt: skip
def test_a_bus_cycle_must_divide_the_interval(interval: int, cycle: int, *, even: bool) -> None:
    role = "communication_cycle_period"
    common: dict[str, Entry] = {**RAMPS, INTERVAL: (interval, "us")}
    found = told(role, (1000, "us"), (cycle, "us"), common)
    assert ("does not divide it" in found.effect) is not even
    assert found.consequence == "link"
    if not even:
        assert found.figure("bus cycle", cycle / 1e6)


@pytest.mark.parametrize(
    ("interval", "says"),
    [(500, "runs in steps"), (2000, "some set points are lost"), (1000, "in step")],
)
def test_set_points_come_late_or_are_lost(interval: int, says: str) -> None:
    # axis.yaml says 1 ms.
    found = told(INTERVAL, (4000, "us"), (interval, "us"), RAMPS)
    assert says in found.effect
    assert ("the difference is" in found.effect) is (interval != 1000)


def test_what_else_watches_the_controller_decides_where_one_way_is_off() -> None:
    common: dict[str, Entry] = {**RAMPS, HEARTBEAT: 0x007F0064}
    off = told(TIMEOUT, (200, "ms"), (0, "ms"), common)
    assert "notices it after 100 ms all the same" in off.effect
    assert off.consequence == "link"
    gone = told(TIMEOUT, (200, "ms"), None, common)
    assert "notices it after 100 ms all the same" in gone.effect
    later = told(TIMEOUT, (50, "ms"), None, common)
    assert later.consequence == "hazard"
    alone = told(TIMEOUT, (50, "ms"), (0, "ms"), RAMPS)
    assert "all the same" not in alone.effect


def test_a_size_in_another_unit_is_not_held_against_the_record() -> None:
    assert "axis record" not in told("process_data_in_size", (1, "bit"), (2, "bit"), RAMPS).effect
    assert "axis record" not in told("process_data_out_size", (1, "byte"), (2, "byte")).effect
    assert "manual" not in told("missed_update_limit", 0, 3, RAMPS).effect
    assert tell("missed_update_limit", 3, -1, RAMPS) is None
    assert tell("missed_update_limit", 3, "three", RAMPS) is None


def test_a_task_period_without_an_interval_must_be_the_drives() -> None:
    found = told(PERIOD, (1000, "us"), (2000, "us"), axis=None)
    assert "must be the controller's task period" in found.effect
    assert tell("interpolation_time_period", 1, 2, axis=None) is None

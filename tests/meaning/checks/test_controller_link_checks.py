"""Timing, loop, addresses, data and start-up parameters of the controller, from both sides.

Sets and machines are invented; the arithmetic stands beside the cases.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.meaning.checks.both_sides import DRIVE, RECORD, TABLE, TURNS, across, both, the_one
from tests.meaning.checks.sets import Settings, view_of
from vault.meaning.axis_view import AxisView
from vault.meaning.controller_side import with_controller
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.parameters_text import parameters_text

TWO_MS: Settings = {"interpolation_time_period": 2, "interpolation_time_index": -3}


def link(**said: str) -> dict[str, Any]:
    return {**RECORD, "controller_link": said}


def told(rule: str, drive: Settings, controller: Settings, record: Any = RECORD) -> list[str]:
    return [one.sentence for one in across(rule, both({**DRIVE, **drive}, controller, record))]


@pytest.mark.parametrize(
    ("drive", "controller", "record", "says"),
    [
        (TWO_MS, {"controller_task_interval": 2000}, RECORD, ""),
        (TWO_MS, {"controller_task_interval": "2 ms"}, link(task_period="2 ms"), ""),
        (TWO_MS, {"controller_task_interval": 4000}, RECORD,
         "interval of the controller is 4 ms, the drive expects set points every 2 ms: 2 times"),
        (TWO_MS, {"controller_update_interval": 1000}, RECORD, "is 1 ms, the drive expects"),
        ({}, {"controller_task_interval": 1000, "controller_update_interval": 2000}, RECORD,
         "is 1 ms, its update interval is 2 ms: 0.5 times"),
        ({}, {"controller_task_interval": 1000, "controller_update_interval": 1000}, RECORD, ""),
        ({}, {"controller_task_interval": 1000}, link(task_period="2 ms"), "axis.yaml has it"),
        ({}, {"controller_task_interval": 1000}, link(update_interval="2 ms"), "axis.yaml has it"),
        ({}, {"controller_task_interval": 1000}, link(task_period="often"), ""),
        # Where the drive makes its own profiles nobody sends it set points.
        ({**TWO_MS, "modes_of_operation": 1}, {"controller_task_interval": 4000}, RECORD, ""),
        ({"communication_cycle_period": 1000}, {"controller_task_interval": 4000}, RECORD,
         "the drive expects set points every 1 ms: 4 times"),
        ({}, {"controller_task_interval": 0}, link(task_period="2 ms"), ""),
    ],
)  # fmt: skip
def test_task_and_interval_and_drive_are_in_step(
    drive: Settings, controller: Settings, record: dict[str, Any], says: str
) -> None:
    found = told("controller_interval", drive, controller, record)
    assert len(found) == bool(says)
    assert all(says in text for text in found)


def test_an_interval_out_of_step_names_both_places() -> None:
    found = the_one(
        "controller_interval", both({**DRIVE, **TWO_MS}, {"controller_task_interval": 4000})
    )
    assert found.look_at == (
        "p/interpolation_time_period", "p/interpolation_time_index",
        "controller: Main.controller_task_interval",
    )  # fmt: skip
    assert [(f.value, f.unit) for f in found.findings] == [
        ("0.004", "s"), ("0.002", "s"), ("2", "1"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("drive", "cycle", "interval", "says"),
    [
        ({}, 500, 2000, ""),
        ({}, 2000, 2000, ""),
        ({}, 1500, 2000, "every 2 ms, the controller's bus runs every 1.5 ms, which goes 1.33"),
        ({}, 4000, 2000, "0.5 times into it"),
        (TWO_MS, 1500, None, "every 2 ms"),
        (TWO_MS, 500, None, ""),
        ({}, 1500, None, ""),
        ({"communication_cycle_period": 1000}, 1000, 2000, ""),
        ({"communication_cycle_period": 1000}, 2000, 2000, "by the drive (1006h) every 1 ms: 2 t"),
    ],
)
def test_the_bus_goes_a_whole_number_of_times_into_the_interval(
    drive: Settings, cycle: int, interval: int | None, says: str
) -> None:
    controller: Settings = {"controller_bus_cycle": cycle}
    if interval is not None:
        controller = {**controller, "controller_update_interval": interval}
    found = told("controller_bus_cycle", drive, controller)
    assert len(found) == bool(says)
    assert all(says in text for text in found)


@pytest.mark.parametrize(
    ("mode", "loop", "says"),
    [
        (8, 0, ""), (8, 1, "two loops"), (1, 1, "two loops"), (7, 1, "two loops"),
        (9, 1, ""), (9, 0, "nobody holds"), (10, 0, "nobody holds"), (3, 0, "nobody holds"),
        (2, 0, "nobody holds"), (6, 0, ""), (6, 1, ""),
    ],
)  # fmt: skip
def test_one_side_closes_the_position_loop(mode: int, loop: int, says: str) -> None:
    view = both({**DRIVE, "modes_of_operation": mode}, {"controller_position_loop": loop})
    found = across("controller_position_loop", view)
    assert [one.consequence for one in found] == (["hazard"] if says else [])
    assert all(says in one.sentence and str(mode) in one.sentence for one in found)


@pytest.mark.parametrize(
    ("drive", "controller", "record", "says"),
    [
        ({"node_address": 13}, {"controller_node_address": 13}, link(node_address="13"), ""),
        ({"node_address": 12}, {"controller_node_address": 13}, link(node_address="13"),
         "node address 13, the drive has 12."),
        ({"node_address": 12}, {"controller_node_address": 13}, link(node_address="14"),
         "node address 13, the drive has 12, axis.yaml says 14."),
        ({}, {"controller_node_address": 13}, link(node_address="14"), "13, axis.yaml says 14."),
        ({}, {"controller_node_address": 13}, link(node_address="the 14th"), ""),
        ({"station_alias": 1}, {"controller_station_alias": 2}, RECORD,
         "station alias 2, the drive has 1."),
        ({"station_alias": 1}, {"controller_node_address": 2}, RECORD, ""),
    ],
)  # fmt: skip
def test_addresses_are_one_on_all_three_sides(
    drive: Settings, controller: Settings, record: dict[str, Any], says: str
) -> None:
    found = told("controller_address", drive, controller, record)
    assert len(found) == bool(says)
    assert all(says in text for text in found)


@pytest.mark.parametrize(
    ("drive", "controller", "record", "says"),
    [
        ({"process_data_in_size": 24}, {"controller_data_size_in": 24}, RECORD, ""),
        ({"process_data_in_size": 22}, {"controller_data_size_in": 24}, RECORD,
         "swaps 24 byte from drive to controller, the drive has 22."),
        ({"process_data_out_size": 22}, {"controller_data_size_out": 24},
         link(process_data_out="20 byte"),
         "24 byte from controller to drive, the drive has 22, axis.yaml says 20."),
        ({"process_data_out_size": 22}, {"controller_data_size_in": 24}, RECORD, ""),
        ({}, {"controller_data_size_in": 24}, link(process_data_in="24 byte"), ""),
    ],
)  # fmt: skip
def test_data_have_one_size_on_all_three_sides(
    drive: Settings, controller: Settings, record: dict[str, Any], says: str
) -> None:
    found = told("controller_data_size", drive, controller, record)
    assert len(found) == bool(says)
    assert all(says in text for text in found)


def entry(code: str, raw: int) -> Parameter:
    return Parameter(code, code, raw, raw)


def mapped(*entries: Parameter, controller: Settings) -> AxisView:
    """A drive that maps data, beside a controller; entries are index, sub-index and bits."""
    own = AxisView("x", parameters_text(ParameterSet(entries)))
    return with_controller(own, view_of(controller))


STATUS, ACTUAL, TORQUE = 0x60410010, 0x60640020, 0x60770010  # 16, 32 and 16 bits
BOTH_MAPPED = (entry("0x1A00:01", STATUS), entry("0x1A00:02", ACTUAL))


@pytest.mark.parametrize(
    ("entries", "size", "count"),
    [
        (BOTH_MAPPED, 6, 0),  # 16 + 32 bits = 6 byte
        (BOTH_MAPPED, 8, 1),
        ((entry("0x1A00:01", 0x60800080),), 16, 0),  # one entry of 128 bits
        ((entry("0x1A00:00", 1), *BOTH_MAPPED), 2, 0),  # one entry counts
        ((entry("0x1A00:00", 3), *BOTH_MAPPED), 8, 0),  # the third is not in the set
        # Two mappings: which of them is used, the assignment says.
        ((*BOTH_MAPPED, entry("0x1A01:01", TORQUE)), 8, 0),
        ((*BOTH_MAPPED, entry("0x1A01:01", TORQUE)), 2, 0),
        ((*BOTH_MAPPED, entry("0x1A01:01", TORQUE), entry("0x1C13:01", 0x1A00),
          entry("0x1C13:02", 0x1A01)), 8, 0),
        ((*BOTH_MAPPED, entry("0x1A01:01", TORQUE), entry("0x1C13:01", 0x1A01)), 2, 0),
        ((*BOTH_MAPPED, entry("0x1A01:01", TORQUE), entry("0x1C13:01", 0x1A01)), 8, 1),
    ],
)  # fmt: skip
def test_what_the_drive_maps_has_the_size_that_the_controller_takes(
    entries: tuple[Parameter, ...], size: int, count: int
) -> None:
    view = mapped(*entries, controller={"controller_data_size_in": size})
    assert len(across("controller_data_size", view)) == count


@pytest.mark.parametrize(
    ("drive", "written", "consequence", "says"),
    [
        ({"following_error_window": 2000}, {"following_error_window": "2 mm"}, "", ""),
        ({"following_error_window": 2000}, {"following_error_window": 2000}, "", ""),
        ({"following_error_window": 2000}, {"following_error_window": 5000}, "travel",
         "= 5 mm when it starts, the drive has 2 mm: after the next start it has the "
         "controller's, 2.5 times the drive's. Check a restore after a power cycle of both."),
        ({"modes_of_operation": 8}, {"modes_of_operation": 9}, "dynamics",
         "Cyclic synchronous velocity (9) when it starts, the drive has Cyclic synchronous pos"),
        ({}, {"following_error_window": 5000}, "", ""),
        ({"serial_number": 7}, {"serial_number": 8}, "", ""),  # nobody writes that
        # Beyond a hundredth another scale is a hazard: 101 / 100 is none, 102 / 100 is.
        ({"feed_constant_feed": 10_000}, {"feed_constant_feed": 10_100}, "travel", "1.01 times"),
        ({"feed_constant_feed": 10_000}, {"feed_constant_feed": 10_200}, "hazard", "1.02 times"),
        ({"polarity": 0}, {"polarity": 0x80}, "hazard", "the drive has 0"),
        # Homing that newly moves, or starts the other way; 18 is 2 without its index pulse.
        ({"homing_method": 37}, {"homing_method": 1}, "hazard", "becomes home (37)"),
        ({"homing_method": 17}, {"homing_method": 18}, "hazard", "limit switch (17)"),
        ({"homing_method": 2}, {"homing_method": 18}, "travel", "limit switch"),
    ],
)  # fmt: skip
def test_what_the_controller_writes_at_its_start_is_what_the_drive_has(
    drive: Settings, written: Settings, consequence: str, says: str
) -> None:
    found = across("controller_start_up", both({**DRIVE, **drive}, written))
    assert len(found) == bool(says)
    assert all(says in one.sentence and one.consequence == consequence for one in found)
    assert all(len(one.look_at) == 2 for one in found)


def test_a_gear_written_as_other_numbers_of_one_ratio_is_no_hazard() -> None:
    drive = {**DRIVE, "gear_ratio_shaft_revolutions": 1}  # 4 : 1
    same = {"gear_ratio_motor_revolutions": 8, "gear_ratio_shaft_revolutions": 2}
    found = across("controller_start_up", both(drive, same))
    assert [one.consequence for one in found] == ["record", "record"]
    other = {**same, "gear_ratio_shaft_revolutions": 3}
    found = across("controller_start_up", both(drive, other))
    assert [one.consequence for one in found] == ["hazard", "hazard"]


def test_a_program_that_calls_blocks_every_few_updates_is_none_of_the_set_points() -> None:
    own = {"controller_task_interval": "4 ms", "controller_update_interval": "2 ms"}
    assert not told("controller_interval", TWO_MS, own)
    (said,) = told("controller_interval", TWO_MS, {**own, "controller_update_interval": "1 ms"})
    assert "update_interval of the controller is 1 ms, the drive expects" in said
    (said,) = told("controller_interval", TWO_MS, {**own, "controller_task_interval": "3 ms"})
    assert "task_interval of the controller is 3 ms, its update interval is 2 ms" in said
    (said,) = told("controller_interval", TWO_MS, {**own, "controller_task_interval": "1 ms"})
    assert "task_interval of the controller is 1 ms, its update interval is 2 ms" in said


def test_the_order_of_mapped_data_is_held_against_what_the_controller_writes() -> None:
    own = AxisView("x", parameters_text(ParameterSet(BOTH_MAPPED)))
    turned = (entry("0x1A00:01", ACTUAL), entry("0x1A00:02", STATUS))
    for written, count in ((BOTH_MAPPED, 0), (turned, 2)):
        view = with_controller(own, AxisView("y", parameters_text(ParameterSet(written))))
        found = across("controller_start_up", view)
        assert [one.consequence for one in found] == ["link"] * count


def test_a_value_of_a_table_is_held_against_a_table() -> None:
    drive = {**TURNS, "following_error_window": 1000}  # 1 deg
    view = both(drive, {"following_error_window": "2 deg"}, TABLE)
    assert "= 2 deg when it starts" in the_one("controller_start_up", view).sentence

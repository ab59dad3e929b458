"""What follows from a difference beside the parameters. Machines are invented.

g = 9.80665 m/s^2 (standard gravity, CGPM 1901, from memory); drop of a free load g t^2 / 2; way per
motor turn L / G.
"""

from __future__ import annotations

from typing import Any

import pytest

from vault.jobs.compare_states import built
from vault.meaning.changes import Surrounding
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings
from vault.model.axis import AxisRecord


def record(**sections: Any) -> AxisRecord:
    return AxisRecord.model_validate({"schema": "axisvault/axis/1", **sections})


def told(
    left: AxisRecord, right: AxisRecord, sides: tuple[str, str] | None = None
) -> dict[str, Surrounding]:
    found = explained(surroundings(built(left), built(right)), left, right, sides)
    return {around.path: around for around in found}


def mechanics(orientation: str = "vertical", **more: Any) -> AxisRecord:
    usual = {"kind": "ball_screw", "lead": "20 mm", "gearbox": {"motor": 2, "output": 1}}
    return record(mechanics={**usual, "orientation": orientation, **more})


@pytest.mark.parametrize(
    ("key", "consequence", "says"),
    [
        ("address_switches", "link", "moves the axis of another drive"),
        ("rotary_switch_s1", "link", "moves the axis of another drive"),
        ("safe_torque_off", "hazard", "validated by the machine's own procedure"),
        ("over_travel_wiring", "hazard", "Actuate the switch by hand"),
        ("supply_fuse", "electrical", ""),
        ("bus_termination", "link", "the link does not start"),
        ("colour_of_the_cover", "electrical", "compare it in the cabinet"),
    ],
)
def test_a_cabinet_setting_goes_by_the_words_in_its_name(
    key: str, consequence: str, says: str
) -> None:
    found = told(record(cabinet={key: "13"}), record(cabinet={key: "31"}))[f"cabinet.{key}"]
    assert found.consequence == consequence
    assert "13 became 31" in found.explanation
    assert says in found.explanation


def test_a_setting_that_is_new_is_told() -> None:
    found = told(record(), record(cabinet={"jumper_x5": True}))["cabinet.jumper_x5"]
    assert "nothing became True" in found.explanation


def test_addresses_of_two_axes_differ_as_they_must() -> None:
    left, right = (record(controller_link={"node_address": n}) for n in (12, 13))
    assert told(left, right)["controller_link.node_address"].consequence == "link"
    two = told(left, right, ("belt", "lift"))["controller_link.node_address"]
    assert (two.consequence, two.explanation) == (
        "record", "controller link, node address: 12 on belt, 13 on lift.",
    )  # fmt: skip


def test_another_bus_interval_is_told_in_numbers() -> None:
    left, right = (record(controller_link={"update_interval": t}) for t in ("1 ms", "2 ms"))
    said = told(left, right)["controller_link.update_interval"].explanation
    assert "sends every 2 ms instead of every 1 ms" in said


def test_another_lead_moves_every_length() -> None:
    """20 mm / 2 = 10 mm a motor turn before, 25 mm / 2 = 12.5 mm after: 1.25 times."""
    found = told(mechanics(), mechanics(lead="25 mm"))["mechanics.lead"]
    assert found.consequence == "hazard"
    assert "A turn of the motor makes 1.25 times the way" in found.explanation


def test_a_lead_and_a_gear_that_make_up_for_each_other_move_nothing() -> None:
    after = mechanics(lead="40 mm", gearbox={"motor": 4, "output": 1})
    found = told(mechanics(), after)
    assert "A turn of the motor makes the same way." in found["mechanics.lead"].explanation


def test_a_heavier_load_that_hangs_weighs_on_the_brake() -> None:
    """60 x 9.80665 = 588.4 N, 75 x 9.80665 = 735.5 N; 60 / 75 = 0.8."""
    left, right = (mechanics(moving_mass=f"{m} kg") for m in (60, 75))
    found = told(left, right)["mechanics.moving_mass"]
    assert found.consequence == "hazard"
    assert "0.8 times as hard" in found.explanation
    assert "735.5 N hang on motor and brake instead of 588.4 N" in found.explanation
    flat = [mechanics("horizontal", moving_mass=f"{m} kg") for m in (60, 75)]
    found = told(*flat)["mechanics.moving_mass"]
    assert found.consequence == "dynamics"
    assert "hang" not in found.explanation


def test_a_slower_brake_lets_a_hanging_load_fall_farther() -> None:
    """g t^2 / 2: 50 ms give 12.258 mm, 80 ms give 31.381 mm."""
    left, right = (
        record(brake={"apply_time": t}, mechanics={"kind": "ball_screw", "orientation": "vertical"})
        for t in ("50 ms", "80 ms")
    )
    found = told(left, right)["brake.apply_time"]
    assert found.consequence == "hazard"
    assert "falls up to 31.381 mm instead of 12.258 mm" in found.explanation


def test_a_resistor_of_less_power_is_told_as_a_share() -> None:
    left, right = (record(supply={"resistor_power": p}) for p in ("100 W", "60 W"))
    found = told(left, right)["supply.resistor_power"]
    assert found.consequence == "electrical"
    assert "0.6 times as much" in found.explanation


def test_the_worst_comes_first() -> None:
    left = record(cabinet={"safe_torque_off": "a", "supply_fuse": "10 A"}, nameplate={"drive": "A"})
    right = record(cabinet={"safe_torque_off": "b", "supply_fuse": "6 A"}, nameplate={"drive": "B"})
    found = explained(surroundings(built(left), built(right)), left, right)
    assert [around.consequence for around in found] == ["hazard", "electrical", "record"]


def test_without_a_record_on_either_side_a_plate_is_told_plainly() -> None:
    (found,) = explained([Surrounding("nameplate.serial", "1", "2")], None, None)
    assert (found.consequence, found.explanation) == ("record", "nameplate, serial: 1 became 2.")

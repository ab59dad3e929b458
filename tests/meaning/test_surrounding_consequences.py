"""What follows from a difference beside the parameters. Machines are invented.

g = 9.80665 m/s^2 (standard gravity, CGPM 1901, from memory); drop of a free load g t^2 / 2; way per
motor turn L / G.
"""

from __future__ import annotations

from typing import Any

import pytest

from vault.jobs.records.axis_edits import edited
from vault.jobs.state.compare import built
from vault.meaning.changes import Surrounding
from vault.meaning.surrounding_consequences import explained, same_address
from vault.meaning.surroundings import surroundings
from vault.model.axis import AxisRecord


def record(**sections: Any) -> AxisRecord:
    return AxisRecord.model_validate({"schema": "axisvault/axis/1", **sections})


def told(
    left: AxisRecord, right: AxisRecord, sides: tuple[str, str] | None = None
) -> dict[str, Surrounding]:
    found = explained(surroundings(built(left), built(right)), left, right, sides)
    assert not any("None" in around.explanation for around in found)
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
    assert "nothing became yes" in found.explanation


def test_addresses_of_two_axes_differ_as_they_must() -> None:
    left, right = (record(controller_link={"node_address": n}) for n in (12, 13))
    assert told(left, right)["controller_link.node_address"].consequence == "link"
    two = told(left, right, ("belt", "lift"))["controller_link.node_address"]
    assert (two.consequence, two.explanation) == (
        "record", "controller link, node address: 12 on belt, 13 on lift.",
    )  # fmt: skip


def test_another_encoder_at_the_load_is_to_be_reckoned_with() -> None:
    for left in (record(), record(load_encoder={"step": "1 um"})):
        found = told(left, record(load_encoder={"step": "0.5 um"}))["load_encoder.step"]
        assert found.consequence == "travel"
        assert "axisvault check holds 60E6h and 60EBh against it." in found.explanation


def test_currents_of_a_record_that_do_not_say_which_ampere_are_told_in_both_readings() -> None:
    left, right = (record(motor={"rated_current": c}) for c in ("5 A", "5 A_rms"))
    found = told(left, right)["motor.rated_current"]
    assert found.consequence == "electrical"
    assert "if r.m.s., 5 A_rms is the same; if peak, 1.414 times as much." in found.explanation


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
    assert (
        "One turn of the motor moves the axis just as far." in found["mechanics.lead"].explanation
    )


def test_a_heavier_load_that_hangs_weighs_on_the_brake() -> None:
    """60 x 9.80665 = 588.4 N, 75 x 9.80665 = 735.5 N; 60 / 75 = 0.8."""
    left, right = (mechanics(moving_mass=f"{m} kg") for m in (60, 75))
    found = told(left, right)["mechanics.moving_mass"]
    assert found.consequence == "hazard"
    assert "1.25 times the force" in found.explanation
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


@pytest.mark.parametrize(
    ("key", "consequence", "says"),
    [
        ("STO_bridge", "hazard", "safety function"),
        ("Door switch", "hazard", "safety function"),
        ("custom_label", "electrical", "compare it in the cabinet"),  # cu-sto-m
        ("brake_resistor", "electrical", ""),
        ("brake_supply", "hazard", "See that the brake opens"),  # nobody said that nothing hangs
        ("main_switch", "electrical", ""),
        ("dc_bus_bar", "electrical", ""),
        ("home-switch", "travel", "home the axis anew"),
        ("motor_phase_order", "hazard", "which way the axis moves"),
        ("station_number", "link", "moves the axis of another drive"),
    ],
)
def test_a_word_counts_by_itself_and_by_what_it_stands_with(
    key: str, consequence: str, says: str
) -> None:
    found = told(record(cabinet={key: "13"}), record(cabinet={key: "31"}))[f"cabinet.{key}"]
    assert found.consequence == consequence
    assert says in found.explanation
    if not says:
        assert found.explanation.count(".") == 1, "nothing is made up"


def test_a_value_that_names_a_safety_function_makes_any_setting_a_hazard() -> None:
    left, right = (record(cabinet={"jumpers": j}) for j in ("X5 open", "X5 closed, STO bridged"))
    found = told(left, right)["cabinet.jumpers"]
    assert found.consequence == "hazard"
    assert "validated" in found.explanation


def test_a_section_that_is_new_or_gone_is_told_setting_by_setting() -> None:
    """Not as one thing without consequence: the switch in it is what a restore forgets."""
    full = record(cabinet={"safe_torque_off": "bridged", "address_switches": "23"}, brake={})
    for left, right, says in ((record(), full, "nothing became 23"), (full, record(), "23 became")):
        found = told(left, right)
        assert {path: around.consequence for path, around in found.items()} == {
            "brake.fitted": "hazard", "cabinet.address_switches": "link",
            "cabinet.safe_torque_off": "hazard",
        }  # fmt: skip
        assert says in found["cabinet.address_switches"].explanation


@pytest.mark.parametrize("spelling", [23, "23", "023", "0x17"])
def test_an_address_that_another_axis_of_the_machine_has_is_a_hazard(spelling: object) -> None:
    """0x17 is 23 (1 x 16 + 7)."""
    others = {
        "belt": record(controller_link={"node_address": spelling}),
        "lift": record(controller_link={"node_address": 24}),
        "pump": record(cabinet={"node_address": 23}),
    }
    left, right = (record(controller_link={"node_address": n}) for n in (12, 23))
    (found,) = explained(
        surroundings(built(left), built(right)), left, right, neighbours=lambda: others
    )
    assert found.consequence == "hazard"
    assert "belt of this machine has it too" in found.explanation
    assert "lift" not in found.explanation
    (free,) = explained(
        surroundings(built(right), built(left)), right, left, neighbours=lambda: others
    )
    assert (free.consequence, "too" in free.explanation) == ("link", False)


def test_other_axes_are_asked_for_only_where_an_address_differs() -> None:
    def asked() -> dict[str, AxisRecord]:
        raise AssertionError("nobody needs to read them")

    left, right = (record(cabinet={"supply_fuse": f}) for f in ("10 A", "6 A"))
    (found,) = explained(surroundings(built(left), built(right)), left, right, neighbours=asked)
    assert "0.6 times as much" in found.explanation


def test_a_weaker_brake_is_measured_against_the_load() -> None:
    """60 kg on 20 mm at 2:1 and 588.4 N: 588.4 x 0.02 / (4 pi) = 0.9365 N*m at the motor."""
    left, right, slack = (
        record(brake={"holding_torque": t}, mechanics=mechanics(moving_mass="60 kg").mechanics)
        for t in ("4.5 N*m", "1.2 N*m", "0.9 N*m")
    )
    found = told(left, right)["brake.holding_torque"]
    assert found.consequence == "hazard"
    assert "1.28 times the load at rest instead of 4.81 times" in found.explanation
    assert "sinks" not in found.explanation
    assert "the load sinks" in told(left, slack)["brake.holding_torque"].explanation


def test_a_brake_that_is_gone_holds_nothing() -> None:
    left, right = (
        record(brake={"fitted": f}, mechanics={"kind": "belt", "orientation": "horizontal"})
        for f in (True, False)
    )
    lying = told(left, right)["brake.fitted"]
    assert (lying.consequence, "hangs" in lying.explanation) == ("electrical", False)
    left, right = (record(brake={"fitted": f}) for f in (True, False))
    assert "a load that hangs falls" in told(left, right)["brake.fitted"].explanation
    assert "closed brake" in told(right, left)["brake.fitted"].explanation


def test_a_counterbalance_takes_weight_off_and_slows_the_fall() -> None:
    """588.4 N x (1 - 0.4) = 353.0 N; 0.6 g t^2 / 2 in 80 ms: 18.829 mm."""
    left, right = mechanics(moving_mass="60 kg"), mechanics(moving_mass="60 kg", counterbalance=0.4)
    found = told(left, right)["mechanics.counterbalance"]
    assert "353 N hang on motor and brake instead of 588.4 N" in found.explanation
    slow, slower = (
        record(brake={"apply_time": t}, mechanics=right.mechanics) for t in ("50 ms", "80 ms")
    )
    assert "up to 18.829 mm" in told(slow, slower)["brake.apply_time"].explanation


def test_a_hard_stop_says_which_way_it_went() -> None:
    usual = mechanics(hard_stop_low="-25 mm", hard_stop_high="625 mm")
    nearer = told(usual, mechanics(hard_stop_low="-20 mm", hard_stop_high="600 mm"))
    assert "5 mm further in" in nearer["mechanics.hard_stop_low"].explanation
    assert "25 mm further in" in nearer["mechanics.hard_stop_high"].explanation
    farther = told(usual, mechanics(hard_stop_low="-30 mm", hard_stop_high="626 mm"))
    assert "5 mm further out" in farther["mechanics.hard_stop_low"].explanation
    assert "1 mm further out" in farther["mechanics.hard_stop_high"].explanation
    assert nearer["mechanics.hard_stop_low"].consequence == "travel"


def test_a_lower_resistor_takes_more_power_and_more_current() -> None:
    """U^2 / R: 820^2 / 100 = 6.724 kW, 820^2 / 60 = 11.207 kW."""
    left, right = (record(supply={"resistor": r, "dc_link_trip": "820 V"}) for r in (
        "100 ohm", "60 ohm"))  # fmt: skip
    found = told(left, right)["supply.resistor"]
    assert found.consequence == "electrical"
    assert "up to 11.21 kW of braking instead of 6.724 kW" in found.explanation
    assert "higher current" in found.explanation
    assert "higher current" not in told(right, left)["supply.resistor"].explanation


def test_another_supply_voltage_charges_the_dc_link_otherwise() -> None:
    """Peak of the sine: sqrt(2) x 400 V = 566 V, sqrt(2) x 230 V = 325 V."""
    left, right = (record(supply={"voltage": v}) for v in ("400 V", "230 V"))
    assert "some 325 V instead of 566 V" in told(left, right)["supply.voltage"].explanation


def test_what_a_cause_tells_is_told_once() -> None:
    """Four bits more are 2^4 = 16 times the increments, and 1 / 16 = 0.0625 of the way."""
    left, right = (
        record(encoder={"single_turn_bits": b}, mechanics=mechanics(lead=way).mechanics)
        for b, way in ((20, "20 mm"), (24, "25 mm"))
    )
    beside, alone = (
        {
            one.path: one.explanation
            for one in explained(
                surroundings(built(left), built(right)), left, right, alone=whether
            )
        }
        for whether in (False, True)
    )
    assert beside["encoder.single_turn_bits"] == "encoder, single turn bits: 20 became 24."
    assert "16 times as many increments" in alone["encoder.single_turn_bits"]
    assert "0.0625 times what it should be" in alone["encoder.single_turn_bits"]
    assert beside["mechanics.lead"].endswith("pushes 0.8 times as hard.")
    assert "every length and speed" in alone["mechanics.lead"]


def test_a_watchdog_sends_nothing() -> None:
    left, right = (record(controller_link={"watchdog_time_ms": t}) for t in (10, 40))
    said = told(left, right)["controller_link.watchdog_time_ms"].explanation
    assert "noticed after 40 ms instead of 10 ms: for so long the axis goes on" in said
    assert "without a fault" in told(right, left)["controller_link.watchdog_time_ms"].explanation


def test_a_number_that_controller_and_drive_must_mean_alike_is_travel() -> None:
    flat = {"kind": "belt", "orientation": "horizontal"}
    left, right = (
        record(mechanics=flat, controller_link={"scaling": s, "direction": d})
        for s, d in ((1000, "as is"), (2000, "inverted"))
    )
    found = told(left, right)
    assert found["controller_link.scaling"].consequence == "travel"
    assert found["controller_link.direction"].consequence == "hazard"


def test_lists_and_maps_are_said_in_words() -> None:
    duty = {
        "cycle": "4 s",
        "moves": [{"distance": "300 mm", "wait": "1 s"}, {"distance": "-300 mm"}],
    }
    changes = edited(record(), record(duty=duty, force_protects=True))
    said = {around.path: around.explanation for around in changes}
    assert said["duty.moves"] == (
        "duty, moves: nothing became distance 300 mm, wait 1 s; distance -300 mm."
    )
    assert said["force_protects"].startswith("force protects: nothing became yes.")


def test_a_move_is_counted_from_one_and_an_empty_list_is_not_told() -> None:
    before = record(duty={"cycle": "4 s", "moves": [{"distance": "3 mm"}]})
    after = record(duty={"cycle": "4 s", "moves": [{"distance": "5 mm"}]})
    (change,) = edited(before, after)
    assert change.explanation == "duty, move 1, distance: 3 mm became 5 mm."
    paths = [around.path for around in edited(record(), record(duty={"rms_force": "2 N*m"}))]
    assert paths == ["duty.rms_force"]


def test_an_entry_that_says_what_was_taken_without_it_is_no_hazard() -> None:
    screw = {"kind": "ball_screw", "lead": "20 mm"}
    for motor, worst in ((1, {"record"}), (2, {"hazard"})):
        geared = record(mechanics={**screw, "gearbox": {"motor": motor, "output": 1}})
        changes = edited(record(mechanics=screw), geared)
        assert {around.consequence for around in changes} == worst


def test_a_mass_that_is_new_in_the_record_is_told_by_what_hangs() -> None:
    """60 kg x 9.80665 = 588.4 N, where nobody had said what moves."""
    said = told(mechanics(), mechanics(moving_mass="60 kg"))["mechanics.moving_mass"].explanation
    assert "588.4 N hang on motor and brake instead of 0 N" in said


def test_a_counterbalance_of_a_lying_axis_changes_no_pull() -> None:
    left, right = (mechanics("horizontal", moving_mass="60 kg", counterbalance=c) for c in (0, 0.4))
    assert " N " not in told(left, right)["mechanics.counterbalance"].explanation


def test_a_brake_of_a_table_or_of_a_lying_axis_is_told_as_a_share() -> None:
    """0.9 of 4.5 N*m: 0.2 times."""
    table = {"kind": "rotary_table", "gearbox": {"motor": 40, "output": 1}}
    for machine in (table, mechanics("horizontal", moving_mass="60 kg").mechanics):
        left, right = (
            record(brake={"holding_torque": t}, mechanics=machine) for t in ("4.5 N*m", "0.9 N*m")
        )
        said = told(left, right)["brake.holding_torque"].explanation
        assert "0.2 times as much" in said
        assert "the load at rest" not in said


def test_a_slower_brake_of_a_lying_axis_drops_nothing() -> None:
    left, right = (
        record(brake={"apply_time": t}, mechanics=mechanics("horizontal").mechanics)
        for t in ("50 ms", "80 ms")
    )
    assert "falls" not in told(left, right)["brake.apply_time"].explanation


def test_a_supply_voltage_that_is_new_charges_nothing_otherwise() -> None:
    found = told(record(), record(supply={"voltage": "400 V"}))["supply.voltage"]
    assert found.explanation == "supply, voltage: nothing became 400 V."


def test_another_count_of_turns_asks_for_a_reference() -> None:
    left, right = (record(encoder={"multi_turn_bits": b}) for b in (12, 14))
    (alone,) = explained(surroundings(built(left), built(right)), left, right, alone=True)
    assert "reference the axis" in alone.explanation
    assert "increments" not in alone.explanation
    (new,) = explained(surroundings(built(record()), built(left)), record(), left, alone=True)
    assert new.explanation == "encoder, multi turn bits: nothing became 12."


@pytest.mark.parametrize("key", ["update_interval", "watchdog_time"])
def test_a_time_of_the_link_that_is_no_time_must_only_be_the_same(key: str) -> None:
    left, right = (record(controller_link={key: t}) for t in ("fast", "slow"))
    said = told(left, right)[f"controller_link.{key}"].explanation
    assert "the link does not start" in said
    assert "instead of" not in said


@pytest.mark.parametrize(
    ("value", "address"),
    [
        (23, 23), ("23", 23), (" 023 ", 23), ("0x17", 23), ("0X17", 23), (0, 0), ("lift", "lift"),
        ("Lift ", "lift"), ("0xlift", "0xlift"), (None, None), (True, None), ("", None),
    ],
)  # fmt: skip
def test_an_address_is_one_in_every_spelling(value: object, address: object) -> None:
    assert same_address(value) == address


def test_a_watchdog_of_the_same_time_in_another_unit_is_not_longer() -> None:
    left, right = (record(controller_link={"watchdog_time": t}) for t in ("10 ms", "0.010 s"))
    said = told(left, right)["controller_link.watchdog_time"].explanation
    assert "for so long the axis goes on" not in said


HANGS, LIES = mechanics(), mechanics("horizontal")


@pytest.mark.parametrize(
    ("path", "lying", "hanging"),
    [
        ("nameplate.node_id", "link", "link"),
        ("nameplate.encoder", "travel", "travel"),
        ("nameplate.motor", "electrical", "electrical"),
        ("nameplate.motor_plate", "record", "record"),
        ("designed.by", "record", "record"),
        ("note", "record", "record"),
        ("export_every", "record", "record"),
        ("follows", "record", "record"),
        ("mechanics.lead", "travel", "hazard"),
        ("mechanics.stroke", "travel", "travel"),
        ("mechanics.orientation", "hazard", "hazard"),
        ("mechanics.inclination", "hazard", "hazard"),
        ("mechanics.counterbalance", "hazard", "hazard"),
        ("mechanics.moving_mass", "dynamics", "hazard"),
        ("mechanics.resonance", "dynamics", "dynamics"),
        ("brake.apply_time", "electrical", "hazard"),
        ("brake.release_time", "electrical", "hazard"),
        ("brake.holding_torque", "electrical", "hazard"),
        ("encoder.single_turn_bits", "travel", "travel"),
        ("load_encoder.step", "travel", "travel"),
        ("motor.code", "electrical", "electrical"),
        ("motor.inertia", "electrical", "electrical"),
        ("supply.resistor", "electrical", "electrical"),
        ("supply.voltage", "electrical", "electrical"),
        ("supply.phases", "electrical", "electrical"),
        ("position_gain_unit", "dynamics", "hazard"),
        ("controller_link.safe_address", "hazard", "hazard"),
        ("controller_link.station", "link", "link"),
        ("controller_link.alias", "link", "link"),
        ("controller_link.heartbeat", "link", "link"),
        ("controller_link.cycle", "link", "link"),
        ("controller_link.polarity", "hazard", "hazard"),
        ("controller_link.gear", "travel", "hazard"),
        ("controller_link.name", "link", "link"),
        ("cabinet.e-stop", "hazard", "hazard"),
        ("cabinet.limit switch", "hazard", "hazard"),
        ("cabinet.reference_cam", "travel", "travel"),
        ("cabinet.braking_module", "electrical", "electrical"),
        ("cabinet.brake", "electrical", "hazard"),
        ("cabinet.encoder_cable", "hazard", "hazard"),
        ("cabinet.load_breaker", "electrical", "electrical"),
        ("cabinet.node", "link", "link"),
        ("cabinet.baud", "link", "link"),
        ("cabinet.dip_row", "link", "link"),
        ("cabinet.mains", "electrical", "electrical"),
        ("cabinet.lamp", "electrical", "electrical"),
        ("of_no_section", "record", "record"),
    ],
)
def test_a_difference_has_the_class_of_its_entry_and_a_worse_one_where_a_load_hangs(
    path: str, lying: str, hanging: str
) -> None:
    for machine, consequence in ((LIES, lying), (HANGS, hanging)):
        (found,) = explained([Surrounding(path, "a", "b")], machine, machine)
        assert found.consequence == consequence


def test_of_two_axes_each_reads_its_gain_by_its_own_unit() -> None:
    around = [Surrounding("position_gain_unit", "1/s", "(m/min)/mm")]
    (over_time,) = explained(around, HANGS, HANGS)
    (two,) = explained(around, HANGS, HANGS, ("press/lift", "press/feed"))
    assert (over_time.consequence, two.consequence) == ("hazard", "dynamics")

"""What each rule says of one set that it is for: class, where to look, and figures in SI.

Sets and machines are invented. A screw of 16 mm behind 4:1, a lift of 60 kg on a screw of 20 mm
behind 2:1, a table behind 7:3. Unit codes by CiA 303-2, homing methods by CiA 402-2 (from memory).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET, axis
from tests.meaning.checks.sets import (
    CARRIAGE,
    LIFT,
    MICROMETRE,
    SCREW,
    Settings,
    defined,
    parameter,
    the_complaint,
    view_of,
    with_mechanics,
)
from tests.meaning.checks.test_speed_checks import DRIVE, MOTOR, PUMP
from tests.meaning.checks.test_supply_and_link_checks import HEAVY, LINK, RESISTOR, TWO_MS
from tests.meaning.checks.test_torque_checks import LIFTED, LIGHT, RATED, STRONG
from vault.meaning.axis_view import AxisView
from vault.meaning.checks import check
from vault.model.parameters import Parameter

TABLE = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 7, "output": 3}}}
TURNS: Settings = {
    **CARRIAGE,
    "si_unit_position": 0x00410000,
    "gear_ratio_motor_revolutions": 7,
    "gear_ratio_shaft_revolutions": 3,
    "feed_constant_feed": 360,
}
SLIDE = with_mechanics(SCREW, stroke="1000 mm")
STOPS = with_mechanics(SCREW, stroke="650 mm", hard_stop_low="-25 mm", hard_stop_high="625 mm")


def inp(number: int, label: str) -> Parameter:
    role = "digital_input_function" + ("" if number == 1 else f".{number}")
    return Parameter(f"p/in{number}", "In", number, number, role, None, label)


@pytest.mark.parametrize(
    ("rule", "view", "consequence", "look_at", "figures"),
    [
        ("travel_scale", view_of({**CARRIAGE, "gear_ratio_motor_revolutions": 5}, SCREW), "travel",
         "position_encoder_increments gear_ratio_motor_revolutions feed_constant_feed "
         "si_unit_position mechanics",
         "1.25 1"),
        ("zero_factor", view_of({**CARRIAGE, "feed_constant_feed": 0}), "travel",
         "feed_constant_feed", "0 user_position"),
        ("unit_of_position", view_of({"feed_constant_feed": "16 mm", **MICROMETRE}), "travel",
         "si_unit_position feed_constant_feed", "1e-06 m"),
        ("unit_of_position", view_of({"si_unit_position": 0xFD010000}, TABLE), "travel",
         "si_unit_position mechanics", "0.001 m"),
        ("unit_of_position", view_of({"si_unit_position": 0x00B40000, "feed_constant_feed": 16},
         SCREW), "travel", "si_unit_position feed_constant_feed mechanics",
         "6.28318531 rad, 16 1"),
        ("unit_of_position", view_of({"si_unit_position": 0xFD010300}, SCREW), "travel",
         "si_unit_position", "0.001 m/s"),
        ("unit_of_rates", view_of({"si_unit_position": 0xFD010000,
         "si_unit_velocity": 0x00410300}), "dynamics", "si_unit_velocity si_unit_position",
         "0.001 m, 0.0174532925 rad/s"),
        ("unit_of_rates", view_of({**MICROMETRE, "si_unit_velocity": 0xFD015700}), "dynamics",
         "si_unit_velocity", "0.001 m/s^2"),
        ("motor_ratings", view_of({"motor_rated_torque": "2540 mN*m"}, RATED), "electrical",
         "motor_rated_torque motor", "2 1"),
        ("current_limit", view_of({"max_current": 3001}, RATED), "electrical", "max_current motor",
         "5.7019 A"),
        ("torque_and_drive", view_of({"max_torque": 2500, "drive_max_current": "6 A"}, STRONG),
         "dynamics", "max_torque drive_max_current", "7.5 A"),
        ("drive_current", view_of({"drive_rated_current": "2 A"}, STRONG), "electrical",
         "motor drive_rated_current", "3 A, 2 A"),
        ("drive_current", view_of({}, STRONG, {"rated_current": "2 A"}), "electrical",
         "motor nameplate", "3 A, 2 A"),
        ("torque_limit", view_of({"max_torque": 400}, LIFTED), "hazard", "max_torque mechanics",
         "0.8 N*m, 0.936466094 N*m"),
        ("ramp_torque", view_of({"max_torque": 1617, "profile_acceleration": "25 m/s^2"}, LIGHT),
         "dynamics", "profile_acceleration max_torque mechanics motor",
         "3.234 N*m, 3.69310028 N*m"),
        ("absolute_range", view_of({"encoder_multi_turn_bits": 7}, SLIDE), "travel",
         "encoder_multi_turn_bits mechanics", "0.512 m"),
        ("encoder_bits", view_of({"encoder_single_turn_bits": 20},
         nameplate={"encoder_single_turn_bits": "24"}), "travel",
         "encoder_single_turn_bits nameplate", "24 bit"),
        ("encoder_resolution", view_of(CARRIAGE, SCREW, {"encoder_single_turn_bits": "19"}),
         "travel", "position_encoder_increments nameplate",
         "1048576 increments, 524288 increments"),
        ("load_encoder", view_of({"additional_encoder_increments": 8000}, {**SCREW,
         "load_encoder": {"step": "1 um"}}), "hazard",
         "additional_encoder_increments load_encoder mechanics", "2 1"),
        ("motor_speed", view_of({"max_profile_velocity": "330 mm/s"}, MOTOR), "hazard",
         "max_profile_velocity motor", "4950 r/min"),
        ("motor_speed_limit", view_of({"max_profile_velocity": "300 mm/s",
         "max_motor_speed": 4000}, MOTOR), "dynamics", "max_profile_velocity max_motor_speed",
         "4500 r/min"),
        ("rated_speed", view_of({"profile_velocity": "220 mm/s"}, MOTOR), "dynamics",
         "profile_velocity motor", "3300 r/min"),
        ("machine_speed", view_of({"max_profile_velocity": "400 mm/s"}, with_mechanics(SCREW,
         max_speed="320 mm/s")), "hazard", "max_profile_velocity mechanics", "0.4 m/s"),
        ("highest_frequency", view_of({**DRIVE, "max_frequency": 70}, PUMP), "hazard",
         "max_frequency motor_pole_pairs motor", "2100 r/min"),
        ("highest_frequency", view_of({**DRIVE, "max_frequency": 55}, PUMP), "dynamics",
         "max_frequency rated_frequency motor_pole_pairs", "0.909090909 1"),
        ("pole_pairs", view_of({**DRIVE, "motor_pole_pairs": 3}, PUMP), "electrical",
         "motor_pole_pairs rated_frequency motor", "2 1"),
        ("stop_energy", view_of({"braking_resistor_used": 0, "max_profile_velocity": "2000 mm/s"},
         HEAVY), "electrical", "braking_resistor_used mechanics motor supply",
         "82.814 J, 200.000005 J"),
        ("resistor_ratings", view_of({"braking_resistor_resistance": "50 ohm"}, RESISTOR),
         "electrical", "braking_resistor_resistance supply", "0.5 1"),
        ("supply_phases", view_of({"supply_phases": parameter("supply_phases", 1)},
         {"supply": {"phases": 3}}), "electrical", "supply_phases supply", "3 1"),
        ("update_interval", view_of({"update_interval": "1 ms"}, TWO_MS), "link",
         "update_interval controller_link", "0.001 s, 0.002 s"),
        ("controller_agreement", view_of({"node_address": 12}, LINK), "link",
         "node_address controller_link", "12 -"),
        ("controller_agreement", view_of({"process_data_in_size": 26}, LINK), "link",
         "process_data_in_size controller_link", "26 byte"),
        ("own_range", view_of({"following_error_time_out": "4 ms"},
         definitions=defined("following_error_time_out", low=Decimal(5), high=Decimal(9))),
         "travel", "following_error_time_out", "4 ms"),
        ("software_limits", view_of({"min_software_position_limit": "600 mm",
         "max_software_position_limit": "0 mm"}, STOPS), "hazard",
         "min_software_position_limit max_software_position_limit", "600 mm, 0 mm"),
        ("software_limits", view_of({"min_software_position_limit": "0 mm",
         "max_software_position_limit": "640 mm"}, STOPS), "hazard",
         "max_software_position_limit mechanics", "0.015 m"),
        ("software_limits", view_of({"min_software_position_limit": "0 mm",
         "max_software_position_limit": "1100 mm"}, SLIDE), "hazard",
         "min_software_position_limit max_software_position_limit mechanics", "1.1 m"),
        ("limits_off", view_of({"min_software_position_limit": "0 mm",
         "max_software_position_limit": "600 mm", "software_position_limits_used": 0}, STOPS),
         "hazard",
         "min_software_position_limit max_software_position_limit "
         "software_position_limits_used mechanics",
         "0.65 m"),
        ("open_ended_travel", view_of({"software_position_limits_used": 0,
         "min_software_position_limit": "0 mm", "max_software_position_limit": "600 mm",
         "a": inp(1, "Fault reset")}, SLIDE), "hazard",
         "min_software_position_limit max_software_position_limit "
         "software_position_limits_used in1",
         "1 m"),
        ("homing_inputs", view_of({"homing_method": 17, "a": inp(1, "Fault reset")}, SCREW),
         "travel", "homing_method in1", "17 -"),
        ("homing_inputs", view_of({"homing_method": 33, "encoder_type": 0}, SCREW), "travel",
         "homing_method encoder_type", "33 -"),
        ("overtravel_inputs", view_of({"a": inp(1, "Positive over-travel"), "b": inp(2,
         "Not assigned")}, SCREW), "hazard", "in1 in2", "0 1"),
        ("overtravel_reaction", view_of({"a": inp(1, "Positive over-travel"),
         "overtravel_reaction": 0}, SCREW), "hazard", "overtravel_reaction", "0 -"),
        ("window_off", view_of({"following_error_window": "0 mm"}, SCREW), "hazard",
         "following_error_window", "0 mm"),
        ("window_and_lag", axis("lift", following_error_window="1 mm"), "dynamics",
         "following_error_window position_gain velocity_feed_forward max_profile_velocity "
         "mechanics",
         "0.001 m, 0.00133333333 m"),
        ("missing_brake", view_of({"brake_used": 1}, {**LIFT, "brake": {"fitted": False}}),
         "hazard", "brake_used brake", "1 -"),
        ("open_turn", view_of(TURNS, TABLE), "travel",
         "position_encoder_increments gear_ratio_motor_revolutions "
         "gear_ratio_shaft_revolutions feed_constant_feed mechanics",
         "2446677.33 increments"),
        ("modulo_range", view_of({**TURNS, "min_position_range_limit": 0,
         "max_position_range_limit": 350}, TABLE), "travel",
         "min_position_range_limit max_position_range_limit mechanics", "360 1"),
        ("encoder_runs_over", view_of({**TURNS, "encoder_multi_turn_bits": 12,
         "profile_velocity": "90 deg/s"}, TABLE), "travel", "encoder_multi_turn_bits mechanics",
         "2.6927937 rad, 7021.71429 s"),
        ("duty_stroke", view_of(LIFT_SET, {**LIFT_RECORD, "duty": {"cycle": "4 s",
         "moves": [{"distance": "800 mm"}, {"distance": "-800 mm"}]}}), "travel", "duty mechanics",
         "0.8 m, 0.69 m"),
        ("duty_speed", view_of(LIFT_SET, {**LIFT_RECORD, "duty": {"cycle": "40 s",
         "moves": [{"distance": "300 mm", "speed": "900 mm/s"}, {"distance": "-300 mm"}]}}),
         "dynamics", "duty max_profile_velocity profile_velocity max_motor_speed",
         "0.9 m/s, 0.4 m/s"),
        ("duty_cycle", view_of(LIFT_SET, {**LIFT_RECORD, "duty": {"cycle": "1 s",
         "moves": [{"distance": "300 mm"}, {"distance": "-300 mm"}]}}), "dynamics",
         "duty profile_velocity profile_acceleration profile_deceleration", "2.4 s, 1 s"),
        ("duty_way_back", view_of(LIFT_SET, {**LIFT_RECORD, "duty": {"cycle": "9 s",
         "moves": [{"distance": "300 mm"}, {"distance": "-200 mm"}]}}), "dynamics", "duty",
         "0.1 m"),
        ("load_inertia", view_of({"load_inertia_ratio": "90 %"}, {**LIFT,
         "motor": {"inertia": "1e-4 kg*m^2"}}), "dynamics", "load_inertia_ratio mechanics motor",
         "1.51981775 1"),
    ],
)  # fmt: skip
def test_a_rule_has_its_class_its_places_and_its_figures(
    rule: str, view: AxisView, consequence: str, look_at: str, figures: str
) -> None:
    found = the_complaint(rule, view)
    assert found.rule == rule
    assert found.consequence == consequence
    places = (place.removeprefix("p/").removeprefix("axis.yaml: ") for place in found.look_at)
    assert " ".join(places) == look_at
    told = [f"{figure.value} {figure.unit or '-'}" for figure in found.findings]
    assert ", ".join(told) == figures


@pytest.mark.parametrize(
    ("name", "settings", "rules"),
    [
        ("lift", {}, ""),
        ("lift", {"max_software_position_limit": "640 mm"}, "room_to_stop drop_room"),
        # ways of a wrong scale are not those of the set: that is told, and no room or lag
        ("lift", {"max_software_position_limit": "640 mm", "gear_ratio_motor_revolutions": 4},
         "software_limits drop_room travel_scale motor_speed_limit rated_speed"),
        ("lift", {"following_error_window": "1 mm"}, "window_and_lag"),
        ("lift", {"following_error_window": "1 mm", "feed_constant_feed": 10},
         "software_limits drop_room travel_scale motor_speed_limit rated_speed"),
        # one room is told by one rule; a lying axis may coast at a fault
        ("lift", {"fault_reaction_option_code": 0}, "fault_room"),
        ("carriage", {"fault_reaction_option_code": 0}, "loops_apart"),
        ("lift", {"quick_stop_deceleration": "1000 mm/s^2"}, "room_to_stop safe_stop_delay"),
        ("carriage", {"quick_stop_deceleration": "1000 mm/s^2"},
         "room_to_stop stop_time safe_stop_delay loops_apart"),
    ],
)  # fmt: skip
def test_what_one_cause_brings_about_is_told_once(
    name: str, settings: dict[str, Any], rules: str
) -> None:
    found = check(axis(name, **settings))
    assert sorted({one.rule for one in found}) == sorted(rules.split())

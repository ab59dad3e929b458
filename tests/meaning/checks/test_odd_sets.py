"""No rule raises, whatever a set or a record holds, and no sentence shows a number that is none."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.meaning.checks.sets import (
    CARRIAGE,
    LIFT,
    SCREW,
    Settings,
    defined,
    parameter,
    view_of,
    with_mechanics,
)
from tests.sweeps import part_of
from vault.meaning.checks import check, rules
from vault.model import roles
from vault.model.parameters import Parameter

READ = (
    "modes_of_operation", "position_encoder_increments", "position_encoder_motor_revolutions",
    "gear_ratio_motor_revolutions", "gear_ratio_shaft_revolutions", "feed_constant_feed",
    "feed_constant_shaft_revolutions", "si_unit_position", "si_unit_velocity",
    "si_unit_acceleration", "si_unit_jerk", "min_software_position_limit",
    "max_software_position_limit", "software_position_limits_used", "following_error_window",
    "velocity_feed_forward", "position_gain", "velocity_gain", "profile_velocity",
    "max_profile_velocity", "max_motor_speed", "vl_velocity_max_amount", "max_frequency",
    "rated_frequency", "motor_pole_pairs", "motor_rated_speed", "motor_max_speed",
    "motor_rated_torque", "motor_rated_current", "motor_max_current", "motor_inertia",
    "motor_type", "drive_rated_current", "drive_max_current", "max_torque", "max_current",
    "positive_torque_limit", "negative_torque_limit", "torque_offset", "polarity",
    "profile_acceleration", "profile_deceleration", "quick_stop_deceleration",
    "max_acceleration", "max_deceleration", "profile_jerk", "motion_profile_type",
    "quick_stop_option_code", "fault_reaction_option_code", "encoder_type",
    "encoder_single_turn_bits", "encoder_multi_turn_bits", "brake_used", "brake_apply_delay",
    "brake_release_delay", "brake_torque", "homing_method", "digital_input_function",
    "digital_input_function.2", "overtravel_reaction", "update_interval", "task_period",
    "interpolation_time_period", "interpolation_time_index", "process_data_in_size",
    "node_address", "braking_resistor_used", "braking_resistor_resistance",
    "braking_resistor_energy", "supply_phases", "motor_catalogue_number",
)  # fmt: skip
NUMBERS = st.one_of(
    st.sampled_from(
        (0, 1, -1, 2, 5, 8, 37, 1000, 2**31 - 1, -(2**31), 2**32 - 1, 2**64, 10**30, 10**400,
         0xFA010000, 0xFCB40000, 0x00B44700, Decimal("0.001"), Decimal("-0.5"), Decimal("1e-200"),
         Decimal("1e300"))
    ),
    st.integers(-(10**6), 10**6),
)  # fmt: skip
VALUES = st.one_of(NUMBERS, st.sampled_from(("", "abc", "12 mm", "-")))
UNITS = {
    "user_position": "mm", "user_velocity": "r/min", "user_acceleration": "mm/s^2",
    "user_jerk": "deg/s^3", "permille_rated_torque": "percent_rated_torque", "1/s": "(m/min)/mm",
    "percent": "permille", "increments": "user_position",
}  # fmt: skip
RECORDS: tuple[dict[str, Any] | None, ...] = (
    None,
    {},
    dict(SCREW),
    dict(LIFT),
    {
        **with_mechanics(
            LIFT, stroke="0 mm", moving_mass="0 kg", efficiency="0", counterbalance="2",
            hard_stop_low="-1 mm", orientation="inclined", max_speed="0 mm/s",
        ),
        "motor": {"rated_torque": "0 N*m", "max_torque": "-1 N*m", "rated_current": "0 A",
                  "max_current": "0 A", "rated_speed": "0 r/min", "max_speed": "0 r/min",
                  "inertia": "0 kg*cm^2"},
        "brake": {"fitted": True, "holding_torque": "0 N*m", "release_time": "0 ms"},
        "supply": {"phases": 1, "voltage": "0 V", "dc_link_capacitance": "0 uF",
                   "dc_link_trip": "0 V", "resistor": "0 ohm", "resistor_energy": "0 J"},
        "encoder": {"single_turn_bits": 0, "multi_turn_bits": 0},
        "controller_link": {"task_period": "soon", "process_data_in": "0 byte",
                            "node_address": "all"},
    },
    {
        "mechanics": {"kind": "rotary_table", "gearbox": {"motor": 40, "output": 1},
                      "load_inertia": "1.8 kg*m^2", "efficiency": "0.85", "stroke": "410 deg",
                      "hard_stop_low": "-205 deg", "hard_stop_high": "205 deg",
                      "max_speed": "180 deg/s"},
        "motor": {"code": "M-1", "rated_torque": "3.2 N*m", "max_torque": "9.6 N*m",
                  "rated_current": "2.8 A", "max_current": "8.4 A", "rated_speed": "3000 r/min",
                  "max_speed": "4500 r/min", "inertia": "2.9 kg*cm^2"},
        "supply": {"phases": 3, "voltage": "400 V", "dc_link_capacitance": "470 uF",
                   "dc_link_trip": "820 V", "resistor": "100 ohm", "resistor_power": "100 W",
                   "resistor_energy": "1000 J"},
        "brake": {"fitted": False},
        "encoder": {"single_turn_bits": 64, "multi_turn_bits": 64},
        "controller_link": {"task_period": "2 ms", "process_data_in": "12 byte",
                            "node_address": 14},
    },
    {
        **with_mechanics(
            LIFT, stroke="650 mm", hard_stop_low="-25 mm", hard_stop_high="625 mm",
            max_speed="400 mm/s", inclination="30 deg", reference_move="300 mm",
        ),
        "nameplate": {"drive": "D-1", "motor": "M-1", "encoder": "20 bit"},
        "motor": {"rated_torque": "3.2 N*m", "max_torque": "9.6 N*m", "rated_current": "3.1 A",
                  "max_current": "9.3 A", "rated_speed": "3000 r/min", "max_speed": "4500 r/min",
                  "inertia": "1.6 kg*cm^2"},
        "brake": {"holding_torque": "4.5 N*m", "release_time": "60 ms", "apply_time": "40 ms"},
        "supply": {"phases": 3, "voltage": "400 V", "dc_link_capacitance": "470 uF",
                   "dc_link_trip": "820 V", "resistor_energy": "1000 J"},
        "controller_link": {"task_period": "1 ms"},
    },
)  # fmt: skip
NAMEPLATES = (
    {},
    {"drive": "D-2", "encoder_single_turn_bits": "20", "encoder_multi_turn_bits": "12",
     "rated_current": "3 A"},
    {"drive": "-", "encoder_single_turn_bits": "999999", "encoder_multi_turn_bits": "99",
     "rated_current": "much", "node_id": "x"},
)  # fmt: skip
BAD = re.compile(r"\b(nan|NaN|inf|Infinity|None)\b|without end")


@st.composite
def odd_settings(draw: st.DrawFn) -> Settings:
    found: dict[str, Parameter] = {}
    start = CARRIAGE if draw(st.booleans()) else {}
    for role, setting in start.items():
        found[role] = parameter(role, setting)
    for role in draw(st.lists(st.sampled_from(READ), max_size=40, unique=True)):
        known = roles.find(role)
        assert known is not None
        unit = known.unit
        if unit in UNITS and draw(st.booleans()):
            unit = UNITS[unit]
        value = draw(VALUES)
        label = None
        if known.choices and draw(st.booleans()):
            label = draw(st.sampled_from(("Positive over-travel", "Homing switch", "No")))
        found[role] = parameter(role, 0, value=value, raw=value, unit=unit, label=label)
    return found


@settings(max_examples=part_of(60, 2), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(odd_settings(), st.sampled_from(RECORDS), st.sampled_from(NAMEPLATES))
def test_rules_take_any_set_with_any_record(
    given_settings: Settings, record: dict[str, Any] | None, nameplate: dict[str, str]
) -> None:
    functions = {0: "Not assigned", 7: "Homing switch", 8: "Positive over-travel"}
    known = defined("homing_method", low=Decimal(-128), high=Decimal(37))
    known |= defined("digital_input_function", choices=functions)
    view = view_of(given_settings, record, nameplate, known)
    for complaint in check(view):
        shown = " ".join([complaint.sentence, *(f.value for f in complaint.findings)])
        assert not BAD.search(shown), shown
        assert complaint.sentence.endswith(".")
        assert complaint.look_at and complaint.findings


def test_a_set_without_anything_is_not_complained_about() -> None:
    assert check(view_of({})) == []


def test_every_rule_is_known_by_its_name() -> None:
    assert all(function.__name__ == name for name, function in rules().items())
    assert len(rules()) > 25

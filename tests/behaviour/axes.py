"""Three axes to try changes on, all invented: a lift, a carriage and a table.

Figures are chosen so that margins are between 1.2 and 2, and a change of a fifth matters.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.meaning.checks.sets import Settings, view_of
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change, Comparison
from vault.meaning.compare import compare
from vault.meaning.consequences import CONSEQUENCES

COMMON: Settings = {
    "modes_of_operation": 8,
    "following_error_time_out": "10 ms",
    "quick_stop_option_code": 2,
    "fault_reaction_option_code": 2,
    "abort_connection_option_code": 1,
    "digital_input_filter_time": "2 ms",
    "fieldbus_timeout": "4 ms",
    "polarity": 0,
    "restart_after_power_return": 0,
    "restart_after_fault": 0,
    "position_window": "0.05 mm",
    "stop_time_limit": "1000 ms",
}
LIFT_SET: Settings = {
    **COMMON,
    "si_unit_position": 0xFD010000,
    "position_encoder_increments": 2**20,
    "gear_ratio_motor_revolutions": 2,
    "gear_ratio_shaft_revolutions": 1,
    "feed_constant_feed": 20,
    "min_software_position_limit": "0 mm",
    "max_software_position_limit": "600 mm",
    "max_profile_velocity": "400 mm/s",
    "profile_velocity": "300 mm/s",
    "profile_acceleration": "1500 mm/s^2",
    "profile_deceleration": "1500 mm/s^2",
    "quick_stop_deceleration": "4000 mm/s^2",
    "max_motor_speed": "2600 r/min",
    "following_error_window": "4 mm",
    "position_gain": "30 1/s",
    "velocity_feed_forward": "90 %",
    "velocity_gain": "0.12 N*m*s/rad",
    "velocity_integral_time": "20 ms",
    "torque_filter_time": "0.4 ms",
    "motor_rated_torque": "3200 mN*m",
    "motor_rated_current": "3100 mA",
    "max_torque": 2500,
    "positive_torque_limit": 2500,
    "negative_torque_limit": 2500,
    "brake_used": 1,
    "brake_apply_delay": "60 ms",
    "brake_release_delay": "80 ms",
    "home_offset": "10 mm",
    "homing_method": 1,
    "braking_resistor_used": 1,
    "braking_resistor_threshold": "770 V",
    "dc_link_overvoltage_threshold": "820 V",
    "undervoltage_threshold": "380 V",
    "motor_pole_pairs": 4,
    "encoder_direction": 0,
    "safe_stop_delay": "300 ms",
}
LIFT_RECORD: Mapping[str, Any] = {
    "mechanics": {
        "kind": "ball_screw", "lead": "20 mm", "gearbox": {"motor": 2, "output": 1},
        "orientation": "vertical", "moving_mass": "60 kg", "efficiency": "0.9",
        "hard_stop_low": "-45 mm", "hard_stop_high": "645 mm", "stroke": "690 mm",
    },
    "motor": {
        "max_speed": "4500 r/min", "rated_speed": "3000 r/min", "inertia": "1.6 kg*cm^2",
        "rated_torque": "3.2 N*m", "max_torque": "9.6 N*m",
    },
    "brake": {"apply_time": "40 ms", "release_time": "60 ms", "holding_torque": "4.5 N*m"},
    "supply": {"voltage": "400 V", "dc_link_capacitance": "470 uF", "resistor": "100 ohm"},
}  # fmt: skip
CARRIAGE_SET: Settings = {
    **{k: v for k, v in LIFT_SET.items() if not k.startswith("brake_")},
    "gear_ratio_motor_revolutions": 1,
    "feed_constant_feed": 200,
    "min_software_position_limit": "0 mm",
    "max_software_position_limit": "2400 mm",
    "max_profile_velocity": "2000 mm/s",
    "profile_velocity": "1200 mm/s",
    "profile_acceleration": "6000 mm/s^2",
    "profile_deceleration": "6000 mm/s^2",
    "quick_stop_deceleration": "10 m/s^2",
    "max_motor_speed": "720 r/min",
    "following_error_window": "10 mm",
    "velocity_gain": "1.2 N*m*s/rad",
}
CARRIAGE_RECORD: Mapping[str, Any] = {
    "mechanics": {
        "kind": "belt", "pulley_circumference": "200 mm",
        "gearbox": {"motor": 1, "output": 1}, "orientation": "horizontal", "moving_mass": "12 kg",
        "efficiency": "0.95", "hard_stop_low": "-450 mm", "hard_stop_high": "2850 mm",
        "stroke": "3300 mm",
    },
    "motor": {
        "max_speed": "1800 r/min", "inertia": "20 kg*cm^2", "rated_torque": "3.2 N*m",
        "max_torque": "9.6 N*m",
    },
    "supply": {"voltage": "400 V", "dc_link_capacitance": "470 uF", "resistor": "100 ohm"},
}  # fmt: skip
TABLE_SET: Settings = {
    **{k: v for k, v in COMMON.items() if k != "position_window"},
    "si_unit_position": 0x00410000,
    "position_encoder_increments": 2**20,
    "gear_ratio_motor_revolutions": 40,
    "gear_ratio_shaft_revolutions": 1,
    "feed_constant_feed": 360,
    "min_software_position_limit": "-185 deg",
    "max_software_position_limit": "185 deg",
    "max_profile_velocity": "180 deg/s",
    "profile_velocity": "90 deg/s",
    "profile_acceleration": "600 deg/s^2",
    "profile_deceleration": "600 deg/s^2",
    "quick_stop_deceleration": "900 deg/s^2",
    "max_motor_speed": "1300 r/min",
    "following_error_window": "1 deg",
    "position_gain": "30 1/s",
    "velocity_feed_forward": "90 %",
    "motor_rated_torque": "2000 mN*m",
    "max_torque": 2500,
    "homing_method": 35,
    "motor_pole_pairs": 4,
    "encoder_direction": 0,
}
TABLE_RECORD: Mapping[str, Any] = {
    "mechanics": {
        "kind": "rotary_table", "gearbox": {"motor": 40, "output": 1},
        "load_inertia": "1.5 kg*m^2", "efficiency": "0.9", "hard_stop_low": "-215 deg",
        "hard_stop_high": "215 deg", "stroke": "430 deg",
    },
    "motor": {"max_speed": "3000 r/min", "inertia": "1.2 kg*cm^2", "max_torque": "6 N*m"},
}  # fmt: skip
AXES: Mapping[str, tuple[Settings, Mapping[str, Any]]] = {
    "lift": (LIFT_SET, LIFT_RECORD),
    "carriage": (CARRIAGE_SET, CARRIAGE_RECORD),
    "table": (TABLE_SET, TABLE_RECORD),
}


def axis(name: str, record: Mapping[str, Any] | None = None, **changed: Any) -> AxisView:
    """An axis, with some settings as given; None takes one out."""
    settings, own = AXES[name]
    merged = {**settings, **changed}
    return view_of({k: v for k, v in merged.items() if v is not None}, record or own)


def changed(name: str, **after: Any) -> Comparison:
    """What an axis's comparison finds after some settings changed; a pair is before and after."""
    before = {k: v[0] for k, v in after.items() if isinstance(v, tuple)}
    now = {k: v[1] if isinstance(v, tuple) else v for k, v in after.items()}
    found = compare(axis(name, **before), axis(name, **now))
    for change in found.changes:
        assert change.consequence in CONSEQUENCES
        assert "None" not in f"{change.explanation} {change.more}"
        assert all(one.quantity and one.unit and one.basis for one in change.findings)
    return found


def the_change(name: str, role: str, before: Any, after: Any) -> Change:
    """The one change of a role."""
    found = changed(name, **{role: (before, after)})
    (one,) = [change for change in found.changes if change.shown.role == role]
    return one

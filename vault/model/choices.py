"""What the numbers of a choice mean.

Standard tables follow CiA 402-2 / IEC 61800-7-201, from memory, labels in our own wording.
Our own tables exist for roles the standard has no object for: their *numbers* are ours, so they
name no value of a family that does not give its choices itself (`is_standard`).
Reserved and manufacturer-specific numbers have no label.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from vault.model import roles

if TYPE_CHECKING:
    from vault.model.export import Scalar
    from vault.model.parameters import Parameter

_COAST = "Output off at once, the motor coasts"
_RAMP = "Stop on the deceleration ramp"
_QUICK_RAMP = "Stop on the quick-stop ramp"
_CURRENT = "Stop at the current limit"
_VOLTAGE = "Stop at the voltage limit"
_THEN_OFF = ", then output off"
_THEN_HOLD = ", then hold with power on"


def _homing() -> dict[int, str]:
    """Label the homing methods; 17 to 30 are 1 to 14 without the index pulse."""
    switches = {
        1: "negative limit switch",
        2: "positive limit switch",
        3: "positive home switch, outside it",
        4: "positive home switch, inside it",
        5: "negative home switch, outside it",
        6: "negative home switch, inside it",
        7: "home switch, outside its negative edge, starting positive",
        8: "home switch, inside its negative edge, starting positive",
        9: "home switch, inside its positive edge, starting positive",
        10: "home switch, outside its positive edge, starting positive",
        11: "home switch, outside its positive edge, starting negative",
        12: "home switch, inside its positive edge, starting negative",
        13: "home switch, inside its negative edge, starting negative",
        14: "home switch, outside its negative edge, starting negative",
    }
    methods = {0: "No homing"}
    for number, place in switches.items():
        methods[number] = f"Homing on {place.replace(',', ' and index pulse,', 1)}"
        if "," not in place:
            methods[number] += " and index pulse"
        methods[number + 16] = f"Homing on {place}"
    methods[33] = "Homing on the next index pulse in the negative direction"
    methods[34] = "Homing on the next index pulse in the positive direction"
    methods[35] = "Present position becomes home (older number)"
    methods[37] = "Present position becomes home"
    return methods


_DISABLING = {0: _COAST, 1: _RAMP + _THEN_OFF}

_STANDARD: dict[str, dict[int, str]] = {
    "homing_method": _homing(),
    "abort_connection_option_code": {
        0: "No reaction",
        1: "Fault reaction",
        2: "Output off, the motor coasts",
        3: "Quick stop",
    },
    "quick_stop_option_code": {
        0: _COAST,
        1: _RAMP + _THEN_OFF,
        2: _QUICK_RAMP + _THEN_OFF,
        3: _CURRENT + _THEN_OFF,
        4: _VOLTAGE + _THEN_OFF,
        5: _RAMP + _THEN_HOLD,
        6: _QUICK_RAMP + _THEN_HOLD,
        7: _CURRENT + _THEN_HOLD,
        8: _VOLTAGE + _THEN_HOLD,
    },
    "shutdown_option_code": _DISABLING,
    "disable_operation_option_code": _DISABLING,
    # 0 is reserved in present editions and meant coasting in old ones: it gets no label.
    "halt_option_code": {
        1: _RAMP + _THEN_HOLD,
        2: _QUICK_RAMP + _THEN_HOLD,
        3: _CURRENT + _THEN_HOLD,
        4: _VOLTAGE + _THEN_HOLD,
    },
    "fault_reaction_option_code": {
        0: _COAST,
        1: _RAMP + _THEN_OFF,
        2: _QUICK_RAMP + _THEN_OFF,
        3: _CURRENT + _THEN_OFF,
        4: _VOLTAGE + _THEN_OFF,
    },
    "modes_of_operation": {
        0: "No mode",
        1: "Profile position",
        2: "Velocity",
        3: "Profile velocity",
        4: "Profile torque",
        6: "Homing",
        7: "Interpolated position",
        8: "Cyclic synchronous position",
        9: "Cyclic synchronous velocity",
        10: "Cyclic synchronous torque",
        # Only newer editions have 11; how many drives use it for something else nobody knows.
        11: "Cyclic synchronous torque with commutation angle",
    },
    "motion_profile_type": {
        0: "Linear ramp (trapezoidal velocity)",
        1: "Sine-squared ramp",
        2: "Jerk-free ramp",
        3: "Jerk-limited ramp",
    },
    "torque_profile_type": {0: "Linear ramp (trapezoidal)", 1: "Sine-squared ramp"},
    "velocity_sensor_selection": {
        0: "Velocity from the position encoder",
        1: "Velocity from the velocity encoder",
    },
    "interpolation_sub_mode": {0: "Linear interpolation"},
    "motor_type": {
        0: "Non-standard motor",
        1: "DC motor, phase-modulated",
        2: "DC motor, frequency-controlled",
        3: "Permanent-magnet synchronous motor",
        4: "Synchronous motor, frequency-controlled",
        5: "Switched reluctance motor",
        6: "Induction motor, wound rotor",
        7: "Induction motor, squirrel cage",
        8: "Stepper motor",
        9: "Stepper motor, micro-stepped",
        10: "Brushless permanent-magnet motor, sinusoidal",
        11: "Brushless permanent-magnet motor, trapezoidal",
        12: "Synchronous reluctance motor",
        13: "Commutator motor, permanent magnet",
        14: "Commutator motor, series field",
        15: "Commutator motor, shunt field",
        16: "Commutator motor, compound field",
    },
}

_OURS: dict[str, dict[int, str]] = {
    "yes_no": {0: "No", 1: "Yes"},
    "direction": {0: "Positive", 1: "Reversed"},
    "digital_input_function": dict(
        enumerate(
            (
                "Not assigned",
                "Enable",
                "Fault reset",
                "Positive over-travel",
                "Negative over-travel",
                "Homing switch",
                "Quick stop",
                "Halt",
                "Touch probe 1",
                "Touch probe 2",
                "Start homing",
                "Jog positive",
                "Jog negative",
                "Torque limit",
                "Gain switching",
                "External fault",
                "Run forward",
                "Run reverse",
                "Fixed speed selection",
            )
        )
    ),
    "digital_output_function": dict(
        enumerate(
            (
                "Not assigned",
                "Ready",
                "Operation enabled",
                "Fault",
                "Warning",
                "Brake release",
                "In position",
                "At speed",
                "Standstill",
                "Torque limit reached",
                "Homed",
                "Set by the controller",
            )
        )
    ),
    "overtravel_reaction": {
        0: "No reaction",
        1: "Warning only",
        2: _COAST,
        3: _QUICK_RAMP + _THEN_HOLD,
        4: _QUICK_RAMP + _THEN_OFF,
    },
    "gain_switching": {
        0: "First set only",
        1: "Second set by an input",
        2: "Second set at standstill",
    },
    "setpoint_filter": {0: "Off", 1: "First-order low-pass", 2: "Moving average"},
    "voltage_frequency_pattern": {0: "Linear", 1: "Quadratic", 2: "Free points"},
    "encoder_type": {
        0: "None",
        1: "Incremental",
        2: "Incremental with commutation signals",
        3: "Sine-cosine",
        4: "Absolute, single-turn",
        5: "Absolute, multi-turn",
        6: "Absolute, multi-turn, used as incremental",
        7: "Resolver",
    },
    "supply_phases": {1: "Single-phase", 2: "DC supply", 3: "Three-phase"},
    "safe_torque_off_reaction": {
        0: "No message",
        1: "Warning",
        2: "Fault, to be reset",
    },
    "position_loop": {0: "In the drive", 1: "In the controller"},
    "move_direction": {
        0: "Positive way",
        1: "Shortest way",
        2: "Negative way",
        3: "Present direction",
    },
    "move_buffer_mode": {
        0: "At once, the move under way is broken off",
        1: "After the move under way",
        2: "Passes on at the lower speed",
        3: "Passes on at the speed of the move before",
        4: "Passes on at the speed of the move after",
        5: "Passes on at the higher speed",
    },
    "parameter_lock": {0: "Unlocked", 1: "Locked for operators", 2: "Locked"},
}

_TABLES: Mapping[str, Mapping[int, str]] = MappingProxyType(
    {name: MappingProxyType(labels) for name, labels in (_STANDARD | _OURS).items()}
)
_EMPTY: Mapping[int, str] = MappingProxyType({})
TRUTHS = (
    ("no", "yes"), ("off", "on"), ("false", "true"), ("disabled", "enabled"),
    ("inactive", "active"), ("nein", "ja"), ("aus", "ein"), ("falsch", "wahr"),
    ("gesperrt", "freigegeben"), ("inaktiv", "aktiv"), ("non", "oui"),
)  # fmt: skip
"""Words for no and yes, in small letters, as exports have them."""
_SAID = MappingProxyType({word: number for pair in TRUTHS for number, word in enumerate(pair)})


def label(table: str, value: int) -> str | None:
    """Return the meaning of a value; None where the table or the number has none."""
    return _TABLES.get(table, _EMPTY).get(value)


def table(name: str) -> Mapping[int, str]:
    """Return the labels of one table by number; empty if there is no such table."""
    return _TABLES.get(name, _EMPTY)


def tables() -> Mapping[str, Mapping[int, str]]:
    """Return all tables by name."""
    return _TABLES


def is_standard(table: str) -> bool:
    """Tell whether the numbers of a table are the drive standard's, not only our own."""
    return table in _STANDARD


def of_export(table: str, written: Scalar) -> Mapping[int, str]:
    """Labels that a choice has in an export whose dictionary names none.

    What a number of a table of our own counts, no export knows; a label in words means itself.
    """
    return _TABLES[table] if is_standard(table) or isinstance(written, str) else _EMPTY


def chosen(parameter: Parameter | None) -> int | None:
    """The number that a choice has in the tables here.

    A label decides, since makers number as they like; without one the number counts where it is
    the drive standard's (negative ones are the maker's own), or plainly no and yes.
    """
    if parameter is None or parameter.role is None or not isinstance(parameter.raw, int):
        return None
    role = roles.find(parameter.role)
    if role is None or role.choices is None:
        return None
    is_truth = role.choices == "yes_no"
    if parameter.label is None:
        return parameter.raw if is_truth or is_standard(role.choices) else None
    wanted = parameter.label.casefold()
    if is_truth:
        return _SAID.get(wanted)
    labels = table(role.choices).items()
    return next((number for number, text in labels if text.casefold() == wanted), None)


def same_label(one: str, other: str, role: str | None) -> bool:
    """Whether two families' words for a value of one role mean the same."""
    left, right = one.casefold(), other.casefold()
    known = roles.find(role) if role else None
    if known is not None and known.choices == "yes_no" and left in _SAID:
        return _SAID[left] == _SAID.get(right)
    return left == right

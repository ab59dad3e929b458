"""Which faults a setting that is not plausible can bring about, by the rule that found it.

Weights as in `fault_weights`: our own judgement of common practice, no source. Codes are those of
CiA 402-2 (from memory); a code stands for its whole group where it ends in noughts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.fault_table import lineage

if TYPE_CHECKING:
    from vault.meaning.faults import FaultCode

_LAG, _SPEED, _POSITION = 0x8611, 0x8400, 0x8612
_OVER_CURRENT, _OVERLOAD, _HOT, _TORQUE = 0x2300, 0x2350, 0x4310, 0x8300
_DC_HIGH, _DC_LOW, _CHOPPER, _RESISTOR = 0x3210, 0x3220, 0x7110, 0x7112
_SENSOR, _BUS, _SWITCHES, _PHASE = 0x7300, 0x8100, 0x5440, 0x3130
_BLOCKED, _COMMUTATION = 0x7121, 0x7122

RULES: dict[str, tuple[tuple[int, ...], float, str]] = {
    "window_and_lag": ((_LAG,), 0.8, "the window does not leave room for the lag"),
    "window_off": ((_LAG,), 0.4, "if it is 0, some drives trip at once; to others it is off"),
    "torque_limit": ((_LAG, _OVERLOAD, _TORQUE, _BLOCKED), 0.6, "the torque does not fit the load"),
    "torque_and_drive": ((_LAG, _OVER_CURRENT), 0.5, "the drive cannot give that torque"),
    "ramp_torque": ((_LAG, _OVER_CURRENT), 0.7, "the ramp asks for more torque than there is"),
    "lift": ((_LAG, _SPEED, _BLOCKED), 0.7, "the motor cannot lift the load"),
    "descent": ((_LAG,), 0.5, "the motor cannot brake a descent on its ramp"),
    "peak_torque": ((_LAG, _SPEED), 0.6, "the duty asks for more torque than there is"),
    "rms_torque": ((_OVERLOAD, _HOT), 0.8, "the duty asks for more than the motor is rated for"),
    "phase": ((_SPEED, _OVER_CURRENT, _HOT), 0.6, "the speed loop rings"),
    "loops_apart": ((_LAG, _SPEED), 0.3, "the position loop is too fast for the speed loop"),
    "current_limit": ((_OVER_CURRENT, _OVERLOAD), 0.7, "motor or drive do not bear that current"),
    "drive_current": ((_OVER_CURRENT, _OVERLOAD), 0.6, "the drive is too small for the motor"),
    "motor_ratings": ((_OVER_CURRENT, _OVERLOAD, _HOT), 0.5, "every limit in permille rests on it"),
    "motor_speed": ((_LAG, _SPEED), 0.6, "the motor cannot turn as fast"),
    "motor_speed_limit": ((_LAG, _SPEED), 0.6, "the speed is cut below what is commanded"),
    "rated_speed": ((_OVERLOAD, _LAG), 0.3, "above its rated speed a motor has less torque"),
    "pole_pairs": (
        (_SPEED, _OVER_CURRENT, _COMMUTATION, _BLOCKED), 0.8, "the motor is another one",
    ),
    "travel_scale": ((_LAG, _POSITION, _SPEED), 0.7, "the same command is another way and speed"),
    "encoder_resolution": (
        (_LAG, _POSITION, _SPEED, _SENSOR, _COMMUTATION), 0.7, "the drive counts another encoder",
    ),
    "encoder_bits": ((_SENSOR, _POSITION), 0.5, "the encoder fitted is another one"),
    "absolute_range": ((_SENSOR, _POSITION), 0.6, "the encoder loses count within the stroke"),
    "encoder_runs_over": ((_SENSOR, _POSITION), 0.5, "zero is lost when its turns run over"),
    "brake": ((_LAG,), 0.4, "the axis sags, or runs against the brake"),
    "brake_release": ((_LAG, _BLOCKED), 0.6, "the axis starts against the closed brake"),
    "missing_brake": ((_LAG,), 0.3, "the drive waits for a brake that is not there"),
    "unused_brake": ((_LAG, _BLOCKED, _HOT), 0.7, "the axis runs against the closed brake"),
    "stop_energy": ((_DC_HIGH,), 0.8, "a stop gives back more than the DC link takes"),
    "descent_energy": ((_DC_HIGH,), 0.8, "a descent gives back more than the DC link takes"),
    "trip_above_chopper": ((_DC_HIGH,), 0.9, "the drive trips before the resistor is switched on"),
    "trip_above_mains": ((_DC_HIGH,), 0.8, "high mains alone bring the link to the trip"),
    "chopper_above_mains": (
        (_DC_HIGH, _DC_LOW, _CHOPPER), 0.6, "high mains alone switch the resistor on",
    ),
    "resistor_peak": ((_DC_HIGH, _CHOPPER), 0.7, "the resistor cannot take the begin of a stop"),
    "resistor_energy": ((_DC_HIGH, _CHOPPER), 0.6, "the resistor cannot take a stop"),
    "resistor_power": ((_DC_HIGH, _CHOPPER), 0.6, "the resistor cannot take the duty"),
    "resistor_ratings": ((_DC_HIGH, _CHOPPER, _RESISTOR), 0.7, "the resistor is another one"),
    "undervoltage": ((_DC_LOW, 0x3120), 0.9, "low mains alone bring the link to the trip"),
    "supply_phases": ((_PHASE, 0x3100, 0x3200), 0.7, "the feed is another one"),
    "software_limits": ((_POSITION, _BLOCKED), 0.6, "the limits do not lie within the stroke"),
    "limits_off": ((_SWITCHES,), 0.4, "no limit stops the axis in front of its switch"),
    "homing_inputs": ((_POSITION,), 0.3, "the axis may not find its zero"),
    "overtravel_inputs": ((_SWITCHES,), 0.6, "an input is missing"),
    "overtravel_reaction": ((_SWITCHES,), 0.4, "a switch that is wired does not stop the axis"),
    "update_interval": ((_BUS, 0x7500, 0x8700), 0.7, "drive and controller are not in step"),
    "controller_agreement": ((_BUS, 0x7500), 0.7, "the two ends are set up differently"),
    "controller_scale": ((_LAG, _POSITION, _SPEED), 0.7, "the controller counts other ways"),
    "controller_modulo": ((_LAG, _POSITION), 0.5, "positions start over at other places"),
    "controller_block_speed": ((_LAG, _SPEED), 0.7, "the program asks for too much speed"),
    "controller_machine_speed": ((_SPEED,), 0.5, "the machine bears less than that"),
    "controller_profile_speed": ((_LAG, _SPEED), 0.4, "the program asks for more than is meant"),
    "controller_block_ramp": ((_LAG, _OVER_CURRENT), 0.6, "the program asks for a steeper ramp"),
    "controller_block_torque": (
        (_LAG, _OVER_CURRENT, _OVERLOAD), 0.7, "the program asks for more torque than there is",
    ),
    "controller_following_error": ((_LAG,), 0.6, "the limits of both sides do not fit"),
    "controller_position": ((_POSITION, _SWITCHES, _BLOCKED), 0.7, "the program goes too far"),
    "controller_distance": ((_POSITION, _SWITCHES, _BLOCKED), 0.6, "a move is too long"),
    "controller_software_limit": ((_POSITION, _SWITCHES), 0.5, "the ends of both sides differ"),
    "controller_homing_method": ((_POSITION, _SWITCHES), 0.5, "each side homes in its own way"),
    "controller_homing_inputs": ((_POSITION,), 0.3, "the axis may not find its zero"),
    "controller_home": ((_POSITION, _SWITCHES), 0.5, "zero is elsewhere for either side"),
    "controller_interval": ((_BUS, 0x7500, 0x8700), 0.7, "drive and controller are not in step"),
    "controller_bus_cycle": ((_BUS, 0x7500, 0x8700, _LAG), 0.5, "set points come unevenly"),
    "controller_address": ((_BUS, 0x7500), 0.7, "the controller looks for the drive elsewhere"),
    "controller_data_size": ((_BUS, 0x7500), 0.7, "the two ends are set up differently"),
    "doubled_address": ((_BUS, 0x7500), 0.8, "two drives answer to one address"),
}  # fmt: skip
"""By the name that `check` gives a rule: the faults, the weight, and what it does."""


def brings_about(rule: str, fault: FaultCode) -> tuple[float, str] | None:
    """Weight and reason of what a rule found for a fault; None where it explains nothing."""
    if rule not in RULES or fault.standard is None:
        return None
    codes, weight, reason = RULES[rule]
    return (weight, reason) if set(lineage(fault.standard)) & set(codes) else None

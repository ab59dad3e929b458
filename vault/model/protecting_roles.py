"""Roles of parameters that protect: without one of them a set is not what it was.

What limits, watches, stops, holds or tells direction and size of motion, and what scales any of
these, as ratings of the motor do limits in permille of them (common practice, no source). Every
parameter of a safety function is one too.
"""

from __future__ import annotations

from vault.model import roles

_TABLE = """
    polarity encoder_direction commutation_offset motor_pole_pairs
    position_encoder_increments position_encoder_motor_revolutions
    additional_encoder_increments additional_encoder_motor_revolutions
    gear_ratio_motor_revolutions gear_ratio_shaft_revolutions
    feed_constant_feed feed_constant_shaft_revolutions
    velocity_encoder_increments velocity_encoder_motor_revolutions
    velocity_factor_numerator velocity_factor_divisor
    acceleration_factor_numerator acceleration_factor_divisor
    jerk_factor_numerator jerk_factor_divisor
    si_unit_position si_unit_velocity si_unit_acceleration si_unit_jerk
    encoder_single_turn_bits encoder_multi_turn_bits
    motor_rated_current motor_rated_torque
    following_error_window following_error_time_out velocity_window velocity_window_time
    min_software_position_limit max_software_position_limit software_position_limits_used
    max_profile_velocity max_motor_speed max_frequency
    max_torque max_current positive_torque_limit negative_torque_limit motor_temperature_limit
    abort_connection_option_code quick_stop_option_code shutdown_option_code
    disable_operation_option_code halt_option_code fault_reaction_option_code
    quick_stop_deceleration vl_quick_stop_delta_speed vl_quick_stop_delta_time
    overtravel_reaction stop_time_limit
    homing_method home_offset homing_torque_limit
    brake_used brake_release_delay brake_apply_delay brake_apply_speed brake_torque
    braking_resistor_used dc_link_overvoltage_threshold braking_resistor_threshold supply_phases
    digital_input_function digital_input_inverted
    consumer_heartbeat_time guard_time life_time_factor fieldbus_timeout missed_update_limit
    restart_after_power_return restart_after_fault
    controller_counts controller_counts_per controller_direction
    controller_min_software_limit controller_max_software_limit controller_max_velocity
    controller_following_error_limit controller_following_error_time_out
    controller_stop_deceleration
    """
_NAMES = frozenset(_TABLE.split())


def protects(role: str | None) -> bool:
    """Whether a parameter of this role protects; `digital_input_function.3` as its role does."""
    found = roles.find(role) if role else None
    return found is not None and (found.safety or found.name in _NAMES)

"""Roles the drive standard has no object for: brake, supply, inputs, loops, motor, safety.

Names and choice of roles are our own, in the words of the trade (common practice, no source).
Kind, unit and type are what such parameters usually have; the family dictionary has the last
word. Rows are written as in `vault.model.role_table`.
"""

from __future__ import annotations

ROWS: dict[str, str] = {
    "units": """
        user_unit_position - text - TEXT | User unit of position
        display_unit - text - TEXT
        """,
    "limits": """
        software_position_limits_used - flag - BOOL =yes_no | Software position limits used
        following_error_warning - position user_position U32
        min_frequency - frequency Hz U32 | Minimum output frequency
        max_frequency - frequency Hz U32 | Maximum output frequency
        """,
    "motion": """
        acceleration_time - time s U32
        deceleration_time - time s U32
        reference_move_distance - position user_position I32
        setpoint_filter - choice - U16 =setpoint_filter
        setpoint_filter_time - time ms U32
        jog_velocity - velocity user_velocity U32
        backlash_compensation - position user_position I32
        """,
    "stop": """
        overtravel_reaction - choice - U16 =overtravel_reaction
        stop_time_limit - time ms U32
        """,
    "homing": """
        homing_torque_limit - rated_torque permille_rated_torque U16
        homing_time_out - time ms U32
        """,
    "control": """
        position_gain - gain 1/s U32 numbered
        velocity_gain - gain_plain - U32 numbered
        velocity_integral_time - time ms U32 numbered
        current_gain - gain_plain - U32 numbered
        current_integral_time - time ms U32 numbered
        velocity_feed_forward - percent percent U16
        acceleration_feed_forward - percent percent U16
        torque_feed_forward_inertia - inertia kg*m^2 U32 | Inertia for torque feed-forward
        load_inertia_ratio - ratio percent U16
        position_filter_time - time ms U32
        velocity_filter_time - time ms U32 numbered
        torque_filter_time - time ms U32 numbered
        velocity_loop_cycle - interval us U32 | Cycle of the velocity loop
        position_loop_cycle - interval us U32 | Cycle of the position loop
        notch_filter_frequency - frequency Hz U32 numbered
        notch_filter_bandwidth - frequency Hz U32 numbered
        notch_filter_depth - percent percent U16 numbered
        friction_compensation - rated_torque permille_rated_torque U16
        gain_switching - choice - U16 =gain_switching
        slip_compensation - percent percent U16
        boost_voltage - voltage V U16 | Voltage boost at low frequency
        voltage_frequency_pattern - choice - U16 =voltage_frequency_pattern
        """,
    "motor": """
        motor_pole_pairs - count - U16
        motor_rated_speed - motor_speed r/min U32
        motor_max_speed - motor_speed r/min U32 | Motor maximum speed
        motor_max_current - current A U32 | Motor maximum current
        motor_inertia - inertia kg*cm^2 U32
        motor_winding_resistance - resistance ohm U32
        motor_winding_inductance - inductance mH U32
        motor_torque_constant - torque_constant - U32
        motor_thermal_time_constant - time s U32
        motor_temperature_limit - temperature degC U16
        motor_overload_warning - percent percent U16
        motor_rated_voltage - voltage V U16
        motor_rated_power - power kW U32
        motor_power_factor - ratio - U16
        rated_frequency - frequency Hz U32 | Motor rated frequency
        """,
    "encoder": """
        encoder_type - choice - U16 =encoder_type
        encoder_single_turn_bits - count bit U8
        encoder_multi_turn_bits - count bit U8
        encoder_absolute_offset - increments increments I32
        encoder_direction - choice - U16 =direction
        commutation_offset - angle deg I32
        """,
    "brake": """
        brake_used - flag - BOOL =yes_no
        brake_release_delay - time ms U16
        brake_apply_delay - time ms U16
        brake_apply_speed - motor_speed r/min U16 | Speed below which the brake is applied
        brake_torque - torque N*m U32 | Brake holding torque
        """,
    "supply": """
        supply_phases - choice - U16 =supply_phases
        supply_voltage - voltage V U16
        undervoltage_threshold - voltage V U16
        dc_link_overvoltage_threshold - voltage V U16 | DC-link over-voltage threshold
        dc_link_capacitance - capacitance - U32 | DC-link capacitance
        braking_resistor_used - flag - BOOL =yes_no
        braking_resistor_resistance - resistance ohm U32
        braking_resistor_power - power W U32
        braking_resistor_energy - energy J U32
        braking_resistor_threshold - voltage V U16 | Braking resistor switch-on voltage
        """,
    "io": """
        digital_input_function - choice - U16 =digital_input_function numbered
        digital_input_inverted - flag - BOOL =yes_no numbered
        digital_output_function - choice - U16 =digital_output_function numbered
        digital_output_inverted - flag - BOOL =yes_no numbered
        digital_input_filter_time - time ms U16
        analogue_input_scale - gain_plain - I32 numbered
        analogue_input_offset - voltage mV I32 numbered
        """,
    "link": """
        node_address - address - U16
        station_alias - address - U16
        bit_rate - count - U32
        update_interval - interval us U32
        task_period - interval us U32 | Controller task period
        missed_update_limit - count - U16
        process_data_in_size - data_size byte U16 | Process data, drive to controller
        process_data_out_size - data_size byte U16 | Process data, controller to drive
        fieldbus_timeout - time ms U16 | Fieldbus time-out
        """,
    "safety": """
        safe_torque_off_reaction - choice - U16 =safe_torque_off_reaction safety
        safe_torque_off_monitoring - flag - BOOL =yes_no safety
        safe_stop_delay - time ms U32 safety
        safe_limited_speed - velocity user_velocity U32 safety
        safe_limited_speed_delay - time ms U32 safety
        safe_operating_stop_window - position user_position U32 safety
        safety_address - address - U16 safety
        safety_checksum - identity - U32 ro safety
        """,
    "status": """
        operating_hours - time - U32 live ro
        power_cycles - count - U32 live ro
        heatsink_temperature - temperature degC I16 live ro
        motor_temperature - temperature degC I16 live ro
        motor_overload_level - percent percent U16 live ro
        """,
    "device": """
        drive_rated_current - current A U32 const
        drive_max_current - current A U32 | Drive maximum current
        switching_frequency - frequency Hz U16
        password - identity - U32
        parameter_lock - choice - U16 =parameter_lock
        restart_after_power_return - flag - BOOL =yes_no
        restart_after_fault - flag - BOOL =yes_no
        """,
}

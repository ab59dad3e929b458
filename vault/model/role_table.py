"""Objects of CiA 402-2 / IEC 61800-7-201 and CiA 301 and the roles they stand for.

Numbers, types and units are from memory; titles are our own wording. A row is name, object,
kind, unit, type, options (see `vault.model.roles`); a title after `|` where the name is not one.
"""

from __future__ import annotations

ROWS: dict[str, str] = {
    "identity": """
        device_type 1000 bits - U32 const
        device_name 1008 text - TEXT const
        hardware_version 1009 version - TEXT const
        software_version 100A version - TEXT const
        vendor_number 1018:1 identity - U32 const
        product_code 1018:2 identity - U32 const
        revision_number 1018:3 version - U32 const
        serial_number 1018:4 identity - U32 const
        motor_catalogue_number 6403 identity - TEXT
        motor_manufacturer 6404 text - TEXT
        drive_catalogue_number 6503 identity - TEXT const
        drive_manufacturer 6504 text - TEXT const
        """,
    "units": """
        polarity 607E bits - U8 | Direction of motion
        position_encoder_increments 608F:1 increments increments U32
        position_encoder_motor_revolutions 608F:2 count rev U32
        velocity_encoder_increments 6090:1 increments increments/s U32
        velocity_encoder_motor_revolutions 6090:2 motor_speed rev/s U32
        gear_ratio_motor_revolutions 6091:1 count rev U32
        gear_ratio_shaft_revolutions 6091:2 count rev U32
        feed_constant_feed 6092:1 ratio user_position U32
        feed_constant_shaft_revolutions 6092:2 count rev U32
        velocity_factor_numerator 6096:1 count - U32
        velocity_factor_divisor 6096:2 count - U32
        acceleration_factor_numerator 6097:1 count - U32
        acceleration_factor_divisor 6097:2 count - U32
        jerk_factor_numerator 60A2:1 count - U32
        jerk_factor_divisor 60A2:2 count - U32
        si_unit_position 60A8 bits - U32 | Unit of position
        si_unit_velocity 60A9 bits - U32 | Unit of velocity
        si_unit_acceleration 60AA bits - U32 | Unit of acceleration
        si_unit_jerk 60AB bits - U32 | Unit of jerk
        """,
    "limits": """
        following_error_window 6065 position user_position U32
        following_error_time_out 6066 time ms U16
        position_window 6067 position user_position U32
        position_window_time 6068 time ms U16
        velocity_window 606D velocity user_velocity U16
        velocity_window_time 606E time ms U16
        velocity_threshold 606F velocity user_velocity U16
        velocity_threshold_time 6070 time ms U16
        min_position_range_limit 607B:1 position user_position I32
        max_position_range_limit 607B:2 position user_position I32
        min_software_position_limit 607D:1 position user_position I32
        max_software_position_limit 607D:2 position user_position I32
        max_profile_velocity 607F velocity user_velocity U32
        max_motor_speed 6080 motor_speed r/min U32
        max_acceleration 60C5 acceleration user_acceleration U32
        max_deceleration 60C6 acceleration user_acceleration U32
        max_slippage 60F8 velocity user_velocity I32
        vl_velocity_min_amount 6046:1 motor_speed r/min U32 | Lowest speed (velocity mode)
        vl_velocity_max_amount 6046:2 motor_speed r/min U32 | Highest speed (velocity mode)
        """,
    "motion": """
        modes_of_operation 6060 choice - I8 =modes_of_operation | Operating mode
        modes_of_operation_display 6061 choice - I8 =modes_of_operation live ro | Operating mode in use
        velocity_sensor_selection 606A choice - I16 =velocity_sensor_selection
        target_position 607A position user_position I32 live
        profile_velocity 6081 velocity user_velocity U32
        end_velocity 6082 velocity user_velocity U32
        profile_acceleration 6083 acceleration user_acceleration U32
        profile_deceleration 6084 acceleration user_acceleration U32
        motion_profile_type 6086 choice - I16 =motion_profile_type
        profile_jerk_use 60A3 count - U8 | Number of jerks used
        profile_jerk 60A4:1 jerk user_jerk U32 numbered
        position_offset 60B0 position user_position I32
        velocity_offset 60B1 velocity user_velocity I32
        interpolation_sub_mode 60C0 choice - I16 =interpolation_sub_mode
        positioning_option_code 60F2 bits - U16
        target_velocity 60FF velocity user_velocity I32 live
        vl_target_velocity 6042 motor_speed r/min I16 live | Target speed (velocity mode)
        vl_velocity_demand 6043 motor_speed r/min I16 live ro | Demanded speed (velocity mode)
        vl_velocity_actual_value 6044 motor_speed r/min I16 live ro | Actual speed (velocity mode)
        vl_acceleration_delta_speed 6048:1 motor_speed r/min U32 | Acceleration ramp, speed
        vl_acceleration_delta_time 6048:2 time s U16 | Acceleration ramp, time
        vl_deceleration_delta_speed 6049:1 motor_speed r/min U32 | Deceleration ramp, speed
        vl_deceleration_delta_time 6049:2 time s U16 | Deceleration ramp, time
        """,
    "stop": """
        abort_connection_option_code 6007 choice - I16 =abort_connection_option_code | Reaction to a lost connection
        quick_stop_option_code 605A choice - I16 =quick_stop_option_code | Quick stop reaction
        shutdown_option_code 605B choice - I16 =shutdown_option_code | Shutdown reaction
        disable_operation_option_code 605C choice - I16 =disable_operation_option_code | Reaction to disabling operation
        halt_option_code 605D choice - I16 =halt_option_code | Halt reaction
        fault_reaction_option_code 605E choice - I16 =fault_reaction_option_code | Fault reaction
        quick_stop_deceleration 6085 acceleration user_acceleration U32
        vl_quick_stop_delta_speed 604A:1 motor_speed r/min U32 | Quick-stop ramp, speed
        vl_quick_stop_delta_time 604A:2 time s U16 | Quick-stop ramp, time
        """,
    "homing": """
        home_offset 607C position user_position I32
        homing_method 6098 choice - I8 =homing_method
        homing_switch_search_speed 6099:1 velocity user_velocity U32 | Homing speed towards the switch
        homing_zero_search_speed 6099:2 velocity user_velocity U32 | Homing speed towards the zero point
        homing_acceleration 609A acceleration user_acceleration U32
        supported_homing_methods 60E3:1 choice - I8 =homing_method const numbered | Supported homing method
        """,
    "torque": """
        target_torque 6071 rated_torque permille_rated_torque I16 live
        max_torque 6072 rated_torque permille_rated_torque U16 | Maximum torque
        max_current 6073 rated_current permille_rated_current U16 | Maximum current
        torque_slope 6087 gain_plain - U32
        torque_profile_type 6088 choice - I16 =torque_profile_type
        torque_offset 60B2 rated_torque permille_rated_torque I16
        positive_torque_limit 60E0 rated_torque permille_rated_torque U16
        negative_torque_limit 60E1 rated_torque permille_rated_torque U16
        """,
    "motor": """
        motor_rated_current 6075 current mA U32
        motor_rated_torque 6076 torque mN*m U32
        motor_type 6402 choice - U16 =motor_type
        """,
    "io": """
        touch_probe_function 60B8 bits - U16
        touch_probe_status 60B9 bits - U16 live ro
        digital_inputs 60FD bits - U32 live ro
        digital_outputs 60FE:1 bits - U32 live
        digital_outputs_mask 60FE:2 bits - U32
        """,
    "link": """
        communication_cycle_period 1006 interval us U32
        synchronous_window_length 1007 interval us U32
        guard_time 100C time ms U16
        life_time_factor 100D count - U8
        consumer_heartbeat_time 1016:1 bits - U32 numbered | Heartbeat watched, node and time
        producer_heartbeat_time 1017 interval ms U16 | Heartbeat sent every
        synchronous_counter_overflow 1019 count - U8
        interpolation_time_period 60C2:1 interval - U8
        interpolation_time_index 60C2:2 count - I8 | Interpolation time, power of ten
        """,
    "encoder": """
        additional_encoder_increments 60E6:1 increments increments U32 numbered
        additional_encoder_motor_revolutions 60EB:1 count rev U32 numbered
        """,
    "status": """
        error_register 1001 bits - U8 live ro
        error_history 1003:1 bits - U32 live ro numbered
        error_code 603F bits - U16 live ro
        controlword 6040 bits - U16 live
        statusword 6041 bits - U16 live ro
        position_demand_value 6062 position user_position I32 live ro | Demanded position
        position_actual_internal_value 6063 increments increments I32 live ro | Actual position in increments
        position_actual_value 6064 position user_position I32 live ro | Actual position
        velocity_sensor_actual_value 6069 increments increments/s I32 live ro | Velocity sensor reading
        velocity_demand_value 606B velocity user_velocity I32 live ro | Demanded velocity
        velocity_actual_value 606C velocity user_velocity I32 live ro | Actual velocity
        torque_demand 6074 rated_torque permille_rated_torque I16 live ro | Demanded torque
        torque_actual_value 6077 rated_torque permille_rated_torque I16 live ro | Actual torque
        current_actual_value 6078 rated_current permille_rated_current I16 live ro | Actual current
        dc_link_voltage 6079 voltage mV U32 live ro | DC-link voltage
        additional_position_actual_value 60E4:1 position user_position I32 live ro numbered
        following_error_actual_value 60F4 position user_position I32 live ro | Actual following error
        control_effort 60FA velocity user_velocity I32 live ro
        position_demand_internal_value 60FC increments increments I32 live ro | Demanded position in increments
        """,
    "device": """
        supported_drive_modes 6502 bits - U32 const | Supported operating modes
        """,
}

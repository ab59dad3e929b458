"""Roles of the controller's side: its task, its axis, and the motion blocks of its program.

Names and choice of roles are our own, in the words of the trade (common practice, no source). A
number behind a numbered one is the order of the blocks in the program and makes it unique, no more.
Positions, speeds and ramps are in the controller's user units. Rows are written as in
`vault.model.role_table`.
"""

from __future__ import annotations

ROWS: dict[str, str] = {
    "controller": """
        controller_task_interval - interval us U32
        controller_task_priority - count - U16
        controller_update_interval - interval us U32
        controller_bus_cycle - interval us U32
        controller_node_address - address - U16
        controller_station_alias - address - U16
        controller_data_size_in - data_size byte U16 | Controller data, from the drive
        controller_data_size_out - data_size byte U16 | Controller data, to the drive
        controller_position_loop - choice - U16 =position_loop | Controller position loop is closed
        controller_counts - increments increments U32
        controller_counts_per - position user_position U32 | Controller way of so many counts
        controller_direction - choice - U16 =direction
        controller_modulo - position user_position U32
        controller_min_software_limit - position user_position I32
        controller_max_software_limit - position user_position I32
        controller_max_velocity - velocity user_velocity U32
        controller_max_acceleration - acceleration user_acceleration U32
        controller_max_deceleration - acceleration user_acceleration U32
        controller_max_jerk - jerk user_jerk U32
        controller_following_error_limit - position user_position U32
        controller_following_error_time_out - time ms U32 | Controller following error time-out
        controller_homing_method - choice - I16 =homing_method
        controller_homing_position - position user_position I32
        controller_homing_velocity - velocity user_velocity U32
        controller_homing_acceleration - acceleration user_acceleration U32
        controller_homing_direction - choice - U16 =direction
        controller_jog_velocity - velocity user_velocity U32 numbered
        controller_jog_acceleration - acceleration user_acceleration U32 numbered
        controller_jog_deceleration - acceleration user_acceleration U32 numbered
        controller_move_position - position user_position I32 numbered
        controller_move_distance - position user_position I32 numbered
        controller_move_velocity - velocity user_velocity I32 numbered
        controller_move_acceleration - acceleration user_acceleration U32 numbered
        controller_move_deceleration - acceleration user_acceleration U32 numbered
        controller_move_jerk - jerk user_jerk U32 numbered
        controller_move_direction - choice - U16 =move_direction numbered
        controller_move_buffer_mode - choice - U16 =move_buffer_mode numbered
        controller_stop_deceleration - acceleration user_acceleration U32 numbered
        controller_stop_jerk - jerk user_jerk U32 numbered
        """,
}

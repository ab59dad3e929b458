"""Which parameters can bring about which fault, how much they count, and why.

Weights are our own judgement of common practice, no source: 1 decides whether the fault comes,
0.1 hardly matters. A sign says which way brings the fault on: `+` more of it, `-` less of it,
`*` either.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Weight:
    """Weight 0 to 1 of a role for a fault; `sign` is the way that brings the fault on."""

    weight: float
    sign: str
    reason: str


# Role(s), sign, weight | why.
_THEMES: dict[tuple[int, ...], str] = {
    (0x8611, 0x8500): """
        following_error_window following_error_warning - 1 | a smaller window trips sooner
        following_error_time_out - 0.9 | a shorter time lets less pass
        position_gain - 0.8 | a softer position loop lags more
        velocity_feed_forward acceleration_feed_forward torque_feed_forward_inertia - 0.8 | less feed-forward leaves more lag
        max_torque positive_torque_limit negative_torque_limit max_current - 0.8 | with less torque the axis cannot keep up
        profile_velocity max_profile_velocity + 0.6 | lag grows with speed
        profile_acceleration profile_deceleration max_acceleration max_deceleration quick_stop_deceleration + 0.6 | steeper ramps ask for more torque
        profile_jerk motion_profile_type * 0.4 | the shape of the ramp decides the peak of torque
        velocity_gain - 0.6 | a softer speed loop lags more
        velocity_integral_time + 0.4 | errors go away more slowly
        position_filter_time velocity_filter_time torque_filter_time setpoint_filter_time + 0.4 | a filter delays
        notch_filter_frequency notch_filter_bandwidth notch_filter_depth * 0.4 | a resonance that is not damped shakes the axis
        gear_ratio_motor_revolutions gear_ratio_shaft_revolutions feed_constant_feed feed_constant_shaft_revolutions position_encoder_increments encoder_single_turn_bits * 0.7 | the same command is another speed at the motor
        motor_rated_torque motor_rated_current * 0.5 | every torque limit rests on it
        load_inertia_ratio * 0.5 | the loop is tuned for another load
        brake_used * 0.8 | the axis may run against a closed brake
        brake_release_delay - 0.7 | the axis starts against a brake that is still closed
        update_interval task_period * 0.4 | set points come out of step
        polarity * 0.3 | the loop may work the wrong way
    """,
    (0x2300, 0x2310, 0x2320, 0x2200): """
        max_torque positive_torque_limit negative_torque_limit max_current + 0.9 | more current is let through
        current_gain + 0.9 | a stiffer current loop overshoots
        current_integral_time - 0.7 | a faster current loop overshoots
        velocity_gain position_gain + 0.6 | stiffer loops ask for more current
        profile_acceleration profile_deceleration max_acceleration quick_stop_deceleration + 0.6 | steeper ramps ask for more current
        acceleration_time deceleration_time - 0.6 | a shorter ramp asks for more current
        motor_rated_current motor_rated_torque + 0.8 | every current limit rests on it
        motor_pole_pairs commutation_offset * 0.8 | the current turns at the wrong angle
        boost_voltage + 0.7 | more voltage at low frequency drives more current
        brake_used * 0.5 | the axis may run against a closed brake
    """,
    (0x2350, 0x4310, 0x8311, 0x7121): """
        max_torque positive_torque_limit negative_torque_limit max_current + 0.8 | the motor may be loaded more
        motor_rated_current motor_rated_torque * 1 | the thermal model rests on it
        motor_thermal_time_constant motor_temperature_limit motor_overload_warning - 0.8 | the supervision answers sooner
        profile_acceleration profile_deceleration max_acceleration + 0.7 | steeper ramps heat the motor
        profile_velocity max_profile_velocity + 0.4 | more speed, more loss
        acceleration_time deceleration_time - 0.6 | a shorter ramp heats the motor
        velocity_gain position_gain + 0.5 | a loop that shakes heats the motor
        brake_used * 0.9 | the motor may work against a closed brake, or hold a load all day
        brake_release_delay - 0.7 | the motor starts against a closed brake
        gear_ratio_motor_revolutions gear_ratio_shaft_revolutions feed_constant_feed * 0.5 | the same command is another speed at the motor
    """,
    (0x3210, 0x7110, 0x7112): """
        braking_resistor_used - 1 | without the resistor the energy of a stop stays in the DC link
        braking_resistor_resistance braking_resistor_power braking_resistor_energy * 0.8 | the drive reckons with another resistor
        braking_resistor_threshold * 0.8 | the resistor is switched at another voltage
        dc_link_overvoltage_threshold - 0.8 | the drive trips at a lower voltage
        profile_deceleration quick_stop_deceleration max_deceleration + 0.8 | a harder stop gives its energy back in less time
        deceleration_time - 0.8 | a shorter stop gives its energy back in less time
        profile_velocity max_profile_velocity + 0.7 | energy grows with the square of speed
        supply_phases supply_voltage * 0.5 | the DC link works at another voltage
        quick_stop_option_code fault_reaction_option_code * 0.3 | another way to stop brakes differently
    """,
    (0x3100, 0x3110, 0x3120, 0x3130, 0x3220): """
        supply_phases * 1 | the drive expects another feed
        supply_voltage undervoltage_threshold * 0.9 | the drive expects another voltage
        profile_acceleration max_acceleration max_torque max_current + 0.4 | more power at once pulls the link down
        profile_velocity max_profile_velocity + 0.3 | more speed takes more power
    """,
    (0x4210, 0x4110): """
        max_torque max_current + 0.6 | more current, more loss
        profile_acceleration profile_deceleration + 0.5 | steeper ramps, more loss
        switching_frequency + 0.8 | more switching, more loss
    """,
    (0x5440, 0x5441, 0x5442, 0x8612): """
        digital_input_function digital_input_inverted * 0.9 | it decides which input is the over-travel switch
        overtravel_reaction * 0.6 | it decides what an over-travel switch does
        min_software_position_limit max_software_position_limit software_position_limits_used * 0.9 | it decides where the axis is stopped
        home_offset encoder_absolute_offset * 0.9 | every position lies elsewhere
        homing_method homing_switch_search_speed homing_zero_search_speed * 0.6 | home is found elsewhere, or overrun
        gear_ratio_motor_revolutions gear_ratio_shaft_revolutions feed_constant_feed feed_constant_shaft_revolutions position_encoder_increments encoder_single_turn_bits si_unit_position * 0.9 | the same command goes another way
        polarity * 0.9 | the axis runs the other way
        profile_deceleration quick_stop_deceleration - 0.5 | a stop takes a longer way
        max_profile_velocity profile_velocity + 0.4 | a stop takes a longer way
    """,
    (0x7122, 0x7300): """
        encoder_type encoder_single_turn_bits encoder_multi_turn_bits position_encoder_increments * 1 | the drive reads another encoder than is fitted
        encoder_direction polarity commutation_offset motor_pole_pairs * 0.8 | the encoder and the field do not agree
        encoder_absolute_offset * 0.5 | the absolute reference is another
    """,
    (0x8400, 0x8300): """
        max_profile_velocity max_motor_speed max_frequency velocity_threshold max_slippage - 0.8 | a lower limit trips sooner
        profile_velocity + 0.6 | more speed is asked for
        velocity_gain * 0.8 | the speed loop answers differently
        velocity_integral_time velocity_filter_time * 0.6 | the speed loop answers differently
        notch_filter_frequency notch_filter_bandwidth notch_filter_depth * 0.6 | a resonance that is not damped shakes the axis
        load_inertia_ratio * 0.6 | the loop is tuned for another load
        max_torque max_current - 0.7 | with less torque the axis cannot keep its speed
        gear_ratio_motor_revolutions gear_ratio_shaft_revolutions feed_constant_feed position_encoder_increments * 0.5 | the same command is another speed at the motor
    """,
    (0x7500, 0x8100, 0x8200, 0x8700): """
        node_address station_alias bit_rate process_data_in_size process_data_out_size * 1 | controller and drive must agree on it
        fieldbus_timeout missed_update_limit guard_time life_time_factor consumer_heartbeat_time producer_heartbeat_time - 0.9 | a shorter time lets less pass
        update_interval task_period communication_cycle_period * 0.9 | drive and controller work out of step
        abort_connection_option_code * 0.3 | it decides what a lost controller does
    """,
}


def _read() -> dict[int, dict[str, Weight]]:
    found: dict[int, dict[str, Weight]] = {}
    for codes, rows in _THEMES.items():
        weights: dict[str, Weight] = {}
        for row in filter(None, map(str.strip, rows.splitlines())):
            columns, _, reason = row.partition(" | ")
            *names, sign, weight = columns.split()
            weights |= dict.fromkeys(names, Weight(float(weight), sign, reason))
        found |= dict.fromkeys(codes, weights)
    return found


WEIGHTS: dict[int, dict[str, Weight]] = _read()
"""Weights by standard error code, then by role."""

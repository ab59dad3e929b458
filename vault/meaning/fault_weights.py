"""Which parameters can bring about which fault, through which margins, how much, and why.

Weights are our own judgement of common practice, no source: 1 decides whether the fault comes,
0.1 hardly matters. What a change does is taken from the margins that its row names; where these
cannot be told, from the size of the change. `tests/meaning/fault_rankings.yaml` has worked rankings
to read and correct.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Way = Literal["less", "more", "either", "other", "on", "off", "inward", "outward", "shift"]
"""What brings the fault on: less or more of it, either; another choice, whatever its size; a switch
that is on or off; a software limit that moves inward or outward; positions that lie elsewhere."""


@dataclass(frozen=True, slots=True)
class Weight:
    """Weight 0 to 1 of a role, or of an entry of the axis record, for a fault.

    `margins` are those that it acts through; where `fact` stays as it was, the change does nothing;
    `functions` are those of an input or output that have to do with the fault (numbers of
    `vault.model.choices`; none: all of them).
    """

    weight: float
    way: Way
    margins: tuple[str, ...]
    reason: str
    fact: str = ""
    functions: frozenset[int] = frozenset()


_SCALE = (
    "gear_ratio_motor_revolutions gear_ratio_shaft_revolutions feed_constant_feed "
    "feed_constant_shaft_revolutions position_encoder_increments encoder_single_turn_bits"
)
_SOFT_LIMITS = "min_software_position_limit max_software_position_limit"
_TORQUE = "max_torque positive_torque_limit negative_torque_limit max_current"
_RATINGS = "motor_rated_torque motor_rated_current"
_COMMUTATION = "motor_pole_pairs commutation_offset encoder_direction"
_VL_UP = "vl_acceleration_delta_speed vl_acceleration_delta_time"
_VL_DOWN = (
    "vl_deceleration_delta_speed vl_deceleration_delta_time vl_quick_stop_delta_speed "
    "vl_quick_stop_delta_time"
)

_LOAD = "mechanics.moving_mass mechanics.load_inertia motor.inertia"
_MOUNTING = "mechanics.orientation mechanics.inclination mechanics.counterbalance"
_GEARS = (
    "mechanics.gearbox mechanics.lead mechanics.pulley_circumference "
    "mechanics.pinion_circumference mechanics.pole_pitch mechanics.kind"
)
_ROOM = "mechanics.stroke mechanics.hard_stop_low mechanics.hard_stop_high"
_BRAKING = "stop_energy descent_energy resistor_peak resistor_energy resistor_power"
_DC_LINK = f"""
        off 1 braking_resistor_used : descent_energy stop_energy | without the resistor the energy of a stop stays in the DC link
        either 1 braking_resistor_threshold : chopper_above_mains trip_above_chopper resistor_peak | the resistor is switched at another voltage
        less 1 dc_link_overvoltage_threshold : trip_above_chopper trip_above_mains stop_energy descent_energy | the drive trips at a lower voltage
        either 0.8 braking_resistor_resistance braking_resistor_power braking_resistor_energy : resistor_peak resistor_energy resistor_power | the drive reckons with another resistor
        more 0.7 quick_stop_deceleration profile_deceleration max_deceleration : stop_energy resistor_peak resistor_energy resistor_power | a harder stop gives its energy back in less time
        less 0.7 deceleration_time | a shorter stop gives its energy back in less time
        more 0.7 {_VL_DOWN} | a steeper stop gives its energy back in less time
        more 0.6 profile_velocity @ profile speed : stop_energy resistor_peak resistor_energy resistor_power | energy grows with the square of speed
        more 0.6 max_profile_velocity @ commanded speed : stop_energy resistor_peak resistor_energy resistor_power | energy grows with the square of speed
        more 0.6 max_motor_speed max_frequency : stop_energy resistor_peak resistor_energy resistor_power | energy grows with the square of speed
        other 0.6 supply_phases : trip_above_mains chopper_above_mains | the DC link works at another voltage
        either 0.6 supply_voltage : chopper_above_mains trip_above_mains | the DC link works at another voltage
        other 0.4 quick_stop_option_code fault_reaction_option_code halt_option_code disable_operation_option_code | another way to stop brakes differently
        more 0.3 {_TORQUE} @ time of a quick stop | more torque brakes harder where the ramp asks for it
        more 0.8 {_LOAD} : {_BRAKING} | more load gives more energy back
        other 0.7 {_MOUNTING} : {_BRAKING} | gravity pulls otherwise
        either 0.6 {_GEARS} : {_BRAKING} | load and rotor run at another speed
        more 0.5 mechanics.efficiency : {_BRAKING} | less is lost on the way back
        more 0.4 mechanics.stroke : descent_energy | a longer descent gives more energy back
        more 0.6 duty : resistor_power | the duty gives more energy back
        either 0.9 supply.resistor : resistor_peak | the resistor that is fitted is another one
        less 0.8 supply.resistor_power supply.resistor_energy : resistor_power resistor_energy | the resistor that is fitted bears less
        other 0.7 supply.phases supply.voltage : trip_above_mains chopper_above_mains | the DC link works at another voltage
        less 0.7 supply.dc_link_capacitance : stop_energy descent_energy | the DC link takes less energy
        less 0.8 supply.dc_link_trip : trip_above_chopper trip_above_mains stop_energy descent_energy | the drive trips at a lower voltage
        other 0.6 noted.supply | feed or resistor are others
"""

# Way, weight, role(s) or entries of the axis record (settings that people name as they like by what
# they are about, `noted.link`); after `@` a fact, after `:` margins, after `|` why. `=3,4` are functions of
# inputs.
_THEMES: dict[tuple[int, ...], str] = {
    (0x8611, 0x8500): f"""
        less 1 following_error_window : window window_profile | a smaller window trips sooner
        less 0.5 following_error_warning : warning | a smaller warning comes sooner, and in some drives it trips
        less 0.6 following_error_time_out | a shorter time lets less pass
        less 0.8 position_gain : window window_profile | a softer position loop lags more
        less 0.8 velocity_feed_forward : window window_profile | less feed-forward leaves more lag
        less 0.6 acceleration_feed_forward torque_feed_forward_inertia | less feed-forward leaves more lag on the ramps
        less 0.9 {_TORQUE} : acceleration lift descent peak_torque | with less torque the axis cannot keep up
        either 0.9 motor_rated_torque : acceleration lift descent peak_torque | every torque limit rests on it
        either 0.6 motor_rated_current | every current limit rests on it
        either 0.7 torque_offset | the torque that carries the load is another, until the loop has made up for it
        more 0.7 profile_velocity @ profile speed : window window_profile motor_speed | lag grows with speed
        more 0.7 max_profile_velocity @ commanded speed : window window_profile motor_speed | lag grows with speed
        more 0.7 max_motor_speed : window window_profile motor_speed | lag grows with speed
        more 0.7 profile_acceleration max_acceleration : acceleration peak_torque | steeper ramps ask for more torque
        more 0.5 profile_deceleration quick_stop_deceleration max_deceleration : descent peak_torque | steeper ramps ask for more torque
        either 0.4 profile_jerk motion_profile_type | the shape of the ramp decides the peak of torque
        either 0.6 velocity_gain : phase loops_apart | a softer speed loop lags more, one that rings shakes the axis
        more 0.4 velocity_integral_time | errors go away more slowly
        more 0.4 position_filter_time velocity_filter_time torque_filter_time setpoint_filter_time | a filter delays
        either 0.4 notch_filter_frequency notch_filter_bandwidth notch_filter_depth | a resonance that is not damped shakes the axis
        either 0.7 {_SCALE} | the same command is another way and speed at the motor
        either 0.5 load_inertia_ratio | the loop is tuned for another load
        off 1 brake_used | the axis runs against a closed brake
        less 0.8 brake_release_delay : brake_release | the axis starts against a brake that is still closed
        other 0.9 {_COMMUTATION} | the motor gives less torque, or works the wrong way
        other 0.6 modes_of_operation | another mode follows other set points
        either 0.4 update_interval task_period interpolation_time_period interpolation_time_index communication_cycle_period | set points come out of step
        other 0.3 polarity | it turns commands and readings together, but not what feeds forward in the controller
        more 0.8 {_LOAD} : acceleration lift descent peak_torque | more load asks for more torque
        other 0.8 {_MOUNTING} : acceleration lift descent peak_torque | gravity pulls otherwise
        either 0.7 {_GEARS} : acceleration lift descent peak_torque motor_speed window window_profile | the same command is another torque and speed at the motor
        less 0.6 mechanics.efficiency : acceleration lift descent peak_torque | more of the torque is lost on its way
        more 0.5 duty : peak_torque | the duty asks for more torque
        less 0.8 motor.rated_torque motor.max_torque : acceleration lift descent peak_torque | the motor has less torque
        less 0.6 motor.max_speed : motor_speed | the motor cannot turn as fast
        other 0.6 motor.code | another motor has other torque and other gains
        either 0.7 encoder.single_turn_bits | the drive counts another encoder than is fitted
        either 0.5 position_gain_unit | the same number is another stiffness
        on 0.9 brake.fitted | nobody opens the brake that was fitted
        more 0.8 brake.release_time : brake_release | the axis starts against a brake that is still closed
        other 0.7 noted.direction noted.scaling | controller and drive do not mean the same by a command
        other 0.4 noted.brake | the brake may not open
        other 0.3 noted.link | set points come out of step
    """,
    (0x2300, 0x2310, 0x2320, 0x2200): f"""
        more 0.9 {_TORQUE} | more current is let through
        more 0.9 current_gain | a stiffer current loop overshoots
        less 0.7 current_integral_time | a faster current loop overshoots
        more 0.6 velocity_gain : phase | a loop that rings asks for more current
        more 0.5 position_gain : loops_apart | a loop that rings asks for more current
        more 0.6 profile_acceleration max_acceleration : acceleration peak_torque | steeper ramps ask for more current
        more 0.5 profile_deceleration quick_stop_deceleration max_deceleration : descent peak_torque | steeper ramps ask for more current
        less 0.7 acceleration_time deceleration_time | a shorter ramp asks for more current
        more 0.7 {_VL_UP} {_VL_DOWN} | a steeper ramp asks for more current
        more 0.8 {_RATINGS} | every current limit rests on it
        other 1 {_COMMUTATION} | the current turns at the wrong angle
        other 0.8 motor_type encoder_type | the drive controls another motor than is fitted
        either 0.6 motor_winding_resistance motor_winding_inductance motor_rated_voltage rated_frequency | the motor's model is another
        more 0.7 boost_voltage | more voltage at low frequency drives more current
        more 0.6 max_frequency | a pump or a fan takes more current at more speed
        other 0.4 voltage_frequency_pattern | the motor gets another voltage at the same frequency
        off 0.8 brake_used | the axis runs against a closed brake
        less 0.5 brake_release_delay : brake_release | the motor starts against a closed brake
        more 0.6 {_LOAD} : acceleration lift descent peak_torque | more load asks for more current
        other 0.5 {_MOUNTING} : acceleration lift descent peak_torque | gravity pulls otherwise
        either 0.5 {_GEARS} : acceleration lift descent peak_torque | the same command is another torque at the motor
        less 0.5 mechanics.efficiency : acceleration lift descent peak_torque | more of the torque is lost on its way
        more 0.4 duty : peak_torque | the duty asks for more current
        less 0.8 motor.rated_current motor.max_current | the motor bears less current
        other 0.8 motor.code | the drive controls another motor than is fitted
        other 0.9 encoder.single_turn_bits | the current turns at the wrong angle
        on 0.8 brake.fitted | nobody opens the brake that was fitted
        more 0.5 brake.release_time : brake_release | the motor starts against a closed brake
        other 0.9 noted.direction | field and rotor do not agree
        other 0.4 noted.brake | the brake may not open
    """,
    (0x2350, 0x4300, 0x4310, 0x8311): f"""
        either 1 {_RATINGS} | the overload model takes it for what the motor bears
        less 1 motor_temperature_limit motor_thermal_time_constant motor_overload_warning | the supervision answers sooner
        more 0.8 {_TORQUE} | the motor may be loaded more
        more 0.7 profile_acceleration profile_deceleration max_acceleration : rms_torque | steeper ramps heat the motor
        less 0.6 acceleration_time deceleration_time | a shorter ramp heats the motor
        more 0.6 {_VL_UP} {_VL_DOWN} | a steeper ramp heats the motor
        more 0.4 profile_velocity @ profile speed : rms_torque | more speed, more loss
        more 0.4 max_profile_velocity @ commanded speed : rms_torque | more speed, more loss
        more 0.7 max_frequency | a pump or a fan takes power with the cube of its speed
        either 0.6 motor_rated_voltage rated_frequency | a field that is too weak or too strong takes more current
        either 0.4 torque_offset | the motor works against it wherever the loop does not make up for it
        more 0.6 velocity_gain : phase | a loop that shakes heats the motor
        more 0.5 position_gain : loops_apart | a loop that shakes heats the motor
        less 0.5 velocity_integral_time : phase | a loop that shakes heats the motor
        other 0.9 brake_used | the motor works against a closed brake, or holds a load all day
        less 0.7 brake_release_delay : brake_release | the motor starts against a closed brake
        either 0.5 switching_frequency | faster switching heats the drive, slower switching leaves the motor more ripple
        more 0.5 boost_voltage | more voltage at low frequency heats a motor that turns slowly
        other 0.9 {_COMMUTATION} | the same torque takes more current
        either 0.5 {_SCALE} | the same command is another way and speed at the motor
        more 0.8 {_LOAD} : rms_torque | more load takes more current
        other 0.7 {_MOUNTING} : rms_torque | gravity pulls otherwise
        either 0.6 {_GEARS} : rms_torque | the same command is another torque at the motor
        less 0.6 mechanics.efficiency : rms_torque | more of the torque is lost on its way
        more 0.9 duty : rms_torque | the duty takes more out of the motor
        less 0.9 motor.rated_torque motor.rated_current : rms_torque | the motor bears less for long
        other 0.6 motor.code | another motor bears another load
        on 0.9 brake.fitted | the motor works against a brake that nobody opens
        more 0.7 brake.release_time : brake_release | the motor starts against a closed brake
        other 0.5 noted.brake | the motor may work against a closed brake
    """,
    (0x7121,): f"""
        off 1 brake_used | the axis stands against a closed brake
        less 0.9 brake_release_delay : brake_release | the motor starts against a closed brake
        other 0.8 digital_output_function=5 digital_outputs_mask | it decides whether the brake is opened
        less 0.8 {_TORQUE} : hold lift acceleration peak_torque | too little torque to move the load
        less 0.6 motor_rated_torque : hold lift acceleration peak_torque | every torque limit rests on it
        less 0.6 motor_rated_current | every current limit rests on it
        either 0.5 torque_offset | the motor sets out from another torque than the load asks for
        other 0.9 {_COMMUTATION} | the motor gives no torque however much current flows
        less 0.6 boost_voltage | too little voltage to break away
        outward 0.7 {_SOFT_LIMITS} : limits_in_stroke | the axis may run into its end
        off 0.6 software_position_limits_used | the axis may run into its end
        shift 0.7 home_offset encoder_absolute_offset | the ends lie elsewhere than the drive believes
        shift 0.7 {_SCALE} | the axis goes another way than it is told, perhaps into its end
        other 0.5 homing_method digital_input_function=3,4 digital_input_inverted=3,4 | the axis may run into its end
        more 0.4 profile_acceleration max_acceleration : acceleration peak_torque | steeper ramps ask for more torque
        less 0.4 acceleration_time | a shorter ramp asks for more torque
        more 0.8 {_LOAD} : hold lift acceleration peak_torque | more load takes more torque to move
        other 0.8 {_MOUNTING} : hold lift acceleration peak_torque | gravity pulls otherwise
        either 0.7 {_GEARS} : hold lift acceleration peak_torque | the same torque of the motor is another push
        less 0.6 mechanics.efficiency : hold lift acceleration peak_torque | a transmission that binds eats the torque
        less 0.7 motor.rated_torque motor.max_torque : hold lift acceleration peak_torque | the motor has less torque
        other 0.6 motor.code | another motor gives another torque
        either 0.7 {_ROOM} : limits_in_stroke stop_room | the axis may run into its end
        other 0.8 encoder.single_turn_bits | the motor gives no torque at a wrong angle
        on 1 brake.fitted | nobody opens the brake that was fitted
        more 0.9 brake.release_time : brake_release | the motor starts against a closed brake
        other 0.8 noted.brake | the brake may not open
        other 0.7 noted.direction | field and rotor do not agree
    """,
    (0x3210, 0x7110): _DC_LINK,
    (0x7111, 0x7112): f"""{_DC_LINK}
        less 1 braking_resistor_resistance supply.resistor | a smaller resistance draws more current than the chopper may bear
    """,
    (0x3100, 0x3110, 0x3120, 0x3130, 0x3220): f"""
        other 1 supply_phases : undervoltage | the drive expects another feed
        more 1 undervoltage_threshold : undervoltage | the drive trips at a higher voltage
        either 0.9 supply_voltage : undervoltage | the drive expects another voltage
        less 0.6 braking_resistor_threshold : chopper_above_mains | a resistor that is on all the time pulls the link down
        more 0.4 profile_acceleration max_acceleration max_torque max_current | more power at once pulls the link down
        less 0.4 acceleration_time | more power at once pulls the link down
        other 1 supply.phases : undervoltage | the feed is another one
        less 0.9 supply.voltage : undervoltage | the feed has a lower voltage
        less 0.4 supply.dc_link_capacitance | the DC link bridges less
        more 0.3 {_LOAD} | more load takes more power at once
        other 0.8 noted.supply | the feed is another one
        more 0.3 profile_velocity @ profile speed | more speed takes more power
        more 0.3 max_profile_velocity @ commanded speed | more speed takes more power
    """,
    (0x4200, 0x4210, 0x4110): f"""
        more 0.9 switching_frequency | more switching, more loss in the drive
        more 0.7 {_TORQUE} | more current, more loss
        more 0.5 profile_acceleration profile_deceleration : rms_torque | steeper ramps, more loss
        more 0.4 velocity_gain : phase | a loop that shakes takes current all the time
        off 0.5 brake_used | the motor works against a closed brake
        more 0.5 {_LOAD} : rms_torque | more load takes more current
        more 0.6 duty : rms_torque | the duty takes more current
    """,
    (0x5440, 0x5441, 0x5442): f"""
        other 1 digital_input_function=3,4 digital_input_inverted=3,4 | it decides which input is the over-travel switch, and when it is open
        outward 0.8 {_SOFT_LIMITS} | the limit in front of the switch moved towards it
        off 0.8 software_position_limits_used | no limit stops the axis in front of the switch
        shift 0.8 home_offset encoder_absolute_offset | every position lies elsewhere
        other 0.9 polarity encoder_direction | the axis runs the other way
        other 0.7 overtravel_reaction | it decides what the switch does
        other 0.7 homing_method | home is found elsewhere, or overrun
        shift 0.8 {_SCALE} | the same command goes another way
        less 0.5 digital_input_filter_time | contacts that bounce are believed sooner
        less 0.5 profile_deceleration quick_stop_deceleration : stop_room | a stop takes a longer way
        more 0.4 profile_velocity @ profile speed : stop_room | a stop takes a longer way
        more 0.4 max_profile_velocity @ commanded speed : stop_room | a stop takes a longer way
        more 0.4 max_motor_speed homing_switch_search_speed : stop_room | a stop takes a longer way
        shift 0.8 {_GEARS} encoder.single_turn_bits | the same command goes another way
        other 0.5 {_ROOM} : stop_room | the ends of the axis stand elsewhere, and its switches perhaps with them
        more 0.4 {_LOAD} : stop_room | a stop takes a longer way
        other 0.4 {_MOUNTING} : stop_room | a stop takes another way
        other 1 noted.over_travel | the switch is wired or set otherwise
        other 0.7 noted.direction noted.scaling | controller and drive do not mean the same by a command
    """,
    (0x8600, 0x8612): f"""
        inward 0.9 {_SOFT_LIMITS} min_position_range_limit max_position_range_limit | the axis is stopped earlier
        on 1 software_position_limits_used | the limits act now
        shift 0.9 home_offset encoder_absolute_offset | every position lies elsewhere
        shift 0.9 {_SCALE} | the same command goes another way
        other 0.8 homing_method | home is found elsewhere
        other 1 polarity encoder_direction | the axis runs the other way
        other 0.5 digital_input_function=3,4,5 digital_input_inverted=3,4,5 | it decides where home is found
        more 0.3 homing_switch_search_speed homing_zero_search_speed | home is overrun
        less 0.3 profile_deceleration quick_stop_deceleration : stop_room | a stop takes a longer way
        more 0.3 profile_velocity @ profile speed : stop_room | a stop takes a longer way
        more 0.3 max_profile_velocity @ commanded speed : stop_room | a stop takes a longer way
        more 0.3 max_motor_speed : stop_room | a stop takes a longer way
        shift 0.9 {_GEARS} encoder.single_turn_bits | the same command goes another way
        more 0.3 {_LOAD} : stop_room | a stop takes a longer way
        other 0.8 noted.direction noted.scaling | controller and drive do not mean the same by a command
    """,
    (0x7300, 0x7305): """
        other 1 encoder_type | the drive reads another encoder than is fitted
        other 1 encoder_single_turn_bits position_encoder_increments position_encoder_motor_revolutions velocity_encoder_increments additional_encoder_increments | the drive counts another encoder than is fitted
        other 0.8 encoder_multi_turn_bits velocity_sensor_selection | the drive reads another encoder than is fitted
        other 0.4 encoder_direction commutation_offset motor_pole_pairs | the encoder and the field do not agree
        more 0.5 max_motor_speed max_profile_velocity | signals come faster than the input may bear
        shift 0.3 encoder_absolute_offset | the absolute reference is another
        other 0.2 polarity | the encoder and the command do not agree
        other 1 encoder.single_turn_bits | another encoder is fitted
        other 0.8 encoder.multi_turn_bits | another encoder is fitted
        other 0.5 motor.code | another motor brings another encoder
        other 0.7 noted.direction | cables of motor and encoder were changed
    """,
    (0x7122,): f"""
        other 1 {_COMMUTATION} | the encoder and the field do not agree
        other 0.9 motor_type encoder_type | the drive controls another motor than is fitted
        either 0.8 encoder_single_turn_bits position_encoder_increments | the field turns another angle than the rotor
        either 0.5 {_RATINGS} motor_winding_resistance motor_winding_inductance | the motor's model is another
        other 0.9 motor.code | another motor is fitted
        other 0.8 encoder.single_turn_bits | another encoder is fitted
        other 0.9 noted.direction | field and rotor do not agree
    """,
    (0x8300, 0x8400): f"""
        other 1 {_COMMUTATION} | the speed loop works the wrong way or without torque
        other 0.9 velocity_sensor_selection encoder_type | speed is taken from another encoder
        less 0.9 max_motor_speed max_frequency vl_velocity_max_amount max_slippage velocity_window | a lower limit trips sooner
        less 0.5 velocity_window_time velocity_threshold_time | a shorter time lets less pass
        either 0.8 {_SCALE} | the same command is another speed at the motor
        less 0.8 {_TORQUE} : acceleration lift peak_torque | with less torque the axis cannot keep its speed
        less 0.7 motor_rated_torque : acceleration lift peak_torque | every torque limit rests on it
        less 0.7 motor_rated_current | every current limit rests on it
        either 0.6 torque_offset | the load pulls or pushes until the loop has made up for it
        more 0.7 profile_velocity @ profile speed : motor_speed | more speed is asked for
        more 0.7 max_profile_velocity @ commanded speed : motor_speed | more speed is asked for
        either 0.8 velocity_gain : phase | the speed loop answers differently
        either 0.6 velocity_integral_time velocity_filter_time torque_filter_time : phase | the speed loop answers differently
        either 0.6 notch_filter_frequency notch_filter_bandwidth notch_filter_depth | a resonance that is not damped shakes the axis
        either 0.6 load_inertia_ratio | the loop is tuned for another load
        more 0.5 profile_acceleration max_acceleration : acceleration peak_torque | steeper ramps ask for more torque
        less 0.5 acceleration_time | a shorter ramp asks for more torque
        off 0.8 brake_used | the axis runs against a closed brake
        other 0.6 modes_of_operation | another mode has another supervision of speed
        more 0.8 {_LOAD} : acceleration lift peak_torque phase | more load asks for more torque, and for other gains
        other 0.7 {_MOUNTING} : acceleration lift peak_torque | gravity pulls otherwise
        either 0.8 {_GEARS} : acceleration lift peak_torque motor_speed | the same command is another torque and speed at the motor
        less 0.5 mechanics.efficiency : acceleration lift peak_torque | more of the torque is lost on its way
        more 0.4 duty : peak_torque | the duty asks for more torque
        less 0.7 motor.rated_torque motor.max_torque : acceleration lift peak_torque | the motor has less torque
        less 0.7 motor.max_speed : motor_speed | the motor cannot turn as fast
        other 0.7 motor.code | another motor has other torque and other gains
        other 0.9 encoder.single_turn_bits | speed is counted wrong
        on 0.8 brake.fitted | nobody opens the brake that was fitted
        other 0.9 noted.direction | field and rotor do not agree
    """,
    (0x7500, 0x8100, 0x8200, 0x8700): """
        other 1 node_address station_alias bit_rate process_data_in_size process_data_out_size | controller and drive must agree on it
        less 0.9 consumer_heartbeat_time guard_time life_time_factor fieldbus_timeout | a shorter time lets less pass
        less 0.8 missed_update_limit | fewer missed set points are let pass
        either 0.7 update_interval task_period communication_cycle_period interpolation_time_period interpolation_time_index | drive and controller work out of step
        less 0.5 synchronous_window_length | set points count as late sooner
        other 0.4 abort_connection_option_code | it decides what a lost controller does
        more 0.2 producer_heartbeat_time | the controller waits for it, the drive does not
        other 0.9 noted.link | controller and drive must agree on it
    """,
}


def read_weights(themes: Mapping[tuple[int, ...], str]) -> dict[int, dict[str, Weight]]:
    """Weights by standard error code, then by role, of rows such as those above."""
    found: dict[int, dict[str, Weight]] = {}
    for codes, rows in themes.items():
        weights: dict[str, Weight] = {}
        for row in filter(None, map(str.strip, rows.splitlines())):
            weights |= _row(row)
        found |= dict.fromkeys(codes, weights)
    return found


def _row(row: str) -> dict[str, Weight]:
    columns, _, reason = row.partition(" | ")
    columns, _, margins = columns.partition(" : ")
    acting, _, fact = columns.partition(" @ ")
    way, weight, *names = acting.split()
    found = {}
    for name in names:
        role, _, functions = name.partition("=")
        found[role] = Weight(
            float(weight), way, tuple(margins.split()), reason.strip(), fact,  # type: ignore[arg-type]
            frozenset(map(int, filter(None, functions.split(",")))),
        )  # fmt: skip
    return found


WEIGHTS: dict[int, dict[str, Weight]] = read_weights(_THEMES)
"""Weights by standard error code, then by role."""

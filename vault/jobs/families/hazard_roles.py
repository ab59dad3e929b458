"""Roles that no score may give: where one is wrong, a hazard is missed or made up."""

from __future__ import annotations

from vault.meaning.classes import RULED
from vault.meaning.consequences import CONSEQUENCES, rank, usual_consequence
from vault.meaning.protections import protection_of
from vault.model import roles
from vault.model.protecting_roles import protects

_EXPLAINED = """
    acceleration_time deceleration_time end_velocity jog_velocity
    vl_acceleration_delta_speed vl_acceleration_delta_time vl_deceleration_delta_speed
    vl_deceleration_delta_time vl_velocity_min_amount min_frequency boost_voltage
    voltage_frequency_pattern modes_of_operation positioning_option_code
    min_position_range_limit max_position_range_limit encoder_type encoder_absolute_offset
    homing_time_out torque_offset node_address station_alias
    """
"""What an explainer may call a hazard, by what it changes to."""
_RESTED_ON = """
    motor_type profile_jerk_use update_interval communication_cycle_period
    interpolation_time_period interpolation_time_index position_loop_cycle velocity_loop_cycle
    notch_filter_frequency notch_filter_bandwidth notch_filter_depth
    """
"""What a margin that protects rests on, beside what protects by itself."""
_TAKEN_FOR = """
    velocity_threshold homing_switch_search_speed homing_zero_search_speed homing_acceleration
    braking_resistor_power load_inertia_ratio torque_feed_forward_inertia motor_overload_warning
    motor_rated_power motor_rated_speed motor_max_speed
    """
"""What trips, set speeds and other ratings are easily taken for: figures would rest on them."""
_FURTHER = frozenset(f"{_EXPLAINED} {_RESTED_ON} {_TAKEN_FOR}".split())
_HARMLESS_OF_CONTROLLER = frozenset(
    [
        "controller_task_priority",
        "controller_data_size_in",
        "controller_data_size_out",
        "controller_max_jerk",
        "controller_move_jerk",
        "controller_stop_jerk",
        "controller_homing_acceleration",
    ]
)
"""Of the controller's side all others move, stop, limit or watch the axis, or are held against
what the drive has: a wrong one would hide that the two sides contradict each other."""


def needs_confirmation(role: str) -> bool:
    """Whether a change of the role can be a hazard, so that a person must have said it is that one.

    `name.2` is as `name`; a role that nobody knows needs it too.
    """
    known = roles.find(role)
    if known is None:
        return True
    return (
        protects(known.name)
        or protection_of(known.name) is not None
        or known.name in RULED
        or known.name in _FURTHER
        or (known.group == roles.CONTROLLER and known.name not in _HARMLESS_OF_CONTROLLER)
        or (usual_consequence(known) == "hazard" and not known.volatile)
    )


def stake(role: str) -> int:
    """How much depends on a role being right, from 1: to sort what a person is to confirm."""
    known = roles.find(role)
    usual = len(CONSEQUENCES) - rank(usual_consequence(known))
    hazard = len(CONSEQUENCES) if needs_confirmation(role) else 0
    return usual + hazard + (known is not None and known.safety)

"""Numbers of a set that are judged by what they do, and by nothing else: one row each.

What is off, or gone, is judged by its explainer before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Protection:
    """How a number is judged.

    `through` is the fact of what it lets through until the axis stands; `worse` is the direction
    that protects less where that cannot be told; `margin` has the last word where it is known, or
    has no sense; `zero_is_none`: nought may stand for none, or for off.
    """

    through: str | None = None
    worse: Literal["more", "less"] | None = None
    margin: str | None = None
    zero_is_none: bool = False


_TRIP = "way of a following error trip"
_LINK, _QUICK, _FAULT = "way when the link is lost", "way of a quick stop", "way of a fault stop"
_PLAIN, _NONE_AT_ZERO = Protection(), Protection(zero_is_none=True)
_OF_LINK = Protection(_LINK, "more", zero_is_none=True)

PROTECTIONS: dict[str, Protection] = {
    # monitors and how long they wait
    "following_error_window": Protection(_TRIP, "more", zero_is_none=True),
    "following_error_time_out": Protection(_TRIP, "more"),
    "following_error_warning": _NONE_AT_ZERO,
    "fieldbus_timeout": _OF_LINK,
    "consumer_heartbeat_time": _OF_LINK,
    "guard_time": _OF_LINK,
    "life_time_factor": _OF_LINK,
    "missed_update_limit": _OF_LINK,
    "digital_input_filter_time": Protection(_QUICK, "more"),
    "stop_time_limit": _NONE_AT_ZERO,
    "velocity_window": _PLAIN,
    "velocity_window_time": _PLAIN,
    "motor_temperature_limit": _NONE_AT_ZERO,
    # ramps of stops, and speeds that they begin at
    "quick_stop_deceleration": Protection(_QUICK, "less", zero_is_none=True),
    "max_deceleration": Protection(_QUICK, "less", zero_is_none=True),
    "profile_deceleration": Protection(_FAULT, zero_is_none=True),
    "profile_jerk": _NONE_AT_ZERO,
    "motion_profile_type": _PLAIN,
    "max_motor_speed": Protection(_QUICK, zero_is_none=True),
    "max_profile_velocity": _NONE_AT_ZERO,
    "vl_velocity_max_amount": _NONE_AT_ZERO,
    "max_frequency": _NONE_AT_ZERO,
    "profile_velocity": _PLAIN,
    "min_software_position_limit": _PLAIN,
    "max_software_position_limit": _PLAIN,
    # forces, brake, loops, supply
    "max_torque": _PLAIN,
    "positive_torque_limit": _PLAIN,
    "negative_torque_limit": _PLAIN,
    "max_current": _PLAIN,
    "brake_apply_delay": Protection(worse="less", margin="brake_apply"),
    "brake_torque": Protection(worse="less", margin="brake_hold"),
    "position_gain": _NONE_AT_ZERO,
    "velocity_gain": _NONE_AT_ZERO,
    "velocity_integral_time": _PLAIN,
    "torque_filter_time": _PLAIN,
    "velocity_filter_time": _PLAIN,
    "braking_resistor_threshold": _PLAIN,
    "dc_link_overvoltage_threshold": _PLAIN,
}
"""By role; a numbered one (`name.2`) is judged as the first."""


def protection_of(role: str) -> Protection | None:
    """How the number of a role is judged; None where it is its explainer's to say."""
    return PROTECTIONS.get(role.partition(".")[0])

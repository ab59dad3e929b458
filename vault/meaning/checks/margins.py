"""Margins below 1: one rule each, under the name that people accept findings by."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.behave import load_themes, margin_of
from vault.behaviour.facts import MARGINS
from vault.behaviour.scale import travel_ratio
from vault.behaviour.stop import COASTS
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, Rule, rule
from vault.meaning.checks.sources import codes
from vault.meaning.classes import MOST_TRAVEL_ERROR
from vault.meaning.consequences import OF_THEME
from vault.meaning.margin_sentences import below

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin, MarginRule
    from vault.meaning.axis_view import AxisView

_NAMES = {
    "stop_room": "room_to_stop", "hold": "torque_limit", "acceleration": "ramp_torque",
    "brake_apply": "brake", "brake_hold": "brake_torque", "window": "window_and_lag",
    "window_profile": "window_and_lag",
}  # fmt: skip
"""Names of before there were margins; those of the others are the margins' own."""
_SHARED = ("torque_limit", "brake")
"""Names that other rules complain under too."""
_ELSEWHERE = frozenset(
    {"motor_speed", "machine_speed", "absolute_range", "limits_in_stroke", "inertia"}
)
"""Margins that a rule with more to say looks after, or that are no fault by themselves."""
_TOLD_BY = {
    "window": ("window_profile",),
    "fault_room": ("stop_room",),
    "link_room": ("stop_room", "fault_room"),
    "trip_room": ("stop_room", "fault_room", "link_room"),
}
"""Margins that tell the same room, or the same window, already."""
_OF_MOTION = ("speed", "stop", "following", "energy", "safety")
_SPEED = ("max_motor_speed",)
_LIMITS = ("max_torque", "positive_torque_limit", "negative_torque_limit", "max_current")
_ENDS = ("min_software_position_limit", "max_software_position_limit")
_SUPERVISION = ("fieldbus_timeout", "missed_update_limit", "consumer_heartbeat_time", "guard_time")
_WINDOW = ("following_error_window", "position_gain", "velocity_feed_forward")
LOOK_AT: dict[str, tuple[str, ...]] = {
    "motor_speed": ("max_profile_velocity", "motor_max_speed", *_SPEED),
    "counts": ("position_encoder_increments", "gear_ratio_motor_revolutions", "feed_constant_feed"),
    "hold": _LIMITS, "lift": _LIMITS, "acceleration": ("profile_acceleration", *_LIMITS),
    "descent": ("quick_stop_deceleration", *_LIMITS),
    "stop_room": ("quick_stop_deceleration", "quick_stop_option_code", *_SPEED, *_ENDS),
    "fault_room": ("fault_reaction_option_code", "quick_stop_deceleration", *_SPEED, *_ENDS),
    "link_room": (*_SUPERVISION, "abort_connection_option_code", *_SPEED, *_ENDS),
    "trip_room": ("following_error_window", "following_error_time_out", *_SPEED, *_ENDS),
    "stop_time": ("stop_time_limit", "quick_stop_deceleration", *_SPEED),
    "window_profile": (*_WINDOW, "profile_velocity"),
    "window": (*_WINDOW, "max_profile_velocity"),
    "warning": ("following_error_warning", "position_gain", "max_profile_velocity"),
    "rms_torque": ("motor_rated_torque",), "peak_torque": _LIMITS,
    "chopper_above_mains": ("braking_resistor_threshold", "supply_voltage"),
    "trip_above_chopper": ("dc_link_overvoltage_threshold", "braking_resistor_threshold"),
    "trip_above_mains": ("dc_link_overvoltage_threshold", "supply_voltage"),
    "undervoltage": ("undervoltage_threshold", "supply_voltage"),
    "speed_torque": ("supply_voltage", "motor_torque_constant"),
    "duty_current": ("drive_rated_current", "motor_rated_current", "supply_phases"),
    "notch": ("notch_filter_frequency", "notch_filter_bandwidth"),
    "stop_energy": ("braking_resistor_used", "quick_stop_deceleration", *_SPEED),
    "descent_energy": ("braking_resistor_used",),
    "resistor_peak": ("braking_resistor_resistance", "quick_stop_deceleration", *_SPEED),
    "resistor_energy": ("braking_resistor_energy", *_SPEED),
    "resistor_power": ("braking_resistor_power",),
    "brake_hold": ("brake_torque",), "brake_apply": ("brake_apply_delay",),
    "brake_release": ("brake_release_delay",), "drop_room": (*_SPEED, *_ENDS),
    "loops_apart": ("velocity_gain", "position_gain"),
    "phase": ("velocity_gain", "velocity_integral_time", "torque_filter_time"),
    "position_phase": ("position_gain", "velocity_gain", "velocity_integral_time"),
    "safe_stop_delay": ("safe_stop_delay", "quick_stop_deceleration"),
}  # fmt: skip
"""Where one looks first, of all that a margin rests on."""


def _is_below(view: AxisView, name: str) -> bool:
    found = margin_of(view.state, MARGINS[name])
    return found is not None and found.ratio is not None and found.ratio < 1


def _only_coasts(view: AxisView, found: Margin) -> bool:
    """Whether a lying axis is let go, where it is watched all the same."""
    return COASTS in found.basis and not view.is_vertical


def _is_off_scale(view: AxisView) -> bool:
    found = view.state.asked(travel_ratio)
    return found is not None and abs(found.value - 1) > MOST_TRAVEL_ERROR


def _looks(view: AxisView, found: Margin) -> tuple[str, ...]:
    roles = [role for role in LOOK_AT.get(found.name, ()) if role in found.rests_on]
    places = dict.fromkeys(
        f"axis.yaml: {key.partition('.')[0]}" for key in found.rests_on
        if "." in key and not key.partition(".")[2].isdecimal() and _is_recorded(view, key)
    )  # fmt: skip
    return (*codes(view, *roles), *places)


def _is_recorded(view: AxisView, key: str) -> bool:
    return view.state.record(key) is not None


def complaint(view: AxisView, wanted: MarginRule) -> Iterator[Complaint]:
    """What there is to say of a margin below 1, where nothing says it better."""
    found = margin_of(view.state, wanted)
    if found is None or found.ratio is None or found.ratio >= 1:
        return
    if any(_is_below(view, name) for name in _TOLD_BY.get(found.name, ())):
        return
    if found.theme in _OF_MOTION and _is_off_scale(view):
        return  # ways and speeds are not what the set says: that is told, and comes first
    protects = found.kind == "protects"
    if found.name in ("fault_room", "link_room", "trip_room") and _only_coasts(view, found):
        return  # as many drives do; the axis lies, and friction stops it somewhere
    may_be_more = found.bound in ("unknown", "at_least")
    if may_be_more and not protects and found.theme not in ("energy", "heat"):
        return  # of those two losses alone are open, or what the sentence says
    yield Complaint(
        _NAMES.get(found.name, found.name),
        "hazard" if protects else OF_THEME[found.theme],
        below(found, view.state),
        _looks(view, found),
        tuple(_figures(found)),
    )


def _figures(found: Margin) -> Iterator[Finding]:
    has, _, needs = found.basis.partition(" against ")
    for words, value, basis in (("have", found.have, has), ("need", found.need, needs)):
        if value is not None and not isinf(value):
            yield Finding(f"{found.name}: {words}", f"{value:.9g}", found.unit, basis)


def _rule_of(name: str, wanted: list[MarginRule]) -> Rule:
    def check(view: AxisView) -> Iterator[Complaint]:
        for one in wanted:
            yield from complaint(view, one)

    check.__name__ = f"margin_{name}" if name in _SHARED else name
    check.__doc__ = f"{'; '.join(one.title for one in wanted)}."
    return rule(check)


load_themes()
_by_name: dict[str, list[MarginRule]] = {}
for _wanted in MARGINS.values():
    if _wanted.name not in _ELSEWHERE:
        _by_name.setdefault(_NAMES.get(_wanted.name, _wanted.name), []).append(_wanted)
for _name, _told in _by_name.items():
    _rule_of(_name, _told)

"""The names of the rules of `check` in words, for pages where their code stands beside them."""

from __future__ import annotations

WORDS = {
    "brake": "brake of a load that hangs",
    "counts": "counts of the travel in 32 bits",
    "descent": "torque to brake a descent",
    "drop_room": "room for a drop without power",
    "fault_room": "room for the stop of a fault",
    "lift": "torque to lift",
    "limits_off": "software limits off",
    "link_room": "room to stop without the controller",
    "margin_brake": "closing time of the brake",
    "margin_floor": "floor under a margin",
    "margin_torque_limit": "torque limit and hanging load",
    "notch": "width of the notch filter",
    "own_range": "value outside its own range",
    "phase": "phase margin of the velocity loop",
    "position_phase": "phase margin of the position loop",
    "rms_torque": "r.m.s. torque of the duty",
    "trip_room": "room for a runaway",
    "undervoltage": "under-voltage threshold",
    "warning": "following error warning",
}
"""Where the name alone says too little."""


def rule_words(rule: str) -> str:
    """What a rule looks at, in a few words."""
    return WORDS.get(rule) or rule.replace("_", " ")

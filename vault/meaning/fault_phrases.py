"""Margins as a mechanic would say them: what is how many times what, and was."""

from __future__ import annotations

from math import isfinite

from vault.meaning.findings import digits
from vault.model.written_form import marked

PHRASES = {
    "window": ("the window", "the lag at the commanded speed"),
    "window_profile": ("the window", "the lag at the profile speed"),
    "warning": ("the warning", "the lag at the commanded speed"),
    "acceleration": ("the torque limit", "what the acceleration ramp asks for"),
    "lift": ("the torque limit", "what lifting takes"),
    "hold": ("the torque limit", "what holding the load takes"),
    "descent": ("the torque limit", "what braking a descent takes"),
    "peak_torque": ("the torque limit", "the peak of the duty"),
    "rms_torque": ("the rated torque", "the r.m.s. torque of the duty"),
    "motor_speed": ("the motor's maximum speed", "the commanded speed"),
    "brake_release": ("the delay", "the time in which the brake opens"),
    "phase": ("the phase margin", "the 20 degrees below which a loop rings"),
    "loops_apart": ("the velocity loop", "four times the position loop"),
    "chopper_above_mains": ("the resistor's switch-on", "the DC link at high mains"),
    "trip_above_chopper": ("the trip", "the resistor's switch-on"),
    "trip_above_mains": ("the trip", "the DC link at high mains"),
    "undervoltage": ("the DC link at low mains", "the threshold"),
    "stop_energy": ("what the DC link takes", "the energy of a stop"),
    "descent_energy": ("what the DC link takes", "the energy of lowering"),
    "resistor_peak": ("the resistor's peak power", "that of a stop"),
    "resistor_energy": ("the resistor's pulse energy", "that of a stop"),
    "resistor_power": ("the resistor's power", "what the duty gives back"),
    "limits_in_stroke": ("the stroke", "the way between the limits"),
    "stop_room": ("the room behind the limits", "the way of a quick stop"),
}
"""Margins by name: what there is, and what it must cover."""


def margin_sentence(name: str, before: float, after: float) -> str:
    """A margin that moved: "the window is 3.0 times the lag instead of 30"."""
    have, need = PHRASES[name]
    was, now = times(before), times(after)
    if was == now:
        was, now = digits(before), digits(after)
    if not isfinite(before):
        return f"{have} is {now} times {need}, where nothing was asked of it"
    if not isfinite(after):
        return f"nothing is asked of {have} any more, which was {was} times {need}"
    return f"{have} is {now} times {need} instead of {was}"


def times(ratio: float) -> str:
    """A ratio for people: `0.45`, `3.0`, `30`."""
    if abs(ratio) >= 9.95:
        return marked(f"{ratio:,.0f}")
    if abs(ratio) >= 1.995:
        return marked(f"{ratio:.1f}")
    return marked(f"{ratio:.3g}" if abs(ratio) >= 0.95 else f"{ratio:.2g}")


def as_much(ratio: float) -> str:
    """What became of a size: `0.3 % more`, `2.0 times as much`."""
    if 0.9 < ratio < 1.1:
        return f"{percent(abs(ratio - 1))} {'more' if ratio > 1 else 'less'}"
    return f"{times(ratio)} times as much"


def percent(share: float) -> str:
    """A share for people: `0.33 %`, `310 %`."""
    return marked(f"{100 * share:.0f} %" if share >= 0.0995 else f"{100 * share:.2g} %")

"""Gains, feed-forward and filters of the control loops."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.following import steady_lag
from vault.meaning.findings import digits, figure, length_or_angle, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change


def ratio_of(change: Change) -> float | None:
    """After over before, None where one is missing or zero."""
    if change.left is None or change.right is None:
        return None
    before, after = change.left.value, change.right.value
    if isinstance(before, str) or isinstance(after, str) or not before or not after:
        return None
    if change.left_physical is not None and change.right_physical is not None:
        return float(change.right_physical.number() / change.left_physical.number())
    return float(after) / float(before) if change.left.unit == change.right.unit else None


@explains("position_gain", "velocity_feed_forward")
def position_loop(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Lag before and after, and whether the drive trips on it."""
    before, after = steady_lag(left, "profile_velocity"), steady_lag(right, "profile_velocity")
    velocity = right.physical("profile_velocity")
    if after is None or velocity is None:
        return None
    findings: list[Finding] = [
        figure("steady lag at profile speed", after[2], "(1 - f) v / Kv", like=velocity)
    ]
    text = (
        f"At the profile speed of {speed(after[0], velocity)} the axis lags "
        f"{length_or_angle(after[2], velocity)}"
    )
    if before is not None and before[2] != after[2]:
        text += f" instead of {length_or_angle(before[2], velocity)}"
    window = right.si("following_error_window")
    consequence = "dynamics"
    if window is not None and after[2] > window:
        text += (
            f", more than its window of {length_or_angle(window, velocity)}: it trips as it runs"
        )
    ratio = ratio_of(change)
    if change.shown.role == "position_gain" and ratio is not None:
        text += f". The position loop is {digits(ratio, 3)} times as fast"
        if ratio > 1:
            text += "; the velocity loop should stay about four times faster still"
    return Explanation(f"{text}.", consequence, tuple(findings))


@explains("velocity_gain", "current_gain")
def inner_gain(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Bandwidth goes with the gain."""
    ratio = ratio_of(change)
    if ratio is None:
        return None
    loop = "velocity" if str(change.shown.role).startswith("velocity") else "current"
    effect = (
        "stiffer, and nearer to ringing on the mechanics' resonance"
        if ratio > 1
        else "softer, and slower to settle"
    )
    finding = Finding(f"{loop} loop bandwidth ratio", digits(ratio, 6), "1", "gain after / before")
    return Explanation(
        f"The {loop} loop is about {digits(ratio, 3)} times as fast: {effect}.",
        "dynamics",
        (finding,),
    )


@explains("velocity_integral_time", "current_integral_time")
def integral(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A shorter integral time removes errors sooner and damps less."""
    ratio = ratio_of(change)
    if ratio is None:
        return None
    effect = (
        "errors go away more slowly, and the loop is calmer"
        if ratio > 1
        else "errors go away sooner, and the loop has less damping"
    )
    return Explanation(f"With this integral time {effect}.", "dynamics")


@explains("velocity_filter_time", "torque_filter_time", "position_filter_time")
def filter_time(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A filter delays; delay costs phase."""
    size = change.right_physical
    if size is None or size.kind != "time":
        return None
    seconds = float(size.number())
    if seconds <= 0:
        return Explanation("The filter is off: less delay, more noise.", "dynamics")
    corner = 1 / (2 * pi * seconds)
    return Explanation(
        f"The filter's corner is {digits(corner)} Hz; faster motion is damped and late.",
        "dynamics",
        (figure("corner frequency", corner, "1 / (2 pi T)", unit="Hz"),),
    )


@explains("notch_filter_frequency")
def notch(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A moved notch no longer covers the resonance it was set for."""
    before, after = change.left_physical, change.right_physical
    if after is None or not after.ratio:
        return Explanation("The notch filter is off: the resonance it damped is free.", "dynamics")
    if before is None or not before.ratio:
        return Explanation("A notch filter is set there.", "dynamics")
    shift = float(after.number() - before.number())
    return Explanation(
        f"The notch moved by {digits(shift)} Hz; a resonance at "
        f"{digits(float(before.number()))} Hz is not damped.",
        "dynamics",
        (figure("notch frequency", after, "the set"),),
    )

"""Gains, feed-forward and filters of the control loops."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.loops import velocity_bandwidth
from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.following import feed_forward, steady_lag
from vault.meaning.explainers.meanings import SPEED, WAY, of_kind, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.findings import digits, figure, length_or_angle, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

_APART = 4
"""The velocity loop should be so many times as fast as the position loop (common practice, no
source)."""


def ratio_of(change: Change) -> float | None:
    """After over before, None where one is missing or zero."""
    if change.left is None or change.right is None:
        return None
    before, after = change.left.value, change.right.value
    if isinstance(before, str) or isinstance(after, str) or not before or not after:
        return None
    sizes = change.left_physical, change.right_physical
    if sizes[0] is not None and sizes[1] is not None:
        alike = sizes[0].kind == sizes[1].kind
        return float(sizes[1].number() / sizes[0].number()) if alike else None
    return float(after) / float(before) if change.left.unit == change.right.unit else None


def velocity_loop(view: AxisView) -> float | None:
    """Bandwidth of the velocity loop in 1/s: gain over all that moves."""
    found = view.state.asked(velocity_bandwidth)
    return None if found is None else found.value


@explains("position_gain", "velocity_feed_forward")
def position_loop(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Lag before and after, whether the drive trips on it, and the loop inside."""
    role, ratio = str(change.shown.role), ratio_of(change)
    findings: list[Finding] = []
    said: list[str] = []
    if "." not in role:  # another set of gains acts at other times
        said += _lag(left, right, findings)
    if role.startswith("position_gain") and ratio is not None:
        said.append(f"The position loop is {digits(ratio, 3)} times as fast.")
    if role == "position_gain":
        said += _loops_apart(right, findings)
    return Explanation(" ".join(said), "dynamics", tuple(findings)) if said else None


def _lag(left: AxisView, right: AxisView, findings: list[Finding]) -> list[str]:
    before, after = steady_lag(left, "profile_velocity"), steady_lag(right, "profile_velocity")
    found = sized(right, "profile_velocity", SPEED)
    if after is None or found is None:
        return []
    like = axis_speed(right, found)
    findings.append(figure("steady lag at profile speed", after[2], "|1 - f| v / Kv", like=like))
    leads = feed_forward(right) > 1
    text = (
        f"At the profile speed of {speed(after[0], like)} the axis "
        f"{'leads by' if leads else 'lags'} {length_or_angle(after[2], like)}"
    )
    if before is not None and before[2] != after[2]:
        text += f" instead of {length_or_angle(before[2], like)}"
    window = sized(right, "following_error_window", WAY)
    if window is not None and after[2] > float(window.number()):
        limit = length_or_angle(float(window.number()), like)
        text += f", more than its window of {limit}: it trips as it runs"
    return [f"{text}."]


def _loops_apart(view: AxisView, findings: list[Finding]) -> list[str]:
    """Velocity loop over position loop, where either can be told."""
    inner, gain = velocity_loop(view), sized(view, "position_gain", ("gain",))
    if inner is None or gain is None or gain.ratio <= 0:
        return []
    times = inner / float(gain.number())
    findings.append(
        Finding("velocity loop over position loop", digits(times, 6), "1", "Kp / (J Kv)")
    )
    text = f"The velocity loop is {digits(times, 3)} times as fast as the position loop"
    if times < _APART:
        return [f"{text}; less than about {_APART} times tends to overshoot and to swing."]
    return [f"{text}, which is enough."]


@explains("velocity_gain", "current_gain")
def inner_gain(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Bandwidth goes with the gain over what it moves."""
    role, ratio = str(change.shown.role), ratio_of(change)
    is_velocity = role.startswith("velocity")
    loop, basis = "velocity" if is_velocity else "current", "gain after / before"
    if role == "velocity_gain":
        before, after = velocity_loop(left), velocity_loop(right)
        if before and after:
            ratio, basis = after / before, "Kp / J after / before"
        elif left.axis_text != right.axis_text:
            text = "How fast the loop is follows from what it moves, which is not recorded."
            return Explanation(text, "dynamics")
    if ratio is None:
        return None
    effect = (
        "stiffer, and nearer to ringing on the mechanics' resonance"
        if ratio > 1
        else "softer, and slower to settle"
    )
    findings = [Finding(f"{loop} loop bandwidth ratio", digits(ratio, 6), "1", basis)]
    said = [f"The {loop} loop is about {digits(ratio, 3)} times as fast: {effect}."]
    if role == "velocity_gain":
        said += _loops_apart(right, findings)
    return Explanation(" ".join(said), "dynamics", tuple(findings))


@explains("velocity_integral_time", "current_integral_time")
def integral(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A shorter integral time removes errors sooner and damps less."""
    ratio = ratio_of(change)
    if ratio is None:
        off = change.right is not None and change.right.value == 0
        text = "What a drive does with an integral time of nought, its manual must tell."
        return Explanation(text, "dynamics") if off else None
    effect = (
        "errors go away more slowly, and the loop is calmer"
        if ratio > 1
        else "errors go away sooner, and the loop has less damping"
    )
    return Explanation(f"With this integral time {effect}.", "dynamics")


@explains("velocity_filter_time", "torque_filter_time", "position_filter_time")
def filter_time(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A filter delays; delay costs phase."""
    size = of_kind(change.right_physical, ("time",))
    if size is None:
        return None
    time = float(size.number())
    if time <= 0:
        return Explanation("The filter is off: less delay, more noise.", "dynamics")
    corner = 1 / (2 * pi * time)
    return Explanation(
        f"The filter's corner is {digits(corner)} Hz; faster motion is damped and late.",
        "dynamics",
        (figure("corner frequency", corner, "1 / (2 pi T)", unit="Hz"),),
    )


@explains("notch_filter_frequency")
def notch(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A notch damps the one resonance that it is set for."""
    role = str(change.shown.role)
    before, after = _notch_at(left, role), _notch_at(right, role)
    if before is None and after is None:
        return Explanation("The notch filter is off.", "dynamics")
    if after is None:
        return Explanation(
            f"The notch filter is off: a resonance at {digits(before or 0)} Hz is not damped.",
            "dynamics",
        )
    finding = figure("notch frequency", after, "the set", unit="Hz")
    if before is None:
        text = f"A notch filter damps what swings at {digits(after)} Hz, and delays what is slower."
        return Explanation(text, "dynamics", (finding,))
    shift = abs(after - before)
    text = f"The two notches lie {digits(shift)} Hz apart"
    width = sized(right, role.replace("frequency", "bandwidth"), ("frequency",))
    if width is not None and shift <= float(width.number()) / 2:
        text += f", inside the width of {digits(float(width.number()))} Hz"
    else:
        text += f"; a resonance at {digits(before)} Hz is not damped"
    return Explanation(f"{text}.", "dynamics", (finding,))


def _notch_at(view: AxisView, role: str) -> float | None:
    """Where a notch filter acts, in Hz; None where it is off, as at nought or without depth."""
    size = sized(view, role, ("frequency",))
    depth = view.number(role.replace("frequency", "depth"))
    return None if size is None or size.ratio <= 0 or depth == 0 else float(size.number())

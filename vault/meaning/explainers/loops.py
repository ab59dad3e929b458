"""Gains, feed-forward and filters of the control loops."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.following import settling_time
from vault.behaviour.loops import corner_frequency, velocity_bandwidth
from vault.behaviour.mode import is_cyclic
from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.following import feed_forward, steady_lag
from vault.meaning.explainers.meanings import SPEED, WAY, instead_of, of_kind, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.findings import digits, figure, finding, length_or_angle, seconds, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

FASTER = "The position loop is {times} times as fast."
SETTLES = "After a profile move it takes at least {time}{instead} to come into its position window."
LAG = "At the {which} speed of {speed} the axis {lags} {distance}{instead}{trips}."
LAGS = {"ahead": "leads by", "behind": "lags"}
TRIPS = ", more than its window of {window}: it trips as it runs"
APART = "The velocity loop is {times} times as fast as the position loop{enough}."
ENOUGH = {
    True: ", which is enough",
    False: "; less than about {least} times tends to overshoot and to swing",
}
UNKNOWN = "How fast the loop is follows from what it moves, which is not recorded."
GAIN = "The {loop} loop is about {times} times as fast: {effect}."
EFFECT = {
    "stiffer": "stiffer, nearer to ringing",
    "softer": "softer, and slower to settle",
}
NOUGHT = "What a drive does with an integral time of nought, its manual must tell."
INTEGRAL = {
    "longer": "With this integral time errors go away more slowly, and the loop is calmer.",
    "shorter": "With this integral time errors go away sooner, and the loop has less damping.",
}
FILTER_OFF = "The filter is off: less delay, more noise."
FILTER = "Its corner is {frequency}."
NOTCH_OFF = "The notch filter is off{missing}."
MISSING = ": a resonance at {frequency} is not damped"
NOTCH = "It damps what swings there."
NOTCHES = "The two notches lie {distance} apart{damped}."
DAMPED = {
    "inside": ", inside the width of {width}",
    "outside": "; a resonance at {frequency} is not damped",
}

_PROFILE = ("profile_velocity", "profile")
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
    if role.startswith("position_gain") and ratio is not None and not said:
        said.append(FASTER.format(times=digits(ratio, 3)))
    if role == "position_gain":
        said += _loops_apart(right, findings)
    if "." not in role:
        said += _settling(left, right, findings)
    return Explanation(" ".join(said), "dynamics", tuple(findings)) if said else None


@explains("position_window")
def position_window(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """When a move counts as done."""
    findings: list[Finding] = []
    said = _settling(left, right, findings)
    return Explanation(" ".join(said), "travel", tuple(findings)) if said else None


def _settling(left: AxisView, right: AxisView, findings: list[Finding]) -> list[str]:
    """How long the axis takes into its window after a profile move, where that is known."""
    before, after = (view.state.asked(settling_time) for view in (left, right))
    if after is None or (before is not None and before.value == after.value):
        return []
    findings.append(finding("settling time", after))
    was = None if before is None else seconds(before.value)
    time = seconds(after.value)
    return [SETTLES.format(time=time, instead=instead_of(was, time))]


def _lag(left: AxisView, right: AxisView, findings: list[Finding]) -> list[str]:
    # Profile objects do not act in cyclic modes.
    role, which = ("max_profile_velocity", "maximum") if is_cyclic(right.state) else _PROFILE
    before, after = steady_lag(left, role), steady_lag(right, role)
    found = sized(right, role, SPEED)
    if after is None or found is None:
        return []
    like = axis_speed(right, found)
    findings.append(figure(f"steady lag at {which} speed", after[2], "|1 - f| v / Kv", like=like))
    text, trips = length_or_angle(after[2], like), ""
    window = sized(right, "following_error_window", WAY)
    if window is not None and after[2] > float(window.number()):
        trips = TRIPS.format(window=length_or_angle(float(window.number()), like))
    was = None if before is None else length_or_angle(before[2], like)
    lag = LAG.format(
        which=which,
        speed=speed(after[0], like),
        lags=LAGS["ahead" if feed_forward(right) > 1 else "behind"],
        distance=text,
        instead=instead_of(was, text),
        trips=trips,
    )
    return [lag]


def _loops_apart(view: AxisView, findings: list[Finding]) -> list[str]:
    """Velocity loop over position loop, where either can be told."""
    inner, gain = velocity_loop(view), sized(view, "position_gain", ("gain",))
    if inner is None or gain is None or gain.ratio <= 0:
        return []
    times = inner / float(gain.number())
    findings.append(
        Finding("velocity loop over position loop", digits(times, 6), "1", "Kp / (J Kv)")
    )
    enough = ENOUGH[times >= _APART].format(least=_APART)
    return [APART.format(times=digits(times, 3), enough=enough)]


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
            return Explanation(UNKNOWN, "dynamics")
    if ratio is None:
        return None
    effect = EFFECT["stiffer" if ratio > 1 else "softer"]
    findings = [Finding(f"{loop} loop bandwidth ratio", digits(ratio, 6), "1", basis)]
    said = [GAIN.format(loop=loop, times=digits(ratio, 3), effect=effect)]
    if role == "velocity_gain":
        said += _loops_apart(right, findings)
    return Explanation(" ".join(said), "dynamics", tuple(findings))


@explains("velocity_integral_time", "current_integral_time")
def integral(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A shorter integral time removes errors sooner and damps less."""
    ratio = ratio_of(change)
    if ratio is None:
        off = change.right is not None and change.right.value == 0
        return Explanation(NOUGHT, "dynamics") if off else None
    return Explanation(INTEGRAL["longer" if ratio > 1 else "shorter"], "dynamics")


@explains("velocity_filter_time", "torque_filter_time", "position_filter_time")
def filter_time(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A filter delays; delay costs phase."""
    size = of_kind(change.right_physical, ("time",))
    if size is None:
        return None
    time = float(size.number())
    if time <= 0:
        return Explanation(FILTER_OFF, "dynamics")
    corner = corner_frequency(time)
    finding = figure("corner frequency", corner, "1 / (2 pi T)", unit="Hz")
    return Explanation(FILTER.format(frequency=_hertz(corner)), "dynamics", (finding,))


@explains("notch_filter_frequency")
def notch(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A notch damps the one resonance that it is set for."""
    role = str(change.shown.role)
    before, after = _notch_at(left, role), _notch_at(right, role)
    if after is None:
        missing = "" if before is None else MISSING.format(frequency=_hertz(before))
        return Explanation(NOTCH_OFF.format(missing=missing), "dynamics")
    finding = figure("notch frequency", after, "the set", unit="Hz")
    if before is None:
        return Explanation(NOTCH, "dynamics", (finding,))
    shift = abs(after - before)
    width = sized(right, role.replace("frequency", "bandwidth"), ("frequency",))
    damped = DAMPED["outside"].format(frequency=_hertz(before))
    if width is not None and shift <= float(width.number()) / 2:
        damped = DAMPED["inside"].format(width=_hertz(float(width.number())))
    text = NOTCHES.format(distance=_hertz(shift), damped=damped)
    return Explanation(text, "dynamics", (finding,))


def _hertz(frequency: float) -> str:
    return f"{digits(frequency)} Hz"


def _notch_at(view: AxisView, role: str) -> float | None:
    """Where a notch filter acts, in Hz; None where it is off, as at nought or without depth."""
    size = sized(view, role, ("frequency",))
    depth = view.number(role.replace("frequency", "depth"))
    return None if size is None or size.ratio <= 0 or depth == 0 else float(size.number())

"""Following error: when the axis trips, and how far it may stray before it does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.following import feed_forward as share_fed_forward
from vault.behaviour.following import lag_at, position_gain
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.speed import axis_speed as axis_speed_of
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import SPEED, WAY, of_kind, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.findings import figure, is_linear, length_or_angle, seconds, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

_NO_MONITORING = 0xFFFF_FFFF
"""Following error window 6065h that switches monitoring off (CiA 402-2, from memory)."""

_SPEEDS = (("profile_velocity", "profile"), ("max_profile_velocity", "maximum"))
_MASKS = 10
"""A window of more lags than that hides trouble (common practice, no source)."""


def is_off(parameter: Parameter | None) -> bool:
    """Whether a window is one that never trips."""
    return parameter is not None and parameter.raw in (_NO_MONITORING, -1)


def steady_lag(view: AxisView, role: str) -> tuple[float, float, float] | None:
    """Speed, position gain and lag of a state at the speed of a role; None where not known.

    Gain in 1/s, speed in m/s or rad/s, lag |1 - f| v / Kv in m or rad, as behaviour has it; with
    more feed-forward than the whole the axis leads by it.
    """
    try:
        speed, gain = axis_speed_of(view.state, role), view.state.ask(position_gain)
        if speed is None or speed <= 0:
            return None
        return speed, gain, lag_at(view.state, speed).value
    except (Missing, DoesNotApply):
        return None


def feed_forward(view: AxisView) -> float:
    """Share of the speed that is fed forward, 1 for all of it."""
    return view.state.asked(share_fed_forward) or 0.0


@explains("following_error_window", "following_error_warning")
def window(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the window with the lag that the axis has anyway."""
    protects = change.shown.role == "following_error_window"
    worse = "hazard" if protects else "dynamics"
    if change.right is None:
        return Explanation("Without it the set gives no such limit.", worse)
    if is_off(change.right):
        text = "It is never reached: the axis may stray any way without a fault."
        return Explanation(text, "dynamics" if is_off(change.left) else worse)
    size, before = of_kind(change.right_physical, WAY), of_kind(change.left_physical, WAY)
    if size is None:
        return None
    if size.ratio <= 0:
        text = "Many drives take nought for 'off', some trip at once: the drive's manual must tell."
        return Explanation(text, worse)
    findings = [figure("following error window", size, "the set, in the unit of the axis")]
    said = _against_lag(right, size, findings, "trips" if protects else "warns")
    wider = before is not None and not is_off(change.left) and size.number() > before.number()
    if wider and protects:
        allowed = length_or_angle(float(size.number()), size)
        said.append(f"The axis may stray {allowed} from where it should be before it trips.")
    return Explanation(" ".join(said), worse if wider else "dynamics", tuple(findings))


def _against_lag(view: AxisView, size: Physical, findings: list[Finding], verb: str) -> list[str]:
    """The steady lag at both speeds, and what the window makes of it; speeds alike told once."""
    places: dict[str, list[str]] = {}
    known: list[float] = []
    for role, words in _SPEEDS:
        found, stated = steady_lag(view, role), sized(view, role, SPEED)
        if found is None or stated is None:
            continue
        velocity, gain, lag = found
        if is_linear(axis_speed(view, stated)) != is_linear(size):
            continue
        basis = f"|1 - f| v / Kv with v = {speed(velocity, size)} and Kv = {gain:.4g} 1/s"
        findings.append(figure(f"steady lag at {words} speed", lag, basis, like=size))
        if lag in known:
            continue
        known.append(lag)
        where = f"{length_or_angle(lag, size)} at the {words} speed of {speed(velocity, size)}"
        places.setdefault(_verdict(lag, float(size.number()), verb), []).append(where)
    return [f"The steady lag is {' and '.join(at)}: {what}." for what, at in places.items()]


def _verdict(lag: float, limit: float, verb: str) -> str:
    if lag > limit:
        return f"more than that, it {verb} as soon as the axis runs"
    if lag > 0.8 * limit:
        return f"close to that, it {verb} at times"
    if lag * _MASKS < limit:
        return "so wide a window hides a good deal"
    return "well inside"


@explains("following_error_time_out")
def time_out(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Say how far the axis goes while nobody looks."""
    after, before = (
        of_kind(side, ("time",)) for side in (change.right_physical, change.left_physical)
    )
    if change.right is None:
        return Explanation("Without it the set gives no such time.", "dynamics")
    if after is None:
        return None
    longer = before is not None and after.number() > before.number()
    if after.ratio <= 0:
        return Explanation("The drive trips as soon as the window is left.", "dynamics")
    text = f"The error may last {seconds(float(after.number()))} before the drive trips"
    findings: tuple[Finding, ...] = ()
    found = sized(right, "profile_velocity", SPEED)
    if found is not None and found.ratio > 0:
        velocity = axis_speed(right, found)
        way = float(velocity.number()) * float(after.number())
        findings = (figure("way in that time at profile speed", way, "v t", like=velocity),)
        text += f"; at profile speed the axis makes {length_or_angle(way, velocity)} in that time"
    return Explanation(f"{text}.", "hazard" if longer else "dynamics", findings)

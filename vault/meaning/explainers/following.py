"""Following error: when the axis trips, and how far it may stray before it does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import figure, length_or_angle, seconds, speed
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding


def steady_lag(view: AxisView, role: str) -> tuple[float, float, float] | None:
    """Speed, position gain and lag of a state at the speed of a role; None where not known.

    Gain in 1/s, speed in m/s or rad/s, lag (1 - f) v / Kv in m or rad.
    """
    velocity, gain = view.si(role), view.si("position_gain")
    if not velocity or not gain:
        return None
    forward = view.number("velocity_feed_forward") or 0
    share = min(max(float(forward) / 100, 0.0), 1.0)
    return velocity, gain, physics.lag(velocity, gain, share)


def _is_wider(change: Change) -> bool | None:
    before, after = change.left_physical, change.right_physical
    if before is None or after is None:
        return None
    return after.number() > before.number()


@explains("following_error_window", "following_error_warning")
def window(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the window with the lag that the axis has anyway."""
    size = change.right_physical
    wider = _is_wider(change)
    if size is None or wider is None:
        return None
    findings: list[Finding] = [
        figure("following error window", size, "the set, in the unit of the axis")
    ]
    said = []
    for role, words in (("profile_velocity", "profile"), ("max_profile_velocity", "maximum")):
        found = steady_lag(right, role)
        if found is None:
            continue
        velocity, gain, lag = found
        findings.append(
            figure(
                f"steady lag at {words} speed",
                lag,
                f"(1 - f) v / Kv with v = {speed(velocity, size)} and Kv = {gain:.4g} 1/s",
                like=size,
            )
        )
        said.append(_verdict(lag, size, f"at the {words} speed of {speed(velocity, size)}"))
    if wider:
        allowed = length_or_angle(float(size.number()), size)
        said.append(f"The axis may stray {allowed} from where it should be before it trips.")
    return Explanation(" ".join(said), "hazard" if wider else "dynamics", tuple(findings))


def _verdict(lag: float, window_size: Physical, where: str) -> str:
    limit = float(window_size.number())
    shown = length_or_angle(lag, window_size)
    if lag > limit:
        return f"The steady lag {where} is {shown}: the axis trips as soon as it runs."
    if lag > 0.8 * limit:
        return f"The steady lag {where} is {shown}: close to the window, it trips at times."
    if lag * 10 < limit:
        return f"The steady lag {where} is only {shown}: the window masks a good deal."
    return f"The steady lag {where} is {shown}, inside the window."


@explains("following_error_time_out")
def time_out(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Say how far the axis goes while nobody looks."""
    before, after = change.left_physical, change.right_physical
    if before is None or after is None:
        return None
    longer = after.number() > before.number()
    found = right.physical("profile_velocity")
    text = f"The error may last {seconds(float(after.number()))} before the drive trips"
    findings: tuple[Finding, ...] = ()
    if found is not None:
        way = float(found.number()) * float(after.number())
        findings = (figure("way in that time at profile speed", way, "v t", like=found),)
        text += f"; at profile speed the axis makes {length_or_angle(way, found)} in that time"
    return Explanation(f"{text}.", "hazard" if longer else "dynamics", findings)

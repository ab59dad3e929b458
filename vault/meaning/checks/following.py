"""The following error window against the lag that the axis has anyway."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.explainers.following import steady_lag
from vault.meaning.findings import digits, figure, length_or_angle, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def window_and_lag(view: AxisView) -> Iterator[Complaint]:
    """The window must be larger than the lag that the axis has anyway."""
    window = view.physical("following_error_window")
    found = steady_lag(view, "profile_velocity")
    if window is None or found is None:
        return
    velocity, gain, lag = found
    limit = float(window.number())
    places = codes(view, "following_error_window", "position_gain", "profile_velocity")
    findings = (figure("steady lag", lag, "(1 - f) v / Kv", like=window),)
    where = (
        f"At {speed(velocity, window)} and a gain of {digits(gain)} 1/s the axis lags "
        f"{length_or_angle(lag, window)}"
    )
    if lag > limit:
        yield Complaint(
            "window_and_lag",
            "dynamics",
            f"{where}, more than the window of {length_or_angle(limit, window)}: "
            "it trips as soon as it runs.",
            places,
            findings,
        )
    elif limit > 20 * lag > 0 or (lag == 0 and view.stroke and limit > view.stroke / 10):
        yield Complaint(
            "window_and_lag",
            "hazard",
            f"{where}; the window of {length_or_angle(limit, window)} is more than twenty times "
            "that: a jam is noticed late.",
            places,
            findings,
        )

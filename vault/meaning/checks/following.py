"""The following error window against the lag that the axis has anyway."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes, holds_position, stated
from vault.meaning.explainers.following import feed_forward, is_off, steady_lag
from vault.meaning.explainers.meanings import SPEED, WAY, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.findings import digits, figure, is_linear, length_or_angle, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Finding
    from vault.model.quantities import Physical

_WINDOW, _FORWARD = "following_error_window", "velocity_feed_forward"
_MASKS = {"profile": 20, "maximum": 10}
"""A window this many times the lag at every speed that is known notices a jam late (our judgement;
common practice is a few times the lag, no source)."""

_SPEEDS = {"profile": "profile_velocity", "maximum": "max_profile_velocity"}


@dataclass(frozen=True, slots=True)
class Lag:
    """Steady following error (m or rad) at a speed of the axis, with a position gain in 1/s."""

    size: float
    speed: float
    gain: float
    forward: float
    like: Physical
    words: str

    def sentence(self) -> str:
        """Where the axis lags how much, and why."""
        forward = f" and {digits(100 * self.forward)} % of feed-forward" if self.forward else ""
        return (
            f"At its {self.words} speed of {speed(self.speed, self.like)}, with a gain of "
            f"{digits(self.gain)} 1/s{forward}, the axis lags "
            f"{length_or_angle(self.size, self.like)}"
        )

    @property
    def finding(self) -> Finding:
        """The lag as a figure."""
        return figure(
            f"steady lag at {self.words} speed", self.size, "|1 - f| v / Kv", like=self.like
        )


def _lag_at(view: AxisView, words: str) -> Lag | None:
    """Lag at a speed of the set; None where speed, gain or the unit of the forward is not known."""
    role = _SPEEDS[words]
    stated, found, forward = sized(view, role, SPEED), steady_lag(view, role), view.find(_FORWARD)
    if stated is None or found is None:
        return None
    if forward is not None and forward.unit and sized(view, _FORWARD, ("ratio",)) is None:
        return None
    velocity, gain, lag = found
    return Lag(lag, velocity, gain, feed_forward(view), axis_speed(view, stated), words)


@rule
def window_and_lag(view: AxisView) -> Iterator[Complaint]:
    """Not so wide that nothing is noticed; that it is wider than the lag, a margin says."""
    window = sized(view, _WINDOW, WAY)
    if (
        window is None
        or window.ratio <= 0
        or not holds_position(view)
        or is_off(view.find(_WINDOW))
    ):
        return
    found = [_lag_at(view, words) for words in _SPEEDS]
    lags = [lag for lag in found if lag and is_linear(lag.like) == is_linear(window)]
    limit, shown = float(window.number()), length_or_angle(float(window.number()), window)
    places = codes(view, _WINDOW, "position_gain", _FORWARD, *_SPEEDS.values())
    if lags and all(_is_masked(lag, limit, view) for lag in lags):
        lag = lags[0]
        beside = (
            f"more than {_MASKS[lag.words]} times that"
            if lag.size > 0
            else "more than a tenth of the stroke"
        )
        yield Complaint(
            "window_and_lag",
            "dynamics",
            f"{lag.sentence()}; the window of {shown} is {beside}: a jam is noticed late.",
            places,
            tuple(one.finding for one in lags),
        )


def _is_masked(lag: Lag, limit: float, view: AxisView) -> bool:
    if lag.size > 0:
        return limit > _MASKS[lag.words] * lag.size
    travel, stroke = view.scaling.travel, view.stroke
    if travel is None or not stroke or is_linear(travel.per_turn) != is_linear(lag.like):
        return False
    return limit > stroke / 10


@rule
def window_off(view: AxisView) -> Iterator[Complaint]:
    """A window that is switched off protects nothing, and one of nought trips, or does not."""
    parameter = view.find(_WINDOW)
    if parameter is None or not holds_position(view):
        return
    if is_off(parameter):
        said = (
            "The following error window is switched off (FFFFFFFFh): however far the axis strays "
            "from where it should be, nothing stops it."
        )
    elif parameter.value == 0:
        said = (
            "The following error window is 0: whether the drive then trips at once or does not "
            "watch at all, its manual must tell."
        )
    else:
        return
    yield Complaint("window_off", "hazard", said, (parameter.code,), (stated(parameter),))

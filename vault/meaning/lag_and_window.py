"""The lag that an axis has anyway beside the following error window that watches it, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.following import is_off, steady_lag, window
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import unit
from vault.behaviour.stop import WINDOW

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.meaning.axis_view import AxisView

_SPEEDS = {"profile speed": "profile_velocity", "top speed": "max_profile_velocity"}


@dataclass(frozen=True, slots=True)
class Lag:
    """Steady lag (m or rad) at a speed (m/s or rad/s); `at` names the speed."""

    at: str
    speed: float
    size: float


@dataclass(frozen=True, slots=True)
class Watched:
    """Lags of a state and its window in m or rad; None for a window that never trips."""

    window: float | None
    lags: tuple[Lag, ...]


@dataclass(frozen=True, slots=True)
class LagAndWindow:
    """Both states; `unit` is that of their ways, m or rad."""

    before: Watched
    after: Watched
    unit: str


def lag_and_window(left: AxisView, right: AxisView) -> LagAndWindow | None:
    """Lag and window of both sides, where both are known and they differ."""
    before, after = _watched(left.state), _watched(right.state)
    if before is None or after is None or before == after:
        return None
    units = unit(left.state), unit(right.state)
    return LagAndWindow(before, after, units[1]) if units[0] == units[1] else None


def _watched(state: State) -> Watched | None:
    size = None
    try:
        if not is_off(state, WINDOW):
            size = window(state, WINDOW).value
    except (Missing, DoesNotApply):
        return None
    lags: list[Lag] = []
    for at, role in _SPEEDS.items():
        try:
            found = steady_lag(state, role)
        except (Missing, DoesNotApply):
            continue
        if not any(lag.speed == found.speed for lag in lags):
            lags.append(Lag(at, found.speed, found.size))
    return Watched(size, tuple(lags)) if lags else None

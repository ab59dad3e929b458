"""The lag that an axis has anyway beside the following error window that watches it, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.meaning.explainers.following import is_off, steady_lag
from vault.meaning.explainers.meanings import SPEED, WAY, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.findings import is_linear

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical

_WINDOW = "following_error_window"
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
    """Both states; `like` says which kind of axis it is."""

    before: Watched
    after: Watched
    like: Physical


def lag_and_window(left: AxisView, right: AxisView) -> LagAndWindow | None:
    """Lag and window of both sides, where both are known and they differ."""
    before, after = _watched(left), _watched(right)
    if before is None or after is None or before[1].kind != after[1].kind:
        return None
    return None if before[0] == after[0] else LagAndWindow(before[0], after[0], after[1])


def _watched(view: AxisView) -> tuple[Watched, Physical] | None:
    window, parameter = sized(view, _WINDOW, WAY), view.find(_WINDOW)
    off = is_off(parameter)
    if parameter is None or (not off and (window is None or window.ratio <= 0)):
        return None
    lags: list[Lag] = []
    like: Physical | None = None
    for at, role in _SPEEDS.items():
        found, stated = steady_lag(view, role), sized(view, role, SPEED)
        if found is None or stated is None:
            continue
        made = axis_speed(view, stated)
        if window is not None and is_linear(made) != is_linear(window):
            continue
        like = like or made
        if not any(one.speed == found[0] for one in lags):
            lags.append(Lag(at, found[0], found[2]))
    if like is None:
        return None
    size = None if off or window is None else float(window.number())
    return Watched(size, tuple(lags)), like

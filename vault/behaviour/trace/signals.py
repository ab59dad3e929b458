"""A trace as its evaluation works on it: arrays in SI at even steps, with what was not recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vault.behaviour.trace.filters import Flags, Vector, step_of
from vault.model.trace import GAP

_MOST = 60_000


@dataclass(frozen=True, slots=True)
class Recorded:
    """Channels in SI at the times of the file: positions and speeds of the axis (m or rad, per s).

    `lag` is the following error as the drive records it, demand less actual; `torque` is that of
    the motor in N*m (N of a linear motor). None for what was not recorded.
    """

    times: Vector
    demand: Vector | None = None
    actual: Vector | None = None
    velocity: Vector | None = None
    lag: Vector | None = None
    torque: Vector | None = None
    gaps: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Signals:
    """A recording at even steps of `step` s; `missing` are samples that lie in a gap.

    `skew` is how far in time two of its channels may lie apart: a sample, as nobody knows better,
    and of uneven ones the longest.
    `demand_step`, `actual_step`, `lag_step` and `torque_step` are the smallest steps that these
    were recorded in: samples that were brought to even steps tell no more of that.
    """

    times: Vector
    step: float
    missing: Flags
    demand: Vector | None
    actual: Vector | None
    velocity: Vector | None
    lag: Vector | None
    torque: Vector | None
    lag_is_recorded: bool
    count: int
    skew: float
    demand_step: float = 0.0
    actual_step: float = 0.0
    lag_step: float = 0.0
    torque_step: float = 0.0

    @property
    def lag_skew(self) -> float:
        """Seconds that demand and actual may lie apart in the lag; none where the drive took it."""
        return 0.0 if self.lag_is_recorded else self.skew

    @property
    def reference(self) -> Vector | None:
        """The position that tells the move's parts best: the demand, else the actual one."""
        return self.demand if self.demand is not None else self.actual

    @property
    def reference_step(self) -> float:
        """The smallest step in which the reference was recorded."""
        return self.demand_step if self.demand is not None else self.actual_step

    def has_gap(self, begin: int, end: int) -> bool:
        """Whether something was not recorded between two samples."""
        return bool(self.missing[max(0, begin) : end].any())


def even_signals(recorded: Recorded) -> Signals:
    """The recording at even steps, joined by straight lines."""
    times = recorded.times
    steps = np.diff(times)
    usual = float(np.median(steps))
    longest = float(steps[steps <= GAP * usual].max())
    span = float(times[-1] - times[0])
    count = min(_MOST, round(span / usual) + 1)
    even = times[0] + np.linspace(0.0, span, count)
    step = span / (count - 1)

    def at_even(samples: Vector | None) -> Vector | None:
        return None if samples is None else np.interp(even, times, samples)

    demand, actual, lag = (at_even(one) for one in (recorded.demand, recorded.actual, recorded.lag))
    apart = None if demand is None or actual is None else demand - actual
    if lag is not None and apart is not None and float(np.dot(lag, apart)) < 0:
        lag = -lag  # actual less demand
    velocity = at_even(recorded.velocity)
    if actual is None and demand is not None and lag is not None and _runs_behind(demand, lag):
        actual = demand - lag
    if actual is None and velocity is not None:
        rises = np.concatenate([[0.0], np.cumsum((velocity[1:] + velocity[:-1]) / 2 * step)])
        actual = rises
    return Signals(
        even, step, _in_gaps(even, recorded.gaps), demand, actual, velocity,
        lag if lag is not None else apart, at_even(recorded.torque), lag is not None, len(times),
        longest, _recorded_step(recorded.demand),
        _recorded_step(recorded.actual) or _recorded_step(recorded.demand, recorded.lag),
        _recorded_step(recorded.lag) or _recorded_step(recorded.demand, recorded.actual),
        _recorded_step(recorded.torque),
    )  # fmt: skip


def _recorded_step(*channels: Vector | None) -> float:
    """The step of what was recorded, or is reckoned of two channels; none of what was not."""
    return sum(step_of(one) for one in channels if one is not None)


_BEHIND = 0.5


def _runs_behind(demand: Vector, lag: Vector) -> bool:
    """Whether a lag is surely demand less actual: it goes the way of the speed.

    Some drives record it the other way round, and the actual position would lie twice as far off.
    """
    speed = np.gradient(demand)
    size = float(np.linalg.norm(speed) * np.linalg.norm(lag))
    return size > 0 and float(np.dot(speed, lag)) > _BEHIND * size


def _in_gaps(times: Vector, gaps: Sequence[tuple[float, float]]) -> Flags:
    found = np.zeros(len(times), dtype=bool)
    for begin, end in gaps:
        found |= (times > begin) & (times < end)
    return found

"""How far the axis runs behind what it is told, and how it comes to rest."""

from __future__ import annotations

from math import sqrt

import numpy as np

from vault.behaviour.trace.filters import (
    Vector,
    halves,
    hidden_by,
    local,
    noise_of,
    peak_of,
    value_noise,
)
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.phases import Move, Phases
from vault.behaviour.trace.signals import Signals

_NO_LAG = "neither the following error nor both positions, demanded and actual, were recorded"
_OTHER_ZERO = "demand and actual stand apart before anything moves"
_STANDS_OFF = "the axis does not come to stand where it is told to"
_SETTLED = 0.015
_ALIKE = 0.03
_FEWEST_AT_REST = 5
_STANDS_SHORT = 1e-3
"""Share of a move by which the axis may stay short of its end and have come there."""
_NOTHING = 1e-6
"""Share of a move by which it goes beyond its end and is told to have no overshoot."""
_TO_THE_END = 0.9
"""Share of a rest behind which a peak is none yet: the axis may still be on its way out."""
_HIGHEST = 0.9
"""Share of the highest speed below which an even one is another, as of a slow part of the move."""
_FEW = 10
"""What few samples may leave out of a peak: its share is so many over their number."""


def lag_of(signals: Signals) -> Vector:
    """The following error over time. Raises CannotBeTold."""
    if signals.lag is None:
        raise CannotBeTold(_NO_LAG)
    return signals.lag


def steady_lag(signals: Signals, phases: Phases, unit: str) -> Measured:
    """The lag at the highest even speed, once it stands. Raises CannotBeTold."""
    lag = lag_of(signals)
    if not phases.cruises:
        raise CannotBeTold("no part of the move has an even speed for long enough")
    fastest = max(abs(one.speed) for one in phases.cruises)
    if fastest < _HIGHEST * phases.top:
        raise CannotBeTold("its highest speed is not even for long enough")
    found, doubts, grows = [], [], False
    noise = noise_of(lag)
    for one in phases.cruises:
        if abs(one.speed) < (1 - _ALIKE) * fastest or signals.has_gap(one.begin, one.end):
            continue
        length = one.end - one.begin
        quarter = length // 4
        parts = [
            float(lag[one.begin + at * quarter : one.begin + (at + 1) * quarter].mean())
            for at in range(4)
        ]
        sem = 2 * noise / sqrt(quarter)
        drift = abs(parts[3] - parts[2])
        if drift > _SETTLED * abs(parts[3]) + 2 * sem:
            grows = True
            continue
        found.append(abs((parts[2] + parts[3]) / 2) if drift <= sem else abs(parts[3]))
        doubts.append(sem + drift)
    if not found:
        raise CannotBeTold(
            "the lag was still changing when the even speed ended" if grows
            else "what was not recorded lies in the even speed"
        )  # fmt: skip
    skew = fastest * signals.lag_skew + _apart_at_rest(signals, phases)
    spread = float(np.ptp(found)) / 2
    value = float(np.mean(found))
    figure = Measured(
        value, unit, max(doubts) + spread + skew + hidden_by(signals.lag_step, noise),
        "mean of the lag at the highest even speed", fastest,
    )  # fmt: skip
    return sure_enough(
        figure,
        "the lag is hardly more than what the channels, a sample apart, would make of it",
    )


def peak_lag(signals: Signals, phases: Phases, unit: str) -> Measured:
    """The largest lag of the recording. Raises CannotBeTold."""
    lag = lag_of(signals)
    _without_gap(signals)
    peak = peak_of(np.abs(lag))
    skew = phases.top * signals.lag_skew + _apart_at_rest(signals, phases)
    few = _FEW * peak.value / signals.count + hidden_by(signals.lag_step, noise_of(lag))
    figure = Measured(
        peak.value, unit, peak.uncertainty + skew + few, "largest lag of the recording", phases.top
    )
    return sure_enough(
        figure,
        "the lag is hardly more than noise, or than what the channels, a sample apart, would make "
        "of it",
    )


def _apart_at_rest(signals: Signals, phases: Phases) -> float:
    """How far demand and actual stand apart before anything moves: they may have other zeros."""
    first = phases.moves[0].begin - phases.half if phases.moves else 0
    if signals.lag_is_recorded or signals.lag is None or first < _FEWEST_AT_REST:
        return 0.0
    return abs(float(np.median(signals.lag[:first])))


def _without_gap(signals: Signals) -> None:
    """Raise CannotBeTold where something was not recorded: an extreme may lie there."""
    if signals.missing.any():
        raise CannotBeTold("it may lie where nothing was recorded")


def _rests(signals: Signals, phases: Phases) -> list[Move]:
    """Moves that end at rest, with a demand that says when. Raises CannotBeTold."""
    if signals.demand is None or signals.actual is None:
        raise CannotBeTold("the demanded or the actual position was not recorded")
    found = [move for move in phases.moves if move.rest - move.end >= 8]
    if not found or len(found) < len(phases.moves):
        raise CannotBeTold("the trace ends, or turns round, before the axis comes to rest")
    _without_gap(signals)
    return found


def settling_time(signals: Signals, phases: Phases, window: float | None) -> Measured:
    """Longest time from the end of a demand until the axis lies in its window to stay.

    Raises CannotBeTold.
    """
    if window is None or window <= 0:
        raise CannotBeTold("no position window is known for this axis")
    moves = _rests(signals, phases)
    demand, actual = signals.demand, signals.actual
    assert demand is not None and actual is not None
    noise = max(noise_of(actual), signals.actual_step / sqrt(12))
    if noise > window / 5:
        raise CannotBeTold("noise is as large as the position window")
    if _apart_at_rest(signals, phases) > max(3 * noise, window / 5):
        raise CannotBeTold(_OTHER_ZERO)
    longest: Measured | None = None
    for move in moves:
        found = _settled(signals, move, window, noise)
        if longest is None or found.value > longest.value:
            longest = found
    assert longest is not None
    if longest.uncertainty > max(0.25 * longest.value, 3 * signals.step):
        raise CannotBeTold("the samples lie too far apart, or tremble too much, for its end")
    if longest.value > 0 and longest.uncertainty > 0.5 * longest.value:
        raise CannotBeTold("it is hardly longer than the time between two samples")
    return longest


def _settled(signals: Signals, move: Move, window: float, noise: float) -> Measured:
    demand, actual = signals.demand, signals.actual
    assert demand is not None and actual is not None
    last = float(np.median(demand[move.end : move.rest]))
    away = np.abs(actual[move.end : move.rest] - last)
    # What rings may have its peak between two samples: a parabola's is that much higher.
    between = float(np.abs(np.diff(away, 2)).max()) / 8 if len(away) > 2 else 0.0
    basis = "from the end of the demand until within the position window to stay"
    doubt, half = noise, 0
    for half in (0, *halves(len(away) // 12)):
        doubt = 3 * value_noise(noise, half)
        if doubt < 0.03 * window:
            break
    doubt += between
    smooth = away if half == 0 else local(away, 1.0, half).value
    early, at, late = (
        _last_above(smooth, level) for level in (window + doubt, window, window - doubt)
    )
    if late >= len(away) - 3:
        raise CannotBeTold("the trace ends before the axis lies in its position window")
    begin = move.end - move.ended
    time = 0.0 if at < 0 else max(0.0, (begin + at) * signals.step)
    unsure = max(late - at, at - early) + move.blur
    # A channel may lie a sample apart; a smoothed corner moves by less than half of its width.
    sampled = (unsure + 0.25 * half) * signals.step + 2 * signals.skew
    return Measured(time, "s", sampled, basis)


def _last_above(signal: Vector, level: float) -> float:
    """The last place (in samples) at which a signal is above a level; -1 where it never is."""
    above = np.flatnonzero(signal > level)
    if not len(above):
        return -1.0
    at = int(above[-1])
    if at + 1 >= len(signal):
        return float(at)
    return at + float((signal[at] - level) / (signal[at] - signal[at + 1]))


def overshoot(signals: Signals, phases: Phases, unit: str) -> Measured:
    """How far the axis goes beyond what it was told, at most; 0 where it does not.

    Raises CannotBeTold.
    """
    moves = _rests(signals, phases)
    demand, actual = signals.demand, signals.actual
    assert demand is not None and actual is not None
    noise = noise_of(actual)
    grain = max(4 * noise, 1.5 * signals.actual_step)
    largest: Measured | None = None
    basis = "farthest beyond the demanded end of a move"
    for move in moves:
        last = float(np.median(demand[move.end : move.rest]))
        beyond = move.sign * (actual[move.end : move.rest] - last)
        peak = peak_of(beyond)
        stands = float(np.median(beyond[-max(3, len(beyond) // 5) :]))
        way = abs(last - float(demand[move.begin]))
        least = max(grain, _NOTHING * way)
        if stands < -max(least, _STANDS_SHORT * way) or stands > max(least, peak.value / 2):
            raise CannotBeTold(_STANDS_OFF)
        if peak.value > least and peak.at >= _TO_THE_END * len(beyond):
            raise CannotBeTold("the trace ends before the axis turns back")
        few = _FEW * abs(peak.value) / signals.count
        doubt = 2 * peak.uncertainty + signals.actual_step + few
        found = (
            Measured(peak.value, unit, doubt, basis)
            if peak.value > least
            else Measured(0.0, unit, least + doubt, basis)
        )
        if largest is None or found.value > largest.value:
            largest = found
    assert largest is not None
    if largest.value > 0:
        return sure_enough(largest, "it is hardly more than the noise of the position")
    return largest

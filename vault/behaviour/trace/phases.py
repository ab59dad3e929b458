"""The parts of a recorded move: standing, even speed, ramps; and moves from rest to rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vault.behaviour.trace.filters import (
    Vector,
    bend_noise,
    halves,
    local,
    noise_of,
    slope_noise,
    true_runs,
)
from vault.behaviour.trace.measured import CannotBeTold
from vault.behaviour.trace.signals import Signals

_EVEN = 0.06
"""Share of the highest acceleration under which the speed is even."""
_STANDS = 0.01
"""Share of the highest speed under which the axis stands."""
_FEWEST = 8
_LASTS = 0.3
"""Share of a ramp's time that an even speed lasts at least: the top of a ramp is none."""
_WANDERS = 0.02


@dataclass(frozen=True, slots=True)
class Cruise:
    """A stretch of even speed: samples from `begin` up to `end`, and the speed with its sign."""

    begin: int
    end: int
    speed: float


@dataclass(frozen=True, slots=True)
class Move:
    """From the sample at which it begins to the one at which its demand ends; `sign` is its way.

    `rest` is up to where nothing is asked of the axis afterwards, `following` where the next move
    begins; `top` is its highest speed. Its demand ends at `ended`, in samples, give or take `blur`.
    """

    begin: int
    end: int
    rest: int
    following: int
    sign: float
    top: float
    ended: float
    blur: float


@dataclass(frozen=True, slots=True)
class Phases:
    """The parts of a trace. `speed` and `rate` are those of the reference position."""

    speed: Vector
    rate: Vector
    top: float
    steepest: float
    half: int
    cruises: tuple[Cruise, ...]
    moves: tuple[Move, ...]


def phases_of(signals: Signals) -> Phases:
    """Take a trace apart. Raises CannotBeTold where it does not move, or noise hides how."""
    place = signals.reference
    if place is None:
        raise CannotBeTold("neither position nor speed was recorded")
    noise, step, count = noise_of(place), signals.step, len(place)
    fitted = None
    for half in halves(max(2, min(count // 40, 400))):
        fitted = local(place, step, half)
        steepest = float(np.quantile(np.abs(fitted.bend), 0.97))
        top = float(np.abs(fitted.slope).max())
        if (
            bend_noise(noise, step, half) < 0.01 * steepest
            and slope_noise(noise, step, half) < 0.003 * top
        ):
            break
    else:
        if fitted is None or not count:
            raise CannotBeTold("there are too few samples")
        if (
            bend_noise(noise, step, fitted.half) > 0.1 * steepest
            or slope_noise(noise, step, fitted.half) > 0.02 * top
        ):
            raise CannotBeTold("noise hides where the move begins and ends")
    span = float(place.max() - place.min())
    if span <= 20 * noise or top <= 0:
        raise CannotBeTold("the axis does not move in it")
    speed, rate = fitted.slope, fitted.bend
    moving = np.abs(speed) > _STANDS * top
    even = (np.abs(rate) < _EVEN * steepest) & (np.abs(speed) > 0.05 * top) & ~signals.missing
    margin = fitted.half
    cruises = []
    for begin, end in _joined(true_runs(even), speed, top):
        first, last = begin + margin, end - margin
        if last - first >= _FEWEST and (last - first) * step > _LASTS * top / steepest:
            speeds = (place[last - 1] - place[first]) / ((last - 1 - first) * step)
            cruises.append(Cruise(first, last, float(speeds)))
    return Phases(
        speed, rate, top, steepest, margin, tuple(cruises),
        _moves(place, speed, moving, margin, max(4 * noise, 1.01 * signals.reference_step)),
    )  # fmt: skip


def _joined(runs: list[tuple[int, int]], speed: Vector, top: float) -> list[tuple[int, int]]:
    """Runs of even speed, those joined that only noise keeps apart."""
    found: list[tuple[int, int]] = []
    for begin, end in runs:
        if found:
            first, last = found[-1]
            usual = float(np.median(speed[first:last]))
            if np.abs(speed[last:end] - usual).max() < _WANDERS * top:
                found[-1] = first, end
                continue
        found.append((begin, end))
    return found


def _moves(
    place: Vector, speed: Vector, moving: np.ndarray, margin: int, seen: float
) -> tuple[Move, ...]:
    ways = np.where(moving, np.sign(speed), 0.0)
    runs = [run for sign in (1.0, -1.0) for run in true_runs(ways == sign)]
    runs = sorted(run for run in runs if run[1] - run[0] > 3)
    found = []
    for number, (begin, end) in enumerate(runs):
        sign = float(ways[begin])
        following = runs[number + 1][0] if number + 1 < len(runs) else len(place)
        stop = min(len(place), end + margin + 1)
        rest = place[stop : max(stop + 1, following - margin - 1)]
        last = float(np.median(rest)) if len(rest) else float(place[min(end, len(place) - 1)])
        at = leaves(np.abs(place[begin:stop] - last)[::-1], seen)
        ended = begin + (stop - begin - 1) - at.sample
        finish = int(np.ceil(ended))
        gone = np.flatnonzero(np.abs(place[finish + 1 : following] - last) > 2 * seen)
        quiet = finish + int(gone[0]) if len(gone) else following
        top = float(np.abs(speed[begin:end]).max())
        found.append(Move(begin, finish, max(finish, quiet), following, sign, top, ended, at.doubt))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Leaving:
    """Where a signal begins to leave nought, in samples, and how unsure that is."""

    sample: float
    doubt: float


def leaves(off: Vector, seen: float) -> Leaving:
    """Where `off`, at least 0, begins to grow for good; `seen` is what can be seen of it.

    It grows as a parabola, or with a jerk limit as a cube: from 1 to 8 times what can be seen it
    takes 1.8 times, or once, what it took up to there.
    """
    beyond = np.flatnonzero(off <= seen)
    first = int(beyond[-1]) + 1 if len(beyond) else 0
    if first >= len(off):
        return Leaving(float(len(off)), 1.0)
    more = np.flatnonzero(off[first:] > 8 * seen)
    late = _crossing(off, first, seen)
    if off[first] > 8 * seen and first + 1 < len(off) and off[first + 1] > off[first]:
        # Nothing was seen of how it begins: drawn back from two samples, as parabola and as cube.
        back = [_drawn_back(off[first], off[first + 1], power) for power in (2, 3)]
        return Leaving(first - sum(back) / 2, 0.5 + abs(back[0] - back[1]) / 2)
    if not len(more):
        return Leaving(late, 1.0 + len(off) - first)
    until = _crossing(off, first + int(more[0]), 8 * seen)
    ran = max(0.0, until - late)
    return Leaving(late - 0.77 * ran, 0.5 + 0.27 * ran)


def _drawn_back(one: float, other: float, power: int) -> float:
    """How many samples before the first of two a power began that goes through both; at most 1."""
    low, high = one ** (1 / power), other ** (1 / power)
    return min(1.0, float(low / (high - low)))


def _crossing(off: Vector, at: int, level: float) -> float:
    """Where a signal goes through a level, between a sample and the one before."""
    if at == 0 or off[at] == off[at - 1]:
        return float(at)
    return at - 1 + float(np.clip((level - off[at - 1]) / (off[at] - off[at - 1]), 0.0, 1.0))

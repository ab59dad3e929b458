"""Noise and smoothing: how much a signal trembles, and what is left of it without that.

Local polynomials by least squares (A. Savitzky, M. J. E. Golay, Anal. Chem. 36 (1964) 1627; from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Flags = NDArray[np.bool_]

_LADDER = (2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 22, 27, 33, 40, 50, 60, 75, 90, 110, 135, 165, 200,
           250, 300, 375, 450, 550, 675, 800, 1000)  # fmt: skip
_FOURTH = sqrt(70.0)
"""Root of the sum of squares of 1, -4, 6, -4, 1: what a fourth difference makes of white noise."""
_KEPT = 0.85
_DITHERED = 0.35
"""Share of a step that is noise enough for a mean between steps; less than 3 % of it is left."""


def noise_of(signal: Vector) -> float:
    """Standard deviation of what trembles from sample to sample, by its fourth differences.

    The largest ones are left out, as corners of the motion make them.
    """
    if len(signal) < 10:
        return 0.0
    found = np.sort(np.diff(signal, 4) ** 2)
    found = found[: max(5, int(_KEPT * len(found)))]
    # Without its upper 15 % a normal distribution has 0.465 of its mean square.
    return float(sqrt(found.mean() / 0.465) / _FOURTH)


@dataclass(frozen=True, slots=True)
class Local:
    """Local polynomials of second degree: value, slope and second derivative at every sample."""

    half: int
    value: Vector
    slope: Vector
    bend: Vector


def local(signal: Vector, step: float, half: int) -> Local:
    """Fit a parabola over `half` samples to each side; at the ends what is there is held."""
    places = np.arange(-half, half + 1, dtype=float)
    design = np.vander(places, 3, increasing=True)
    weights = np.linalg.pinv(design)
    first, last = signal[0], signal[-1]
    padded = np.concatenate([np.full(half, first), signal, np.full(half, last)])
    value, slope, bend = (np.convolve(padded, row[::-1], mode="valid") for row in weights)
    return Local(half, value, slope / step, 2 * bend / step**2)


def halves(most: int) -> tuple[int, ...]:
    """Half widths to try, up to so many samples."""
    return tuple(half for half in _LADDER if half <= max(2, most))


def slope_noise(noise: float, step: float, half: int) -> float:
    """Noise of the slope of a local line: s sqrt(3 / (h (h + 1) (2 h + 1))) / dt."""
    return noise * sqrt(3.0 / (half * (half + 1) * (2 * half + 1))) / step


def bend_noise(noise: float, step: float, half: int) -> float:
    """Noise of the second derivative of a local parabola: s sqrt(720 / n^5) / dt^2."""
    return noise * sqrt(720.0 / (2 * half + 1) ** 5) / step**2


def value_noise(noise: float, half: int) -> float:
    """Noise of the value of a local parabola: s sqrt(9 / (4 n))."""
    return noise if half == 0 else noise * sqrt(9.0 / (4 * (2 * half + 1)))


@dataclass(frozen=True, slots=True)
class Peak:
    """The largest value of a signal, where it is, and how far the true one may be from it."""

    value: float
    at: int
    uncertainty: float


def peak_of(signal: Vector, wanted: float = 0.02) -> Peak:
    """The largest value, without what noise adds to it.

    Smoothed until noise is less than `wanted` of it; what smoothing takes off is its uncertainty,
    and so is what samples may leave out between them.
    """
    noise = noise_of(signal)
    best: Peak | None = None
    for half in (0, *halves(len(signal) // 12)):
        smooth = signal if half == 0 else local(signal, 1.0, half).value
        at = int(np.argmax(smooth))
        value = float(smooth[at])
        left = 2.5 * value_noise(noise, half)
        narrow = smooth if half < 3 else local(signal, 1.0, max(2, half // 2)).value
        lost = abs(float(narrow[max(0, at - half) : at + half + 1].max()) - value) if half else 0.0
        found = Peak(value, at, left + lost + _between(smooth, at))
        if best is None or found.uncertainty < best.uncertainty:
            best = found
        if left <= wanted * abs(value):
            break
    if best is None:
        raise ValueError("no samples")
    # A short peak elsewhere, which smoothing takes off: noise of n samples reaches sqrt(2 ln n).
    above = float(signal.max()) - best.value
    is_noise = above <= sqrt(2 * log(len(signal))) * noise
    return best if is_noise else replace(best, uncertainty=best.uncertainty + above)


def _between(signal: Vector, at: int) -> float:
    """What a parabola through the samples about a peak has above them; a corner's has none."""
    if not 0 < at < len(signal) - 1:
        return 0.0
    before, here, after = signal[at - 1 : at + 2]
    bend = before - 2 * here + after
    return 0.0 if bend >= 0 else float((before - after) ** 2 / (-16 * bend))


def mean_between(times: Vector, signal: Vector, begin: float, end: float) -> float:
    """Mean of a signal over a time, its samples joined by straight lines."""
    inside = (times > begin) & (times < end)
    places = np.concatenate([[begin], times[inside], [end]])
    values = np.interp(places, times, signal)
    return float(((values[1:] + values[:-1]) / 2 * np.diff(places)).sum() / (end - begin))


def step_of(signal: Vector) -> float:
    """The smallest step by which a signal goes: its resolution, or nearly nothing."""
    steps = np.abs(np.diff(signal))
    steps = steps[steps > 1e-9 * float(np.ptp(signal))]
    return float(steps.min()) if len(steps) else 0.0


def hidden_by(step: float, noise: float) -> float:
    """What the steps in which a signal is recorded may hide of its mean.

    Nothing where it trembles over a good part of them: its mean lies between.
    """
    return step / 2 if noise < _DITHERED * step else 0.0


def true_runs(flags: Flags) -> list[tuple[int, int]]:
    """Begin and end (behind the last) of each run of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(edges[at]), int(edges[at + 1])) for at in range(0, len(edges), 2)]


def rings_fast(signal: Vector, at: int) -> bool:
    """Whether one frequency of few samples a period stands out about a sample: that is no noise.

    The largest line of white noise has about ln n times their mean.
    """
    rest = (signal - local(signal, 1.0, 12).value)[max(0, at - 128) : at + 128]
    if len(rest) < 24:
        return True
    lines = np.abs(np.fft.rfft(rest * np.hanning(len(rest)))) ** 2
    lines[: max(2, len(rest) // 16)] = 0.0
    joined = np.convolve(lines, np.ones(3), mode="same")
    tone = 4 * float(np.sqrt(lines.max())) / len(rest)
    large = tone > 0.012 * float(np.abs(signal).max())
    return large and float(joined.max()) > 4.0 * np.log(len(rest)) * float(lines.mean())

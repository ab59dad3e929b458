"""A frequency at which the mechanics ring, where a trace proves one.

From a chirp, as the peak of speed over torque; else only from at least ten periods of a ringing
that stands at the same frequency at two speeds, below a quarter of the sampling rate: what turns
with the motor (teeth, poles, bearings) moves with the speed, and does not count. Ten periods and a
quarter are common practice, no source.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from vault.behaviour.trace.filters import Vector, true_runs
from vault.behaviour.trace.inertia import actual_speed
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.phases import Phases
from vault.behaviour.trace.signals import Signals
from vault.behaviour.trace.torque import torque_of

_PERIODS = 10
_FEWEST = 128
_SAME = 0.03
_OF_RATE = 0.25
_CLEAR = 0.6
"""Share of what trembles that one frequency must have."""
_STANDS = 0.35
"""Share of its largest swing that a ringing keeps for ten periods; what dies sooner is a shock."""
_NO_RING = "nothing rings in it for ten periods at two speeds at one frequency, and it is no chirp"


@dataclass(frozen=True, slots=True)
class Ring:
    """A ringing: its frequency in Hz, how unsure, and at which speed of the axis."""

    frequency: float
    doubt: float
    speed: float


def resonance(signals: Signals, phases: Phases | None, bandwidth: float | None) -> Measured:
    """The frequency at which it rings. Raises CannotBeTold.

    `bandwidth` is that of the velocity loop in Hz, which rings by itself near it.
    """
    swept = _by_chirp(signals)
    if swept is not None:
        return swept
    if phases is None:
        raise CannotBeTold(_NO_RING)
    rings = [ring for ring in _rings(signals, phases) if ring.frequency * signals.step < _OF_RATE]
    for one in rings:
        for other in rings:
            apart = abs(one.speed - other.speed) > 0.2 * phases.top
            if apart and abs(one.frequency / other.frequency - 1) < _SAME:
                return _told((one, other), bandwidth)
    raise CannotBeTold(_NO_RING)


def _told(rings: tuple[Ring, Ring], bandwidth: float | None) -> Measured:
    value = sum(ring.frequency for ring in rings) / len(rings)
    if bandwidth is not None and 0.5 < value / bandwidth < 2:
        raise CannotBeTold(
            "what rings lies near the bandwidth of the velocity loop, which may ring by itself"
        )
    doubt = max(ring.doubt for ring in rings) + abs(rings[0].frequency - rings[1].frequency) / 2
    basis = "rings for ten periods and more at two speeds, if it lies below half the sampling rate"
    return Measured(value, "Hz", doubt, basis)


def _rings(signals: Signals, phases: Phases) -> list[Ring]:
    """What rings in each stretch of even speed or rest."""
    still = np.abs(phases.rate) < 0.06 * phases.steepest
    slow = np.abs(phases.speed) < 0.01 * phases.top
    stretches = [(begin, end, 0.0) for begin, end in true_runs(still & slow & ~signals.missing)]
    stretches += [(one.begin, one.end, abs(one.speed)) for one in phases.cruises]
    found = []
    for signal in (signals.torque, signals.velocity, signals.lag):
        if signal is None:
            continue
        for begin, end, speed in stretches:
            if end - begin >= _FEWEST and not signals.has_gap(begin, end):
                ring = _ring(signal[begin:end], signals.step, speed)
                if ring is not None:
                    found.append(ring)
    return found


def _ring(signal: Vector, step: float, speed: float) -> Ring | None:
    """The one frequency at which a stretch trembles; None where there is no such one."""
    count = len(signal)
    places = np.linspace(-1, 1, count)
    rest = signal - np.polyval(np.polyfit(places, signal, 5), places)
    if float(np.ptp(rest)) <= 1e-6 * (float(np.abs(signal).max()) + 1e-300):
        return None
    windowed = rest * np.hanning(count)
    size = 4 * count
    spectrum = np.abs(np.fft.rfft(windowed, size)) ** 2
    frequencies = np.fft.rfftfreq(size, step)
    lowest = _PERIODS / (count * step)
    spectrum[frequencies < 0.7 * lowest] = 0.0
    at = int(np.argmax(spectrum))
    frequency = float(frequencies[at])
    if frequency < lowest or not 0 < at < len(spectrum) - 1:
        return None
    width = 3 * size // count
    share = spectrum[max(0, at - width) : at + width + 1].sum() / spectrum.sum()
    if share < _CLEAR or not _lasts(rest, frequency, step):
        return None
    before, here, after = np.log(spectrum[at - 1 : at + 2] + 1e-300)
    frequency += float(0.5 * (before - after) / (before - 2 * here + after)) / (size * step)
    return Ring(frequency, 0.15 / (count * step), speed)


def _lasts(rest: Vector, frequency: float, step: float) -> bool:
    """Whether ten periods of a frequency stand out of the rest of what trembles."""
    periods = int(len(rest) * step * frequency)
    length = len(rest) / periods if periods else 0
    if periods < _PERIODS or length < 4:
        return False
    amplitudes = []
    for number in range(periods):
        begin = int(number * length)
        part = rest[begin : begin + max(4, int(length))]
        turns = np.exp(-2j * np.pi * frequency * step * np.arange(len(part)))
        amplitudes.append(2 * abs(np.mean(part * turns)))
    least = _STANDS * max(amplitudes)
    return len([size for size in amplitudes if size > least]) >= _PERIODS


def _by_chirp(signals: Signals) -> Measured | None:
    """The peak of speed over torque, taken times frequency, where torque sweeps a decade."""
    if signals.torque is None or signals.missing.any():
        return None
    torque = torque_of(signals)
    span = _sweep(torque, signals.step)
    if span is None:
        return None
    low, high = span
    high = min(high, _OF_RATE / signals.step)
    speed, _ = actual_speed(signals)
    count = len(torque)
    window = np.hanning(count)
    given, moved = (
        np.fft.rfft(one * window) for one in (torque - torque.mean(), speed - speed.mean())
    )
    frequencies = np.fft.rfftfreq(count, signals.step)
    width = max(1, count // 400)
    kernel = np.ones(2 * width + 1)
    cross = np.convolve(moved * np.conj(given), kernel, mode="same")
    power = np.convolve(np.abs(given) ** 2, kernel, mode="same")
    own = np.convolve(np.abs(moved) ** 2, kernel, mode="same")
    coherence = np.abs(cross) ** 2 / (power * own + 1e-300)
    answer = np.abs(cross) / (power + 1e-300) * frequencies
    inside = (frequencies > 1.1 * low) & (frequencies < 0.95 * high) & (coherence > 0.6)
    if inside.sum() < 10:
        return None
    levels = np.where(inside, answer, 0.0)
    at = int(np.argmax(levels))
    typical = float(np.median(answer[inside]))
    frequency = float(frequencies[at])
    edges = 1.2 * low < frequency < 0.85 * high
    if not edges or levels[at] < 3 * typical:
        raise CannotBeTold("the chirp shows no clear peak of speed over torque below a quarter of "
                           "the sampling rate")  # fmt: skip
    inner = levels[max(0, at - width) : at + width + 1]
    weights = inner**2
    places = frequencies[max(0, at - width) : at + width + 1]
    centre = float((weights * places).sum() / weights.sum())
    # As wide as it is smoothed over, and half as much again as tried (tests/traces).
    doubt = 1.5 * (width + 1) / (count * signals.step)
    figure = Measured(centre, "Hz", doubt, "peak of speed over torque in a chirp")
    return sure_enough(figure, "the chirp is too short for it", 0.1)


def _sweep(torque: Vector, step: float) -> tuple[float, float] | None:
    """From and to which frequency a torque sweeps; None where it is no chirp."""
    rest = torque - torque.mean()
    signs = np.signbit(rest)
    crossings = np.flatnonzero(signs[1:] != signs[:-1])
    if len(crossings) < 40:
        return None
    shares = rest[crossings] / (rest[crossings] - rest[crossings + 1])
    times = (crossings + shares) * step
    halves = 0.5 / np.maximum(np.diff(times), 1e-12)
    parts = [float(np.median(part)) for part in np.array_split(halves, 12)]
    rises = all(after > 0.97 * before for before, after in itertools.pairwise(parts))
    falls = all(after < 1.03 * before for before, after in itertools.pairwise(parts))
    low, high = min(halves[:4].mean(), parts[0], parts[-1]), max(parts)
    if not (rises or falls) or high < 4 * low:
        return None
    return float(low), float(high)

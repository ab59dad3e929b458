"""What the motor gives: its mean over the recording, and its peak."""

from __future__ import annotations

from math import sqrt

import numpy as np

from vault.behaviour.trace.filters import Peak, Vector, noise_of, peak_of, rings_fast
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.signals import Signals

_COARSE = "the samples lie too far apart to follow the torque"


def torque_of(signals: Signals) -> Vector:
    """Torque of the motor over time. Raises CannotBeTold."""
    if signals.torque is None:
        raise CannotBeTold("neither torque nor current was recorded, or not what they count in")
    return signals.torque


def rms_torque(signals: Signals, unit: str) -> Measured:
    """Root of the mean square of the torque over the whole recording. Raises CannotBeTold."""
    torque = torque_of(signals)
    if signals.missing.mean() > 0.005:
        raise CannotBeTold("a part of the move was not recorded")
    noise = noise_of(torque)
    value = _rms(torque, noise)
    if value <= 0:
        raise CannotBeTold("it is hardly more than noise")
    apart = abs(_rms(torque[::2], noise) - _rms(torque[1::2], noise))
    thin = abs(_rms(torque[::2], noise) - value)
    taken = 0.6 * (_rms(torque, 0.0) - value)
    figure = Measured(
        value,
        unit,
        apart + 2 * thin + taken + 1.2 * value / sqrt(signals.count),
        "sqrt(mean T^2) of the recording",
    )
    return sure_enough(figure, _COARSE, 0.08)


def _rms(torque: Vector, noise: float) -> float:
    squares = torque**2
    mean = float((squares[1:] + squares[:-1]).mean() / 2)
    return sqrt(max(0.0, mean - noise**2))


def peak_torque(signals: Signals, unit: str) -> Measured:
    """The largest torque of the recording. Raises CannotBeTold."""
    torque = np.abs(torque_of(signals))
    if signals.missing.any():
        raise CannotBeTold("it may lie where nothing was recorded")
    peak = peak_of(torque)
    # Smoothing takes a ringing off: the smoothed peak may lie elsewhere than where that is highest.
    if any(rings_fast(torque, at) for at in (peak.at, int(np.argmax(torque)))):
        raise CannotBeTold("the torque rings faster than the samples follow")
    others = abs(peak_of(torque[::2]).value - peak_of(torque[1::2]).value)
    noise = noise_of(torque)
    # No theory: factors as tried on simulated axes (tests/traces), whose true peaks lie within.
    few = 25 * peak.value / signals.count + 3 * noise + max(0.0, _alone(torque, peak) - 5 * noise)
    doubt = 2.5 * (peak.uncertainty + others + _missed(torque, peak)) + few
    figure = Measured(peak.value, unit, doubt, "largest torque of the recording")
    return sure_enough(figure, f"{_COARSE}, or it is hardly more than noise", 0.2)


def _alone(torque: Vector, peak: Peak) -> float:
    """How far one sample stands above those beside it: as much higher its peak may have been."""
    beside = torque[max(0, peak.at - 1) : peak.at + 2].tolist()
    beside.remove(max(beside))
    return peak.value - max(beside, default=peak.value)


def _missed(torque: Vector, peak: Peak) -> float:
    """What a ringing may have between the samples: a band-limited signal joined by its spectrum."""
    begin, end = max(0, peak.at - 128), min(len(torque), peak.at + 129)
    part = torque[begin:end]
    mirrored = np.concatenate([part, part[::-1]])
    count = len(mirrored)
    fine = np.fft.irfft(np.fft.rfft(mirrored), 8 * count) * 8
    inner = fine[8 * 8 : 8 * (len(part) - 8)] if len(part) > 24 else fine
    return max(0.0, float(inner.max()) - float(part.max()))

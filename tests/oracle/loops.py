"""Cascaded loops: where the velocity loop crosses over, how much phase is left there."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from tests.oracle.cases import Case
from tests.oracle.machine import Machine
from tests.oracle.readings import column, from_settings
from tests.oracle.units import MISSING, Vector, number

_Complex = NDArray[np.complex128]
_LOWEST, _HIGHEST = 1e-4, 1e8  # rad/s
_ROUNDS = 100


def loops(cases: Sequence[Case], machine: Machine) -> dict[str, Vector]:
    """Crossover of the velocity loop in 1/s, phase margin in degrees, ratios of loops and inertias.

    The loop: velocity gain in N*m*s/rad (N*s/m of a linear motor) over the total inertia.
    """
    gain = from_settings(cases, "velocity_gain")
    inertia = machine.plant.inertia
    bandwidth = _crossover(lambda frequency: _integrating(gain, inertia, frequency), gain)
    load = inertia - machine.plant.rotor
    return {
        "velocity_bandwidth": bandwidth,
        "loop_ratio": bandwidth / from_settings(cases, "position_gain"),
        "phase_margin": _phase_margin(cases, gain, inertia),
        "inertia_ratio": np.where(machine.rotating, load / machine.plant.rotor, MISSING),
    }


def _integrating(gain: Vector, inertia: Vector, frequency: Vector) -> _Complex:
    return gain / (inertia * 1j * frequency)


def _crossover(response: Callable[[Vector], _Complex], like: Vector) -> Vector:
    """Frequency in rad/s at which the open loop passes on as much as comes in, by halving."""
    low, high = np.full_like(like, _LOWEST), np.full_like(like, _HIGHEST)
    for _ in range(_ROUNDS):
        middle = np.sqrt(low * high)
        above = np.abs(response(middle)) > 1
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.where(np.isnan(like), MISSING, np.sqrt(low * high))


def _phase_margin(cases: Sequence[Case], gain: Vector, inertia: Vector) -> Vector:
    """Degrees left of a PI velocity loop with its first-order filters and its dead time."""
    filters = [
        from_settings(cases, role, absent=0.0)
        for role in ("torque_filter_time", "velocity_filter_time")
    ]
    integral = from_settings(cases, "velocity_integral_time", absent=0.0)
    notches = [_notch(cases, end) for end in ("", ".2")]
    dead = column(cases, lambda case: number(case.conventions.get("dead_time", 0.0)))

    def parts(frequency: Vector) -> list[_Complex]:
        laplace = 1j * frequency
        per_time = np.where(integral > 0, 1 / np.where(integral > 0, integral, 1.0), 0.0)
        controller = 1 + per_time / laplace
        slowed = [1 / (1 + laplace * time) for time in filters]
        stopped = [_notched(*notch, frequency) for notch in notches]
        return [_integrating(gain, inertia, frequency), controller, *slowed, *stopped]

    def whole(frequency: Vector) -> _Complex:
        product: _Complex = np.prod(np.stack(parts(frequency)), axis=0)
        return product

    crossing = _crossover(whole, gain)
    lag = sum((np.angle(part) for part in parts(crossing)), start=-crossing * dead)
    margin: Vector = np.degrees(lag) + 180
    return margin


def _notch(cases: Sequence[Case], end: str) -> tuple[Vector, Vector, Vector]:
    """Middle and width in rad/s and what is taken out; a width of 0 where there is none."""
    frequency = from_settings(cases, f"notch_filter_frequency{end}", absent=1.0)
    width = from_settings(cases, f"notch_filter_bandwidth{end}", absent=0.0)
    share = from_settings(cases, f"notch_filter_depth{end}", absent=0.0)
    return 2 * np.pi * frequency, 2 * np.pi * width, share


def _notched(middle: Vector, width: Vector, share: Vector, frequency: Vector) -> _Complex:
    """All that comes in, less what a resonant band-pass of this width lets through."""
    quality = middle / np.where(width > 0, width, np.inf)
    detuned = frequency / middle - middle / frequency
    passed = np.where(width > 0, 1 / (1 + 1j * np.where(width > 0, quality, 0.0) * detuned), 0.0)
    left: _Complex = 1 - share * passed
    return left

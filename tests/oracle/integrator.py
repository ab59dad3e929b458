"""Integration in time and search for a limit, for all cases at once.

Every case has a step of its own, so slow and fast axes are sampled alike.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.oracle.units import Flags, Vector

Rate = Callable[[Vector, Vector], Vector]


def integrate(rate: Rate, state: Vector, duration: Vector, steps: int) -> Vector:
    """Follow d(state)/dt = rate(time, state) for `duration` s with classical Runge-Kutta.

    `state` has a row for each variable and a column for each case. Source: any textbook of
    numerical analysis; checked against scipy.integrate.solve_ivp in the tests.
    """
    step = duration / steps
    for number in range(steps):
        time = number * step
        first = rate(time, state)
        second = rate(time + step / 2, state + first * step / 2)
        third = rate(time + step / 2, state + second * step / 2)
        fourth = rate(time + step, state + third * step)
        state = state + (first + 2 * second + 2 * third + fourth) * (step / 6)
    return state


def least(holds: Callable[[Vector], Flags], like: Vector, rounds: int = 60) -> Vector:
    """The least load of at least 0 at which `holds` becomes true, found by halving.

    The load is doubled from 1 until it holds; infinite where it never does.
    """
    high = np.ones_like(like)
    for _ in range(rounds):
        high = np.where(holds(high), high, high * 2)
    low = np.zeros_like(like)
    high = np.where(holds(high), high, np.inf)
    for _ in range(rounds):
        middle = (low + high) / 2
        good = holds(middle)
        high = np.where(good, middle, high)
        low = np.where(good, low, middle)
    return high

"""Formulas of motion. Everything in SI: m, rad, s, kg, N, N*m, J; rotary axes use rad for m.

Sources stand beside each formula; the tests hold the time and distance formulas against numerical
integration.
"""

from __future__ import annotations

from math import inf, pi, sqrt

G0 = 9.80665
"""Standard gravity in m/s^2 (3rd CGPM, 1901; exact)."""


def lag(speed: float, gain: float, feed_forward: float = 0.0) -> float:
    """Steady following error of a proportional position loop: (1 - f) v / Kv.

    `gain` in 1/s, `feed_forward` 0 to 1. From the steady state of the loop v = Kv e + f v.
    """
    return (1 - feed_forward) * speed / gain if gain > 0 else inf


def drive_force(torque: float, per_turn: float, gear: float, efficiency: float = 1.0) -> float:
    """Thrust of a screw, belt or rack: F = 2 pi eta G T / L (work per revolution).

    `per_turn` L in m per shaft revolution, `gear` G motor per shaft revolutions.
    """
    return 2 * pi * efficiency * gear * torque / per_turn


def torque_for_force(force: float, per_turn: float, gear: float, efficiency: float = 1.0) -> float:
    """Motor torque that a thrust needs, losses against the motor: T = F L / (2 pi eta G)."""
    return force * per_turn / (2 * pi * efficiency * gear)


def motor_speed(speed: float, per_turn: float, gear: float) -> float:
    """Motor speed in rev/s at a speed of the axis: v G / L."""
    return speed * gear / per_turn


def ramp_time(speed: float, acceleration: float, jerk: float | None = None) -> float:
    """Time to change speed by v: v/a, and v/a + a/j with a jerk limit.

    Where the jerk limit does not let the acceleration be reached: 2 sqrt(v/j).
    """
    if jerk is None:
        return speed / acceleration
    if speed * jerk >= acceleration**2:
        return speed / acceleration + acceleration / jerk
    return 2 * sqrt(speed / jerk)


def stop_distance(speed: float, deceleration: float, jerk: float | None = None) -> float:
    """Way to a stop: v^2/2a, with a jerk limit v^2/2a + v a/2j.

    The ramp is symmetric about half its speed, so the way is v/2 times its time.
    """
    return speed / 2 * ramp_time(speed, deceleration, jerk)


def sine_squared_ramp_time(speed: float, acceleration: float) -> float:
    """Time of a ramp a(t) = a sin^2(pi t / T): its mean is a/2, so T = 2 v / a."""
    return 2 * speed / acceleration


def move_time(
    distance: float,
    speed: float,
    acceleration: float,
    deceleration: float,
    *,
    jerk: float | None = None,
    sine_squared: bool = False,
) -> float:
    """Time of a move from standstill to standstill, with the speed reached if the way allows.

    Ramps are symmetric about half their speed: way = v/2 times time.
    """

    def ramps(peak: float) -> float:
        if sine_squared:
            return sine_squared_ramp_time(peak, acceleration) + sine_squared_ramp_time(
                peak, deceleration
            )
        return ramp_time(peak, acceleration, jerk) + ramp_time(peak, deceleration, jerk)

    if distance <= 0:
        return 0.0
    if speed / 2 * ramps(speed) <= distance:
        return ramps(speed) + (distance - speed / 2 * ramps(speed)) / speed
    low, high = 0.0, speed
    for _ in range(200):  # the way grows with the peak speed: halve until it fits
        middle = (low + high) / 2
        if middle == 0 or middle / 2 * ramps(middle) <= distance:
            low = middle
        else:
            high = middle
    return ramps(low)


def drop(seconds: float, pull: float = G0) -> float:
    """Way that a free load falls: g t^2 / 2 (60 ms: 17.65 mm), or less where less pulls it."""
    return pull * seconds**2 / 2


def multi_turn_range(bits: int, per_turn: float, gear: float) -> float:
    """Way over which an absolute encoder knows where it is: 2^bits motor revolutions."""
    return float(2**bits) * per_turn / gear


def dc_link_energy(capacitance: float, start: float, end: float) -> float:
    """Energy that a DC link takes between two voltages: C (U2^2 - U1^2) / 2."""
    return capacitance * (end**2 - start**2) / 2


def rectified(mains: float) -> float:
    """Voltage of a DC link at rest: a rectifier charges it to the peak of the mains, sqrt(2) U."""
    return sqrt(2) * mains


def resistor_power(voltage: float, resistance: float) -> float:
    """Power of a braking resistor that is switched on: U^2 / R."""
    return voltage**2 / resistance

"""Formulas of motion against numerical integration (scipy) and worked numbers."""

from __future__ import annotations

from math import isclose, pi

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import cumulative_trapezoid, quad
from scipy.interpolate import interp1d

from vault.behaviour import formulas
from vault.model.quantities import convert


def integrated_stop(speed: float, deceleration: float, jerk: float | None) -> tuple[float, float]:
    """Time and way of a stop by integrating the deceleration over time."""
    total = formulas.ramp_time(speed, deceleration, jerk)
    time = np.linspace(0, total, 200_001)
    if jerk is None:
        braking = np.full_like(time, deceleration)
    else:  # up with the jerk, level, down with the jerk
        braking = np.minimum.reduce(
            [jerk * time, np.full_like(time, deceleration), jerk * (total - time)]
        )
    velocity = speed - cumulative_trapezoid(braking, time, initial=0)
    way = cumulative_trapezoid(velocity, time, initial=0)
    assert abs(velocity[-1]) < 1e-3 * speed, "the ramp ends at standstill"
    return total, float(way[-1])


@pytest.mark.parametrize(
    ("speed", "deceleration", "jerk"),
    [(2.0, 12.0, None), (2.0, 12.0, 300.0), (0.4, 4.0, 200.0), (0.1, 50.0, 20.0)],
)
def test_stopping_distance_agrees_with_integration(
    speed: float, deceleration: float, jerk: float | None
) -> None:
    _, way = integrated_stop(speed, deceleration, jerk)
    assert formulas.stop_distance(speed, deceleration, jerk) == pytest.approx(way, rel=1e-4)


def integrated_move(
    distance: float, speed: float, acceleration: float, jerk: float | None, sine_squared: bool
) -> float:
    """Time of a symmetric move: half of it from the way that the acceleration gives."""
    ramp = (
        2 * speed / acceleration if sine_squared else formulas.ramp_time(speed, acceleration, jerk)
    )
    time = np.linspace(0, ramp, 100_001)
    if sine_squared:
        pushing = acceleration * np.sin(pi * time / ramp) ** 2
    elif jerk is None:
        pushing = np.full_like(time, acceleration)
    else:
        pushing = np.minimum.reduce(
            [jerk * time, np.full_like(time, acceleration), jerk * (ramp - time)]
        )
    velocity = cumulative_trapezoid(pushing, time, initial=0)
    way = cumulative_trapezoid(velocity, time, initial=0)
    assert velocity[-1] == pytest.approx(speed, rel=1e-3)
    rest = distance / 2 - way[-1]
    assert rest > 0, "the move reaches its speed"
    reached = interp1d([way[-1], distance / 2], [ramp, ramp + rest / speed])
    return 2 * float(reached(distance / 2))


@pytest.mark.parametrize(("jerk", "sine_squared"), [(None, False), (None, True), (80.0, False)])
def test_move_time_agrees_with_integration(jerk: float | None, sine_squared: bool) -> None:
    found = formulas.move_time(0.6, 0.3, 1.5, 1.5, jerk=jerk, sine_squared=sine_squared)
    expected = integrated_move(0.6, 0.3, 1.5, jerk, sine_squared)
    assert found == pytest.approx(expected, rel=1e-4)


def test_a_short_move_turns_round_before_it_reaches_its_speed() -> None:
    # From s = a t^2 / 2 on both halves: t = 2 sqrt(s / a).
    assert formulas.move_time(0.01, 10.0, 4.0, 4.0) == pytest.approx(2 * (0.01 / 4.0) ** 0.5)


def test_thrust_does_the_work_of_the_torque_over_one_turn() -> None:
    # 1 N*m on a screw of 16 mm behind a gear of 4:1, no loss: work 2 pi x 4 J over 16 mm.
    assert formulas.drive_force(1.0, 0.016, 4.0) == pytest.approx(2 * pi * 4 / 0.016)
    assert formulas.torque_for_force(
        formulas.drive_force(1.0, 0.016, 4.0, 0.9), 0.016, 4.0, 0.9
    ) == pytest.approx(1.0)


def test_lag_is_speed_over_gain_less_what_feed_forward_supplies() -> None:
    assert formulas.lag(0.5, 40.0) == pytest.approx(0.0125)  # 500 mm/s, 40 1/s: 12.5 mm
    assert formulas.lag(0.5, 40.0, 0.9) == pytest.approx(0.00125)


def test_a_gain_of_one_metre_per_minute_and_millimetre_is_16_667_per_second() -> None:
    expected = 1.0 / constants.minute / constants.milli
    assert isclose(convert(1, "(m/min)/mm", "1/s"), expected)


def test_a_free_load_drops_17_65_mm_in_60_ms() -> None:
    fallen, _ = quad(lambda t: constants.g * t, 0, 0.060)
    assert formulas.drop(0.060) == pytest.approx(fallen)
    assert round(formulas.drop(0.060) * 1000, 2) == 17.65


def test_a_multi_turn_encoder_counts_so_many_motor_turns() -> None:
    assert formulas.multi_turn_range(12, 0.020, 2.0) == pytest.approx(40.96)  # 4096 x 10 mm


def test_the_dc_link_takes_the_charge_times_the_voltage() -> None:
    # Energy of a capacitor from 565 V to 800 V: the integral of C u du.
    expected, _ = quad(lambda u: 470e-6 * u, 565, 800)
    assert formulas.dc_link_energy(470e-6, 565, 800) == pytest.approx(expected)

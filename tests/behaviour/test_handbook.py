"""Worked examples of textbooks, held against the formulas: figures from memory, sources named.

Numbers were recalled and not read, as no book is at hand here; the arithmetic of each is repeated
beside it, so a slip of memory shows.
"""

from __future__ import annotations

from math import atan, degrees, pi, sqrt
from typing import Any

import pytest

from tests.meaning.checks.sets import Settings, view_of
from vault.behaviour import formulas
from vault.behaviour.behave import load_themes, margins_of
from vault.behaviour.facts import FACTS
from vault.model.quantities import convert


def fact(quantity: str, settings: Settings, record: dict[str, Any]) -> float:
    load_themes()
    return view_of(settings, record).state.ask(FACTS[quantity].compute).value


def test_power_screw_raising_a_load() -> None:
    # Budynas and Nisbett, Shigley's Mechanical Engineering Design, example 8-1 (from memory): a
    # double-threaded screw of pitch 4 mm (lead 8 mm) under 6.4 kN has an efficiency of 0.311 and
    # takes 26.18 N*m to raise the load.
    torque = formulas.torque_for_force(6400, 0.008, 1, 0.311)
    assert torque == pytest.approx(26.18, rel=2e-3)
    record = {
        "mechanics": {
            "kind": "ball_screw", "lead": "8 mm", "orientation": "vertical", "efficiency": "0.311",
            "moving_mass": f"{6400 / formulas.G0:.9f} kg",
        }
    }  # fmt: skip
    assert fact("torque to lift the load", {}, record) == pytest.approx(26.18, rel=2e-3)


def test_that_power_screw_does_not_lower_by_itself() -> None:
    # The same example: with collar and thread friction the screw is self-locking; below one half of
    # efficiency 2 - 1/eta is less than nothing.
    assert 2 - 1 / 0.311 < 0


def test_braking_of_a_car() -> None:
    # Halliday, Resnick, Walker, Fundamentals of Physics, chapter 2 (from memory): from 100 km/h to
    # 80 km/h over 88.0 m takes a constant deceleration of 1.58 m/s^2.
    fast, slow = 100 / 3.6, 80 / 3.6
    way = formulas.stop_distance(fast, 1.58) - formulas.stop_distance(slow, 1.58)
    assert way == pytest.approx(88.0, rel=5e-3)


def test_a_dropped_tool() -> None:
    # The same chapter (from memory): a wrench that is dropped has fallen 11 m after 1.5 s.
    assert formulas.drop(1.5) == pytest.approx(11.0, rel=5e-3)


def test_energy_of_a_spinning_test_rotor() -> None:
    # The same book, chapter 10 (from memory): a steel disc of 272 kg and 38.0 cm at 14,000 r/min
    # holds 2.1e7 J; I = m r^2 / 2 = 19.64 kg*m^2.
    inertia = 272 * 0.380**2 / 2
    assert inertia == pytest.approx(19.64, rel=1e-3)
    record = {
        "mechanics": {"kind": "rotary", "load_inertia": f"{inertia:.6f} kg*m^2"},
        "motor": {"inertia": "1e-9 kg*m^2", "max_speed": "14000 r/min"},
    }
    energy = fact("energy of a stop", {}, record)
    assert energy == pytest.approx(2.1e7, rel=1e-2)


def test_energy_of_a_charged_capacitor() -> None:
    # The same book, chapter 25 (from memory): 70 uF at 5,000 V hold 875 J.
    assert formulas.dc_link_energy(70e-6, 0, 5000) == pytest.approx(875)


def test_torque_of_a_motor_from_power_and_speed() -> None:
    # P = T w: 2.2 kW at 1,440 r/min are 14.6 N*m (every maker's table of four-pole motors).
    assert 2200 / (2 * pi * 1440 / 60) == pytest.approx(14.6, rel=1e-3)


def test_synchronous_speed() -> None:
    # n = 60 f / p: 50 Hz and two pole pairs are 1,500 r/min (IEC 60034-1, from memory).
    settings: Settings = {"modes_of_operation": 2, "max_frequency": "50 Hz", "motor_pole_pairs": 2}
    record = {"mechanics": {"kind": "rotary", "load_inertia": "1 kg*m^2"}}
    assert fact("commanded speed", settings, record) == pytest.approx(2 * pi * 1500 / 60)


@pytest.mark.parametrize(("damping", "margin"), [(0.5, 51.83), (0.7071, 65.53), (0.3, 33.27)])
def test_phase_margin_of_a_second_order_loop(damping: float, margin: float) -> None:
    # Ogata, Modern Control Engineering (from memory): K / (s (1 + T s)) has a damping of
    # 1 / (2 sqrt(K T)) and a phase margin of atan(2 z / sqrt(sqrt(1 + 4 z^4) - 2 z^2)).
    formula = degrees(atan(2 * damping / sqrt(sqrt(1 + 4 * damping**4) - 2 * damping**2)))
    assert formula == pytest.approx(margin, abs=0.03)
    time = 1 / (4 * damping**2 * 100)  # K = 100 1/s
    settings: Settings = {
        "velocity_gain": "0.1 N*m*s/rad", "torque_filter_time": f"{time * 1000:.9f} ms",
    }  # fmt: skip
    record = {
        "mechanics": {"kind": "rotary", "load_inertia": "1e-9 kg*m^2"},
        "motor": {"inertia": "0.001 kg*m^2"},
    }
    assert fact("phase margin of the velocity loop", settings, record) == pytest.approx(
        margin, abs=0.05
    )


def test_symmetrical_optimum() -> None:
    # Kessler's symmetrical optimum (textbooks of electrical drives, from memory): with Tn = 4 T and
    # K = 1 / (2 T) the crossover lies at 1 / (2 T) and the phase margin is 36.87 deg.
    settings: Settings = {
        "velocity_gain": "0.5 N*m*s/rad", "velocity_integral_time": "4 ms",
        "torque_filter_time": "1 ms",
    }  # fmt: skip
    record = {
        "mechanics": {"kind": "rotary", "load_inertia": "1e-12 kg*m^2"},
        "motor": {"inertia": "0.001 kg*m^2"},
    }
    found = fact("phase margin of the velocity loop", settings, record)
    assert found == pytest.approx(36.87, abs=0.02)


def test_lag_of_a_position_loop() -> None:
    # Textbooks of machine tool drives (from memory): a gain of 1 (m/min)/mm lags 1 mm at 1 m/min.
    speed = 1 / 60
    gain = float(convert(1, "(m/min)/mm", "1/s"))
    assert formulas.lag(speed, gain) == pytest.approx(1e-3)


def test_duty_of_a_trapezoid() -> None:
    # Textbooks of servo sizing (from memory): equal thirds of +T, T/4 and -T, then rest as long as
    # the move: sqrt((T^2 + T^2 / 16 + T^2) / 6) = 0.586 T. A turned load without losses, friction
    # as a slope's pull is not in it, so the even part has none: sqrt(2 / 6) T = 0.577 T.
    record = {
        "mechanics": {"kind": "rotary", "load_inertia": "0.9 kg*m^2"},
        "motor": {"inertia": "0.1 kg*m^2", "max_speed": "3000 r/min"},
        "duty": {
            "cycle": "6 s",
            "moves": [{"distance": "2 rad", "speed": "1 rad/s", "acceleration": "1 rad/s^2",
                       "deceleration": "1 rad/s^2"}],
        },
    }  # fmt: skip
    assert fact("r.m.s. torque of the duty", {}, record) == pytest.approx(sqrt(2 / 6), rel=1e-9)
    assert fact("peak torque of the duty", {}, record) == pytest.approx(1.0)


def test_multi_turn_encoder() -> None:
    # 12 bits count 4,096 revolutions: 40.96 m on a lead of 20 mm behind 2:1.
    assert formulas.multi_turn_range(12, 0.020, 2) == pytest.approx(40.96)


def test_worked_scaling_of_the_drive_profile() -> None:
    # CiA 402-2, factor group (from memory): R = 2^20, G = 4, F = 16 mm: 1 mm is 262,144 increments.
    settings: Settings = {
        "position_encoder_increments": 2**20, "gear_ratio_motor_revolutions": 4,
        "feed_constant_feed": 16, "si_unit_position": 0xFD010000,
    }  # fmt: skip
    record = {
        "mechanics": {"kind": "ball_screw", "lead": "16 mm", "gearbox": {"motor": 4, "output": 1},
                      "stroke": "150 mm"},
    }  # fmt: skip
    view = view_of(settings, record)
    assert margins_of(view.state)["counts"].need == pytest.approx(39_321_600)
    assert fact("travel ratio", settings, record) == 1

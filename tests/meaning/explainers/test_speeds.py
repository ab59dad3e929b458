"""Speeds and frequencies against worked numbers and pint. Axes are invented."""

from __future__ import annotations

import pint
import pytest
from scipy.integrate import quad

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    PUMP,
    RAMPS,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    tell,
    told,
)

UNITS = pint.UnitRegistry()
# Two pole pairs at 50 Hz: 1500 r/min.
DRIVE: dict[str, Entry] = {
    "motor_pole_pairs": 2,
    "rated_frequency": (50, "Hz"),
    "motor_rated_voltage": (400, "V"),
    "max_frequency": (50, "Hz"),
    "min_frequency": (10, "Hz"),
    "vl_velocity_max_amount": (1450, "r/min"),
}


def motor_turns(speed: float, per_turn: float) -> float:
    """r/min of a motor that moves an axis by `per_turn` mm a revolution, by pint."""
    rate = (speed * UNITS.mm / UNITS.s) / (per_turn * UNITS.mm / UNITS.turn)
    return float(rate.to("turn/minute").magnitude)


@pytest.mark.parametrize("role", ["profile_velocity", "max_profile_velocity", "jog_velocity"])
def test_the_motor_speed_at_an_axis_speed_goes_through_lead_and_gear(role: str) -> None:
    common = {**RAMPS, "max_profile_velocity": (400, "mm/s")}
    found = told(role, (100, "mm/s"), (320, "mm/s"), common)
    assert found.figure("motor speed", motor_turns(320, 10))
    assert "1,920 r/min" in found.effect


def test_a_motor_speed_is_told_as_speed_of_the_axis() -> None:
    # 2000 r/min x 10 mm = 20 m/min.
    found = told("max_motor_speed", (1800, "r/min"), (2000, "r/min"), RAMPS)
    assert found.figure("motor speed", 2000)
    assert "2,000 r/min; that is 333.3 mm/s at the axis" in found.effect


def test_a_table_turns_its_gear_ratio_slower_than_its_motor() -> None:
    # 180 deg/s are 30 r/min, 40 times that at the motor.
    found = told("max_profile_velocity", (90, "deg/s"), (180, "deg/s"), TURNS, axis=TABLE)
    assert found.figure("motor speed", 1200)


@pytest.mark.parametrize(
    ("speed", "says"),
    [
        (300, "1,800 r/min."),
        (600, "3,600 r/min, above its rated 3,000 r/min."),
        (800, "4,800 r/min, beyond its maximum of 4,500 r/min."),
    ],
)
def test_the_motor_speed_is_held_against_its_ratings(speed: int, says: str) -> None:
    common = {**RAMPS, "max_profile_velocity": (1000, "mm/s"), "max_motor_speed": (6000, "r/min")}
    assert says in told("profile_velocity", (100, "mm/s"), (speed, "mm/s"), common).effect


@pytest.mark.parametrize("role", ["profile_velocity", "max_profile_velocity"])
def test_a_speed_is_told_as_the_motor_s_own_limit_leaves_it(role: str) -> None:
    # 1,200 r/min x 10 mm = 200 mm/s, less than 320 mm/s would be.
    common = {**RAMPS, "max_profile_velocity": (400, "mm/s"), "max_motor_speed": (1200, "r/min")}
    found = told(role, (100, "mm/s"), (320, "mm/s"), common)
    assert found.figure("motor speed", 1200)
    assert "6080h holds the axis to 200 mm/s. The motor turns at" in found.effect


def test_a_speed_beyond_the_motor_or_the_machine_is_a_hazard() -> None:
    # The machine is built for 400 mm/s, the motor for 750 mm/s.
    for speed, worst in ((350, "dynamics"), (450, "hazard"), (800, "hazard")):
        found = told("jog_velocity", (100, "mm/s"), (speed, "mm/s"), RAMPS, axis=SLIDE)
        assert found.consequence == worst


@pytest.mark.parametrize("role", ["max_profile_velocity", "max_motor_speed"])
def test_a_higher_speed_limit_is_a_hazard_and_a_lower_one_is_not(role: str) -> None:
    unit = "mm/s" if role == "max_profile_velocity" else "r/min"
    assert told(role, (100, unit), (200, unit), RAMPS).consequence == "hazard"
    assert told(role, (200, unit), (100, unit), RAMPS).consequence == "dynamics"


def test_a_faster_profile_is_no_hazard_below_what_machine_and_motor_bear() -> None:
    found = told("profile_velocity", (100, "mm/s"), (200, "mm/s"), RAMPS)
    assert found.consequence == "dynamics"
    assert "The reference move of 300 mm takes 1.7 s instead of 3.1 s." in found.effect


def test_a_profile_speed_above_the_highest_is_cut_to_it() -> None:
    found = told("profile_velocity", (200, "mm/s"), (800, "mm/s"), RAMPS)
    assert "cuts it to its maximum of 400 mm/s" in found.effect
    assert found.figure("motor speed", 2400)
    assert found.consequence == "dynamics"


def test_a_higher_top_speed_is_told_with_the_way_of_a_quick_stop() -> None:
    # v^2 / 2a with 4 m/s^2: 0.3^2 / 8 = 11.25 mm, 0.44^2 / 8 = 24.2 mm, 0.48^2 / 8 = 28.8 mm.
    fits = told("max_motor_speed", (1800, "r/min"), (2640, "r/min"), RAMPS)
    assert "takes 24.2 mm instead of 11.25 mm." in fits.effect
    short = told("max_motor_speed", (1800, "r/min"), (2880, "r/min"), RAMPS)
    assert "takes 28.8 mm instead of 11.25 mm, but" in short.effect


def test_a_speed_limit_that_is_gone_is_a_hazard() -> None:
    assert told("max_profile_velocity", (400, "mm/s"), None, RAMPS).consequence == "hazard"
    assert tell("jog_velocity", (400, "mm/s"), None, RAMPS) is None


def test_a_limit_of_nought_is_not_guessed() -> None:
    found = told("max_profile_velocity", (400, "mm/s"), (0, "mm/s"), RAMPS)
    assert "manual" in found.effect
    assert found.consequence == "hazard"
    assert told("profile_velocity", (4, "mm/s"), (0, "mm/s"), RAMPS).consequence == "dynamics"


def test_without_a_transmission_nothing_is_said_of_the_motor() -> None:
    found = tell("jog_velocity", (10, "mm/s"), (20, "mm/s"), axis=None)
    assert found is None


def test_a_move_that_ends_in_motion_is_a_hazard() -> None:
    assert told("end_velocity", (0, "mm/s"), (20, "mm/s"), RAMPS).consequence == "hazard"


# Frequency drives: n = 60 f / p (synchronous machine, common practice).


@pytest.mark.parametrize(("pairs", "turns"), [(1, 3000), (2, 1500), (4, 750)])
def test_the_field_turns_with_frequency_over_pole_pairs(pairs: int, turns: int) -> None:
    common = {**DRIVE, "motor_pole_pairs": pairs}
    found = told("max_frequency", (40, "Hz"), (50, "Hz"), common, axis=PUMP)
    assert found.figure("speed of the field", turns)


def test_above_rated_frequency_the_field_is_weakened() -> None:
    found = told("max_frequency", (50, "Hz"), (60, "Hz"), DRIVE, axis=PUMP)
    assert "At 60 Hz the motor turns at about 1,800 r/min." in found.effect
    assert found.figure("torque above rated frequency", 50 / 60)  # constant power
    assert "83.3 % of the torque" in found.effect
    at_rated = told("max_frequency", (40, "Hz"), (50, "Hz"), DRIVE, axis=PUMP)
    assert "weakened" not in at_rated.effect


def test_a_higher_highest_frequency_is_a_hazard_and_a_lower_one_is_not() -> None:
    assert told("max_frequency", (40, "Hz"), (50, "Hz"), DRIVE, PUMP).consequence == "hazard"
    assert told("max_frequency", (50, "Hz"), (40, "Hz"), DRIVE, PUMP).consequence == "dynamics"
    assert told("max_frequency", (50, "Hz"), None, DRIVE, PUMP).consequence == "hazard"


def test_a_frequency_beyond_the_motor_is_a_hazard_even_as_lowest() -> None:
    found = told("min_frequency", (10, "Hz"), (70, "Hz"), DRIVE, axis=PUMP)
    assert "2,100 r/min, beyond its maximum of 1,800 r/min" in found.effect
    assert "above the highest" in found.effect
    assert found.consequence == "hazard"
    assert told("min_frequency", (10, "Hz"), (5, "Hz"), DRIVE, PUMP).consequence == "dynamics"


def test_a_pump_takes_the_cube_of_its_speed_in_power() -> None:
    # Affinity laws of pumps and fans: 1.2^3 = 1.728 (handbook knowledge, from memory).
    quadratic = {**DRIVE, "voltage_frequency_pattern": (1, None, "Quadratic")}
    found = told("max_frequency", (50, "Hz"), (60, "Hz"), quadratic, axis=PUMP)
    assert found.figure("power of a pump or fan", 1.728)
    linear = told("max_frequency", (50, "Hz"), (60, "Hz"), DRIVE, axis=PUMP)
    assert "pump" not in linear.effect


def test_pole_pairs_that_are_not_known_are_not_guessed() -> None:
    bare = {k: v for k, v in DRIVE.items() if k != "motor_pole_pairs"}
    found = told("max_frequency", (50, "Hz"), (60, "Hz"), bare, axis=PUMP)
    assert "r/min" not in found.effect


def test_rated_frequency_decides_the_volts_per_hertz() -> None:
    # 400 V at 60 Hz and at 50 Hz: 6.667 and 8 V/Hz.
    found = told("rated_frequency", (50, "Hz"), (60, "Hz"), DRIVE, axis=PUMP)
    assert found.figure("volts per hertz", 400 / 60)
    assert "6.667 V per hertz instead of 8 V: a weaker field" in found.effect
    back = told("rated_frequency", (60, "Hz"), (50, "Hz"), DRIVE, axis=PUMP)
    assert "a stronger field" in back.effect
    assert found.consequence == back.consequence == "electrical"


def test_boost_is_torque_to_start_with() -> None:
    more = told("boost_voltage", (14, "V"), (18, "V"), DRIVE, axis=PUMP)
    less = told("boost_voltage", (18, "V"), (14, "V"), DRIVE, axis=PUMP)
    hanging = told("boost_voltage", (18, "V"), (14, "V"), DRIVE, axis=LIFT)
    assert (more.consequence, less.consequence) == ("electrical", "dynamics")
    assert hanging.consequence == "hazard"
    assert tell("boost_voltage", None, (14, "V"), DRIVE, axis=PUMP) is None


def test_a_quadratic_voltage_curve_is_for_pumps_and_not_for_a_hanging_load() -> None:
    linear, quadratic = (0, None, "Linear"), (1, None, "Quadratic")
    role = "voltage_frequency_pattern"
    assert told(role, linear, quadratic, DRIVE, axis=PUMP).consequence == "dynamics"
    assert told(role, linear, quadratic, DRIVE, axis=LIFT).consequence == "hazard"
    assert told(role, quadratic, linear, DRIVE, axis=LIFT).consequence == "dynamics"
    assert tell(role, linear, (2, None, "Free points"), DRIVE, axis=PUMP) is None


def test_only_a_lowest_frequency_above_nought_raises_set_points() -> None:
    raised = told("min_frequency", (0, "Hz"), (5, "Hz"), DRIVE, axis=PUMP)
    off = told("min_frequency", (5, "Hz"), (0, "Hz"), DRIVE, axis=PUMP)
    words = "A lower set point is raised to it."
    assert (words in raised.effect, words in off.effect) == (True, False)


# Ramps in seconds.


def test_a_stop_in_seconds_is_told_with_the_turns_it_takes() -> None:
    found = told("deceleration_time", (6, "s"), (10, "s"), DRIVE, axis=PUMP)
    turns, _ = quad(lambda t: 1450 / 60 * (1 - t / 10), 0, 10)
    assert found.figure("revolutions to a stop", turns)
    assert found.effect == (
        "If the ramp is made for the highest speed, 1,450 r/min, a stop takes "
        "120.8 revolutions of the motor."
    )
    assert found.consequence == "dynamics"


def test_a_ramp_of_speed_over_time_gives_the_time_from_the_highest_speed() -> None:
    # 500 r/min in 2 s: from 1450 r/min 5.8 s. With 1000 r/min in 2 s: 2.9 s.
    common = {**DRIVE, "vl_deceleration_delta_time": (2, "s")}
    found = told("vl_deceleration_delta_speed", (1000, "r/min"), (500, "r/min"), common, axis=PUMP)
    assert found.effect.startswith("From 1,450 r/min it takes 5.8 s instead of 2.9 s")
    turns, _ = quad(lambda t: (1450 - 250 * t) / 60, 0, 5.8)
    assert found.figure("revolutions to a stop", turns)


def test_on_a_screw_the_way_of_a_stop_is_a_length() -> None:
    # 1450 r/min x 10 mm, half of it for 6 s: 725 mm.
    found = told("deceleration_time", (8, "s"), (6, "s"), DRIVE, axis=LIFT)
    assert "a stop takes 725 mm" in found.effect


def test_a_longer_quick_stop_in_seconds_is_a_hazard_and_a_shorter_one_is_not() -> None:
    role = "vl_quick_stop_delta_time"
    assert told(role, (1, "s"), (2, "s"), DRIVE, axis=PUMP).consequence == "hazard"
    assert told(role, (2, "s"), (1, "s"), DRIVE, axis=PUMP).consequence == "dynamics"


def test_a_shorter_stop_without_resistor_is_electrical() -> None:
    less = {**DRIVE, "braking_resistor_used": (0, None, "No")}
    found = told("deceleration_time", (6, "s"), (3, "s"), less, axis=PUMP)
    assert "over-voltage" in found.effect
    assert found.consequence == "electrical"
    fitted = {**DRIVE, "braking_resistor_used": (1, None, "Yes")}
    assert "over-voltage" not in told("deceleration_time", (6, "s"), (3, "s"), fitted, PUMP).effect


def test_a_start_in_seconds_is_no_stop_and_its_time_says_all() -> None:
    found = told("acceleration_time", (4, "s"), (8, "s"), DRIVE, axis=PUMP)
    assert found.effect == ""
    assert found.consequence == "dynamics"


def test_ramp_times_of_nought_are_as_hard_as_the_current_limit() -> None:
    assert told("deceleration_time", (4, "s"), (0, "s"), DRIVE, PUMP).consequence == "hazard"
    assert told("acceleration_time", (4, "s"), (0, "s"), DRIVE, PUMP).consequence == "dynamics"
    assert tell("deceleration_time", (4, "s"), (0, "mm"), DRIVE, PUMP) is None


@pytest.mark.parametrize(
    ("role", "before", "after", "says"),
    [
        ("vl_acceleration_delta_time", 2, 4, "Up to 1,450 r/min it takes 5.8 s instead of 2.9 s."),
        ("vl_quick_stop_delta_time", 2, 4, "From 1,450 r/min it takes 5.8 s instead of 2.9 s and "),
    ],
)
def test_a_ramp_is_told_from_or_up_to_the_highest_speed(
    role: str, before: int, after: int, says: str
) -> None:
    # 1000 r/min in 2 s and in 4 s: 1450 r/min take 2.9 s and 5.8 s.
    stem = role.removesuffix("_time")
    common: dict[str, Entry] = {**DRIVE, f"{stem}_speed": (1000, "r/min")}
    found = told(role, (before, "s"), (after, "s"), common, axis=PUMP)
    assert says in found.effect
    assert found.figure("time of the ramp", 5.8)


def test_volts_per_hertz_follow_the_rated_voltage_too() -> None:
    # 400 V and 380 V at 50 Hz: 8 and 7.6 V/Hz.
    found = told("motor_rated_voltage", (400, "V"), (380, "V"), DRIVE, axis=PUMP)
    assert "7.6 V per hertz instead of 8 V: a weaker field" in found.effect
    assert "weakened" not in found.effect
    bare = {k: v for k, v in DRIVE.items() if k != "motor_rated_voltage"}
    beyond = told("rated_frequency", (50, "Hz"), (40, "Hz"), bare, axis=PUMP)
    assert beyond.effect == (
        "From 40 Hz up to the highest 50 Hz the field is weakened and torque falls."
    )
    assert tell("rated_frequency", (40, "Hz"), (50, "Hz"), bare, axis=PUMP) is None
    assert tell("motor_rated_voltage", (400, "V"), (380, "mm"), DRIVE, axis=PUMP) is None

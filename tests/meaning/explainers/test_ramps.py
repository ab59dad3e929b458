"""Ramps: stopping ways and move times against numerical integration (scipy) and worked numbers.

Formulas of the ramps are integrated here from the acceleration over time; axes are invented.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import cumulative_trapezoid

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    RAMPS,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    change_of,
    tell,
    told,
    view,
)
from vault.meaning.explainers import registered
from vault.meaning.explainers.ramps import NOT_ROUNDED

JERK: dict[str, Entry] = {
    **RAMPS,
    "motion_profile_type": (3, None, "Jerk-limited ramp"),
    "profile_jerk": (80_000, "mm/s^3"),
}


def integrated_stop(speed: float, rate: float, shape: str, jerk: float = 0.0) -> tuple[float, ...]:
    """Time and way of a stop, braking integrated until the axis stands."""
    time = np.linspace(0, 10 * speed / rate, 400_001)
    if shape == "sine-squared":
        total = 2 * speed / rate  # the mean of sin^2 is a half
        braking = rate * np.sin(pi * time / total) ** 2
    elif shape == "jerk":
        total = speed / rate + rate / jerk
        level = np.full_like(time, rate)
        braking = np.minimum.reduce([jerk * time, level, jerk * (total - time)])
    else:
        total = speed / rate
        braking = np.full_like(time, rate)
    braking[time > total] = 0
    velocity = speed - cumulative_trapezoid(braking, time, initial=0)
    inside = time <= total
    return total, float(cumulative_trapezoid(velocity[inside], time[inside], initial=0)[-1])


@pytest.mark.parametrize(
    ("number", "label", "shape"),
    [
        (0, "Linear ramp (trapezoidal velocity)", "linear"),
        (1, "Sine-squared ramp", "sine-squared"),
        (3, "Jerk-limited ramp", "jerk"),
    ],
)
def test_a_stop_is_as_long_as_its_integrated_braking(number: int, label: str, shape: str) -> None:
    found = told(
        "quick_stop_deceleration",
        (8000, "mm/s^2"),
        (4000, "mm/s^2"),
        {**JERK, "motion_profile_type": (number, None, label)},
    )
    time, way = integrated_stop(0.4, 4.0, shape, jerk=80.0)
    assert found.figures["way of a quick stop"] == pytest.approx(way, rel=1e-3)
    assert found.figures["time of a quick stop"] == pytest.approx(time, rel=1e-3)


def test_a_stop_is_told_with_speed_time_and_way() -> None:
    # 0.4 m/s at 4 m/s^2: 0.1 s and 0.4^2 / 8 = 20 mm; at 8 m/s^2 it was 10 mm.
    found = told("quick_stop_deceleration", (8000, "mm/s^2"), (4000, "mm/s^2"), RAMPS)
    assert found.effect == "From 400 mm/s a quick stop takes 100 ms and 20 mm instead of 10 mm."


def test_a_stop_is_told_by_the_formula_of_its_own_ramp() -> None:
    role = "profile_deceleration"
    slow = {known: entry for known, entry in RAMPS.items() if known != "quick_stop_deceleration"}
    left, right = view(slow), view({**slow, role: (500, "mm/s^2")})
    found = registered()[role](change_of(role, left, right), left, right)
    assert found is not None
    assert all("v^2" in f.basis for f in found.findings if f.quantity == "way of a stop")


def test_a_longer_quick_stop_is_a_hazard_and_a_shorter_one_is_not() -> None:
    assert (
        told("quick_stop_deceleration", (8000, "mm/s^2"), (4000, "mm/s^2"), RAMPS).consequence
        == "hazard"
    )
    assert (
        told("quick_stop_deceleration", (4000, "mm/s^2"), (8000, "mm/s^2"), RAMPS).consequence
        == "dynamics"
    )


def test_a_stop_that_does_not_fit_before_the_hard_stop_is_a_hazard() -> None:
    # 0.4^2 / (2 x 2) = 40 mm, and 25 mm of room.
    found = told("quick_stop_deceleration", (4000, "mm/s^2"), (2000, "mm/s^2"), RAMPS)
    assert "there are only 25 mm" in found.effect
    assert "at either end" in found.effect
    assert found.consequence == "hazard"


def test_the_end_with_less_room_is_named() -> None:
    found = told(
        "quick_stop_deceleration",
        (4000, "mm/s^2"),
        (2000, "mm/s^2"),
        {**RAMPS, "max_software_position_limit": (615, "mm")},
    )
    assert "at the positive end there are only 10 mm" in found.effect


def test_a_stop_that_fits_exactly_is_no_hazard_for_its_room() -> None:
    # 0.4^2 / (2 x 3.2) = 25 mm, the whole room.
    found = told("profile_deceleration", (2000, "mm/s^2"), (3200, "mm/s^2"), RAMPS)
    assert "25 mm" in found.effect
    assert "only" not in found.effect


def test_a_shorter_stop_is_no_new_hazard_even_where_it_does_not_fit() -> None:
    # 0.4^2 / (2 x 2) = 40 mm instead of 80 mm.
    found = told("profile_deceleration", (1000, "mm/s^2"), (2000, "mm/s^2"), RAMPS)
    assert "only 25 mm" in found.effect
    assert found.consequence == "dynamics"


@pytest.mark.parametrize("off", [{"software_position_limits_used": 0}, {}])
def test_room_is_not_told_where_no_software_limit_acts(off: dict[str, Entry]) -> None:
    without = {**RAMPS, "max_software_position_limit": (0, "mm")} if not off else {**RAMPS, **off}
    found = told("quick_stop_deceleration", (4000, "mm/s^2"), (2000, "mm/s^2"), without)
    assert "only" not in found.effect


def test_the_highest_deceleration_holds_a_stop_back() -> None:
    # Cut from 4 to 1 m/s^2: 0.4^2 / 2 = 80 mm instead of 20 mm.
    found = told("max_deceleration", (4000, "mm/s^2"), (1000, "mm/s^2"), RAMPS)
    assert "a quick stop takes 400 ms and 80 mm instead of 20 mm" in found.effect
    assert found.consequence == "hazard"


def test_a_turning_axis_stops_in_degrees() -> None:
    # 180 deg/s at 1200 deg/s^2: 150 ms and 180^2 / 2400 = 13.5 deg; room 20 deg.
    common: dict[str, Entry] = {
        **TURNS,
        "max_motor_speed": (1200, "r/min"),
        "min_software_position_limit": (-185, "deg"),
        "max_software_position_limit": (185, "deg"),
    }
    found = told(
        "quick_stop_deceleration", (2400, "deg/s^2"), (1200, "deg/s^2"), common, axis=TABLE
    )
    assert (
        found.effect == "From 30 r/min a quick stop takes 150 ms and 13.5 deg instead of 6.75 deg."
    )


def test_a_speed_in_turns_of_the_motor_counts_through_the_transmission() -> None:
    # 2400 r/min x 10 mm = 400 mm/s.
    common = {**RAMPS, "max_profile_velocity": (2400, "r/min")}
    found = told("quick_stop_deceleration", (8000, "mm/s^2"), (4000, "mm/s^2"), common)
    assert found.effect.startswith("From 400 mm/s a quick stop takes 100 ms and 20 mm")


@pytest.mark.parametrize("role", ["profile_deceleration", "quick_stop_deceleration"])
def test_a_stop_on_a_ramp_of_nought_is_a_hazard(role: str) -> None:
    assert told(role, (4000, "mm/s^2"), (0, "mm/s^2"), RAMPS).consequence == "hazard"
    assert told("profile_acceleration", (4000, "mm/s^2"), (0, "mm/s^2")).consequence == "dynamics"


def test_without_any_speed_no_way_is_told() -> None:
    assert tell("quick_stop_deceleration", (4000, "mm/s^2"), (2000, "mm/s^2"), axis=None) is None


def test_a_ramp_in_turns_is_the_motor_s_on_an_axis_that_moves_in_a_line() -> None:
    # 400 deg/s^2 at 10 mm a turn are 11.11 mm/s^2: 0.4^2 / 2a = 7.2 m.
    found = told("quick_stop_deceleration", (400, "deg/s^2"), (200, "deg/s^2"), RAMPS)
    assert "14,400 mm instead of 7,200 mm" in found.effect


# The move of 300 mm at 0.2 m/s and 1 m/s^2: ramps of 0.2 s each with the mean speed of half.
@pytest.mark.parametrize(
    ("kind", "seconds"),
    [
        ((0, None, "Linear ramp (trapezoidal velocity)"), 0.3 / 0.2 + 0.2),
        ((1, None, "Sine-squared ramp"), 0.3 / 0.2 + 0.4),
        ((3, None, "Jerk-limited ramp"), 0.3 / 0.2 + 0.2 + 1 / 80),
    ],
)
def test_the_reference_move_lasts_its_way_over_speed_plus_one_ramp(
    kind: Entry, seconds: float
) -> None:
    found = told(
        "profile_acceleration",
        (2000, "mm/s^2"),
        (1000, "mm/s^2"),
        {**JERK, "motion_profile_type": kind},
    )
    assert found.figure("time of the reference move", seconds)


def test_the_reference_move_is_told_before_and_after() -> None:
    # The starting ramp alone is longer: 0.1 s of ramp instead of 0.05 s, half of that is time.
    found = told("profile_acceleration", (4000, "mm/s^2"), (2000, "mm/s^2"), RAMPS)
    before, after = (1.5 + ramp / 2 + 0.1 for ramp in (0.05, 0.1))
    assert found.effect == (
        f"The reference move of 300 mm takes {after:.4g} s instead of {before:.4g} s."
    )


def test_another_profile_type_is_told_with_the_names_of_the_ramps() -> None:
    found = told(
        "motion_profile_type",
        (0, None, "Linear ramp (trapezoidal velocity)"),
        (1, None, "Sine-squared ramp"),
        {
            **RAMPS,
            "max_software_position_limit": (500, "mm"),
            "min_software_position_limit": (100, "mm"),
        },
    )
    assert "takes 1.9 s on sine-squared ramps instead of 1.7 s on linear ramps" in found.effect


def test_softer_ramps_that_make_a_stop_too_long_are_a_hazard() -> None:
    linear, sine = (0, None, "Linear ramp (trapezoidal velocity)"), (1, None, "Sine-squared ramp")
    assert told("motion_profile_type", linear, sine, RAMPS).consequence == "hazard"
    assert told("motion_profile_type", sine, linear, RAMPS).consequence == "dynamics"


@pytest.mark.parametrize("raw", [2, -4])
def test_no_time_is_told_for_a_profile_without_a_known_formula(raw: int) -> None:
    found = tell("motion_profile_type", 0, raw, RAMPS)
    assert found is None or not found.figures


def test_a_jerk_has_no_effect_on_linear_ramps() -> None:
    linear = {**JERK, "motion_profile_type": 0}
    found = told("profile_jerk", (80_000, "mm/s^3"), (40_000, "mm/s^3"), linear)
    assert "no effect" in found.effect
    assert found.consequence == "dynamics"


def test_less_jerk_makes_a_stop_longer() -> None:
    # 0.4 x 4 / (2 x 80) = 10 mm more than 20 mm, with half of the jerk 20 mm more.
    found = told("profile_jerk", (80_000, "mm/s^3"), (40_000, "mm/s^3"), JERK)
    assert "a quick stop takes 200 ms and 40 mm instead of 30 mm" in found.effect
    assert found.consequence == "hazard"
    back = told("profile_jerk", (40_000, "mm/s^3"), (80_000, "mm/s^3"), JERK)
    assert back.consequence == "dynamics"


def test_whether_a_jerk_counts_is_not_guessed() -> None:
    assert tell("profile_jerk", (80_000, "mm/s^3"), (40_000, "mm/s^3"), RAMPS) is None


def test_a_profile_acceleration_above_the_highest_is_cut() -> None:
    found = told("max_acceleration", (4000, "mm/s^2"), (500, "mm/s^2"), RAMPS)
    assert "1,000 mm/s^2 are cut" in found.effect
    assert tell("max_acceleration", (4000, "mm/s^2"), (2000, "mm/s^2"), RAMPS) is None


TORQUE: dict[str, Entry] = {
    **RAMPS,
    "motor_rated_torque": (3200, "mN*m"),
    "max_torque": (500, "permille_rated_torque"),
}


@pytest.mark.parametrize(("axis", "weight"), [(SLIDE, 0.0), (LIFT, constants.g)])
def test_a_ramp_beyond_what_the_torque_limit_gives_is_told(axis: str, weight: float) -> None:
    # Newton: 1.6 N*m over 10 mm a motor turn, on 60 kg behind 90 % and a rotor before it.
    axis = axis.replace("motor: {", "motor: {inertia: 1.6 kg*cm^2, ")
    rotor = 1.6e-4 * (2 * pi / 0.010) ** 2
    expected = (1.6 * 2 * pi / 0.010 - 60 * weight / 0.9) / (60 / 0.9 + rotor)
    found = told("profile_acceleration", (1000, "mm/s^2"), (30_000, "mm/s^2"), TORQUE, axis)
    assert found.figure("acceleration at the torque limit", expected)
    assert "the axis does not keep to this ramp" in found.effect
    slow = told("profile_acceleration", (1000, "mm/s^2"), (900, "mm/s^2"), TORQUE, axis)
    assert "torque" not in slow.effect


def test_a_torque_limit_that_does_not_carry_the_load_is_told() -> None:
    # 60 kg x g over 10 mm a turn: 0.94 N*m; ten per cent of 3.2 N*m are less.
    weak = {**TORQUE, "max_torque": (100, "permille_rated_torque")}
    found = told("profile_deceleration", (2000, "mm/s^2"), (1000, "mm/s^2"), weak)
    assert "cannot even hold the load" in found.effect


def test_a_jerk_counts_where_ramps_are_limited_by_it() -> None:
    role = "profile_jerk"
    assert told(role, (80_000, "mm/s^3"), (0, "mm/s^3"), JERK).effect.startswith(NOT_ROUNDED)
    assert tell(role, (80_000, "mm/s^3"), (9, "mm"), JERK) is None
    for number, label in ((0, "Linear ramp (trapezoidal velocity)"), (1, "Sine-squared ramp")):
        other = {**JERK, "motion_profile_type": (number, None, label)}
        found = told(role, (80_000, "mm/s^3"), (40_000, "mm/s^3"), other)
        assert (found.figures, found.consequence) == ({}, "dynamics")
    bare = {known: entry for known, entry in JERK.items() if known != "motion_profile_type"}
    assert tell(role, (80_000, "mm/s^3"), (40_000, "mm/s^3"), bare) is None


@pytest.mark.parametrize(
    ("role", "before", "after", "worst"),
    [
        ("quick_stop_deceleration", 4000, 3900, "hazard"),
        ("quick_stop_deceleration", 3900, 4000, "dynamics"),
        ("profile_deceleration", 8000, 7000, "dynamics"),  # of a stop that is no quick one
        ("profile_deceleration", 8000, 1000, "hazard"),  # 80 mm, of 25 mm of room
        ("profile_deceleration", 1000, 1100, "dynamics"),  # still too long, but shorter
        ("max_deceleration", 4000, 3000, "hazard"),  # it cuts the ramp of the quick stop
        ("max_deceleration", 3000, 4000, "dynamics"),
    ],
)
def test_a_longer_stop_is_a_hazard_where_it_is_quick_or_does_not_fit(
    role: str, before: int, after: int, worst: str
) -> None:
    found = told(role, (before, "mm/s^2"), (after, "mm/s^2"), RAMPS)
    assert found.consequence == worst


def test_ramps_of_another_shape_keep_the_class_of_their_stops() -> None:
    # A sine-squared stop goes on for twice the time: 40 mm instead of 20 mm, of 25 mm.
    role = "motion_profile_type"
    linear, sine = (0, None, "Linear ramp (trapezoidal velocity)"), (1, None, "Sine-squared ramp")
    longer, shorter = told(role, linear, sine, RAMPS), told(role, sine, linear, RAMPS)
    assert longer.consequence == "hazard"
    assert shorter.consequence == "dynamics"
    assert longer.figures["way of a quick stop"] > shorter.figures["way of a quick stop"]
    assert told(role, linear, sine).consequence == "dynamics"


def test_a_move_that_takes_as_long_is_told_without_what_it_took() -> None:
    role = "profile_acceleration"
    found = told(role, (1000, "mm/s^2"), (1000, "mm/s^2"), RAMPS)
    assert "takes" in found.effect
    assert "instead of" not in found.effect


@pytest.mark.parametrize(
    ("role", "worst"),
    [
        ("quick_stop_deceleration", "hazard"), ("profile_deceleration", "hazard"),
        ("max_deceleration", "dynamics"), ("profile_acceleration", "dynamics"),
        ("max_acceleration", "dynamics"),
    ],
)  # fmt: skip
def test_a_ramp_of_nought_is_a_hazard_where_it_stops(role: str, worst: str) -> None:
    found = told(role, (1000, "mm/s^2"), (0, "mm/s^2"), RAMPS)
    assert found.consequence == worst
    assert found.figures == {}
    assert tell(role, (1000, "mm/s^2"), (5, "mm"), RAMPS) is None


def test_the_highest_acceleration_cuts_the_ramp_of_the_profile() -> None:
    role = "max_acceleration"
    assert "1,000 mm/s^2" in told(role, (2000, "mm/s^2"), (999, "mm/s^2"), RAMPS).effect
    assert tell(role, (2000, "mm/s^2"), (1000, "mm/s^2"), RAMPS) is None


def test_a_shape_of_the_maker_s_own_is_left_to_the_manual() -> None:
    found = told("motion_profile_type", (0, None, None), -1, RAMPS)
    assert (found.figures, found.consequence) == ({}, "dynamics")
    assert tell("motion_profile_type", (0, None, None), 77, RAMPS) is None

"""Gains, filters and notches against worked numbers; all axes and values are invented."""

from __future__ import annotations

from decimal import Decimal
from math import exp, log, pi

import pytest
from scipy import signal

from tests.meaning.explainers.sides_of_travel import (
    SCREW,
    SLIDE,
    TABLE,
    Entry,
    between,
    tell,
    told,
    view,
)

SET: dict[str, Entry] = {
    **SCREW,
    "profile_velocity": (200, "mm/s"),
    "position_gain": (40, "1/s"),
}
ROTOR = SLIDE.replace("max_speed: 4500 r/min}", "max_speed: 4500 r/min, inertia: 1.6 kg*cm^2}")


def test_a_gain_is_told_with_the_lag_before_and_after() -> None:
    # 0.2 m/s: 5 mm at 40 1/s, 4 mm at 50 1/s.
    said = told("position_gain", (40, "1/s"), (50, "1/s"), SET)
    assert "lags 4 mm instead of 5 mm" in said.effect
    assert "times as fast" not in said.effect  # the share beside the values says it
    assert said.figure("steady lag at profile speed", 0.004)
    assert said.consequence == "dynamics"


def test_a_lag_beyond_the_window_trips() -> None:
    common = {**SET, "following_error_window": (3, "mm")}
    assert (
        "window of 3 mm: it trips" in told("position_gain", (80, "1/s"), (40, "1/s"), common).effect
    )
    assert "trips" not in told("position_gain", (40, "1/s"), (80, "1/s"), common).effect


def test_feed_forward_shortens_the_lag_and_too_much_leads() -> None:
    said = told("velocity_feed_forward", (0, "percent"), (90, "percent"), SET)
    assert "lags 0.5 mm instead of 5 mm" in said.effect
    over = told("velocity_feed_forward", (90, "percent"), (120, "percent"), SET)
    assert "leads by 1 mm" in over.effect


def test_the_second_set_of_gains_says_nothing_of_the_lag() -> None:
    said = told("position_gain.2", (40, "1/s"), (50, "1/s"), SET)
    assert said.effect == "The position loop is 1.25 times as fast."


@pytest.mark.parametrize(("gain", "enough"), [("0.05", True), ("0.04", False)])
def test_the_velocity_loop_is_held_against_the_position_loop(gain: str, enough: bool) -> None:
    # J = 1.6e-4 + 60 (0.020 / (2 pi 2))^2 = 3.12e-4 kg m^2; 0.05 / J / 40 = 4.01 times, and at
    # least about four are wanted (common practice, no source).
    turned = 1.6e-4 + 60 * (0.020 / (2 * pi * 2)) ** 2
    common: dict[str, Entry] = {**SET, "velocity_gain": (Decimal(gain), "N*m*s/rad")}
    said = told("position_gain", (30, "1/s"), (40, "1/s"), common, ROTOR)
    times = float(gain) / turned / 40
    assert said.figures["velocity loop over position loop"] == pytest.approx(times, rel=1e-4)
    assert ("which is enough" in said.effect) is enough
    assert ("tends to overshoot" in said.effect) is not enough


def test_without_inertia_nothing_is_said_of_the_loop_inside() -> None:
    common: dict[str, Entry] = {**SET, "velocity_gain": (Decimal("0.05"), "N*m*s/rad")}
    said = told("position_gain", (30, "1/s"), (40, "1/s"), common, SLIDE)
    assert "velocity loop" not in said.effect
    assert "velocity loop over" not in str(
        told("position_gain", (30, "1/s"), (40, "1/s"), common, TABLE).figures
    )


def test_a_gain_without_unit_is_told_as_a_ratio() -> None:
    said = told("velocity_gain", 100, 150, SCREW)
    assert "1.5 times as fast: stiffer" in said.effect
    assert said.figure("velocity loop bandwidth ratio", 1.5)
    assert "softer" in told("current_gain", 150, 100, SCREW).effect
    assert tell("velocity_gain", 0, 100, SCREW) is None


def test_an_integral_time_tells_which_way_it_goes() -> None:
    assert "more slowly" in told("velocity_integral_time", (10, "ms"), (20, "ms")).effect
    assert "less damping" in told("velocity_integral_time", (20, "ms"), (10, "ms")).effect
    assert "manual must tell" in told("velocity_integral_time", (20, "ms"), (0, "ms")).effect


def test_the_corner_of_a_filter_is_where_it_damps_by_three_decibels() -> None:
    # First-order lag 1 / (1 + s T) with T = 2 ms (scipy.signal).
    said = told("torque_filter_time", (1, "ms"), (2, "ms"))
    corner = said.figures["corner frequency"]
    _, (magnitude,), _ = signal.bode(([1], [0.002, 1]), w=[2 * pi * corner])
    assert magnitude == pytest.approx(-3.0103, abs=1e-3)
    assert "The filter is off" in told("torque_filter_time", (1, "ms"), (0, "ms")).effect


NOTCH = "notch_filter_frequency"


def test_a_notch_is_set_moved_or_switched_off() -> None:
    assert "damps what swings there" in told(NOTCH, (0, "Hz"), (412, "Hz")).effect
    off = told(NOTCH, (412, "Hz"), (0, "Hz")).effect
    assert off == "The notch filter is off: a resonance at 412 Hz is not damped."
    moved = told(NOTCH, (412, "Hz"), (400, "Hz")).effect
    assert moved == "The two notches lie 12 Hz apart; a resonance at 412 Hz is not damped."
    assert told(NOTCH, None, (0, "Hz")).effect == "The notch filter is off."


def test_a_small_move_stays_inside_the_width_of_the_notch() -> None:
    wide: dict[str, Entry] = {"notch_filter_bandwidth": (60, "Hz")}
    assert "inside the width of 60 Hz" in told(NOTCH, (412, "Hz"), (400, "Hz"), wide).effect
    assert "not damped" in told(NOTCH, (412, "Hz"), (380, "Hz"), wide).effect


def test_a_notch_without_depth_is_off_and_each_notch_has_its_own() -> None:
    flat: dict[str, Entry] = {"notch_filter_depth": (0, "percent")}
    assert told(NOTCH, (0, "Hz"), (412, "Hz"), flat).effect == "The notch filter is off."
    assert "damps" in told(f"{NOTCH}.2", (0, "Hz"), (412, "Hz"), flat).effect


def test_a_move_settles_sooner_with_a_stiffer_loop_and_a_wider_window() -> None:
    # At the end of a ramp of 1 m/s^2 from 0.2 m/s the lag is a / Kv^2 (1 - exp(-Kv v / a)).
    role = "position_window"
    common: dict[str, Entry] = {
        **SET,
        role: (Decimal("0.05"), "mm"),
        "profile_deceleration": (1000, "mm/s^2"),
    }

    def settles(gain: float, window: float) -> float:
        return log(1 / gain**2 * (1 - exp(-gain * 0.2)) / window) / gain

    said = told("position_gain", (40, "1/s"), (80, "1/s"), common)
    assert said.figure("settling time", settles(80, 5e-5))
    assert f"{1000 * settles(80, 5e-5):.4g} ms instead of" in said.effect
    assert f"instead of {1000 * settles(40, 5e-5):.4g} ms" in said.effect
    wider = told(role, (Decimal("0.05"), "mm"), (Decimal("0.1"), "mm"), common)
    assert wider.consequence == "travel"
    assert wider.figure("settling time", settles(40, 1e-4))
    assert "instead of" not in told(role, (0, "mm"), (Decimal("0.1"), "mm"), common).effect
    assert tell(role, (1, "mm"), (2, "mm"), common) is None  # both at once
    assert tell(role, (1, "mm"), (0, "mm"), common) is None


def test_in_a_mode_of_set_points_the_lag_is_that_of_the_highest_speed() -> None:
    # 0.4 m/s: 10 mm at 40 1/s, 8 mm at 50 1/s.
    common: dict[str, Entry] = {
        **SET,
        "max_profile_velocity": (400, "mm/s"),
        "modes_of_operation": 8,
    }
    said = told("position_gain", (40, "1/s"), (50, "1/s"), common)
    assert "At the maximum speed of 400 mm/s the axis lags 8 mm instead of 10 mm" in said.effect


@pytest.mark.parametrize(
    ("before", "after"), [((0, "1/s"), (40, "1/s")), (None, (40, "1/s")), ((1, "m"), (2, "1/s"))]
)
def test_gains_that_do_not_compare_have_no_ratio(before: Entry | None, after: Entry) -> None:
    assert tell("current_gain", before, after) is None


def test_a_velocity_gain_on_another_machine_is_not_compared() -> None:
    left = view({**SET, "velocity_gain": 100}, SLIDE)
    right = view({**SET, "velocity_gain": 150}, TABLE)
    found = between("velocity_gain", left, right)
    assert found is not None
    assert "which is not recorded" in found.effect
    assert found.figures == {}


def test_a_velocity_gain_is_told_by_what_it_moves_where_that_is_known() -> None:
    common: dict[str, Entry] = {**SET, "position_gain": (40, "1/s")}
    unit = "N*m*s/rad"
    said = told("velocity_gain", (Decimal("0.04"), unit), (Decimal("0.05"), unit), common, ROTOR)
    assert said.figure("velocity loop bandwidth ratio", 1.25)
    assert "which is enough" in said.effect
    second = told(
        "velocity_gain.2", (Decimal("0.04"), unit), (Decimal("0.05"), unit), common, ROTOR
    )
    assert "position loop" not in second.effect
    assert second.figure("velocity loop bandwidth ratio", 1.25)


@pytest.mark.parametrize("role", ["velocity_filter_time", "position_filter_time"])
def test_a_filter_without_a_time_says_nothing(role: str) -> None:
    assert tell(role, (1, "ms"), (2, "mm")) is None
    assert told(role, (0, "ms"), (1, "ms")).figure("corner frequency", 1 / (2 * pi * 0.001))


def test_a_shift_of_half_the_width_of_a_notch_is_still_inside() -> None:
    wide: dict[str, Entry] = {"notch_filter_bandwidth": (60, "Hz")}
    assert "inside the width" in told(NOTCH, (412, "Hz"), (442, "Hz"), wide).effect
    assert "not damped" in told(NOTCH, (412, "Hz"), (443, "Hz"), wide).effect
    assert told(NOTCH, (412, "Hz"), (442, "Hz"), wide).figure("notch frequency", 442)

"""Drives that are set in hertz and seconds, worked by hand. The axis is invented.

n = 60 f / p (IEC 60034-1, from memory); the rest is textbook kinematics.
"""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from tests.meaning.checks.sets import Settings, view_of
from vault.behaviour import frequency, ramp
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.speed import highest_frequency_speed
from vault.behaviour.state import State

RPM = 2 * pi / 60
# 60 Hz and two pole pairs are 1,800 r/min of the motor, 360 r/min behind 5:1.
DRIVE: Settings = {
    "modes_of_operation": 2, "max_frequency": "60 Hz", "rated_frequency": "50 Hz",
    "motor_pole_pairs": 2, "motor_rated_voltage": "400 V",
}  # fmt: skip
FAN: dict[str, Any] = {"mechanics": {"kind": "rotary", "gearbox": {"motor": 5, "output": 1}}}


def state(**settings: Any) -> State:
    merged = {**DRIVE, **settings}
    return view_of({k: v for k, v in merged.items() if v is not None}, FAN).state


def test_the_field_turns_by_frequency_and_pole_pairs() -> None:
    assert state().ask(frequency.highest_field_speed).value == pytest.approx(1800 * RPM)
    found = frequency.field_speed(state(), 30)
    assert found is not None
    assert found.value == pytest.approx(900 * RPM)
    assert frequency.field_speed(state(motor_pole_pairs=None), 30) is None


@pytest.mark.parametrize(
    ("settings", "error"),
    [
        ({"motor_pole_pairs": None}, Missing),
        ({"motor_pole_pairs": 0}, DoesNotApply),
        ({"max_frequency": None}, Missing),
        ({"max_frequency": "0 Hz"}, DoesNotApply),
    ],
)
def test_no_field_turns_without_frequency_or_poles(
    settings: dict[str, Any], error: type[Exception]
) -> None:
    with pytest.raises(error):
        state(**settings).ask(frequency.highest_field_speed)


@pytest.mark.parametrize(("hertz", "share"), [(40, None), (50, None), (62.5, 0.8), (100, 0.5)])
def test_torque_falls_above_the_rated_frequency(hertz: float, share: float | None) -> None:
    found = frequency.torque_share(state(), hertz)
    assert (None if found is None else found.value) == share
    whole = state(max_frequency=f"{hertz} Hz").ask(frequency.least_torque_share)
    assert whole.value == (share or 1)


@pytest.mark.parametrize(("low", "is_wrong"), [(59, False), (60, False), (61, True)])
def test_the_lowest_frequency_is_not_above_the_highest(low: int, is_wrong: bool) -> None:
    assert frequency.frequencies_out_of_order(state(min_frequency=f"{low} Hz")) is is_wrong
    assert not frequency.frequencies_out_of_order(
        state(min_frequency=f"{low} Hz", max_frequency=None)
    )


def test_volts_go_with_hertz_and_power_with_the_cube_of_speed() -> None:
    assert state().ask(frequency.volts_per_hertz).value == 8  # 400 V / 50 Hz
    assert frequency.pump_power(1.2).value == pytest.approx(1.728)  # affinity laws


@pytest.mark.parametrize(
    ("settings", "turns"),
    [
        ({"vl_velocity_max_amount": "1200 r/min"}, 1200),
        ({"vl_velocity_max_amount": "2400 r/min"}, 2400),
        ({"vl_velocity_max_amount": "0 r/min"}, 1800),
        ({}, 1800),
    ],
)
def test_6046h_is_the_motor_s_highest_speed_else_that_of_the_field(
    settings: Settings, turns: int
) -> None:
    assert state(**settings).ask(frequency.top_motor_speed).value == pytest.approx(turns * RPM)


@pytest.mark.parametrize(
    ("settings", "turns"),
    [
        ({}, 360),
        ({"vl_velocity_max_amount": "1200 r/min"}, 240),
        ({"vl_velocity_max_amount": "2400 r/min"}, 360),
        ({"max_motor_speed": "600 r/min"}, 120),
        ({"max_frequency": "0 Hz", "max_motor_speed": "600 r/min"}, 120),
    ],
)
def test_the_least_of_all_limits_holds_the_axis(settings: Settings, turns: int) -> None:
    assert state(**settings).ask(highest_frequency_speed).value == pytest.approx(turns * RPM)


@pytest.mark.parametrize(
    ("settings", "seconds"),
    [
        # 4 s for 1,000 r/min are 7.2 s from 1,800 r/min.
        ({"vl_deceleration_delta_time": "4 s", "vl_deceleration_delta_speed": "1000 r/min"}, 7.2),
        ({"vl_deceleration_delta_time": "4 s", "vl_deceleration_delta_speed": "0 r/min"}, 4),
        ({"vl_deceleration_delta_time": "4 s"}, 4),
        ({"deceleration_time": "3 s"}, 3),
        ({"vl_deceleration_delta_time": "4 s", "deceleration_time": "3 s"}, 4),
    ],
)
def test_a_ramp_lasts_by_the_speed_that_its_time_is_for(settings: Settings, seconds: float) -> None:
    found = state(**settings)
    assert found.ask(frequency.deceleration_time).value == pytest.approx(seconds)
    # n t / 2, behind 5:1 a fifth of it.
    turned = 1800 * RPM * seconds / 2
    assert found.ask(frequency.revolutions_to_stop).value == pytest.approx(turned)
    assert frequency.way_to_stop(found, seconds).value == pytest.approx(turned / 5)


def test_a_ramp_without_its_time_is_asked_for() -> None:
    with pytest.raises(Missing, match=r"^deceleration_time$"):
        state().ask(frequency.deceleration_time)


def test_the_speed_of_a_ramp_and_the_highest_are_both_wanted() -> None:
    role = "vl_acceleration_delta_time"
    speed = {"vl_acceleration_delta_speed": "1000 r/min"}
    assert frequency.has_ramp_speed(state(**speed), role)
    assert not frequency.has_ramp_speed(state(), role)
    assert not frequency.has_ramp_speed(state(**speed, max_frequency=None), role)


@pytest.mark.parametrize(
    ("hertz", "turns", "pairs"),
    [
        (50, 1450, 2),  # 2.07
        (50, 1500, 2),
        (50, 2900, 1),
        (60, 1150, 3),  # 3.13
        (50, 3010, None),  # above its field: no induction motor
        (50, 46.8, 64),
        (50, 46, None),
        (50, 0, None),
    ],
)
def test_pole_pairs_fit_the_plate(hertz: int, turns: float, pairs: int | None) -> None:
    found = state(rated_frequency=f"{hertz} Hz", motor_rated_speed=f"{turns} r/min")
    told = found.asked(frequency.fitting_pole_pairs)
    assert (None if told is None else told.value) == pairs
    servo = state(modes_of_operation=8, motor_rated_speed="1450 r/min")
    assert servo.asked(frequency.fitting_pole_pairs) is None


@pytest.mark.parametrize(
    ("role", "settings", "rate"),
    [
        # 1,000 r/min in 2 s, behind 5:1.
        (ramp.QUICK_STOP, {"vl_quick_stop_delta_time": "2 s",
                            "vl_quick_stop_delta_speed": "1000 r/min"}, 100),
        # From 360 r/min of the axis in 2 s.
        (ramp.QUICK_STOP, {"vl_quick_stop_delta_time": "2 s"}, 180),
        # Without 604Ah on the deceleration ramp.
        (ramp.QUICK_STOP, {"deceleration_time": "6 s"}, 60),
        (ramp.QUICK_STOP, {"vl_quick_stop_delta_time": "2 s", "deceleration_time": "6 s"}, 180),
        (ramp.RISE, {"acceleration_time": "3 s"}, 120),
        (ramp.RISE, {"vl_acceleration_delta_time": "2 s", "acceleration_time": "3 s"}, 180),
        (ramp.FALL, {"deceleration_time": "6 s"}, 60),
        (ramp.FALL, {"deceleration_time": "0 s"}, None),
    ],
)  # fmt: skip
def test_a_ramp_is_speed_over_time(role: str, settings: Settings, rate: float | None) -> None:
    found = state(**settings)
    if rate is None:
        with pytest.raises(DoesNotApply):
            ramp.ramp(found, role)
    else:
        assert ramp.ramp(found, role) == pytest.approx(rate * RPM)


@pytest.mark.parametrize(("role", "lacks"), [
    (ramp.RISE, "acceleration_time"), (ramp.FALL, "deceleration_time"),
    (ramp.QUICK_STOP, "deceleration_time"),
])  # fmt: skip
def test_a_ramp_time_that_is_not_there_is_asked_for(role: str, lacks: str) -> None:
    with pytest.raises(Missing, match=f"^{lacks}$"):
        ramp.ramp(state(), role)

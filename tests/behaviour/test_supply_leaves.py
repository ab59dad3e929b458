"""Torque at speed, current on one phase, and a DC link that several axes share. All invented."""

from __future__ import annotations

from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, axis
from tests.meaning.checks.sets import Settings, the_complaint, view_of
from vault.behaviour.behave import margins_of
from vault.behaviour.facts import Margin
from vault.meaning.axis_view import AxisView

# 0.001 kg*m^2 at 1,570.8 rad/s^2 take 1.5708 N*m up to 3,000 r/min, 314.16 rad/s.
DUTY = {
    "cycle": "4 s",
    "moves": [
        {"distance": "36000 deg", "speed": "18000 deg/s", "acceleration": "90000 deg/s^2",
         "deceleration": "90000 deg/s^2"}
    ],
}  # fmt: skip
SET: Settings = {"motor_rated_torque": "2 N*m", "motor_rated_current": "3 A", "max_torque": 2500}
WINDING: Settings = {
    "motor_winding_resistance": "2 ohm", "motor_winding_inductance": "80 mH",
    "motor_pole_pairs": 4,
}  # fmt: skip


def view(settings: Settings, motor: dict[str, Any], duty: dict[str, Any] = DUTY) -> AxisView:
    record = {
        "mechanics": {"kind": "rotary", "load_inertia": "1e-9 kg*m^2"},
        "motor": {"inertia": "0.001 kg*m^2", "max_torque": "5 N*m", **motor},
        "supply": {"voltage": "400 V", "phases": 3}, "duty": duty,
    }  # fmt: skip
    return view_of({**SET, **settings}, record)


def margin(name: str, settings: Settings, motor: dict[str, Any], **duty: Any) -> Margin:
    return margins_of(view(settings, motor, **duty).state)[name]


@pytest.mark.parametrize(
    ("motor", "settings", "have", "bound"),
    [
        # Half way from 2,000 to 4,000 r/min half of 5 N*m are left.
        ({"corner_speed": "2000 r/min", "max_speed": "4000 r/min"}, {}, 2.5, "at_least"),
        ({"corner_speed": "3000 r/min"}, {}, 5, "exact"),
        # 400 V less a tenth are 360 V: 314.16 V leave some, 376.99 V nothing.
        ({"voltage_constant": "1 V*s/rad"}, {}, 5, "up_to"),
        ({"voltage_constant": "1.2 V*s/rad"}, {}, 0, "up_to"),
        # A phase: e = 181.38 V, u = 207.85 V, 1 ohm, 4 x 314.16 x 40 mH = 50.27 ohm: 1.9483 A.
        ({"voltage_constant": "1 V*s/rad"}, WINDING, 3.3746, "up_to"),
        # A torque constant of sqrt(3) N*m/A goes with 1 V*s/rad.
        ({}, {**WINDING, "motor_torque_constant": "1.7320508 N*m/A"}, 3.3746, "up_to"),
    ],
)
def test_torque_at_speed_is_what_the_voltage_leaves(
    motor: dict[str, Any], settings: Settings, have: float, bound: str
) -> None:
    found = margin("speed_torque", settings, motor)
    assert (found.have, found.bound) == (pytest.approx(have, rel=1e-4), bound)
    assert found.need == pytest.approx(1.5708, rel=1e-4)


def test_a_motor_that_runs_out_of_voltage_is_told() -> None:
    told = the_complaint("speed_torque", view({}, {"voltage_constant": "1.2 V*s/rad"}))
    assert (
        "At speed the voltage leaves the motor 0 N*m, the duty asks for 1.571 N*m" in told.sentence
    )


def test_what_torque_at_speed_lacks_is_asked_for() -> None:
    assert margin("speed_torque", {}, {}).missing == ("motor.corner_speed",)
    lacks = margin("speed_torque", {"motor_type": 7}, {"voltage_constant": "1 V*s/rad"})
    assert lacks.missing == ("motor.corner_speed",)


MEASURED = {"cycle": "4 s", "rms_force": "1.2 N*m"}  # 1.2 / 2 x 3 A = 1.8 A


@pytest.mark.parametrize(
    ("settings", "supply", "ratio", "bound"),
    [
        ({"drive_rated_current": "2 A"}, {"phases": 3}, 2 / 1.8, "exact"),
        ({"drive_rated_current": "2 A"}, {"phases": 1}, 2 / 1.8, "up_to"),
        ({"drive_rated_current": "2 A", "supply_phases": 1}, {}, 2 / 1.8, "up_to"),
        (
            {"drive_rated_current": "2 A"},
            {"phases": 1, "drive_current": "1.5 A"},
            1.5 / 1.8,
            "exact",
        ),
    ],
)
def test_the_drive_bears_the_duty_on_the_phases_that_are_fed(
    settings: Settings, supply: dict[str, Any], ratio: float, bound: str
) -> None:
    record = {"mechanics": {"kind": "rotary"}, "supply": supply, "duty": MEASURED}
    found = margins_of(view_of({**SET, **settings}, record).state)["duty_current"]
    assert (found.ratio, found.bound) == (pytest.approx(ratio), bound)
    assert ("on one phase" in found.hedge) == (bound == "up_to")


SHARED = {**LIFT_RECORD, "supply": {**LIFT_RECORD["supply"], "shared_with": ["m1/feed", "m1/bed"]}}
NAMES = ("resistor_peak", "stop_energy", "descent_energy")


def test_a_shared_dc_link_leaves_open_what_it_takes() -> None:
    for used in (0, 1):
        alone, shared = (
            margins_of(axis("lift", record, braking_resistor_used=used).state)
            for record in (LIFT_RECORD, SHARED)
        )
        for name in NAMES:
            if name in shared:
                assert shared[name].ratio == alone[name].ratio
                assert shared[name].bound == "unknown"
                assert "shared with m1/feed, m1/bed" in shared[name].hedge


def test_a_shared_dc_link_is_named_where_it_may_trip() -> None:
    record = {**SHARED, "supply": {**SHARED["supply"], "dc_link_capacitance": "5 uF"}}
    told = the_complaint("stop_energy", axis("lift", record, braking_resistor_used=0))
    assert "It shares its DC link with m1/feed, m1/bed: these take some of that" in told.sentence

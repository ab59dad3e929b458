"""Plausibility rules: each with a set that it complains about and the nearest that it does not.

Sets and machines are invented; worked numbers stand beside the checks.
"""

from __future__ import annotations

import pytest

from vault.meaning.axis_view import AxisView
from vault.meaning.checks import _RULES, Complaint, check, rule, rules
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import read_axis
from vault.store.files.parameters_text import parameters_text

Value = tuple[int, str | None] | tuple[int, str | None, str]

# A vertical ball screw of 10 mm lead behind 2:1, 20 kg, stroke 520 mm between hard stops.
LIFT = """
schema: axisvault/axis/1
mechanics:
  kind: ball_screw
  lead: 10 mm
  gearbox: {motor: 2, output: 1}
  orientation: vertical
  moving_mass: 20 kg
  stroke: 520 mm
  hard_stop_low: -10 mm
  hard_stop_high: 510 mm
motor: {rated_torque: 2 N*m, max_torque: 6 N*m, max_speed: 4000 r/min}
encoder: {single_turn_bits: 20, multi_turn_bits: 12}
brake: {fitted: true, apply_time: 100 ms}
controller_link: {task_period: 2 ms}
"""


def view(axis: str | None = LIFT, **values: Value) -> AxisView:
    found = [
        Parameter(role, role, value[0], value[0], role, value[1], *value[2:])
        for role, value in values.items()
    ]
    return AxisView(
        "x",
        parameters_text(ParameterSet(found)),
        axis_text=None if axis is None else axis.encode(),
        read_axis=lambda text: read_axis(text, "axis.yaml"),
    )


def complaints(rule: str, axis: str | None = LIFT, **values: Value) -> list[Complaint]:
    return [c for c in check(view(axis, **values)) if c.rule == rule]


def test_an_empty_set_has_nothing_implausible() -> None:
    assert check(view()) == []
    assert check(view(None)) == []


SCALE: dict[str, Value] = {
    "position_encoder_increments": (2**20, "increments"),
    "gear_ratio_motor_revolutions": (2, "rev"),
    "feed_constant_feed": (10, "user_position"),
    "si_unit_position": (0xFD010000, None),  # mm by CiA 303-2, from memory
}


def test_parameters_that_agree_with_the_machine_pass() -> None:
    assert not complaints("travel_scale", **SCALE)


def test_another_feed_than_the_machine_s_is_told_with_the_way_really_made() -> None:
    # 12 mm set on a lead of 10 mm: 150 mm commanded move 150 x 10 / 12 = 125 mm.
    (found,) = complaints("travel_scale", **SCALE | {"feed_constant_feed": (12, "user_position")})
    assert "150 mm moves 125 mm" in found.sentence
    assert found.consequence == "hazard"  # it hangs


def test_software_limits_out_of_order() -> None:
    low, high = "min_software_position_limit", "max_software_position_limit"
    assert complaints("software_limits", **{low: (500, "mm"), high: (0, "mm")})
    assert not complaints("software_limits", **{low: (0, "mm"), high: (500, "mm")})


@pytest.mark.parametrize(("high", "beyond"), [(510, False), (511, True)])
def test_a_software_limit_beyond_the_hard_stop(high: int, beyond: bool) -> None:
    found = complaints(
        "software_limits",
        min_software_position_limit=(0, "mm"),
        max_software_position_limit=(high, "mm"),
    )
    assert bool(found) is beyond


@pytest.mark.parametrize(("window", "count"), [(9, 1), (11, 0), (2000, 0)])
def test_the_window_is_held_against_the_lag(window: int, count: int) -> None:
    # Lag v / Kv = 300 mm/s / 30 1/s = 10 mm.
    found = complaints(
        "window_and_lag",
        following_error_window=(window, "mm"),
        profile_velocity=(300, "mm/s"),
        position_gain=(30, "1/s"),
    )
    assert len(found) == count
    assert all("10 mm" in c.sentence for c in found)


@pytest.mark.parametrize(("speed", "count"), [(2400, 0), (2412, 1)])
def test_the_stopping_distance_is_held_against_the_room_to_the_hard_stop(
    speed: int, count: int
) -> None:
    # 2400 r/min / 2 x 10 mm / 60 s = 200 mm/s; v^2 / 2a = 200^2 / 2000 = 20 mm; from 490 mm to the
    # stop at 510 mm are 20 mm.
    found = complaints(
        "room_to_stop",
        max_motor_speed=(speed, "r/min"),
        quick_stop_deceleration=(1000, "mm/s^2"),
        min_software_position_limit=(10, "mm"),
        max_software_position_limit=(490, "mm"),
    )
    assert len(found) == count


@pytest.mark.parametrize(("speed", "count"), [(333, 0), (334, 1)])
def test_the_highest_speed_is_held_against_the_motor(speed: int, count: int) -> None:
    # 4000 r/min / 2 x 10 mm / 60 s = 333.3 mm/s.
    assert len(complaints("motor_speed", max_profile_velocity=(speed, "mm/s"))) == count


@pytest.mark.parametrize(("permille", "count"), [(3000, 0), (3001, 1)])
def test_the_torque_limit_is_held_against_the_motor(permille: int, count: int) -> None:
    # 3000 permille of 2 N*m are the 6 N*m that the motor may give.
    assert len(complaints("torque_limit", max_torque=(permille, "permille_rated_torque"))) == count


@pytest.mark.parametrize(("permille", "count"), [(79, 0), (78, 1)])
def test_the_torque_limit_must_hold_the_load(permille: int, count: int) -> None:
    # m g L / (2 pi G) = 20 x 9.80665 x 0.01 / (4 pi) = 0.15608 N*m = 78.04 permille of 2 N*m.
    found = complaints("torque_limit", max_torque=(permille, "permille_rated_torque"))
    assert len(found) == count
    assert all("0.1561 N*m" in c.sentence and c.consequence == "hazard" for c in found)


def test_the_absolute_range_is_held_against_the_stroke() -> None:
    # 2^12 revolutions x 10 mm / 2 = 20.48 m; with 6 bits 320 mm for a stroke of 520 mm.
    assert not complaints("absolute_range")
    (found,) = complaints("absolute_range", LIFT.replace("bits: 12", "bits: 6"))
    assert "320 mm" in found.sentence


@pytest.mark.parametrize(("delay", "count"), [(100, 0), (40, 1)])
def test_a_brake_that_closes_late_drops_the_load(delay: int, count: int) -> None:
    # 60 ms without hold: g t^2 / 2 = 9.80665 x 0.06^2 / 2 = 17.65 mm.
    found = complaints("brake", brake_apply_delay=(delay, "ms"))
    assert len(found) == count
    assert all("17.65 mm" in c.sentence for c in found)


def test_a_horizontal_axis_needs_no_brake() -> None:
    values: dict[str, Value] = {"brake_used": (0, None), "brake_apply_delay": (0, "ms")}
    assert complaints("brake", **values)
    assert not complaints("brake", LIFT.replace("vertical", "horizontal"), **values)


def test_a_homing_method_needs_its_switch() -> None:
    # Method 1 looks for the negative limit switch (CiA 402-2, from memory).
    inputs: dict[str, Value] = {"digital_input_function": (1, None, "Negative over-travel")}
    assert not complaints("homing_inputs", homing_method=(1, None), **inputs)
    assert complaints(
        "homing_inputs", homing_method=(1, None), digital_input_function=(2, None, "Enable")
    )


def test_one_end_without_over_travel_input_is_a_hazard() -> None:
    one: dict[str, Value] = {"digital_input_function": (1, None, "Positive over-travel")}
    other: dict[str, Value] = {"digital_input_function.2": (2, None, "Negative over-travel")}
    (found,) = complaints("overtravel_inputs", **one)
    assert found.consequence == "hazard"
    assert "negative" in found.sentence
    assert not complaints("overtravel_inputs", **one, **other)


@pytest.mark.parametrize(("interval", "count"), [(2000, 0), (4000, 1)])
def test_drive_and_controller_must_work_in_step(interval: int, count: int) -> None:
    assert len(complaints("update_interval", update_interval=(interval, "us"))) == count


_OF_THE_SET_ALONE = {"window_and_lag", "software_limits", "overtravel_inputs", "homing_inputs"}


@pytest.mark.parametrize("rule", sorted(set(rules()) - _OF_THE_SET_ALONE))
def test_no_rule_guesses_where_nothing_is_recorded_about_the_machine(rule: str) -> None:
    values = {
        **SCALE,
        "max_profile_velocity": (10**6, "user_velocity"),
        "max_torque": (9000, "permille_rated_torque"),
        "brake_used": (0, None),
        "brake_apply_delay": (0, "ms"),
        "update_interval": (9, "ms"),
    }
    assert not complaints(rule, None, **values)  # type: ignore[arg-type]


def test_a_rule_has_one_function() -> None:
    def zero_factor(view: AxisView) -> list[Complaint]:
        return []

    def of_this_test(view: AxisView) -> list[Complaint]:
        return []

    known = set(rules())
    with pytest.raises(ValueError, match="two rules are called zero_factor"):
        rule(zero_factor)
    assert rule(of_this_test) is of_this_test
    assert set(rules()) - known == {"of_this_test"}
    assert dict(rules())["of_this_test"] is of_this_test
    _RULES.pop("of_this_test")


@pytest.mark.parametrize(
    ("defaults", "says"),
    [
        ((), None),
        (("gear_ratio_motor_revolutions",),
         "gear_ratio_motor_revolutions is the file's default and not stated of the drive."),
        (("feed_constant_feed", "gear_ratio_motor_revolutions"),
         "are the file's defaults and not stated of the drive."),
        (("another",), None),
    ],
)  # fmt: skip
def test_a_complaint_says_which_values_are_only_defaults(
    defaults: tuple[str, ...], says: str | None
) -> None:
    known = view(
        position_encoder_increments=(2**20, "increments"),
        gear_ratio_motor_revolutions=(4, "rev"),
        feed_constant_feed=(10, "mm"),
    )
    known.defaults = frozenset(defaults)
    (found,) = (one for one in check(known) if one.rule == "travel_scale")
    assert ("file's default" in found.sentence) is (says is not None)
    if says is not None:
        assert found.sentence.endswith(says)

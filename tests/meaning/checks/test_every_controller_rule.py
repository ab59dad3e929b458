"""Every rule across both sides has a case that it is for, and a neighbour that it is not for.

Sets and machines are invented. A rule without a case here fails.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.meaning.checks.both_sides import DRIVE, RECORD, SCALED, across, both
from tests.meaning.checks.sets import Settings, with_mechanics
from vault.meaning.checks import check, cross_check, cross_rules
from vault.model.parameters import Parameter

STOPS = with_mechanics(RECORD, stroke="650 mm", hard_stop_low="-25 mm", hard_stop_high="625 mm")
HEAVY = {
    "mechanics": {**RECORD["mechanics"], "moving_mass": "100 kg"},
    "motor": {"rated_torque": "2 N*m", "inertia": "1 kg*cm^2"},
}
RECORDED = {
    **RECORD,
    "controller": {"match": ["Lift*"], "scale": {"counts": 16_000, "per": "16 mm"}},
}
ENABLE = Parameter("p/in", "In", 1, 1, "digital_input_function", None, "Enable")
HOMING = Parameter("p/in", "In", 1, 1, "digital_input_function", None, "Homing switch")
TWO_MS: Settings = {"interpolation_time_period": 2, "interpolation_time_index": -3}
FAST: Settings = {"controller_move_velocity": 300}
ABS: Settings = {"encoder_multi_turn_bits": 12}

Sides = tuple[Settings, Settings, Mapping[str, Any]]
CASES: dict[str, tuple[Sides, Sides]] = {
    "controller_scale": (
        ({}, {"controller_counts": 20_000}, RECORD), ({}, {}, RECORD),
    ),
    "controller_scale_unknown": (
        ({}, {"controller_counts": 0, **FAST}, RECORD), ({}, FAST, RECORD),
    ),
    "controller_scale_record": (
        ({}, {"controller_counts": 16_001}, RECORDED), ({}, {}, RECORDED),
    ),
    "controller_direction": (
        ({"polarity": 0x80}, {"controller_direction": 1}, RECORD),
        ({"polarity": 0x80}, {"controller_direction": 0}, RECORD),
    ),
    "controller_modulo": (
        ({}, {"controller_modulo": 600}, STOPS), ({}, {"controller_modulo": 650}, STOPS),
    ),
    "controller_block_speed": (
        ({"max_motor_speed": 3000}, FAST, RECORD), ({"max_motor_speed": 4500}, FAST, RECORD),
    ),
    "controller_machine_speed": (
        ({}, FAST, with_mechanics(RECORD, max_speed="299 mm/s")),
        ({}, FAST, with_mechanics(RECORD, max_speed="300 mm/s")),
    ),
    "controller_profile_speed": (
        ({"max_profile_velocity": 299_000}, FAST, RECORD),
        ({"max_profile_velocity": 300_000}, FAST, RECORD),
    ),
    "controller_jog_speed": (
        ({"jog_velocity": 50_000}, {"controller_jog_velocity": 51}, RECORD),
        ({"jog_velocity": 50_000}, {"controller_jog_velocity": 50}, RECORD),
    ),
    "controller_block_ramp": (
        ({"max_acceleration": 999_000}, {"controller_move_acceleration": 1000}, RECORD),
        ({"max_acceleration": 1_000_000}, {"controller_move_acceleration": 1000}, RECORD),
    ),
    "controller_block_torque": (
        ({"max_torque": 1000}, {"controller_move_acceleration": 9070}, HEAVY),
        ({"max_torque": 1000}, {"controller_move_acceleration": 9060}, HEAVY),
    ),
    "controller_quick_stop": (
        ({"quick_stop_deceleration": 999_000}, {"controller_stop_deceleration": 1000}, RECORD),
        ({"quick_stop_deceleration": 1_000_000}, {"controller_stop_deceleration": 1000}, RECORD),
    ),
    "controller_position": (
        ({}, {"controller_move_position": 626}, STOPS),
        ({}, {"controller_move_position": 625}, STOPS),
    ),
    "controller_distance": (
        ({}, {"controller_move_distance": 651}, STOPS),
        ({}, {"controller_move_distance": 650}, STOPS),
    ),
    "controller_software_limit": (
        ({}, {"controller_max_software_limit": 626}, STOPS),
        ({}, {"controller_max_software_limit": 625}, STOPS),
    ),
    "controller_following_error": (
        ({"following_error_window": 2000}, {"controller_following_error_limit": 3}, RECORD),
        ({"following_error_window": 2000}, {"controller_following_error_limit": 2}, RECORD),
    ),
    "controller_homing_method": (
        ({"homing_method": 8}, {"controller_homing_method": 7}, RECORD),
        ({"homing_method": 7}, {"controller_homing_method": 7}, RECORD),
    ),
    "controller_homing_direction": (
        ({"homing_method": 7}, {"controller_homing_direction": 1}, RECORD),
        ({"homing_method": 7}, {"controller_homing_direction": 0}, RECORD),
    ),
    "controller_homing_inputs": (
        ({"digital_input_function": ENABLE}, {"controller_homing_method": 7}, RECORD),
        ({"digital_input_function": HOMING}, {"controller_homing_method": 7}, RECORD),
    ),
    "controller_homing_absolute": (
        (ABS, {"controller_homing_method": 7}, RECORD),
        (ABS, {"controller_homing_method": 37}, RECORD),
    ),
    "controller_home": (
        ({"home_offset": 20_000}, {"controller_homing_position": 21}, RECORD),
        ({"home_offset": 20_000}, {"controller_homing_position": 20}, RECORD),
    ),
    "controller_interval": (
        (TWO_MS, {"controller_task_interval": 4000}, RECORD),
        (TWO_MS, {"controller_task_interval": 2000}, RECORD),
    ),
    "controller_bus_cycle": (
        (TWO_MS, {"controller_bus_cycle": 1500}, RECORD),
        (TWO_MS, {"controller_bus_cycle": 1000}, RECORD),
    ),
    "controller_position_loop": (
        ({}, {"controller_position_loop": 1}, RECORD),
        ({}, {"controller_position_loop": 0}, RECORD),
    ),
    "controller_address": (
        ({"node_address": 12}, {"controller_node_address": 13}, RECORD),
        ({"node_address": 13}, {"controller_node_address": 13}, RECORD),
    ),
    "controller_data_size": (
        ({"process_data_in_size": 22}, {"controller_data_size_in": 24}, RECORD),
        ({"process_data_in_size": 24}, {"controller_data_size_in": 24}, RECORD),
    ),
    "controller_start_up": (
        ({"position_gain": 30}, {"position_gain": 20}, RECORD),
        ({"position_gain": 20}, {"position_gain": 20}, RECORD),
    ),
}  # fmt: skip


def test_every_rule_across_both_sides_has_its_cases() -> None:
    assert CASES.keys() == cross_rules().keys()
    assert all(name.startswith("controller_") for name in CASES)


@pytest.mark.parametrize("rule", CASES)
def test_a_rule_fires_where_it_is_for(rule: str) -> None:
    (drive, controller, record), _ = CASES[rule]
    assert across(rule, both({**DRIVE, **drive}, {**SCALED, **controller}, record))


@pytest.mark.parametrize("rule", CASES)
def test_a_rule_rests_at_the_nearest_that_fits(rule: str) -> None:
    _, (drive, controller, record) = CASES[rule]
    assert not across(rule, both({**DRIVE, **drive}, {**SCALED, **controller}, record))


@pytest.mark.parametrize("rule", CASES)
def test_without_the_controllers_set_no_rule_fires(rule: str) -> None:
    (drive, _, record), _ = CASES[rule]
    view = both({**DRIVE, **drive}, None, record)
    assert cross_check(view) == []
    assert not {one.rule for one in check(view)} & cross_rules().keys()


@pytest.mark.parametrize("rule", CASES)
def test_a_complaint_names_a_place_of_the_controller_and_what_it_is_held_against(
    rule: str,
) -> None:
    (drive, controller, record), _ = CASES[rule]
    found = across(rule, both({**DRIVE, **drive}, {**SCALED, **controller}, record))[0]
    assert any(place.startswith("controller: Main.") for place in found.look_at)
    assert any(place.startswith(("p/", "axis.yaml: ")) for place in found.look_at)


def test_what_a_check_finds_holds_what_the_cross_check_finds() -> None:
    view = both({**DRIVE, "max_motor_speed": 3000}, {**SCALED, **FAST})
    assert {one.rule for one in cross_check(view)} == {"controller_block_speed"}
    assert "controller_block_speed" in {one.rule for one in check(view)}

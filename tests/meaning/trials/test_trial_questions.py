"""What a trial asks: what is fitted, in the safe order, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.behaviour.axes import COMMON, LIFT_RECORD, LIFT_SET
from tests.meaning.checks.sets import Settings, view_of
from vault.meaning.trials.questions import SECTIONS, questions_of
from vault.model.trial import check_names


def asked(settings: Settings, record: Mapping[str, Any]) -> list[str]:
    return [question.key for question in questions_of(view_of(settings, record))]


def test_a_lift_is_asked_for_its_brake_and_its_drop() -> None:
    found = asked({**LIFT_SET}, {**LIFT_RECORD})
    assert {"brake.holds", "drop", "moves", "stops"} <= set(found)


def test_without_a_brake_nothing_of_one_is_asked() -> None:
    found = asked({**LIFT_SET}, {**LIFT_RECORD, "brake": {"fitted": False}})
    assert not {"brake.holds", "drop"} & set(found)


def test_an_axis_that_lies_and_has_no_recorded_brake_is_asked_nothing_of_one() -> None:
    mechanics = {**LIFT_RECORD["mechanics"], "orientation": "horizontal"}
    settings = {name: value for name, value in LIFT_SET.items() if not name.startswith("brake")}
    assert "brake.holds" not in asked(settings, {"mechanics": mechanics})


def test_one_that_hangs_is_asked_for_its_brake_though_nobody_recorded_one() -> None:
    settings = {name: value for name, value in LIFT_SET.items() if not name.startswith("brake")}
    assert "brake.holds" in asked(settings, {"mechanics": LIFT_RECORD["mechanics"]})


def test_a_brake_of_an_axis_that_lies_holds_and_lets_nothing_drop() -> None:
    mechanics = {**LIFT_RECORD["mechanics"], "orientation": "horizontal"}
    found = asked({**LIFT_SET}, {**LIFT_RECORD, "mechanics": mechanics})
    assert "brake.holds" in found
    assert "drop" not in found


def test_an_endless_axis_is_asked_nothing_of_ends() -> None:
    found = asked({**COMMON}, {"mechanics": {"kind": "rotary_table"}})
    assert [key for key in found if "over_travel" in key] == []
    assert "moves" in found


def test_nobody_knows_of_switches_so_not_there_is_an_answer() -> None:
    settings = {**LIFT_SET, "homing_method": 35}
    found = {one.key: one for one in questions_of(view_of(settings, {**LIFT_RECORD}))}
    assert found["inputs.over_travel_low"].may_lack
    assert not found["inputs.emergency_stop"].may_lack


def test_switches_that_homing_looks_for_are_there() -> None:
    found = {one.key: one for one in questions_of(view_of({**LIFT_SET}, {**LIFT_RECORD}))}
    assert not found["inputs.over_travel_low"].may_lack  # method 1 looks for the negative one


def test_inputs_that_all_do_something_else_mean_no_switches() -> None:
    settings = {**LIFT_SET, "homing_method": 35, "digital_input_function": 1}
    found = asked(settings, {**LIFT_RECORD})
    assert [key for key in found if "over_travel" in key] == []


def test_switches_in_the_cabinet_are_asked_for() -> None:
    record = {**LIFT_RECORD, "cabinet": {"over_travel_switches": "both ends"}}
    found = {one.key: one for one in questions_of(view_of({**LIFT_SET}, record))}
    assert not found["jog.over_travel_high"].may_lack


def test_switches_at_the_ends_in_the_cabinet_say_nothing_of_one_for_homing() -> None:
    record = {**LIFT_RECORD, "cabinet": {"over_travel_switches": "both ends"}}
    settings = {name: value for name, value in LIFT_SET.items() if name != "homing_method"}
    view = view_of(settings, {**record, "encoder": {"multi_turn_bits": 0}})
    found = {one.key: one for one in questions_of(view)}
    assert not found["inputs.over_travel_low"].may_lack
    assert found["inputs.home"].may_lack


@pytest.mark.parametrize(("method", "homes"), [(24, True), (35, False), (0, False), (33, True)])
def test_home_is_measured_where_homing_moves_the_axis(method: int, homes: bool) -> None:
    assert ("home" in asked({**LIFT_SET, "homing_method": method}, {**LIFT_RECORD})) == homes


@pytest.mark.parametrize(
    ("settings", "fitted", "homes"),
    [
        ({}, 0, True),
        ({}, 12, False),
        ({"encoder_multi_turn_bits": 12}, None, False),  # the set knows it as well as the record
        ({"encoder_multi_turn_bits": 0}, 12, True),
        ({"encoder_type": 4}, 12, True),  # absolute in one turn: so the drive uses it
        ({"encoder_type": 5}, 12, False),
        ({"encoder_type": 6}, 12, True),  # multi-turn, used as incremental
    ],
)
def test_an_axis_whose_encoder_keeps_its_turns_is_not_homed(
    settings: Settings, fitted: int | None, homes: bool
) -> None:
    bare = {name: value for name, value in LIFT_SET.items() if name != "homing_method"}
    encoder = {} if fitted is None else {"encoder": {"multi_turn_bits": fitted}}
    record = {key: value for key, value in LIFT_RECORD.items() if key != "encoder"}
    assert ("home" in asked({**bare, **settings}, {**record, **encoder})) == homes


def test_a_speed_axis_has_neither_moves_nor_measured_stops() -> None:
    found = asked(
        {"modes_of_operation": 2, "max_frequency": "60 Hz"}, {"mechanics": {"kind": "rotary"}}
    )
    assert found == [
        "inputs.emergency_stop", "direction.positive", "direction.negative", "jog.stops",
        "emergency_stop.reacts",
    ]  # fmt: skip


def test_the_order_is_the_safe_one() -> None:
    questions = questions_of(view_of({**LIFT_SET, "homing_method": 24}, {**LIFT_RECORD}))
    places = [SECTIONS.index(question.section) for question in questions]
    assert places == sorted(places)
    keys = [question.key for question in questions]
    assert keys == [name for name in check_names() if name in keys]
    assert keys.index("inputs.emergency_stop") == 0
    assert keys.index("jog.stops") < keys.index("brake.holds") < keys.index("moves")

"""Stop reactions and operating modes by the numbers of CiA 402-2 and IEC 60204-1, from memory.

Worked numbers stand beside the checks; axes are invented.
"""

from __future__ import annotations

import pytest

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    LIFT_LESS_BRAKE,
    PUMP,
    RAMPS,
    SLIDE,
    Entry,
    tell,
    told,
)
from vault.meaning.explainers.safety import ACCEPT
from vault.meaning.explainers.stopping import category

QUICK, FAULT, HALT = "quick_stop_option_code", "fault_reaction_option_code", "halt_option_code"
SHUTDOWN, DISABLE = "shutdown_option_code", "disable_operation_option_code"
LOST = "abort_connection_option_code"
YES, NO = (1, None, "Yes"), (0, None, "No")


# IEC 60204-1, 9.2.2, from memory: 0 power off at once, 1 stopped and then off, 2 power stays.
@pytest.mark.parametrize(
    ("role", "categories"),
    [
        (QUICK, {0: 0, 1: 1, 2: 1, 3: 1, 4: 1, 5: 2, 6: 2, 7: 2, 8: 2, 9: None, -1: None}),
        (FAULT, {0: 0, 1: 1, 2: 1, 3: 1, 4: 1, 5: None}),
        (HALT, {0: None, 1: 2, 2: 2, 3: 2, 4: 2, 5: None}),
        (SHUTDOWN, {0: 0, 1: 1, 2: None}),
        (DISABLE, {0: 0, 1: 1, 2: None}),
    ],
)
def test_option_codes_have_the_stop_category_of_what_they_do(
    role: str, categories: dict[int, int | None]
) -> None:
    assert {code: category(role, code) for code in categories} == categories


@pytest.mark.parametrize(
    ("role", "code", "says"),
    [
        (QUICK, 0, "uncontrolled stop, category 0"),
        (QUICK, 2, "power off after it, category 1"),
        (QUICK, 6, "power kept, category 2"),
        (HALT, 1, "power kept, category 2"),
    ],
)
def test_the_category_is_told(role: str, code: int, says: str) -> None:
    assert f"{says} of IEC 60204-1" in told(role, 3, code, RAMPS).effect


# From 400 mm/s: 1 m/s^2 gives 400 ms and 80 mm, 4 m/s^2 gives 100 ms and 20 mm (v / a, v^2 / 2a).
@pytest.mark.parametrize(
    ("code", "says"),
    [(1, "400 ms and 80 mm"), (5, "400 ms and 80 mm"), (2, "100 ms and 20 mm"),
     (6, "100 ms and 20 mm")],
)  # fmt: skip
def test_a_stop_takes_the_ramp_that_its_code_names(code: int, says: str) -> None:
    assert f"From 400 mm/s it takes {says}" in told(QUICK, 3, code, RAMPS).effect


@pytest.mark.parametrize("code", [3, 4, 7, 8])
def test_a_stop_at_a_limit_has_no_known_way(code: int) -> None:
    assert not told(QUICK, 2, code, RAMPS).figures


def test_a_ramp_too_long_for_the_room_is_a_hazard() -> None:
    # 80 mm, and 25 mm of room.
    found = told(QUICK, 2, 1, RAMPS)
    assert "only 25 mm" in found.effect
    assert found.consequence == "hazard"
    assert told(QUICK, 1, 2, RAMPS).consequence == "dynamics"


@pytest.mark.parametrize(
    ("role", "axis", "worst"),
    [
        (QUICK, LIFT, "hazard"),
        (QUICK, SLIDE, "hazard"),
        (QUICK, PUMP, "dynamics"),
        (SHUTDOWN, LIFT, "hazard"),
        (SHUTDOWN, SLIDE, "dynamics"),
        (SHUTDOWN, None, "dynamics"),
    ],
)
def test_coasting_weighs_by_the_axis(role: str, axis: str | None, worst: str) -> None:
    assert told(role, 1, 0, axis=axis).consequence == worst


def test_only_a_hanging_load_falls() -> None:
    assert "load falls" in told(QUICK, 2, 0, RAMPS, LIFT).effect
    assert "load falls" not in told(QUICK, 2, 0, RAMPS, SLIDE).effect


@pytest.mark.parametrize("role", [QUICK, SHUTDOWN])
def test_a_controlled_stop_instead_of_coasting_is_no_hazard(role: str) -> None:
    assert told(role, 0, 1, {**RAMPS, "profile_deceleration": (4000, "mm/s^2")}).consequence == (
        "dynamics"
    )


def test_power_off_where_no_brake_holds_the_load_is_a_hazard() -> None:
    for common, axis in (
        (RAMPS, LIFT_LESS_BRAKE),
        ({**RAMPS, "brake_used": NO}, LIFT),
    ):
        found = told(QUICK, 6, 2, common, axis)
        assert "no brake holds the load" in found.effect
        assert found.consequence == "hazard"
    assert told(QUICK, 6, 2, {**RAMPS, "brake_used": YES}, LIFT).consequence == "dynamics"
    assert told(QUICK, 2, 6, RAMPS, LIFT_LESS_BRAKE).consequence == "dynamics"


@pytest.mark.parametrize("role", [QUICK, FAULT, HALT, LOST])
def test_a_negative_number_is_the_makers_own(role: str) -> None:
    assert "maker's own" in told(role, 1, -2, RAMPS).effect
    assert told(role, 1, -2, RAMPS, SLIDE).consequence == "dynamics"


@pytest.mark.parametrize("role", [QUICK, FAULT, HALT, SHUTDOWN, LOST])
def test_a_number_without_meaning_is_said_to_have_none(role: str) -> None:
    assert "no meaning" in told(role, 1, 9, RAMPS).effect


@pytest.mark.parametrize("role", [QUICK, LOST, "modes_of_operation"])
def test_a_code_that_is_missing_or_no_number_is_not_explained(role: str) -> None:
    assert tell(role, 1, None, RAMPS) is None
    assert tell(role, 1, "two", RAMPS) is None


def test_going_on_without_the_controller_is_a_hazard() -> None:
    assert told(LOST, 1, 0, RAMPS, SLIDE).consequence == "hazard"
    assert told(LOST, 0, 3, RAMPS, SLIDE).consequence == "dynamics"


def test_voltage_off_on_a_lost_connection_drops_only_a_hanging_load() -> None:
    assert told(LOST, 1, 2, RAMPS, LIFT).consequence == "hazard"
    assert told(LOST, 1, 2, RAMPS, SLIDE).consequence == "dynamics"


@pytest.mark.parametrize(("code", "role"), [(1, FAULT), (3, QUICK)])
def test_a_lost_connection_does_what_the_other_reaction_says(code: int, role: str) -> None:
    found = told(LOST, 0, code, {**RAMPS, role: 6 if role == QUICK else 2}, LIFT)
    assert "stop on the quick-stop ramp" in found.effect
    assert found.consequence == "dynamics"
    coasting = told(LOST, 0, code, {**RAMPS, role: 0}, LIFT)
    assert "motor coasts" in coasting.effect
    assert coasting.consequence == "hazard"
    assert told(LOST, 0, code, {**RAMPS, role: 0}, SLIDE).consequence == "dynamics"
    assert ":" not in told(LOST, 0, code, RAMPS, LIFT).effect  # the other reaction is not known


# The longest stop: 400 mm/s at 1 m/s^2, 400 ms.
def test_a_drive_that_waits_too_short_lets_the_axis_coast() -> None:
    found = told("stop_time_limit", (500, "ms"), (80, "ms"), RAMPS, LIFT)
    assert "takes 100 ms: after 80 ms power goes off" in found.effect
    assert "load falls" in found.effect
    assert found.figure("time of the stop", 0.1)
    assert found.consequence == "hazard"
    assert "load falls" not in told("stop_time_limit", (500, "ms"), (80, "ms"), RAMPS, SLIDE).effect


def test_a_drive_that_waits_long_enough_is_no_hazard() -> None:
    found = told("stop_time_limit", (300, "ms"), (500, "ms"), RAMPS)
    assert "ends in time" in found.effect
    assert found.consequence == "dynamics"
    assert "over 500 ms" in told("stop_time_limit", (300, "ms"), (500, "ms"), axis=None).effect


@pytest.mark.parametrize("role", ["restart_after_power_return", "restart_after_fault"])
def test_an_axis_that_starts_by_itself_is_a_hazard(role: str) -> None:
    """Unexpected start-up, ISO 14118."""
    assert told(role, NO, YES, RAMPS, SLIDE).consequence == "hazard"
    assert told(role, YES, NO, RAMPS, SLIDE).consequence == "dynamics"


MODE = "modes_of_operation"


# CiA 402-2, from memory.
@pytest.mark.parametrize(
    ("number", "name"),
    [
        (1, "profile position"),
        (3, "profile velocity"),
        (4, "profile torque"),
        (6, "homing"),
        (7, "interpolated position"),
        (8, "cyclic synchronous position"),
        (9, "cyclic synchronous velocity"),
        (10, "cyclic synchronous torque"),
    ],
)
def test_a_mode_is_told_by_its_standard_name(number: int, name: str) -> None:
    assert f"The mode is {name} instead of velocity." in told(MODE, 2, number, RAMPS).effect


@pytest.mark.parametrize(
    ("before", "after", "axis", "worst"),
    [
        (8, 10, SLIDE, "hazard"),
        (10, 8, SLIDE, "dynamics"),
        (4, 10, LIFT, "dynamics"),
        (8, 9, SLIDE, "hazard"),
        (8, 9, PUMP, "dynamics"),
        (9, 8, SLIDE, "dynamics"),
        (8, 1, LIFT, "dynamics"),
    ],
)
def test_a_mode_weighs_by_what_it_leaves_uncontrolled(
    before: int, after: int, axis: str, worst: str
) -> None:
    assert told(MODE, before, after, axis=axis).consequence == worst


def test_in_a_torque_mode_only_a_hanging_load_sinks() -> None:
    assert "sink" in told(MODE, 8, 4, RAMPS, LIFT).effect
    assert "sink" not in told(MODE, 8, 4, RAMPS, SLIDE).effect


def test_modes_of_the_maker_or_of_nobody_are_named_so() -> None:
    assert "maker's own" in told(MODE, 8, -5, RAMPS).effect
    assert "no meaning" in told(MODE, 8, 5, RAMPS).effect


@pytest.mark.parametrize(
    ("role", "code", "before", "axis", "worst"),
    [
        (HALT, 0, 1, LIFT, "hazard"),  # it may coast
        (HALT, 0, 1, SLIDE, "hazard"),  # along a line there is an end
        (HALT, 0, 1, PUMP, "dynamics"),
        (HALT, 0, 0, LIFT, "dynamics"),
        (HALT, 9, 1, LIFT, "dynamics"),
        (FAULT, 9, 1, LIFT, "dynamics"),
        (QUICK, -1, 1, LIFT, "hazard"),
        (QUICK, -1, 1, SLIDE, "dynamics"),
        (QUICK, 0, 2, SLIDE, "hazard"),
        (QUICK, 0, 0, SLIDE, "dynamics"),
        (SHUTDOWN, 0, 1, SLIDE, "dynamics"),
        (SHUTDOWN, 0, 1, LIFT, "hazard"),
        (LOST, 0, 1, SLIDE, "hazard"),
        (LOST, 0, 0, SLIDE, "dynamics"),
        (LOST, 2, 1, LIFT, "hazard"),
        (LOST, 2, 2, LIFT, "dynamics"),
        (LOST, 2, 1, SLIDE, "dynamics"),
        (LOST, -3, 1, LIFT, "hazard"),
        (LOST, -3, 1, SLIDE, "dynamics"),
        (LOST, 7, 1, LIFT, "dynamics"),
    ],
)
def test_what_a_drive_does_by_itself_is_a_hazard_where_it_got_worse_and_a_load_or_end_is_there(
    role: str, code: int, before: int, axis: str, worst: str
) -> None:
    assert told(role, before, code, None, axis).consequence == worst


def test_a_number_of_halt_that_the_standard_reserves_is_told_apart() -> None:
    assert "some drives let the axis coast" in told(HALT, 1, 0).effect
    assert "some drives" not in told(HALT, 1, 9).effect
    assert "some drives" not in told(FAULT, 1, 9).effect


@pytest.mark.parametrize(
    ("used", "axis", "says"),
    [
        (NO, LIFT, "no brake holds the load"),
        (YES, LIFT, None),
        (YES, LIFT_LESS_BRAKE, "no brake holds the load"),
        (None, LIFT.replace("brake: {fitted: true}", ""), "is not recorded"),
        (YES, LIFT.replace("brake: {fitted: true}", ""), None),
        (NO, SLIDE, None),
    ],
)
def test_a_load_that_no_brake_holds_is_told_where_power_goes_off_after_a_stop(
    used: tuple[int, None, str] | None, axis: str, says: str | None
) -> None:
    common = {**RAMPS} if used is None else {**RAMPS, "brake_used": used}
    found = told(QUICK, 6, 2, common, axis)
    assert ("It hangs" in found.effect) is (says is not None)
    assert found.consequence == ("hazard" if says else "dynamics")
    if says is not None:
        assert says in found.effect
        assert told(QUICK, 1, 2, common, axis).consequence == "dynamics"


def test_a_stop_that_just_ends_in_time_is_no_hazard() -> None:
    # 0.4 m/s at 4 m/s^2: 100 ms.
    role = "stop_time_limit"
    in_time = told(role, (500, "ms"), (100, "ms"), RAMPS)
    assert (in_time.consequence, "it ends in time" in in_time.effect) == ("dynamics", True)
    assert in_time.figure("time of the stop", 0.1)
    late = told(role, (500, "ms"), (99, "ms"), RAMPS)
    assert late.consequence == "hazard"
    assert "after 99 ms power goes off" in late.effect
    assert "falls" in late.effect
    assert "falls" not in told(role, (500, "ms"), (99, "ms"), RAMPS, SLIDE).effect
    assert tell(role, (500, "ms"), (0, "ms"), RAMPS) is None
    assert "over 99 ms" in told(role, (500, "ms"), (99, "ms"), axis=None).effect


@pytest.mark.parametrize("role", ["restart_after_power_return", "restart_after_fault"])
def test_a_start_by_itself_is_told_with_what_brings_it_about(role: str) -> None:
    event = "power is back" if "power" in role else "a fault has gone"
    waits, starts = told(role, 1, 0), told(role, 0, 1)
    assert (waits.consequence, starts.consequence) == ("dynamics", "hazard")
    assert f"waits for a command when {event}" in waits.effect
    assert f"may start by itself when {event}" in starts.effect
    assert tell(role, 1, None) is None


def test_without_its_controller_an_axis_does_what_another_code_says() -> None:
    common = {**RAMPS, FAULT: (0, None, None), QUICK: (2, None, None)}
    assert "what its fault reaction says" in told(LOST, 0, 1, common).effect
    assert "what its quick stop says" in told(LOST, 0, 3, common).effect
    hanging = told(LOST, 0, 1, common)
    assert hanging.consequence == "hazard"
    assert told(LOST, 0, 3, common).consequence == "dynamics"
    assert told(LOST, 0, 1, common, SLIDE).consequence == "dynamics"
    assert ":" not in told(LOST, 0, 1).effect


@pytest.mark.parametrize(
    ("role", "before", "after", "says"),
    [
        ("safe_stop_delay", (100, "ms"), (200, "ms"), "200 ms"),
        ("safe_stop_delay", (200, "ms"), (100, "ms"), "100 ms"),
        ("safe_stop_delay", None, (100, "ms"), ACCEPT),
        ("safe_limited_speed", (50, "mm/s"), (60, "mm/s"), "may go faster"),
        ("safe_limited_speed", (60, "mm/s"), (50, "mm/s"), ACCEPT),
        ("safe_limited_speed", (50, "mm/s"), (60, "deg/s"), ACCEPT),
        ("safe_limited_speed", (50, "mm/s"), None, ACCEPT),
        ("safe_operating_stop_window", (1, "mm"), (2, "mm"), "may move further"),
        ("safe_limited_speed_delay", (1, "ms"), (2, "ms"), "begins to watch later"),
        ("safe_torque_off_monitoring", 1, 2, ACCEPT),
        ("safety_checksum", 1, 2, ACCEPT),
    ],
)
def test_a_safety_function_is_a_hazard_whichever_way_it_goes(
    role: str, before: Entry | None, after: Entry | None, says: str
) -> None:
    found = told(role, before, after)
    assert found.consequence == "hazard"
    assert says in found.effect


def test_a_longer_delay_of_a_safe_stop_is_told_apart_from_a_shorter_one() -> None:
    role = "safe_stop_delay"
    longer, shorter = (told(role, (n, "ms"), (300 - n, "ms")).effect for n in (100, 200))
    assert longer.replace("200", "") != shorter.replace("200", "")
    same = told(role, (100, "ms"), (100, "ms")).effect
    assert same.partition("100 ms")[0] == shorter.partition("100 ms")[0]

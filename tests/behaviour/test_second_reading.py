"""What a commissioner was misled by on a second reading: sentences, classes and complaints.

Axes are those of `tests/behaviour/axes.py`, all invented; figures are worked out beside.
"""

from __future__ import annotations

import pytest

from tests.behaviour.axes import CARRIAGE_SET, LIFT_RECORD, LIFT_SET, changed, the_change
from tests.meaning.checks.sets import Settings, view_of
from vault.behaviour.behave import margins_of
from vault.meaning.changes import Change
from vault.meaning.compare import compare

WITHOUT_BRAKE = {key: value for key, value in LIFT_RECORD.items() if key != "brake"}


def news(change: Change) -> tuple[str, str]:
    return change.consequence, change.explanation


# ----- following error


@pytest.mark.parametrize("role", ["following_error_window", "following_error_warning"])
def test_what_trips_is_told_before_what_holds(role: str) -> None:
    # |1 - 0.9| 400 / 30 = 1.333 mm, at the profile speed of 300 mm/s 1 mm.
    told = changed("lift", modes_of_operation=1, **{role: ("4 mm", "1.3 mm")}).changes[0]
    assert "1.333 mm at the maximum speed of 400 mm/s: more than that" in told.explanation
    assert "well inside" not in told.explanation


def test_in_cyclic_modes_no_profile_speed_lags() -> None:
    told = the_change("lift", "following_error_window", "4 mm", "3 mm")
    assert "profile speed" not in told.explanation + told.more
    assert "1.333 mm at the maximum speed of 400 mm/s: well inside" in told.explanation
    gain = the_change("lift", "position_gain", "30 1/s", "33 1/s")
    assert "profile speed" not in gain.explanation + gain.more


def test_a_way_in_a_time_out_is_that_of_the_worst_speed() -> None:
    # 2600 r/min on 10 mm a turn are 433.3 mm/s: 17.33 mm in 40 ms, and not 12 mm at 300 mm/s.
    for role in ("fieldbus_timeout", "following_error_time_out"):
        told = the_change("lift", role, "10 ms", "40 ms")
        assert "at 433.3 mm/s the axis makes 17.33 mm" in told.explanation + told.more


# ----- reactions


@pytest.mark.parametrize("role", ["shutdown_option_code", "disable_operation_option_code"])
def test_a_ramp_instead_of_coasting_is_no_hazard(role: str) -> None:
    assert the_change("lift", role, 0, 1).consequence == "dynamics"
    assert the_change("lift", role, 1, 0).consequence == "hazard"


@pytest.mark.parametrize(
    ("name", "before", "after", "consequence"),
    [("lift", 1, 0, "hazard"), ("carriage", 1, 0, "hazard"), ("table", 1, 0, "dynamics"),
     ("lift", 0, 1, "dynamics"), ("lift", 2, 1, "dynamics")],
)  # fmt: skip
def test_a_halt_that_may_coast_is_worse_than_one_on_a_ramp(
    name: str, before: int, after: int, consequence: str
) -> None:
    told = the_change(name, "halt_option_code", before, after)
    assert told.consequence == consequence
    assert ("let the axis coast" in told.explanation) == (after == 0)


def test_the_drop_after_a_stop_is_told_before_its_category() -> None:
    settings = {**LIFT_SET, "brake_used": 0}
    (told,) = compare(
        view_of({**settings, "quick_stop_option_code": 6}, WITHOUT_BRAKE),
        view_of({**settings, "quick_stop_option_code": 2}, WITHOUT_BRAKE),
    ).changes
    assert told.consequence == "hazard"
    assert "no brake holds the load, and it drops" in told.explanation


def test_a_brake_that_nobody_recorded_is_asked_for() -> None:
    settings = {role: value for role, value in LIFT_SET.items() if role != "brake_used"}
    (told,) = compare(
        view_of({**settings, "quick_stop_option_code": 6}, WITHOUT_BRAKE),
        view_of({**settings, "quick_stop_option_code": 2}, WITHOUT_BRAKE),
    ).changes
    assert told.consequence == "hazard"
    assert "whether a brake holds the load then is not recorded" in told.explanation


def test_a_reaction_that_is_new_tells_first_what_it_leaves_no_room_for() -> None:
    # 433.3 mm/s at 1.5 m/s^2 take 62.59 mm of 45.
    told = the_change("lift", "quick_stop_option_code", None, 1)
    assert told.consequence == "hazard"
    assert "only 45 mm" in told.explanation


# ----- torque, homing

HOIST_OF_INDUCTION: Settings = {**CARRIAGE_SET, "gear_ratio_motor_revolutions": 8, "motor_type": 7}
INCLINED = {
    "mechanics": {
        "kind": "belt", "pulley_circumference": "200 mm", "gearbox": {"motor": 8, "output": 1},
        "orientation": "inclined", "inclination": "20 deg", "moving_mass": "300 kg",
    },
    "motor": {"max_speed": "1800 r/min", "inertia": "20 kg*cm^2", "max_torque": "50 N*m"},
}  # fmt: skip


def test_current_of_an_induction_motor_is_no_torque() -> None:
    # Motor type 7 of 6402h (from memory): squirrel-cage induction.
    before, after = (
        view_of({**HOIST_OF_INDUCTION, "max_current": share}, INCLINED) for share in (1500, 200)
    )
    (told,) = compare(before, after).changes
    assert told.consequence == "dynamics"
    assert "it will sink" not in told.explanation
    assert "does not go with its current alone" in told.explanation
    ratios = [margins_of(view.state)["hold"].ratio for view in (before, after)]
    assert ratios[0] == ratios[1]


@pytest.mark.parametrize("before", [37, 1, 0, -2])
def test_homing_by_a_makers_method_may_move_any_way(before: int) -> None:
    told = the_change("lift", "homing_method", before, -1)
    assert told.consequence == "hazard"
    assert "which way" in told.explanation

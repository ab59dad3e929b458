"""Changes of the axis record by rule: what they do to what protects, together with the set.

The lift of tests/behaviour/axes.py, invented: 20 mm a turn behind 2 : 1, 45 mm behind each limit.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.jobs.state.compare import built
from vault.meaning.changes import Surrounding
from vault.meaning.compare import compare
from vault.meaning.record_changes import by_rule
from vault.meaning.record_entries import key_of, with_entries
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings
from vault.model.axis import AxisRecord


def rows(
    record: dict[str, Any], start: Settings = LIFT_SET, **after: Any
) -> dict[str, Surrounding]:
    """The lift's record becomes another one, and its set has other values; what is told of it."""
    left, right = view_of(start, LIFT_RECORD), view_of({**start, **after}, record)
    around = explained(surroundings(built(left.axis), built(right.axis)), left.axis, right.axis)
    found = by_rule(around, left, right, compare(left, right).changes)
    return {row.path: row for row in found}


def geared(turns: int, **more: str) -> dict[str, Any]:
    return with_mechanics(LIFT_RECORD, gearbox={"motor": turns, "output": 1}, **more)


def test_a_gear_that_was_changed_in_machine_and_set_alike_sends_nothing_elsewhere() -> None:
    (row,) = rows(geared(4), gear_ratio_motor_revolutions=4).values()
    assert row.consequence == "dynamics"
    assert row.explanation.endswith("the same torque pushes 2 times as hard.")


def test_a_gear_of_machine_and_set_is_held_against_what_there_was_and_no_half_of_it() -> None:
    """2,600 r/min through 1 : 1 and 20 mm are 866.7 mm/s: 2 ms of them, and v^2 / 2 a, are 95.6 mm.

    Before, 433.3 mm/s took 24.3 of 45 mm: it fell below 1. A set of 1 : 1 on a gear of 2 : 1, which
    nobody had, would have been below 1 already.
    """
    (row,) = rows(geared(1), gear_ratio_motor_revolutions=1).values()
    assert row.consequence == "hazard"
    assert "From 866.7 mm/s a quick stop takes 95.62 mm" in row.explanation


@pytest.mark.parametrize(("turns", "way"), [(4, "0.5"), (1, "2")])
def test_a_gear_that_was_changed_in_the_machine_alone_is_a_hazard_by_its_travel(
    turns: int, way: str
) -> None:
    (row,) = rows(geared(turns)).values()
    assert row.consequence == "hazard"
    assert row.explanation.endswith(f"Every way is {way} times as long as it is commanded.")


def test_what_a_set_does_not_follow_of_a_transmission_is_a_hazard_at_each_part() -> None:
    found = rows(geared(4, lead="10 mm"), gear_ratio_motor_revolutions=4)
    assert set(found) == {"mechanics.gearbox.motor", "mechanics.lead"}
    for row in found.values():
        assert row.consequence == "hazard"
        assert row.explanation.endswith("Every way is 0.5 times as long as it is commanded.")


def test_a_gear_and_a_lead_that_make_up_for_each_other_are_no_hazard() -> None:
    found = rows(geared(4, lead="40 mm"))
    assert {row.consequence for row in found.values()} == {"dynamics"}


def test_where_no_unit_is_stated_another_gear_is_a_hazard_that_cannot_be_measured() -> None:
    no_unit = {role: value for role, value in LIFT_SET.items() if role != "si_unit_position"}
    (row,) = rows(geared(4), no_unit).values()
    assert row.consequence == "hazard"
    assert "makes 0.5 times the way" in row.explanation
    assert row.explanation.endswith("How much of the room that takes cannot be told.")
    (row,) = rows(geared(4), no_unit, gear_ratio_motor_revolutions=4).values()
    assert row.consequence == "dynamics"


def test_a_stroke_beside_a_hard_stop_that_came_nearer_is_no_hazard() -> None:
    found = rows(with_mechanics(LIFT_RECORD, hard_stop_high="610 mm", stroke="655 mm"))
    assert {path: row.consequence for path, row in found.items()} == {
        "mechanics.hard_stop_high": "hazard", "mechanics.stroke": "travel",
    }  # fmt: skip


def test_what_the_set_makes_up_for_is_told_by_itself() -> None:
    """35 mm nearer, and 60 mm less to go: 70 mm are left where 24 mm are needed."""
    nearer = with_mechanics(LIFT_RECORD, hard_stop_high="610 mm")
    (row,) = rows(nearer, max_software_position_limit="540 mm").values()
    assert row.consequence == "hazard"
    assert "By itself, without what else changed: from 433.3 mm/s a quick stop" in row.explanation


def test_a_motor_that_may_push_harder_is_a_hazard_where_its_limit_protects() -> None:
    guarded = {**LIFT_RECORD, "force_protects": True}
    weak, strong = (
        {**guarded, "motor": {**LIFT_RECORD["motor"], "max_torque": f"{most} N*m"}}
        for most in (4, 8)
    )
    views = view_of(LIFT_SET, weak), view_of(LIFT_SET, strong)
    one, other = (view.axis for view in views)
    around = explained(surroundings(built(one), built(other)), one, other)
    (row,) = by_rule(around, *views)
    assert row.consequence == "hazard"
    assert "8 N*m at the motor instead of 4 N*m" in row.explanation


def test_of_two_axes_each_has_its_own_row() -> None:
    left, right = view_of(LIFT_SET, LIFT_RECORD), view_of(LIFT_SET, geared(4))
    around = explained(surroundings(built(left.axis), built(right.axis)), left.axis, right.axis)
    (row,) = by_rule(around, left, right, two_axes=True)
    assert row.consequence == "dynamics"


def test_without_a_record_on_one_side_nothing_is_measured() -> None:
    left, right = view_of(LIFT_SET), view_of(LIFT_SET, geared(4))
    (row,) = by_rule([Surrounding("mechanics.gearbox.motor", 2, 4, "hazard")], left, right)
    assert row.consequence == "dynamics"


def built_as(**sections: Any) -> AxisRecord:
    return AxisRecord.model_validate({"schema": "axisvault/axis/1", **sections})


@pytest.mark.parametrize(
    ("path", "key"),
    [
        ("mechanics.gearbox.motor", "mechanics.gearbox"),
        ("mechanics.lead", "mechanics.lead"),
        ("mechanics", "mechanics"),
        ("duty.moves.0.distance", "duty"),
        ("cabinet.switch.of.many", "cabinet.switch.of.many"),
        ("controller_link.node_address", "controller_link.node_address"),
        ("force_protects", "force_protects"),
    ],
)
def test_an_entry_is_a_part_of_a_section_or_a_section_that_is_one_thing(
    path: str, key: str
) -> None:
    assert key_of(path) == key


def test_a_record_takes_single_entries_of_another() -> None:
    one = built_as(brake={"apply_time": "40 ms", "release_time": "60 ms"}, cabinet={"a": 1})
    other = built_as(brake={"apply_time": "50 ms"}, cabinet={"a": 2, "b": 3}, force_protects=True)
    brake = with_entries(one, other, ["brake.apply_time"]).brake
    assert brake is not None
    assert one.brake is not None
    assert other.brake is not None
    assert (brake.apply_time, brake.release_time) == (
        other.brake.apply_time, one.brake.release_time,
    )  # fmt: skip
    assert with_entries(one, other, ["brake"]).brake == other.brake
    assert with_entries(one, other, ["cabinet.b"]).cabinet == {"a": 2, "b": 3}
    assert with_entries(one, other, ["force_protects"]).force_protects is True
    assert with_entries(one, other, []) == one


def test_a_section_that_only_one_record_has_goes_as_a_whole() -> None:
    bare, full = built_as(), built_as(brake={"apply_time": "40 ms"})
    assert with_entries(full, bare, ["brake.apply_time"]).brake is None
    assert with_entries(bare, full, ["brake.apply_time"]).brake == full.brake

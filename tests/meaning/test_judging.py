"""Classes by rule on the axes of tests/behaviour/axes.py, and how a reason is told; invented."""

from __future__ import annotations

from typing import Any

import pytest

from tests.behaviour.axes import axis, the_change
from tests.meaning.checks.sets import Setting
from vault.meaning.changes import Change, Comparison
from vault.meaning.compare import compare
from vault.meaning.judging import TWO_LINES, in_two_lines
from vault.model.parameters import Parameter

SIDES = ("press/lift", "press/feed")
FIRST, SECOND, THIRD = "A one.", "B two.", "C three."
LONG = f"L{'o' * TWO_LINES}ng."


def told(text: str, consequence: str = "travel", role: str | None = None, more: str = "") -> Change:
    thing = Parameter("A", "Thing", 1, 1, role)
    return Change("changed", consequence, thing, thing, explanation=text, more=more)


@pytest.mark.parametrize(
    ("text", "consequence", "role", "shown", "more"),
    [
        (f"{FIRST} {SECOND} {THIRD}", "travel", None, f"{FIRST} {SECOND} {THIRD}", ""),
        (f"{FIRST} {LONG} {SECOND}", "travel", None, FIRST, f"{LONG} {SECOND}"),
        (f"{FIRST} {LONG} {SECOND}", "hazard", None, f"{FIRST} {LONG}", SECOND),
        (f"{FIRST} {SECOND} {LONG} {THIRD}", "hazard", "home_offset",
         f"{FIRST} {SECOND} {LONG}", THIRD),
        (f"{FIRST} {SECOND} {LONG} {THIRD}", "travel", "home_offset", f"{FIRST} {SECOND}",
         f"{LONG} {THIRD}"),
        (LONG, "travel", None, LONG, ""),
    ],
)  # fmt: skip
def test_an_explanation_has_two_lines_and_of_a_hazard_its_reason(
    text: str, consequence: str, role: str | None, shown: str, more: str
) -> None:
    found = in_two_lines(told(text, consequence, role))
    assert (found.explanation, found.more) == (shown, more)


def test_what_does_not_fit_comes_before_what_was_left_out_already() -> None:
    assert in_two_lines(told(f"{FIRST} {LONG}", more=THIRD)).more == f"{LONG} {THIRD}"
    exact = "E" * (TWO_LINES - len(FIRST) - 2) + "."
    assert in_two_lines(told(f"{FIRST} {exact}")).more == ""
    assert in_two_lines(told(f"{FIRST} E{exact}")).more == f"E{exact}"


def test_a_change_tells_nothing_until_it_is_explained() -> None:
    bare = Change("changed", "travel", None, Parameter("A", "Thing", 1, 1))
    assert (bare.explanation, bare.more, bare.findings, bare.cause) == ("", "", (), None)
    assert bare.group == "device"
    assert not bare.volatile
    assert not bare.left_default
    assert not bare.right_default
    assert bare.is_news


@pytest.mark.parametrize(
    ("name", "role", "before", "after", "consequence"),
    [
        # 45 mm of room: v^2 / 2 a from 433.3 mm/s, and 2 ms.
        ("lift", "quick_stop_deceleration", "4000 mm/s^2", "2000 mm/s^2", "hazard"),
        ("lift", "quick_stop_deceleration", "8000 mm/s^2", "7000 mm/s^2", "dynamics"),
        ("lift", "max_software_position_limit", "600 mm", "630 mm", "hazard"),
        ("lift", "max_software_position_limit", "600 mm", "590 mm", "travel"),
        ("lift", "position_gain", "30 1/s", "31 1/s", "dynamics"),
        ("lift", "brake_apply_delay", "60 ms", "30 ms", "hazard"),
        ("lift", "node_address", 11, 12, "link"),
        ("lift", "max_motor_speed", "2600 r/min", "2500 r/min", "dynamics"),
        ("carriage", "max_torque", 2500, 2000, "dynamics"),
        ("table", "max_profile_velocity", "180 deg/s", "170 deg/s", "dynamics"),
    ],
)
def test_a_change_has_the_class_of_what_it_does_to_what_protects(
    name: str, role: str, before: Setting, after: Setting, consequence: str
) -> None:
    assert the_change(name, role, before, after).consequence == consequence


def two(name: str, role: str, before: Any, after: Any) -> Comparison:
    return compare(axis(name, **{role: before}), axis(name, **{role: after}), sides=SIDES)


@pytest.mark.parametrize(
    ("role", "before", "after", "consequence"),
    [
        ("quick_stop_deceleration", "4000 mm/s^2", "3900 mm/s^2", "dynamics"),
        ("quick_stop_deceleration", "4000 mm/s^2", "2000 mm/s^2", "hazard"),
        ("node_address", 11, 12, "link"),
        ("station_alias", 11, 12, "link"),
        ("homing_method", 1, 2, "travel"),
        ("safety_checksum", 1, 2, "dynamics"),
        ("homing_torque_limit", 500, 200, "hazard"),  # 292.7 permille hold the load
        ("polarity", 0, 128, "travel"),
        ("gear_ratio_motor_revolutions", 2, 4, "hazard"),
        ("feed_constant_feed", 20, 10, "hazard"),
    ],
)
def test_of_two_axes_only_what_decides_on_one_of_them_is_a_hazard(
    role: str, before: Any, after: Any, consequence: str
) -> None:
    for pair in ((before, after), (after, before)):
        found = two("lift", role, *pair)
        (change,) = (c for c in found.changes if c.shown.role == role)
        assert change.consequence == consequence


def test_what_is_short_on_one_of_two_axes_is_told_with_its_name() -> None:
    """24.3 mm at 4 m/s^2 and 47.8 mm at 2 m/s^2, of 45 mm."""
    role = "quick_stop_deceleration"
    for pair, short in (
        (("4000 mm/s^2", "2000 mm/s^2"), SIDES[1]),
        (("2000 mm/s^2", "4000 mm/s^2"), SIDES[0]),
    ):
        found = two("lift", role, *pair)
        row = next(r for r in found.surroundings if r.path == "margins.stop_room")
        assert row.explanation.startswith(f"On {short}: ")
        assert {row.left, row.right} == {"0.941", "1.85"}
        (change,) = found.changes
        assert f"0.941 times on {short}" in change.explanation


def test_what_only_all_changes_together_do_is_told_once() -> None:
    """Any two of them take more than the room there is, so that none is the one that does it.

    v^2 / 2 a and 2 ms: 40 mm of 45 mm at 2.4 m/s^2, 24.3 mm of 33 mm, 34.4 mm of 45 mm at 516.7
    mm/s; all three 56.65 mm of 33 mm.
    """
    found = compare(
        axis("lift"),
        axis(
            "lift",
            quick_stop_deceleration="2400 mm/s^2",
            max_software_position_limit="612 mm",
            max_motor_speed="3100 r/min",
        ),
    )
    row = next(row for row in found.surroundings if row.path == "margins.stop_room")
    assert row.consequence == "hazard"
    assert "none does alone" in row.explanation
    assert (row.left, row.right) == ("1.85", "0.583")


def test_a_restated_value_is_not_explained() -> None:
    found = the_change("lift", "quick_stop_deceleration", "4000 mm/s^2", "4 m/s^2")
    assert found.kind == "restated"
    assert "quick stop takes" not in f"{found.explanation} {found.more}"
    assert found.findings == ()


def test_a_margin_that_cannot_be_told_any_more_says_what_is_missing() -> None:
    found = the_change("lift", "min_software_position_limit", "0 mm", None)
    assert found.consequence == "hazard"

"""What one change does alone: put into the left state, and taken out of the right one.

The lift of tests/behaviour/axes.py, invented: 20 mm a turn behind 2 : 1, 45 mm behind each limit.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, axis
from tests.meaning.checks.sets import view_of, with_mechanics
from vault.meaning.compare import compare
from vault.meaning.substitution import (
    Substitution,
    atom_of,
    figure_between,
    roles_apart,
)

QUICK, SPEED = "quick_stop_deceleration", "max_motor_speed"


def between(
    record: dict[str, Any] | None = None, *, two_axes: bool = False, **after: Any
) -> Substitution:
    left, right = axis("lift"), axis("lift", record, **after)
    roles = roles_apart(compare(left, right).changes)
    entries = () if record is None else ("mechanics.hard_stop_high",)
    return Substitution(left, right, roles, entries=entries, two_axes=two_axes)


@pytest.mark.parametrize(
    ("role", "atom"),
    [
        ("gear_ratio_motor_revolutions", "scale"),
        ("si_unit_velocity", "scale"),
        ("mechanics.gearbox", "scale"),
        ("motor.rated_current", "ratings"),
        ("motor_rated_torque", "ratings"),
        ("mechanics.inclination", "mounting"),
        ("mechanics.stroke", "room"),
        ("software_position_limits_used", "software limits"),
        ("max_current", "torque limits"),
        ("profile_jerk", "ramp shape"),
        ("braking_resistor_used", "chopper and trip"),
        ("interpolation_time_index", "set point interval"),
        ("life_time_factor", "guarding"),
        ("velocity_factor_divisor", "velocity factor"),
        ("acceleration_factor_numerator", "acceleration factor"),
        ("jerk_factor_divisor", "jerk factor"),
        ("additional_encoder_increments", "load encoder"),
        ("polarity", "direction"),
        ("digital_input_function.3", "inputs"),
        ("digital_input_inverted", "inputs"),
        ("position_gain", "position_gain"),
        ("position_gain.2", "position_gain.2"),
    ],
)
def test_roles_that_make_one_thing_go_together(role: str, atom: str) -> None:
    assert atom_of(role) == atom


def test_what_is_live_or_only_restated_does_not_lie_between_two_states() -> None:
    left = axis("lift", position_actual_value="1 mm", profile_velocity="300 mm/s")
    right = axis(
        "lift", position_actual_value="2 mm", profile_velocity="18 m/min", **{QUICK: "3 m/s^2"}
    )
    assert roles_apart(compare(left, right).changes) == [QUICK]
    no_roles = compare(axis("lift", serial_number=1), axis("lift", serial_number=2)).changes
    assert roles_apart(no_roles) == ["serial_number"]


def test_an_atom_is_put_in_on_the_left_and_left_to_the_last_on_the_right() -> None:
    """From 433.3 mm/s, 2 ms and v^2 / 2 a: 24.33 mm at 4 m/s^2, 47.81 mm at 2 m/s^2, of 45 mm.

    At 216.7 mm/s that is 6.3 mm and 12.17 mm.
    """
    found = between(**{QUICK: "2000 mm/s^2", SPEED: "1300 r/min"})
    effect = found.of(QUICK)

    def ratios(moved: Any) -> tuple[float, float]:
        (move,) = (m for m in moved if m.name == "stop_room")
        return move.before.ratio, move.after.ratio

    assert ratios(effect.put_in) == pytest.approx((45 / 24.338, 45 / 47.807), rel=1e-3)
    assert ratios(effect.taken_out) == pytest.approx((45 / 6.301, 45 / 12.169), rel=1e-3)
    assert effect.states[0][0] is found.left
    assert effect.states[1][1] is found.right
    assert ratios(found.total) == pytest.approx((45 / 24.338, 45 / 12.169), rel=1e-3)
    assert found.of(QUICK) is effect
    assert set(found.roles) == {QUICK, SPEED}
    assert found.members(QUICK) == (QUICK,)


def test_a_role_within_an_atom_is_judged_without_the_rest_of_it() -> None:
    low, high = "min_software_position_limit", "max_software_position_limit"
    found = between(**{low: "-20 mm", high: "560 mm"})
    assert set(found.members(low)) == {low, high}
    whole = {move.name: move for move in found.of(low).put_in}["stop_room"]
    alone = {move.name: move for move in found.within(high).put_in}.get("stop_room")
    assert whole.after is not None
    # 25 mm are left at the lower end; the upper one alone leaves 45 mm at the lower.
    assert whole.after.have == pytest.approx(0.025)
    assert alone is None
    lower = {move.name: move for move in found.within(low).put_in}["stop_room"]
    assert lower == whole
    assert found.within(high) is found.within(high)


def test_the_record_alone_moves_margins_and_the_same_record_none() -> None:
    nearer = with_mechanics(LIFT_RECORD, hard_stop_high="630 mm")
    found = between(nearer, **{QUICK: "3000 mm/s^2"})
    (move,) = (m for m in found.record if m.name == "stop_room")
    assert move.after is not None
    assert move.after.have == pytest.approx(0.030)
    assert move.after.need == pytest.approx(0.024338, rel=1e-3)  # the set as it was
    assert between(**{QUICK: "3000 mm/s^2"}).record == ()
    (alone,) = (m for m in found.of("mechanics.hard_stop_high").put_in if m.name == "stop_room")
    assert alone.after == move.after


@pytest.mark.parametrize("role", ["home_offset", "encoder_absolute_offset"])
def test_an_offset_moves_what_rests_on_zero_but_of_one_axis_alone(role: str) -> None:
    after = {role: "25 mm"} if role == "home_offset" else {role: 5 * 2**20}
    before = {} if role == "home_offset" else {role: 0}
    left, right = axis("lift", **before), axis("lift", **after)
    over_time = Substitution(left, right, [role]).of(role)
    moved = {move.name: move for move in over_time.put_in}
    assert "stop_room" in moved
    assert moved["stop_room"].after is not None
    assert moved["stop_room"].after.have < 0.045
    two = Substitution(left, right, [role], two_axes=True).of(role)
    assert two.put_in == ()
    assert two.taken_out == ()


def test_a_figure_is_told_on_both_sides_or_not_at_all() -> None:
    known, quantity = axis("lift").state, "way of a quick stop"
    bare = view_of({QUICK: "4 m/s^2"}).state
    one, other = figure_between((known, bare), quantity)
    assert one == pytest.approx(0.024338, rel=1e-3)
    assert other is None
    assert figure_between((bare, known), quantity) == (None, one)

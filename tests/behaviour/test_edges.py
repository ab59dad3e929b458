"""Where a figure turns over: each side of a comparison, each term of a sum. All axes are invented.

Axes are those of `tests/behaviour/axes.py`; numbers are worked by hand beside each test.
"""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET, axis, changed, the_change
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour.behave import margins_of
from vault.behaviour.facts import Margin, together
from vault.behaviour.missing import Missing
from vault.behaviour.speed import motor_top_speed, worst_speed
from vault.behaviour.stop import jerk, quick_stop_time, set_point_interval
from vault.meaning.changes import Change
from vault.meaning.compare import compare
from vault.meaning.record_changes import by_rule
from vault.meaning.substitution import Substitution
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings

PER_RADIAN = 0.020 / (2 * pi * 2)  # of the lift: 20 mm a turn behind 2:1
BARE = {"motor": LIFT_RECORD["motor"]}  # nothing is known of room and load


def margin(name: str, record: dict[str, Any] | None = None, **settings: Any) -> Margin:
    return margins_of(axis("lift", record, **settings).state)[name]


# ----- force


def test_a_slope_that_nobody_recorded_may_be_steep() -> None:
    found = margin("hold", with_mechanics(LIFT_RECORD, orientation="inclined"))
    assert found.missing == ("mechanics.inclination",)


@pytest.mark.parametrize(
    ("kind", "torque"), [(None, 0.64), (3, 0.64), (10, 0.64), (5, 8), (6, 8), (7, 8)]
)
def test_current_limits_torque_where_they_are_in_proportion(
    kind: int | None, torque: float
) -> None:
    # 200 permille of 3.2 N*m; else 2,500 permille of it by 6072h, 60E0h and 60E1h.
    assert margin("hold", motor_type=kind, max_current=200).have == pytest.approx(torque)


# ----- energy


@pytest.mark.parametrize(("phases", "volts"), [(2, 440), (3, 622.254), (1, 622.254)])
def test_direct_voltage_has_no_peak(phases: int, volts: float) -> None:
    # 1.1 x 400 V, of alternating voltage sqrt(2) times that.
    found = margin("chopper_above_mains", supply_phases=phases)
    assert found.need == pytest.approx(volts, abs=1e-3)


def test_a_trip_voltage_of_zero_leaves_the_recorded_one() -> None:
    supply = {**LIFT_RECORD["supply"], "dc_link_trip": "815 V"}
    found = margin(
        "trip_above_mains", {**LIFT_RECORD, "supply": supply}, dc_link_overvoltage_threshold="0 V"
    )
    assert found.have == 815


@pytest.mark.parametrize(
    ("name", "uses_resistor"),
    [
        ("resistor_peak", 1),
        ("trip_above_chopper", 1),
        ("stop_time", 1),
        ("stop_energy", 0),
        ("descent_energy", 0),
    ],
)
def test_what_lets_go_of_a_load_protects_where_it_hangs(name: str, uses_resistor: int) -> None:
    hanging, lying = (
        margins_of(axis(which, braking_resistor_used=uses_resistor).state).get(name)
        for which in ("lift", "carriage")
    )
    assert hanging is not None
    assert hanging.kind == "protects"
    if name == "descent_energy":
        assert lying is None
    else:
        usual = "protects" if name == "stop_time" else "availability"
        assert lying is not None
        assert lying.kind == usual


# ----- position and speed


@pytest.mark.parametrize(("kind", "is_told"), [(4, False), (6, False), (5, True), (None, True)])
def test_only_an_encoder_that_counts_turns_has_a_range(kind: int | None, is_told: bool) -> None:
    # 2^12 turns of 10 mm for 690 mm.
    view = axis("lift", encoder_type=kind, encoder_multi_turn_bits=12)
    found = margins_of(view.state).get("absolute_range")
    assert (found is not None) == is_told
    if found is not None:
        assert found.ratio == pytest.approx(4096 * 0.010 / 0.690)


def test_the_turns_of_a_linear_motor_are_no_speed_of_it() -> None:
    record: dict[str, Any] = {
        "mechanics": {"kind": "linear_motor", "pole_pitch": "24 mm"},
        "motor": {"max_speed": "3000 r/min"},
    }
    with pytest.raises(Missing, match=r"^motor\.max_speed$"):
        view_of({}, record).state.ask(motor_top_speed)


@pytest.mark.parametrize(("mode", "speed"), [(1, 0.1), (3, 0.1), (6, 0.1), (8, 2600 / 60 * 0.01)])
def test_607fh_holds_what_the_drive_itself_commands(mode: int, speed: float) -> None:
    view = axis("lift", modes_of_operation=mode, max_profile_velocity="100 mm/s")
    assert view.state.ask(worst_speed).value == pytest.approx(speed)


# ----- stop


JERKS: Settings = {
    "motion_profile_type": 3, "profile_jerk": "40 m/s^3", "profile_jerk.2": "50 m/s^3",
    "profile_jerk.3": "80 m/s^3", "profile_jerk.4": "100 m/s^3",
}  # fmt: skip


@pytest.mark.parametrize(("used", "size"), [(None, 40), (1, 40), (2, 50), (4, 80), (0, None)])
def test_a_stop_takes_the_jerk_of_its_deceleration(used: int | None, size: float | None) -> None:
    state = axis("lift", **JERKS, profile_jerk_use=used).state
    assert state.ask(jerk) == (size and pytest.approx(size))
    # v / a + a / j from 2,600 r/min, 433.3 mm/s.
    took = 2600 / 60 * 0.01 / 4 + (4 / size if size else 0)
    assert state.ask(quick_stop_time).value == pytest.approx(took)


@pytest.mark.parametrize(
    ("settings", "seconds"),
    [
        ({"update_interval": "2 ms", "communication_cycle_period": 4000}, 0.002),
        ({"communication_cycle_period": 4000}, 0.004),
        ({"update_interval": "0 ms", "communication_cycle_period": 4000}, 0.004),
        ({"interpolation_time_period": 5, "interpolation_time_index": -3,
          "update_interval": "2 ms"}, 0.005),
        ({"interpolation_time_period": 250, "interpolation_time_index": -9}, 250e-9),
        ({"interpolation_time_period": 250, "interpolation_time_index": -10}, None),
        ({"interpolation_time_period": 0, "interpolation_time_index": -3,
          "update_interval": "2 ms"}, 0.002),
        ({"interpolation_time_period": 5, "update_interval": "2 ms"}, 0.002),
        ({}, None),
    ],
)  # fmt: skip
def test_set_points_come_by_60c2h_else_the_maker_s_own_else_the_bus(
    settings: Settings, seconds: float | None
) -> None:
    assert set_point_interval(axis("lift", **settings).state) == (
        seconds and pytest.approx(seconds)
    )


# ----- bounds


def test_bounds_that_pull_apart_leave_nothing_known() -> None:
    assert together("at_least", "up_to") == "unknown"
    assert together("exact", "up_to", "up_to") == "up_to"
    assert together("unknown", "up_to") == "unknown"
    # The axis goes at least as fast as is commanded, and falls at most so far.
    motor = {k: v for k, v in LIFT_RECORD["motor"].items() if k != "max_speed"}
    found = margin("drop_room", {**LIFT_RECORD, "motor": motor}, max_motor_speed=None)
    assert found.ratio is not None
    assert found.bound == "unknown"


# ----- classes


def test_what_the_other_changes_make_up_for_is_said_to_be_by_itself() -> None:
    # 433.3 mm/s on 1.5 m/s^2 take 62.6 of 45 mm; at 500 r/min, 83.3 mm/s, 2.3 mm.
    found = changed(
        "lift", quick_stop_deceleration=("4000 mm/s^2", "1500 mm/s^2"),
        max_motor_speed=("2600 r/min", "500 r/min"),
    )  # fmt: skip
    (told,) = [c for c in found.changes if c.shown.role == "quick_stop_deceleration"]
    assert told.consequence == "hazard"
    assert "By itself, without what else changed: " in told.explanation
    alone = the_change("lift", "quick_stop_deceleration", "4000 mm/s^2", "1500 mm/s^2")
    assert "By itself" not in alone.explanation


MONITORS = {
    "following_error_window": "4 mm", "fieldbus_timeout": "4 ms", "guard_time": "50 ms",
    "life_time_factor": 2, "consumer_heartbeat_time": 0x050064, "missed_update_limit": 2,
    "quick_stop_deceleration": "4000 mm/s^2", "profile_deceleration": "1500 mm/s^2",
    "max_profile_velocity": "400 mm/s", "max_motor_speed": "2600 r/min",
    "vl_velocity_max_amount": "1500 r/min", "software_position_limits_used": 1,
}  # fmt: skip
LIMITS = {
    "following_error_window": "4 mm", "max_profile_velocity": "400 mm/s",
    "max_motor_speed": "2600 r/min", "vl_velocity_max_amount": "1500 r/min",
    "max_frequency": "50 Hz",
}  # fmt: skip
BESIDE: dict[str, Settings] = {
    "guard_time": {"life_time_factor": 2}, "life_time_factor": {"guard_time": "50 ms"},
    "missed_update_limit": {"update_interval": "2 ms"},
}  # fmt: skip


def on_bare(role: str, before: Any, after: Any) -> Change:
    """What is found of a change where no margin is known, and nothing else watches the link."""
    beside = {"fieldbus_timeout": None, **BESIDE.get(role, {})}
    sides = (axis("lift", BARE, **{**beside, role: value}) for value in (before, after))
    (told,) = compare(*sides).changes
    return told


@pytest.mark.parametrize("role", MONITORS)
def test_zero_may_be_off_and_is_a_hazard_where_no_margin_tells(role: str) -> None:
    before = MONITORS[role]
    zero = 0 if isinstance(before, int) else f"0 {before.partition(' ')[2]}"
    told = on_bare(role, before, zero)
    assert told.consequence == "hazard"
    assert "cannot be told" not in told.explanation  # what zero does is said instead


@pytest.mark.parametrize("role", LIMITS)
def test_all_ones_are_off_and_a_hazard_where_no_margin_tells(role: str) -> None:
    assert on_bare(role, LIMITS[role], 0xFFFF_FFFF).consequence == "hazard"
    assert on_bare(role, 0xFFFF_FFFF, LIMITS[role]).consequence != "hazard"


def test_an_entry_of_the_record_is_told_by_the_set_afterwards() -> None:
    # 10 mm of room; 433.3 mm/s take 0.87 mm of filter and 15.65 mm on 6 m/s^2, or 23.47 on 4.
    near = with_mechanics(LIFT_RECORD, hard_stop_high="610 mm")
    before = axis("lift")
    after = axis("lift", near, quick_stop_deceleration="6000 mm/s^2")
    rows = surroundings({"mechanics": LIFT_RECORD["mechanics"]}, {"mechanics": near["mechanics"]})
    (row,) = by_rule(explained(rows, before.axis, after.axis), before, after)
    assert row.consequence == "hazard"
    assert "takes 16.51 mm" in row.explanation


# ----- what goes over alone


def zeros(fitted: str) -> Substitution:
    """An absolute offset that moved by half a turn, 5 mm, on an encoder as fitted afterwards."""
    one, other = (
        view_of({**LIFT_SET, "encoder_absolute_offset": offset}, LIFT_RECORD,
                {"encoder_single_turn_bits": bits})
        for offset, bits in ((0, "20"), (2**19, fitted))
    )  # fmt: skip
    return Substitution(one, other, ["encoder_absolute_offset"])


def test_an_offset_of_another_encoder_shifts_nothing() -> None:
    moved = {move.name: move for move in zeros("20").of("encoder_absolute_offset").put_in}
    assert moved["stop_room"].after is not None
    assert moved["stop_room"].after.have == pytest.approx(0.045 - 0.005)
    assert not zeros("24").of("encoder_absolute_offset").put_in


def test_all_inputs_go_over_together() -> None:
    before = {"digital_input_function": 3, "digital_input_function.2": 4}
    after = {"digital_input_function": 4, "digital_input_function.2": 3}
    between = Substitution(axis("lift", **before), axis("lift", **after), [*before])
    assert between.members("digital_input_function.2") == (*before,)
    assert between.roles == ("digital_input_function",)

"""What an expert's own cases found wrong, missing or misleading: each with numbers of its own.

Axes are those of `tests/behaviour/axes.py`, all invented. What is true is worked out beside.
"""

from __future__ import annotations

from math import pi, sin

import pytest
from scipy import constants

from tests.behaviour.axes import (
    CARRIAGE_RECORD,
    CARRIAGE_SET,
    LIFT_RECORD,
    LIFT_SET,
    TABLE_RECORD,
    TABLE_SET,
    axis,
    changed,
    the_change,
)
from tests.meaning.checks.sets import complaints, recorded, view_of, with_mechanics
from vault.behaviour.behave import load_themes, margins_of
from vault.behaviour.facts import FACTS
from vault.behaviour.force import hangs
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change
from vault.meaning.checks import check
from vault.meaning.compare import compare
from vault.meaning.record_changes import by_rule
from vault.meaning.surrounding_consequences import explained as around_explained
from vault.meaning.surroundings import surroundings


def fact(view: AxisView, quantity: str) -> float:
    load_themes()
    return view.state.ask(FACTS[quantity].compute).value


def whole(change: Change) -> str:
    return f"{change.explanation} {change.more}"


# ----- what shifted, and what a cause says of it


def test_only_speeds_are_called_speeds_where_only_speeds_shifted() -> None:
    before = view_of({"feed_constant_feed": 10, "profile_velocity": 300})
    after = view_of({"feed_constant_feed": 20, "profile_velocity": 300})
    (cause,) = compare(before, after).causes
    assert "every commanded speed is really 0.5 times what it was" in cause.explanation
    assert "way" not in cause.explanation


def test_only_an_offset_in_increments_is_no_commanded_way() -> None:
    settings = {"encoder_absolute_offset": 5000}
    before = view_of(settings, nameplate={"encoder_single_turn_bits": "20"})
    after = view_of(settings, nameplate={"encoder_single_turn_bits": "24"})
    (cause,) = compare(before, after).causes
    assert "commanded way" not in cause.explanation
    assert "offset in increments is really 0.0625 times" in cause.explanation


# ----- two axes: by what arrives at the axis, in words of is


def test_two_axes_are_told_by_their_thrust() -> None:
    # Half the torque on a quarter of the lead pushes twice as hard: 2 pi 0.9 2 T / L.
    fine = with_mechanics(LIFT_RECORD, lead="5 mm")
    weak = dict.fromkeys(("max_torque", "positive_torque_limit", "negative_torque_limit"), 1250)
    settings = {**LIFT_SET, **weak, "feed_constant_feed": 5}
    found = compare(axis("lift"), view_of(settings, fine), sides=("coarse", "fine"))
    (told,) = [c for c in found.changes if c.shown.role == "max_torque"]
    thrusts = [2 * pi * 0.9 * 2 * torque / lead for torque, lead in ((8.0, 0.020), (4.0, 0.005))]
    assert thrusts[1] == 2 * thrusts[0]
    assert "4 N*m (9,048 N at the axis) on fine, 8 N*m (4,524 N) on coarse" in whole(told)
    assert all(" became " not in whole(c) for c in found.changes)
    assert all(" instead of " not in whole(c) for c in found.changes)


def test_a_gain_counts_with_what_it_moves() -> None:
    # Kp / J: a carriage of twice the mass on the same gain is slower, by the rotor's share less.
    heavy = with_mechanics(CARRIAGE_RECORD, moving_mass="24 kg")
    found = compare(
        axis("carriage"), view_of({**CARRIAGE_SET, "velocity_gain": "2.4 N*m*s/rad"}, heavy),
        sides=("light", "heavy"),
    )  # fmt: skip
    (told,) = [c for c in found.changes if c.shown.role == "velocity_gain"]
    reflected = 12 * (0.2 / (2 * pi)) ** 2
    times = 2 * (reflected + 20e-4) / (2 * reflected + 20e-4)
    assert f"about {times:.3g} times as fast" in whole(told)


def test_each_of_two_axes_has_its_own_zero_and_addresses() -> None:
    other = {**LIFT_SET, "home_offset": "140 mm", "safety_address": 12}
    mine = {**LIFT_SET, "safety_address": 11}
    found = compare(
        view_of(mine, LIFT_RECORD), view_of(other, LIFT_RECORD), sides=("line 1", "line 2")
    )
    assert {c.shown.role: c.consequence for c in found.changes} == {
        "home_offset": "travel", "safety_address": "link",
    }  # fmt: skip


@pytest.mark.parametrize("role", ["quick_stop_deceleration", "following_error_window"])
def test_swapped_sides_give_the_same_classes(role: str) -> None:
    weak = axis("lift", **{role: "1200 mm/s^2" if "deceleration" in role else "90 mm"})
    for one, other in ((axis("lift"), weak), (weak, axis("lift"))):
        (told,) = compare(one, other, sides=("a", "b")).changes
        assert told.consequence == "hazard"


# ----- limits that do not lift, hold or brake


def test_a_limit_that_holds_and_does_not_lift_is_told_by_check() -> None:
    # To hold 0.9365 N*m, to lift 0.9365 / 0.9 = 1.0405 N*m, of 3.2 N*m: 293 and 326 permille.
    weak = dict.fromkeys(("max_torque", "positive_torque_limit", "negative_torque_limit"), 310)
    view = axis("lift", **weak)
    assert [c.rule for c in check(view) if c.rule in ("torque_limit", "lift")] == ["lift"]
    (told,) = complaints("lift", view)
    assert "lifting the load takes 1.041 N*m" in told.sentence


def test_a_limit_that_cannot_brake_a_descent_leaves_no_room() -> None:
    weak = dict.fromkeys(("max_torque", "positive_torque_limit", "negative_torque_limit"), 340)
    # (1.088 - 0.9365) N*m / (0.02 / 4 pi) / (60 + 1.6e-4 (4 pi / 0.02)^2) kg = 0.775 m/s^2.
    rate = (1.088 - 60 * constants.g * 0.02 / (4 * pi)) * 4 * pi / 0.02
    rate /= 60 + 1.6e-4 * (4 * pi / 0.02) ** 2
    speed = 2600 / 60 / 2 * 0.02
    reach = speed * 0.002 + speed**2 / 2 / rate
    view = axis("lift", **weak)
    assert fact(view, "way of a quick stop") == pytest.approx(reach, rel=1e-6)
    assert complaints("room_to_stop", view)


def test_an_axis_that_turns_needs_torque_for_its_ramps_too() -> None:
    # (1.5 / (40 0.9) + 1.2e-4 40) kg*m^2 x 10.47 rad/s^2 at the motor.
    needed = (1.5 / (40 * 0.9) + 1.2e-4 * 40) * 600 * pi / 180
    own = {"modes_of_operation": 1}
    assert fact(axis("table", **own), "torque to speed up") == pytest.approx(needed)
    weak = axis("table", max_torque=round(1000 * needed / 2 * 0.98), **own)
    assert complaints("ramp_torque", weak)


# ----- shifts of zero


def test_a_shift_that_leaves_too_little_for_a_stop_is_not_taken_by_the_room() -> None:
    # 45 mm of room less 30 mm are 15; a quick stop takes 24.8 mm.
    told = the_change("lift", "home_offset", "10 mm", "40 mm")
    assert told.consequence == "hazard"
    assert "That leaves" not in told.explanation or "15 mm" in whole(told)
    assert "a quick stop takes" in told.explanation
    assert "takes that" not in whole(told)


def test_a_position_offset_is_told() -> None:
    told = the_change("lift", "position_offset", "0 mm", "3 mm")
    assert "Every commanded position lies 3 mm elsewhere, at once." in told.explanation


def test_the_index_pulse_may_be_a_turn_off() -> None:
    # Without the index pulse home may lie L / G = 10 mm elsewhere.
    told = the_change("lift", "homing_method", 1, 17)
    assert "up to a turn of the motor, 10 mm, elsewhere" in whole(told)


def test_homing_on_the_other_side_of_its_switch_starts_the_other_way() -> None:
    told = the_change("carriage", "homing_method", 4, 6)
    assert told.consequence == "hazard"
    assert "starts the opposite way" in whole(told)


# ----- direction


def test_polarity_and_encoder_turned_together_keep_the_way() -> None:
    found = changed("lift", polarity=(0, 192), encoder_direction=(0, 1))
    told = {c.shown.role: c for c in found.changes}
    assert "the axis keeps its way" in whole(told["polarity"])
    assert told["encoder_direction"].consequence == "hazard"  # the motor's phases are not turned


def test_a_turned_position_bit_mirrors_the_limits() -> None:
    told = the_change("lift", "polarity", 0, 128)
    assert "software limits, 0 mm and 600 mm, hold for the mirrored way" in whole(told)


def test_a_torque_bit_is_told_with_its_hedge() -> None:
    told = the_change("lift", "polarity", 0, 32)
    assert told.consequence == "hazard"
    assert "in some drives" in told.explanation


def test_the_way_to_a_target_of_an_endless_axis_is_told() -> None:
    told = the_change("table", "positioning_option_code", 0x40, 0x80)
    assert told.consequence == "hazard"
    assert "always in the positive direction instead of always in the negative" in whole(told)


# ----- scale


def test_a_unit_that_is_only_named_moves_nothing() -> None:
    counted = {"position_encoder_increments": 2**20, "feed_constant_feed": 20, "home_offset": 7}
    record = {"mechanics": {"kind": "ball_screw", "lead": "20 mm"}}
    before = view_of({**counted, "si_unit_position": 0xFD010000}, record)
    after = view_of({**counted, "si_unit_position": 0xFA010000}, record)
    found = compare(before, after)
    (told,) = found.changes
    assert told.consequence == "travel"
    assert "the axis goes as far as before" in told.explanation
    assert not any(cause.shifts for cause in found.causes)


def test_arcseconds_are_read() -> None:
    # CiA 303-2 codes 42h and 43h, from memory: 21,600 and 1,296,000 in a turn.
    for code, units in ((0x00420000, 21_600), (0x00430000, 1_296_000)):
        view = axis("table", si_unit_position=code, feed_constant_feed=units)
        assert fact(view, "travel ratio") == 1


def test_a_calibration_is_a_record_and_shifts_nothing() -> None:
    # 200.0001 mm of belt in a turn: 0.5 ppm, 1.65 um over 3.3 m, of a window of 50 um.
    settings = {**CARRIAGE_SET, "feed_constant_feed": 2_000_000, "si_unit_position": 0xF9010000}
    settings = {k: v for k, v in settings.items() if k != "feed_constant_feed"}
    before = view_of({**settings, "feed_constant_feed": 2_000_000}, CARRIAGE_RECORD)
    after = view_of({**settings, "feed_constant_feed": 2_000_001}, CARRIAGE_RECORD)
    found = compare(before, after)
    (told,) = found.news
    assert told.consequence == "record"
    assert "calibration by 0.5 ppm" in told.explanation
    assert not any(cause.shifts for cause in found.causes)


def test_an_endless_axis_has_no_tolerance() -> None:
    endless = {
        **TABLE_RECORD,
        "mechanics": {"kind": "rotary_table", "gearbox": {"motor": 40, "output": 1}},
    }
    settings = {**TABLE_SET, "si_unit_position": 0xFD410000}
    before = view_of({**settings, "feed_constant_feed": 360_000}, endless)
    after = view_of({**settings, "feed_constant_feed": 360_001}, endless)
    assert "calibration" not in " ".join(whole(c) for c in compare(before, after).changes)


def test_a_factor_of_speeds_is_told_and_hedged() -> None:
    told = the_change("lift", "velocity_factor_numerator", 1, 2)
    assert told.consequence == "hazard"
    assert "counts 2 times as much, or as little" in told.explanation


def test_another_transmission_that_fits_its_scale_pushes_otherwise() -> None:
    # Gear 2 becomes 4 on machine and drive alike: k stays 1, the same torque pushes twice as hard.
    geared = with_mechanics(LIFT_RECORD, gearbox={"motor": 4, "output": 1})
    one, other = recorded(LIFT_RECORD), recorded(geared)
    found = surroundings(
        {"mechanics": LIFT_RECORD["mechanics"]}, {"mechanics": geared["mechanics"]}
    )
    said = " ".join(s.explanation for s in around_explained(found, one, other))
    assert "0.5 times the way, and the same torque pushes 2 times as hard" in said


# ----- effects of neighbours, and of all together


def test_a_row_is_not_blamed_for_its_neighbour() -> None:
    # 400 to 800 mm/s alone is 4 times the way; the ramp from 4 to 3.9 m/s^2 is 2.6 %.
    found = changed(
        "lift", max_motor_speed=("2600 r/min", "5200 r/min"),
        quick_stop_deceleration=("4000 mm/s^2", "3900 mm/s^2"),
    )  # fmt: skip
    classes = {c.shown.role: c.consequence for c in found.changes}
    assert classes == {"max_motor_speed": "hazard", "quick_stop_deceleration": "dynamics"}


def test_what_all_together_do_has_a_row() -> None:
    # Each alone keeps the room above 1 and takes less than a twentieth of what comfort allows.
    before = {"max_motor_speed": "2600 r/min", "quick_stop_deceleration": "4000 mm/s^2"}
    tight = with_mechanics(LIFT_RECORD, hard_stop_low="-25.7 mm", hard_stop_high="625.7 mm")
    after = {"max_motor_speed": "2650 r/min", "quick_stop_deceleration": "3900 mm/s^2"}
    found = compare(
        view_of({**LIFT_SET, **before, "following_error_window": "0.1 mm"}, tight),
        view_of({**LIFT_SET, **after, "following_error_window": "0.1 mm"}, tight),
    )
    crossed = [m for m in found.margins if m.name == "stop_room"]
    assert crossed[0].before and crossed[0].after
    assert crossed[0].before.ratio is not None and crossed[0].after.ratio is not None
    assert crossed[0].before.ratio >= 1 > crossed[0].after.ratio
    told = [c for c in found.changes if c.consequence == "hazard"]
    rows = [s for s in found.surroundings if s.path == "margins.stop_room"]
    assert told or rows
    if rows:
        assert "Together these changes do what none does alone." in rows[0].explanation


def test_two_hundredths_of_a_percent_are_no_hazard() -> None:
    told = the_change("lift", "quick_stop_deceleration", "4000 mm/s^2", "3999.2 mm/s^2")
    assert told.consequence == "dynamics"


def test_of_torque_limits_that_are_a_hazard_the_reason_is_shown_once() -> None:
    limits = ("max_torque", "positive_torque_limit", "negative_torque_limit")
    found = changed("lift", **dict.fromkeys(limits, (2500, 340)))
    said = [c.explanation for c in found.changes]
    assert {c.consequence for c in found.changes} == {"hazard"}
    assert sum("a quick stop takes up to" in text for text in said) == 1
    assert all(len(text) <= 200 for text in said)


def test_three_torque_limits_are_told_once() -> None:
    limits = ("max_torque", "positive_torque_limit", "negative_torque_limit")
    found = changed("lift", **dict.fromkeys(limits, (2500, 2000)))
    said = [c.explanation for c in found.changes]
    assert sum("leave the motor 6.4 N*m" in text for text in said) == 1
    assert sum("What it does is told at" in text for text in said) == 2


def test_one_limit_alone_says_what_the_others_leave_it() -> None:
    told = the_change("lift", "max_torque", 2500, 2600)
    assert "Other limits hold the motor to 8 N*m" in whole(told)


# ----- monitors


def test_a_window_of_zero_is_doubtful_to_compare_and_check() -> None:
    told = the_change("lift", "following_error_window", "4 mm", "0 mm")
    assert told.consequence == "hazard"
    assert "the drive's manual must tell" in told.explanation
    (found,) = complaints("window_off", axis("lift", following_error_window="0 mm"))
    assert found.consequence == "hazard"


def test_a_time_out_of_zero_trips_at_once() -> None:
    told = the_change("lift", "following_error_time_out", "10 ms", "0 ms")
    assert told.consequence != "hazard"
    assert "trips as soon as the window is left" in told.explanation


@pytest.mark.parametrize("factor", [1.2, 2.0, 5.0, 20.0, 100.0])
def test_weakening_a_monitor_never_removes_its_finding(factor: float) -> None:
    wide = axis("lift", following_error_window="60 mm")
    wider = axis("lift", following_error_window=f"{60 * factor:.0f} mm")
    assert {c.rule for c in check(wide)} <= {c.rule for c in check(wider)}


# ----- speeds


def test_all_ones_are_no_speed() -> None:
    view = axis("lift", max_profile_velocity=0xFFFF_FFFF)
    assert fact(view, "commanded speed") == pytest.approx(2600 / 60 / 2 * 0.02)
    told = the_change("lift", "max_profile_velocity", "400 mm/s", 0xFFFF_FFFF)
    assert "commonly no limit" in told.explanation


def test_profile_objects_do_nothing_in_cyclic_modes() -> None:
    told = the_change("lift", "profile_velocity", "300 mm/s", "350 mm/s")
    assert "the controller gives the speed" in told.explanation
    assert "window_profile" not in margins_of(axis("lift").state)
    assert "window_profile" in margins_of(axis("lift", modes_of_operation=1).state)


def test_a_safely_limited_speed_beyond_reach_never_acts() -> None:
    (found,) = complaints("safely_limited_speed", axis("lift", safe_limited_speed="500 mm/s"))
    assert "433.3 mm/s that the axis reaches" in found.sentence
    assert not complaints("safely_limited_speed", axis("lift", safe_limited_speed="50 mm/s"))


def test_a_safe_stop_that_is_shorter_than_the_stop_is_told() -> None:
    # v / a = 433.3 / 4000 s = 108.3 ms.
    (found,) = complaints("safe_stop_delay", axis("lift", safe_stop_delay="100 ms"))
    assert "108.3 ms" in found.sentence
    assert found.consequence == "hazard"


def test_a_linear_motor_has_newtons_and_no_turns() -> None:
    record = {
        "mechanics": {"kind": "linear_motor", "pole_pitch": "32 mm", "moving_mass": "20 kg",
                      "orientation": "horizontal"},
        "motor": {"max_speed": "3 m/s"},
    }  # fmt: skip
    settings = {
        "motor_rated_torque": "200 N*m", "max_torque": (2000), "profile_acceleration": "10 m/s^2",
        "max_profile_velocity": "2 m/s", "si_unit_position": 0xFD010000, "feed_constant_feed": 32,
        "position_encoder_increments": 32_000,
    }  # fmt: skip
    before, after = view_of(settings, record), view_of({**settings, "max_torque": 1500}, record)
    assert fact(before, "torque to speed up") == pytest.approx(200.0)  # 20 kg x 10 m/s^2
    (told,) = compare(before, after).changes
    assert "300 N at the motor" in told.explanation
    assert "N*m" not in told.explanation
    faster = compare(before, view_of({**settings, "max_profile_velocity": "1 m/s"}, record))
    assert all("r/min" not in whole(c) for c in faster.changes)


# ----- supply


def test_an_over_voltage_trip_below_the_switch_on_is_told() -> None:
    found = complaints("trip_above_chopper", axis("lift", dc_link_overvoltage_threshold="760 V"))
    assert (
        "trips at 760 V, before the braking resistor is switched on at 770 V" in found[0].sentence
    )


def test_a_switch_on_below_high_mains_is_told() -> None:
    # 1.1 x sqrt(2) x 400 V = 622.3 V.
    (found,) = complaints("chopper_above_mains", axis("lift", braking_resistor_threshold="610 V"))
    assert "622.3 V" in found.sentence


def test_an_under_voltage_above_low_mains_is_told() -> None:
    # 0.9 x sqrt(2) x 400 V = 509.1 V.
    (found,) = complaints("undervoltage", axis("lift", undervoltage_threshold="520 V"))
    assert "509.1 V" in found.sentence


# ----- hanging


def test_five_degrees_do_not_hang_and_ten_do() -> None:
    for degrees, expected in ((5, False), (10, True)):
        record = with_mechanics(LIFT_RECORD, orientation="inclined", inclination=f"{degrees} deg")
        assert view_of(LIFT_SET, record).state.ask(hangs) is expected


def test_the_rotor_slows_the_drop_and_is_not_behind_the_efficiency() -> None:
    ratio = (4 * pi / 0.02) ** 2 * 1.6e-4  # the rotor at the axis, kg
    falls = 60 * constants.g / (60 + ratio)
    view = axis("lift", brake_apply_delay="20 ms")
    assert fact(view, "drop from a stand") == pytest.approx(falls * 0.02**2 / 2)
    lifting = (60 * (constants.g + 1.5) / 0.9 + ratio * 1.5) * 0.02 / (4 * pi)
    assert fact(axis("lift", modes_of_operation=1), "torque to speed up") == pytest.approx(lifting)


def test_more_than_the_whole_balanced_pulls_the_other_way_and_is_held() -> None:
    over = with_mechanics(LIFT_RECORD, counterbalance="1.4")
    held = fact(view_of(LIFT_SET, over), "torque to hold the load")
    assert held == pytest.approx(0.4 * 60 * constants.g * 0.02 / (4 * pi))


def test_a_counterweight_may_weigh_too() -> None:
    # 60 kg, half of it balanced by a weight of 30 kg that must be sped up as well, or by a spring.
    half = with_mechanics(LIFT_RECORD, counterbalance="0.5", efficiency="1")
    view = view_of({**LIFT_SET, "quick_stop_deceleration": "90 m/s^2"}, half)
    rotor = (4 * pi / 0.02) ** 2 * 1.6e-4
    force = 8.0 * 4 * pi / 0.02 - 30 * constants.g
    speed = 2600 / 60 / 2 * 0.02
    slowest = speed * 0.002 + speed**2 / 2 / (force / (60 + rotor + 30))
    assert fact(view, "way of a quick stop") == pytest.approx(slowest)


def test_a_mass_is_no_rule_of_three() -> None:
    heavy = with_mechanics(LIFT_RECORD, moving_mass="120 kg")
    one, other = recorded(LIFT_RECORD), recorded(heavy)
    rows = surroundings(
        {"mechanics": {"moving_mass": "60 kg"}}, {"mechanics": {"moving_mass": "120 kg"}}
    )
    (row,) = around_explained(rows, one, other)
    rotor = (4 * pi / 0.02) ** 2 * 1.6e-4
    assert f"accelerates {(60 + rotor) / (120 + rotor):.3g} times as hard" in row.explanation


def test_a_brake_that_closes_later_is_judged_by_its_margin() -> None:
    slow = {**LIFT_RECORD, "brake": {**LIFT_RECORD["brake"], "apply_time": "50 ms"}}
    late = {**LIFT_RECORD, "brake": {**LIFT_RECORD["brake"], "apply_time": "80 ms"}}
    for record, expected in ((slow, "hazard"), (late, "hazard")):
        before, after = axis("lift"), view_of(LIFT_SET, record)
        rows = surroundings(
            {"brake": {"apply_time": "40 ms"}},
            {"brake": {"apply_time": record["brake"]["apply_time"]}},
        )
        (row,) = by_rule(around_explained(rows, before.axis, after.axis), before, after)
        assert row.consequence == expected
    assert "nothing holds the load" in row.explanation


def test_a_torque_offset_that_pushes_the_load_down_is_a_hazard() -> None:
    told = the_change("lift", "torque_offset", 290, -290)
    assert told.consequence == "hazard"
    assert "the load is pushed down" in told.explanation


def test_a_slope_counts_by_its_sine() -> None:
    record = with_mechanics(LIFT_RECORD, orientation="inclined", inclination="30 deg")
    held = fact(view_of(LIFT_SET, record), "torque to hold the load")
    assert held == pytest.approx(60 * constants.g * sin(pi / 6) * 0.02 / (4 * pi))


# ----- link


def test_set_points_that_the_bus_does_not_divide_are_told() -> None:
    view = axis(
        "lift", interpolation_time_period=3, interpolation_time_index=-3,
        communication_cycle_period=2000,
    )  # fmt: skip
    (found,) = complaints("bus_cycle", view)
    assert "every 3 ms, the bus runs every 2 ms" in found.sentence
    told = compare(axis("lift", interpolation_time_period=2, interpolation_time_index=-3,
                        communication_cycle_period=2000), view).changes[0]  # fmt: skip
    assert "work in step" not in told.explanation
    assert "which does not divide it" in told.explanation


def test_a_heartbeat_list_is_read_by_node_and_time() -> None:
    # 0x05_0064: node 5 within 100 ms; 0x00_0064 watches nobody.
    alone = axis("lift", fieldbus_timeout=None, consumer_heartbeat_time=0x050064)
    speed = 2600 / 60 / 2 * 0.02
    braking = speed**2 / 2 / 4.0
    assert fact(alone, "way when the link is lost") == pytest.approx(speed * 0.1 + braking)


# ----- what the drive itself does


def test_a_drive_s_reaction_is_only_like_a_stop_category() -> None:
    told = the_change("lift", "quick_stop_option_code", 2, 1)
    assert "at most like" in whole(told)


def test_pole_pairs_and_commutation_are_hazards() -> None:
    assert the_change("lift", "motor_pole_pairs", 4, 5).consequence == "hazard"
    told = the_change("lift", "commutation_offset", "10 deg", "40 deg")
    assert told.consequence == "hazard"
    assert "electrical" in told.explanation


def test_a_jerk_for_each_way_is_taken_for_its_own() -> None:
    # 60A3h = 2: the second jerk is that of the deceleration (CiA 402-2, from memory).
    smooth = {"motion_profile_type": 3, "profile_jerk": "400 m/s^3", "profile_jerk.2": "40 m/s^3"}
    one = fact(axis("lift", **smooth), "time of a quick stop")
    two = fact(axis("lift", **smooth, profile_jerk_use=2), "time of a quick stop")
    speed = 2600 / 60 / 2 * 0.02
    assert one == pytest.approx(speed / 4 + 4 / 400)
    assert two == pytest.approx(speed / 4 + 4 / 40)


# ----- what an experienced commissioner misses


def test_a_load_inertia_that_is_set_wrongly_is_told() -> None:
    # 60 kg x (0.02 / 4 pi)^2 / 1.6e-4 = 0.95 times the rotor.
    (found,) = complaints("load_inertia", axis("lift", load_inertia_ratio="300 %"))
    assert "3 times the rotor's inertia, as built it has 0.9499 times" in found.sentence
    assert not complaints("load_inertia", axis("lift", load_inertia_ratio="100 %"))


def test_a_gear_that_never_closes_is_told_on_an_endless_axis() -> None:
    record = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 10, "output": 3}}}
    endless = {**TABLE_SET, "gear_ratio_motor_revolutions": 10, "gear_ratio_shaft_revolutions": 3}
    (found,) = complaints("open_turn", view_of(endless, record))
    assert "3,495,253.33 increments" in found.sentence  # 2^20 x 10 / 3
    assert not complaints("open_turn", view_of(TABLE_SET, TABLE_RECORD))


@pytest.mark.parametrize(("high", "count"), [(360, 0), (359, 0), (358, 1), (720, 0), (361, 1)])
def test_positions_start_over_after_whole_turns(high: int, count: int) -> None:
    record = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 40, "output": 1}}}
    settings = {**TABLE_SET, "min_position_range_limit": 0, "max_position_range_limit": high}
    assert len(complaints("modulo_range", view_of(settings, record))) == count


def test_a_duty_that_is_too_hot_is_told() -> None:
    # 0.8428 N*m to hold for ever are fine for 3.2 N*m; 250 kg need 3.9 N*m.
    moves = [{"distance": "100 mm", "wait": "1 s"}, {"distance": "-100 mm"}]
    duty = {"cycle": "4 s", "moves": moves}
    warm = {**with_mechanics(LIFT_RECORD, moving_mass="250 kg", efficiency="1"), "duty": duty}
    (found,) = complaints("rms_torque", view_of(LIFT_SET, warm))
    assert "it is rated 3.2 N*m" in found.sentence
    assert not complaints("rms_torque", view_of(LIFT_SET, {**LIFT_RECORD, "duty": duty}))


def test_moves_that_do_not_fit_in_their_cycle_are_told() -> None:
    # 500 mm at 1 m/s with 10 m/s^2: 0.1 s + 0.4 s + 0.1 s; two of them and a wait of 0.3 s: 1.5 s.
    ramps = {"speed": "1 m/s", "acceleration": "10 m/s^2", "deceleration": "10 m/s^2"}
    moves = [
        {"distance": "500 mm", "wait": "0.3 s", **ramps},
        {"distance": "-500 mm", **ramps},
    ]
    late = {**LIFT_RECORD, "duty": {"cycle": "1.49 s", "moves": moves}}
    (found,) = complaints("duty_cycle", view_of(LIFT_SET, late))
    assert "take 1.5 s, its cycle is 1.49 s" in found.sentence
    assert not complaints("rms_torque", view_of(LIFT_SET, late))
    fits = {**LIFT_RECORD, "duty": {"cycle": "1.5 s", "moves": moves}}
    assert not complaints("duty_cycle", view_of(LIFT_SET, fits))


def test_a_resistor_too_weak_for_the_duty_is_told() -> None:
    # 60 kg lowered by 600 mm give back 353 J, every 2 s 177 W at the most.
    ramps = {"speed": "1 m/s", "acceleration": "9 m/s^2", "deceleration": "9 m/s^2"}
    moves = [{"distance": "600 mm", **ramps}, {"distance": "-600 mm", **ramps}]
    supply = {**LIFT_RECORD["supply"], "resistor_power": "100 W"}
    record = {**LIFT_RECORD, "duty": {"cycle": "2 s", "moves": moves}, "supply": supply}
    (found,) = complaints("resistor_power", view_of(LIFT_SET, record))
    assert "bears 100 W" in found.sentence
    strong = {**record, "supply": {**supply, "resistor_power": "500 W"}}
    assert not complaints("resistor_power", view_of(LIFT_SET, strong))


def test_the_peak_of_a_resistor_is_hedged_by_what_its_chopper_bears() -> None:
    """U^2 / R and U / R grow as R falls: 770 V over 20 ohm are 30 kW, and 39 A."""
    small = {**LIFT_RECORD, "supply": {**LIFT_RECORD["supply"], "resistor": "20 ohm"}}
    found = margins_of(view_of(LIFT_SET, small).state)["resistor_peak"]
    assert found.have == pytest.approx(770**2 / 20)
    assert "whether the chopper bears the current U / R" in found.hedge


# ----- what a second reader found


def test_a_phase_is_told_in_degrees() -> None:
    (found,) = complaints("phase", axis("lift", torque_filter_time="8 ms"))
    shown = margins_of(axis("lift", torque_filter_time="8 ms").state)["phase"].have
    assert shown is not None
    assert shown < 20
    assert f"phase margin of {shown:.4g} deg; below some 20 deg" in found.sentence


def test_a_figure_is_told_with_the_speed_of_its_own_state() -> None:
    # 166.7 mm/s: 0.1667^2 / 3 + 0.0003 = 9.6 mm with the weak ramp, 3.8 mm with the strong one.
    found = changed(
        "lift", quick_stop_deceleration=("4000 mm/s^2", "1500 mm/s^2"),
        max_motor_speed=("2600 r/min", "1000 r/min"),
    )  # fmt: skip
    (told,) = [c for c in found.changes if c.shown.role == "quick_stop_deceleration"]
    assert "is 9.593 mm instead of 3.806 mm; there are 45 mm" in told.explanation
    assert not complaints("room_to_stop", axis(
        "lift", quick_stop_deceleration="1500 mm/s^2", max_motor_speed="1000 r/min"))  # fmt: skip


def test_of_two_axes_the_one_that_is_short_is_named() -> None:
    weak = axis("lift", quick_stop_deceleration="1500 mm/s^2")
    (told,) = compare(weak, axis("lift"), sides=("one", "two")).changes
    assert told.consequence == "hazard"
    assert "It alone decides whether that holds" in told.explanation
    assert told.explanation.endswith("times on one.")


def test_a_quick_stop_that_coasts_is_told_by_check_and_compare() -> None:
    (found,) = complaints("room_to_stop", axis("lift", quick_stop_option_code=0))
    assert "nothing brakes the axis: it coasts" in found.sentence
    assert the_change("carriage", "quick_stop_option_code", 2, 0).consequence == "hazard"


def test_ramps_in_turns_are_the_motor_s() -> None:
    # 200 rev/s^2 at 10 mm a turn are 2 m/s^2: 0.4333^2 / 4 = 46.9 mm, of 45 mm of room.
    turns = {"si_unit_acceleration": 0x00B45700, "quick_stop_deceleration": 200}
    assert complaints("room_to_stop", axis("lift", **turns))
    assert not complaints("room_to_stop", axis("lift", **{**turns, "quick_stop_deceleration": 400}))


def test_a_position_loop_that_swings_for_ever_is_a_hazard() -> None:
    slow = {"velocity_integral_time": "5 ms", "torque_filter_time": "2 ms"}
    found = compare(axis("lift", **slow), axis("lift", **slow, position_gain="300 1/s"))
    (told,) = found.changes
    assert told.consequence == "hazard"
    assert (margins_of(axis("lift", **slow, position_gain="300 1/s").state)
            ["position_phase"].have or 0) < 0  # fmt: skip


def test_a_linear_motor_pushes_what_it_gives() -> None:
    record = {"mechanics": {"kind": "linear_motor", "pole_pitch": "60 mm", "moving_mass": "20 kg"},
              "motor": {"max_speed": "3 m/s"}}  # fmt: skip
    base = {"motor_rated_torque": "400 N*m", "max_torque": 2500}
    (told,) = compare(view_of(base, record), view_of({**base, "max_torque": 100}, record)).changes
    assert "40 N at the motor." in told.explanation
    assert "thrust" not in whole(told)


def test_more_thrust_of_a_linear_motor_is_told_in_newtons() -> None:
    # 400 N x 10 % = 40 N, x 20 % = 80 N: a linear motor has no N*m.
    record = {"mechanics": {"kind": "linear_motor", "pole_pitch": "60 mm", "moving_mass": "20 kg"},
              "force_protects": True}  # fmt: skip
    base = {"motor_rated_torque": "400 N*m", "max_torque": 100}
    (told,) = compare(view_of(base, record), view_of({**base, "max_torque": 200}, record)).changes
    assert told.consequence == "hazard"
    assert "80 N at the motor instead of 40 N" in whole(told)
    assert "N*m" not in whole(told)


def test_what_a_rating_shifts_of_a_linear_motor_is_told_in_newtons() -> None:
    # 2,500 permille of 400 N and of 500 N.
    record = {"mechanics": {"kind": "linear_motor", "pole_pitch": "60 mm", "moving_mass": "20 kg"}}
    one, other = (
        view_of({"motor_rated_torque": f"{rated} N*m", "max_torque": 2500}, record)
        for rated in (400, 500)
    )
    (told,) = [c for c in compare(one, other).changes if c.kind == "shifted"]
    assert "really 1,250 N now and 1,000 N before" in told.explanation


@pytest.mark.parametrize(("kind", "speed"), [("belt", "3 m/s"), ("linear_motor", "3000 r/min")])
def test_a_motor_s_speed_of_the_wrong_kind_is_none(kind: str, speed: str) -> None:
    length = {"pulley_circumference": "200 mm"} if kind == "belt" else {"pole_pitch": "60 mm"}
    record = recorded({"mechanics": {"kind": kind, **length}, "motor": {"max_speed": speed}})
    assert record.motor is None or record.motor.max_speed is None
    assert any("motor" in line.text for line in record.unknown)


def test_more_force_by_the_rating_is_a_hazard_where_force_protects() -> None:
    motor = {k: v for k, v in LIFT_RECORD["motor"].items() if k != "max_torque"}
    record = {**LIFT_RECORD, "force_protects": True, "motor": motor}
    stronger = {**LIFT_SET, "motor_rated_torque": "6400 mN*m"}
    found = compare(view_of(LIFT_SET, record), view_of(stronger, record))
    worst = {c.shown.role: c.consequence for c in found.changes}
    assert worst["motor_rated_torque"] == "hazard"
    slack = compare(view_of(LIFT_SET, record), view_of({**LIFT_SET, "max_torque": 2700}, record))
    assert [c.consequence for c in slack.changes] == ["dynamics"]  # the others hold it back


def test_ends_that_are_swapped_are_a_hazard() -> None:
    before = {"digital_input_function": 3, "digital_input_function.2": 4}
    after = {"digital_input_function": 4, "digital_input_function.2": 3}
    found = compare(axis("lift", **before), axis("lift", **after))
    assert {c.consequence for c in found.changes} == {"hazard"}


def test_a_frequency_drive_stops_from_its_own_highest_speed() -> None:
    record = {"mechanics": {"kind": "rotary", "load_inertia": "0.01 kg*m^2"},
              "motor": {"max_speed": "4500 r/min", "inertia": "0.005 kg*m^2"}}  # fmt: skip
    settings = {"modes_of_operation": 2, "max_frequency": "50 Hz", "motor_pole_pairs": 2,
                "max_motor_speed": "4000 r/min"}  # fmt: skip
    assert fact(view_of(settings, record), "worst speed") == pytest.approx(2 * pi * 25)


@pytest.mark.parametrize(
    ("role", "before", "after"),
    [
        ("max_motor_speed", "4600 r/min", "6000 r/min"),  # the motor makes 4500
        ("stop_time_limit", "1000 ms", "900 ms"),  # 108 ms are needed
        ("brake_apply_delay", "200 ms", "150 ms"),  # of a brake of 40 ms
        ("following_error_time_out", "0 ms", "1 ms"),  # 0.4 of 45 mm
        ("min_software_position_limit", "0 mm", "-1 mm"),  # one of 45 mm
        ("velocity_window", "10 mm/s", "11 mm/s"),
    ],
)
def test_what_uses_up_nothing_is_no_hazard(role: str, before: str, after: str) -> None:
    assert the_change("lift", role, before, after).consequence != "hazard"


def test_turning_a_protection_on_is_no_hazard() -> None:
    tight = axis("lift", software_position_limits_used=0, max_software_position_limit="630 mm")
    guarded = axis("lift", software_position_limits_used=1, max_software_position_limit="630 mm")
    (told,) = compare(tight, guarded).changes
    assert told.consequence != "hazard"


def test_a_change_of_the_record_alone_is_no_row_of_together() -> None:
    near = with_mechanics(LIFT_RECORD, hard_stop_high="620 mm")
    found = compare(axis("lift"), view_of(LIFT_SET, near))
    assert not found.surroundings


def test_half_the_mass_is_not_blamed_for_a_nearer_stop() -> None:
    heavy = with_mechanics(LIFT_RECORD, moving_mass="120 kg")
    after = with_mechanics(LIFT_RECORD, hard_stop_high="620 mm")
    before_view, after_view = view_of(LIFT_SET, heavy), view_of(LIFT_SET, after)
    sides = [{"mechanics": dict(r["mechanics"])} for r in (heavy, after)]
    rows = by_rule(
        around_explained(surroundings(*sides), before_view.axis, after_view.axis),
        before_view, after_view,
    )  # fmt: skip
    worst = {row.path: row.consequence for row in rows}
    assert worst["mechanics.hard_stop_high"] == "hazard"
    assert worst["mechanics.moving_mass"] != "hazard"


def test_a_shift_may_go_to_either_end() -> None:
    # 600 mm free at the lower end, 45 mm at the upper. Zero is home plus the offset (607Ch), and
    # home less the offset where a drive presets its position with it: 30 mm may go to either end.
    far = with_mechanics(LIFT_RECORD, hard_stop_low="-600 mm")
    up, down = (
        compare(view_of(LIFT_SET, far), view_of({**LIFT_SET, "home_offset": offset}, far)).changes[
            0
        ]
        for offset in ("40 mm", "-20 mm")
    )
    assert (up.consequence, down.consequence) == ("hazard", "hazard")
    assert "If zero was right before" in up.explanation


def test_in_profile_mode_its_own_limit_holds_the_axis() -> None:
    view = axis("lift", modes_of_operation=1, max_motor_speed=None)
    assert fact(view, "worst speed") == pytest.approx(0.4)


def test_swapped_limits_tell_no_margin() -> None:
    view = axis("lift", min_software_position_limit="600 mm", max_software_position_limit="0 mm")
    found = margins_of(view.state)
    assert "limits_in_stroke" not in found
    for name in ("stop_room", "fault_room", "link_room", "trip_room", "drop_room"):
        assert found[name].ratio is None
        assert "the upper one is not above the lower" in found[name].hedge


def test_two_axes_may_differ_in_direction_and_pole_pairs() -> None:
    other = axis("lift", polarity=192, encoder_direction=1, motor_pole_pairs=5)
    found = compare(axis("lift"), other, sides=("lift", "hoist"))
    assert all(c.consequence != "hazard" for c in found.changes)


def test_what_is_balanced_by_more_than_itself_rises() -> None:
    over = with_mechanics(LIFT_RECORD, counterbalance="1.9")
    weak = dict.fromkeys(("max_torque", "positive_torque_limit", "negative_torque_limit"), 200)
    (found,) = complaints("torque_limit", view_of({**LIFT_SET, **weak}, over))
    assert found.sentence.endswith("it rises.")

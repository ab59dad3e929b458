"""What one change does to a fault: shares of margins, choices, sizes, and what does nothing.

Values are invented, shares computed by hand in the comments; judgement is common practice, no
source.
"""

from __future__ import annotations

from math import inf, log2
from typing import Any

import pytest

from tests.meaning.test_fault_rankings import rankings, suspected, view
from vault.behaviour.facts import Bound, Margin
from vault.meaning.fault_effects import _by_move, share_lost
from vault.meaning.fault_phrases import as_much, margin_sentence, times
from vault.meaning.fault_sizes import FaultEffect, of_sizes
from vault.meaning.fault_weights import Weight
from vault.meaning.faults import Suspect
from vault.meaning.margin_moves import MarginMove


def told(
    fault: str, axis: str, record: dict[str, object] | None = None, **after: str
) -> dict[str, Suspect]:
    """Suspects on an axis of the rankings whose set changes so; `__` stands for a dot."""
    known = rankings()["axes"][axis]
    own = {"record": {**known["record"], **(record or {})}}
    right = {**known["set"], **{role.replace("__", "."): value for role, value in after.items()}}
    views = view(own, known["set"]), view(own, {r: v for r, v in right.items() if v != "-"})
    return {suspect.name: suspect for suspect in suspected(fault, *views)}


@pytest.mark.parametrize(
    ("before", "after", "share"),
    [
        (30, 3, 1 - log2(3) / log2(30)),  # a third of the doublings to the edge is left
        (3, 30, 0),
        (4, 2, 0.5),
        (2, 1, 1),
        (2, 0.5, 1),
        (1.02, 1.01, log2(1.02 / 1.01) / log2(1.1)),  # no margin is known better than to a tenth
        (0.8, 0.4, 1),  # below the edge before: a half counts whole
        (0.8, 0.6, log2(0.8 / 0.6)),
        (5, 4.996, 0),  # less than a thousandth
        (5, 0, 1),
        (5, -1, 1),
        (-1, -2, 0),  # of nothing nothing is lost
        (inf, 0.5, 1),
        (inf, 2, 0.5),
        (5, inf, 0),
    ],
)
def test_a_margin_counts_by_the_share_of_its_distance_to_the_edge(
    before: float, after: float, share: float
) -> None:
    assert share_lost(before, after) == pytest.approx(share)


def test_a_margin_is_told_with_both_figures() -> None:
    assert margin_sentence("window", 30, 3) == (
        "the window is 3.0 times the lag at the commanded speed instead of 30"
    )
    assert margin_sentence("trip_above_chopper", 1.0921, 1.0915).endswith("1.091 times the "
        "resistor's switch-on instead of 1.092")  # fmt: skip
    assert "where nothing was asked of it" in margin_sentence("stop_energy", inf, 0.4)
    assert margin_sentence("window", 4, inf).startswith("nothing is asked of the window any more")


@pytest.mark.parametrize(
    ("ratio", "text"),
    [(0.2551, "0.26"), (0.993, "0.993"), (1.9999, "2.0"), (9.96, "10"), (1234, "1,234")],
)
def test_a_ratio_has_the_digits_that_tell(ratio: float, text: str) -> None:
    assert times(ratio) == text


def test_a_size_that_hardly_moved_is_told_in_percent() -> None:
    assert [as_much(r) for r in (1.003, 0.95, 2)] == [
        "0.3 % more", "5 % less", "2.0 times as much",
    ]  # fmt: skip


def test_a_wider_window_counts_a_quarter() -> None:
    # From 30 to 60 times the lag: a sixth of 60's doublings, by a quarter.
    found = told("8611h", "lift", following_error_window="120 mm")["following_error_window"]
    assert found.score == pytest.approx(0.25 * log2(2) / log2(60))
    assert "may hide it" in found.why


def test_without_an_axis_record_the_size_counts_and_what_is_missing_is_named() -> None:
    found = told("3220h", "pump", undervoltage_threshold="456 V")["undervoltage_threshold"]
    # A fifth more, of the 1.3 that a DC link at rest may be above its trip.
    assert found.score == pytest.approx(log2(1.2) / log2(1.3))
    assert "cannot be told without supply.voltage" in found.why


def test_what_the_resistor_is_does_nothing_while_it_is_not_used() -> None:
    off = {"braking_resistor_used": "No (0)", "braking_resistor_threshold": "800 V"}
    assert "braking_resistor_threshold" not in told("3210h", "lift", **off)
    assert "braking_resistor_threshold" in told("3210h", "lift", braking_resistor_threshold="800 V")


def test_brake_settings_do_nothing_where_no_brake_is_fitted() -> None:
    for new in ({"brake_used": "No (0)"}, {"brake_release_delay": "0 ms"}):
        assert list(told("8611h", "lift", **new)) == list(new)
        assert told("8611h", "lift", {"brake": {"fitted": False}}, **new) == {}


def test_what_is_switched_off_does_nothing() -> None:
    closed = {"brake_used": "No (0)", "brake_release_delay": "0 ms"}
    assert list(told("8611h", "lift", **closed)) == ["brake_used"]
    limits = {"software_position_limits_used": "No (0)", "max_software_position_limit": "500 mm"}
    assert list(told("8612h", "lift", **limits)) == ["software_position_limits_used"]


def test_profile_objects_do_nothing_in_modes_without_a_profile() -> None:
    new = {"profile_acceleration": "9000 mm/s^2"}
    assert "profile_acceleration" in told("8611h", "lift", **new)
    for mode in ("Cyclic synchronous position (8)",
                 "Cyclic synchronous torque with commutation angle (11)"):  # fmt: skip
        found = told("8611h", "lift", modes_of_operation=mode, **new)
        assert "profile_acceleration" not in found


def test_a_second_gain_does_nothing_while_gains_are_not_switched() -> None:
    found = told("8611h", "carriage", position_gain__2="10 1/s")
    assert "position_gain.2" in found
    assert not told("8611h", "carriage", position_gain__2="10 1/s",
                    gain_switching="First set only (0)")  # fmt: skip


def test_what_only_one_set_has_counts_little() -> None:
    (found,) = told("8611h", "lift", notch_filter_frequency="-").values()
    assert found.score == pytest.approx(0.25 * 0.4)
    assert found.why.endswith("only the set of before has it")


def test_an_input_counts_by_the_function_that_it_has() -> None:
    found = told(
        "5441h", "lift", digital_input_function__3="Halt (7)",
        digital_input_function__2="Halt (7)", digital_input_inverted__2="Yes (1)",
    )  # fmt: skip
    assert list(found) == ["digital_input_function.3"]


def test_limits_that_were_off_and_act_now_bring_a_position_fault() -> None:
    both = {"min_software_position_limit": "0 mm", "max_software_position_limit": "0 mm"}
    off = told("8612h", "lift", **both)["max_software_position_limit"]
    assert off.score == pytest.approx(0.25 * 0.9)
    assert "may hide it" in off.why
    (switch,) = told("8612h", "lift", software_position_limits_used="No (0)").values()
    assert switch.score == pytest.approx(0.25)


def test_a_limit_within_the_stroke_blocks_no_motor() -> None:
    inside = told("7121h", "lift", max_software_position_limit="601 mm")
    beyond = told("7121h", "lift", max_software_position_limit="700 mm")
    # 650 mm of stroke were 1.083 times the way between the limits, and are 1.082 times.
    assert [found.score for found in inside.values()] == [pytest.approx(0.012, abs=0.001)]
    assert beyond["max_software_position_limit"].score == pytest.approx(0.7)


def test_a_range_limit_outside_the_software_limits_stops_nothing() -> None:
    """607Bh, which reserves more than 607Dh lets the axis go."""
    far = told("8612h", "gantry", max_position_range_limit="4000000 user_position")
    assert [found.why for found in far.values()] == [
        "the axis is stopped earlier: only the set of now has it"
    ]


def test_the_torque_limits_are_one_thing_and_each_is_told_by_its_own_way() -> None:
    """One was lowered and one raised: the raised one is not blamed for the other."""
    found = told("8611h", "lift", max_torque="600 permille_rated_torque",
                 max_current="3000 permille_rated_current",
                 positive_torque_limit="600 permille_rated_torque")  # fmt: skip
    assert found["max_torque"].score == pytest.approx(0.9, abs=0.1)


def test_one_figure_of_several_parameters_is_told_once() -> None:
    found = told("8130h", "carriage", guard_time="50 ms", life_time_factor="2")
    first, second = found["guard_time"], found["life_time_factor"]
    assert first.why.endswith("guarding waits 100 ms instead of 300 ms")
    assert second.why.endswith("together with guard_time")
    assert first.score == second.score


def test_offsets_that_happen_to_shift_alike_are_each_told() -> None:
    both = told("8612h", "lift", max_software_position_limit="594 mm",
                min_software_position_limit="6 mm")  # fmt: skip
    assert [found.why.partition(": ")[2] for found in both.values()] == [
        "it lies 1 % of the travel further inward", "it lies 1 % of the travel further inward",
    ]  # fmt: skip


def test_a_temperature_counts_by_its_rise() -> None:
    # 90 K over 40 deg C became 45 K: half.
    found = told("4310h", "lift", motor_temperature_limit="85 degC")["motor_temperature_limit"]
    assert found.score == pytest.approx(1, abs=0.01)
    assert found.why.endswith("0.5 times as much over surroundings of 40 deg C")


@pytest.mark.parametrize(
    ("angle", "share"),
    [
        ("0.3 deg", 0),
        ("3 deg", 0.1),
        ("30 deg", 1),
        ("90 deg", 1),
        ("354 deg", 0.2),
        ("-6 deg", 0.2),
    ],
)
def test_an_angle_counts_by_its_size_within_a_turn(angle: str, share: float) -> None:
    """Less than a thousandth of a turn is nothing."""
    found = told("2310h", "lift", commutation_offset=angle)
    assert sum(suspect.score for suspect in found.values()) == pytest.approx(share)


def test_ramps_come_after_a_trip_that_was_lowered_also_where_no_record_tells() -> None:
    """800 V to 700 V is more than a tenth, a ramp of 4 s for 5 s a fifth."""
    found = told("3210h", "pump", dc_link_overvoltage_threshold="700 V", deceleration_time="4 s")
    assert list(found) == ["dc_link_overvoltage_threshold", "deceleration_time"]


def test_what_was_shifted_never_comes_before_what_shifted_it() -> None:
    """Ten turns and a twentieth for one, instead of ten."""
    gear = {"gear_ratio_motor_revolutions": "201 rev", "gear_ratio_shaft_revolutions": "20 rev"}
    first, *_ = found = list(told("8612h", "gantry", **gear).values())
    assert first.name == "gear_ratio_motor_revolutions"
    assert first.score == max(suspect.score for suspect in found)


def changed(fault: str, axis: str, **ways: tuple[str, str]) -> dict[str, Suspect]:
    """Suspects on an axis of the rankings whose set changes from one value to another."""
    known = rankings()["axes"][axis]
    before, after = ({role: way[n] for role, way in ways.items()} for n in (0, 1))
    views = (view(known, {**known["set"], **side}) for side in (before, after))
    return {suspect.name: suspect for suspect in suspected(fault, *views)}


def test_a_supervision_that_is_off_brings_nothing_about() -> None:
    assert told("8130h", "pump", fieldbus_timeout="0 ms") == {}
    assert told("8130h", "carriage", life_time_factor="0") == {}
    assert told("8130h", "carriage", consumer_heartbeat_time="0") == {}


def test_a_supervision_that_was_off_may_bring_it_about() -> None:
    timed = changed("8130h", "pump", fieldbus_timeout=("0 ms", "500 ms"))["fieldbus_timeout"]
    assert timed.score == pytest.approx(0.9)
    guarded = changed("8130h", "carriage", life_time_factor=("0", "3"))["life_time_factor"]
    assert guarded.why.endswith("guarding waits 300 ms, and was off")


@pytest.mark.parametrize(
    ("fault", "role", "limit", "weight"),
    [
        ("8611h", "following_error_window", "60 mm", 1),
        ("8611h", "following_error_warning", "60 mm", 0.5),
        ("4310h", "motor_temperature_limit", "130 degC", 1),
        ("8130h", "missed_update_limit", "3", 0.8),
    ],
)
def test_a_limit_of_nought_may_be_off_and_counts_a_half_either_way(
    fault: str, role: str, limit: str, weight: float
) -> None:
    zero = "0" + limit.lstrip("0123456789")
    off = changed(fault, "lift", **{role: (limit, zero)})[role]
    on = changed(fault, "lift", **{role: (zero, limit)})[role]
    assert off.score == on.score == pytest.approx(weight / 2)
    assert off.why.endswith(": 0 is off in some drives, and acts at once in others")
    assert on.why.endswith(": it was 0, which is off in some drives, and acts at once in others")


def test_the_part_of_an_atom_that_decides_bears_the_whole() -> None:
    """5 V of the 70 V above the switch-on are 0.063 of the trip's distance: log2 by log2."""
    ways = {"braking_resistor_used": ("Yes (1)", "No (0)")}
    alone = changed("3210h", "lift", **ways)
    both = changed("3210h", "lift", dc_link_overvoltage_threshold=("830 V", "825 V"), **ways)
    assert list(both) == ["braking_resistor_used", "dc_link_overvoltage_threshold"]
    assert both["braking_resistor_used"].score == alone["braking_resistor_used"].score == 1
    assert both["dc_link_overvoltage_threshold"].score == pytest.approx(log2(830 / 825) / log2(1.1))
    limits = changed("7121h", "lift", min_software_position_limit=("0 mm", "-0.01 mm"),
                     max_software_position_limit=("600 mm", "660 mm"))  # fmt: skip
    assert list(limits) == ["max_software_position_limit"]


def test_what_two_parts_of_an_atom_do_to_one_margin_each_bears_by_what_it_does() -> None:
    """Switch-on 30 V up and trip 30 V down, either the last to come: 30 V of some 70 V or 40 V."""
    found = changed("3210h", "lift", braking_resistor_threshold=("760 V", "790 V"),
                    dc_link_overvoltage_threshold=("830 V", "800 V"))  # fmt: skip
    scores = {name: suspect.score for name, suspect in found.items()}
    assert scores == {
        "braking_resistor_threshold": pytest.approx(log2(790 / 760) / log2(1.1), abs=0.001),
        "dc_link_overvoltage_threshold": pytest.approx(log2(830 / 800) / log2(1.1), abs=0.001),
    }


def test_of_two_hard_stops_the_one_that_came_nearer_is_the_suspect() -> None:
    known = rankings()["axes"]["lift"]
    mechanics = {**known["record"]["mechanics"], "hard_stop_low": "-26 mm",
                 "hard_stop_high": "595 mm"}  # fmt: skip
    after = {"record": {**known["record"], "mechanics": mechanics}}
    found = suspected("7121h", view(known, known["set"]), view(after, known["set"]))
    assert [suspect.name for suspect in found] == ["mechanics.hard_stop_high"]


def test_a_rated_current_is_a_suspect_whether_or_not_a_duty_is_recorded() -> None:
    """No margin of torque rests on it: what the overload model lets through does."""
    less = {"motor_rated_current": "1550 mA"}
    for record in ({}, {"duty": None}):
        scores = {
            fault: told(fault, "lift", record, **less)["motor_rated_current"].score
            for fault in ("2350h", "4310h", "7121h", "8400h", "8611h")
        }
        assert scores == {"2350h": 1, "4310h": 1, "7121h": 0.6, "8400h": 0.7, "8611h": 0.6}


@pytest.mark.parametrize(("fault", "score"), [("7111h", 1), ("7112h", 1), ("7113h", 0.065),
                                              ("3210h", 0.065)])  # fmt: skip
def test_a_smaller_braking_resistance_overloads_the_chopper_and_eases_the_link(
    fault: str, score: float
) -> None:
    """760 V over 10 ohm are 76 A, over 47 ohm 16 A (Ohm's law)."""
    found = told(fault, "lift", braking_resistor_resistance="10 ohm")["braking_resistor_resistance"]
    assert found.score == pytest.approx(score, abs=0.001)
    assert ("may hide it" in found.why) is (score < 1)


def test_a_fitted_resistor_that_is_smaller_overloads_the_chopper_too() -> None:
    known = rankings()["axes"]["lift"]
    records = [
        {**known["record"], "supply": {**known["record"]["supply"], "resistor": f"{size} ohm"}}
        for size in (47, 10)
    ]
    views = [view({"record": record}, known["set"]) for record in records]
    (found,) = suspected("7112h", *views)
    assert (found.name, found.score) == ("supply.resistor", 1)


def test_a_frequency_counts_by_the_power_of_a_pump() -> None:
    """Affinity laws: power goes with the cube of speed; a quarter more is nearly twice (1.95)."""
    found = told("4310h", "pump", max_frequency="62.5 Hz")["max_frequency"]
    assert found.score == pytest.approx(0.7 * log2(1.25**3))
    assert told("2310h", "pump", max_frequency="60 Hz")["max_frequency"].score > 0.4
    assert told("2350h", "pump", motor_rated_voltage="230 V")["motor_rated_voltage"].score > 0.4


def between_sets(
    fault: str, set_: dict[str, object], record: dict[str, Any] | None = None, **after: object
) -> dict[str, Suspect]:
    """Suspects on the gantry with some of its set left out, whose set and transmission change."""
    known = rankings()["axes"]["gantry"]
    left = {role: value for role, value in known["set"].items() if role not in set_}
    mechanics = {**known["record"]["mechanics"], **(record or {})}
    other = {**known["record"], "mechanics": mechanics}
    views = view(known, left), view({"record": other}, {**left, **after})
    return {suspect.name: suspect for suspect in suspected(fault, *views)}


NO_UNIT: dict[str, object] = {"si_unit_position": None, "following_error_window": None}


def test_where_no_unit_is_stated_the_set_still_tells_how_much_further_the_axis_goes() -> None:
    found = between_sets("8612h", NO_UNIT, gear_ratio_motor_revolutions="11 rev")
    assert found["gear_ratio_motor_revolutions"].why.endswith("is 1.1 times as long")


def test_where_no_unit_is_stated_set_and_machine_are_taken_together() -> None:
    """11 : 1 instead of 10 : 1 in both is the same way; in the machine 22 : 1, half of it."""
    box = {"gearbox": {"motor": 11, "output": 1}}
    same = between_sets("8612h", NO_UNIT, box, gear_ratio_motor_revolutions="11 rev")
    assert "gear_ratio_motor_revolutions" not in same and "mechanics.gearbox" not in same
    box = {"gearbox": {"motor": 22, "output": 1}}
    half = between_sets("8612h", NO_UNIT, box, gear_ratio_motor_revolutions="11 rev")
    assert "every commanded way is 0.5 times as long" in half["gear_ratio_motor_revolutions"].why


def test_an_axis_that_turns_instead_of_going_counts_whole() -> None:
    found = between_sets("8612h", {}, {"kind": "rotary_table"})["mechanics.kind"]
    assert (found.score, found.why) == (0.9, "the same command goes another way")


@pytest.mark.parametrize(
    ("role", "values", "share"),
    [
        ("max_position_range_limit", (3200000, 3100000), None),  # 607Dh stops it before
        ("max_position_range_limit", (3200000, 3000000), None),  # at the very place
        ("max_position_range_limit", (3100000, 2900000), 1),
        ("min_position_range_limit", (-200000, -100000), None),
        ("min_position_range_limit", (-200000, 0), None),
        ("min_position_range_limit", (-100000, 100000), 1),
    ],
)
def test_a_range_limit_counts_where_it_stops_the_axis_first(
    role: str, values: tuple[int, int], share: float | None
) -> None:
    known = rankings()["axes"]["gantry"]
    views = [view(known, {**known["set"], role: f"{value} user_position"}) for value in values]
    found = {suspect.name: suspect.score for suspect in suspected("8612h", *views)}
    assert found == ({} if share is None else {role: pytest.approx(0.9 * share)})


def test_less_than_a_thousandth_of_a_size_is_nothing() -> None:
    weight = Weight(1, "more", (), "")
    assert of_sizes(1000, 1000.9, weight) is None
    assert of_sizes(1000, 1002, weight) is not None
    assert of_sizes(1000, 999.1, weight) is None
    assert of_sizes(-5, 5, weight) == FaultEffect(1, True)


def test_a_way_that_is_longer_by_half_a_thousandth_adds_up() -> None:
    ratio = {"gear_ratio_motor_revolutions": "2001 rev", "gear_ratio_shaft_revolutions": "200 rev"}
    found = between_sets("8612h", {}, **ratio)["gear_ratio_motor_revolutions"]
    assert found.score == pytest.approx(0.9 * 0.0005 / 0.02)


def test_an_absolute_offset_counts_by_the_way_of_the_axis_that_it_is() -> None:
    """36 deg of the motor are 1 mm of 600 mm: a lead of 20 mm behind a gear of 2 to 1."""
    known = rankings()["axes"]["lift"]
    views = [
        view(known, {**known["set"], "encoder_absolute_offset": f"{angle} deg"})
        for angle in (10, 46)
    ]
    (found,) = suspected("8612h", *views)
    assert found.score == pytest.approx(0.9 / 600 / 0.02)


def test_without_software_limits_the_stroke_is_the_travel() -> None:
    known = rankings()["axes"]["carriage"]
    limits = ("min_software_position_limit", "max_software_position_limit")
    left = {role: value for role, value in known["set"].items() if role not in limits}
    views = view(known, left), view(known, {**left, "home_offset": "32.5 mm"})
    (found,) = suspected("8612h", *views)
    assert found.score == pytest.approx(0.9 * 20.5 / 2050 / 0.02)


def test_a_margin_that_is_known_and_stays_tells_that_nothing_happened() -> None:
    """The motor of the lift works for the weight: half as steep again is nothing to its heat."""
    assert told("4310h", "lift", profile_acceleration="3000 mm/s^2") == {}
    # Both limits 5 mm up: the way between them is what it was.
    assert told("7121h", "lift", min_software_position_limit="5 mm",
                max_software_position_limit="605 mm") == {}  # fmt: skip


def test_a_limit_that_was_raised_is_not_blamed_for_the_one_that_was_lowered() -> None:
    known = rankings()["axes"]["lift"]
    unit = "permille_rated_torque"
    views = [
        view(known, {**known["set"], "max_torque": f"{most} {unit}",
                     "positive_torque_limit": f"{up} {unit}"})
        for most, up in ((2000, 2000), (600, 2400))
    ]  # fmt: skip
    found = {suspect.name: suspect for suspect in suspected("8611h", *views)}
    assert found["max_torque"].score > 0.5
    assert "may hide it" in found["positive_torque_limit"].why


def test_a_choice_has_no_figure_of_a_margin_that_it_makes_better() -> None:
    """A DC supply of 400 V charges the link less than the peak of the mains: 1.41 times as much."""
    found = told("3210h", "lift", supply_phases="DC supply (2)")["supply_phases"]
    assert (found.score, found.why) == (0.6, "the DC link works at another voltage")


@pytest.mark.parametrize(("bound", "is_told"), [("exact", True), ("at_least", True),
                                                ("unknown", False)])  # fmt: skip
def test_a_margin_that_may_be_more_or_less_tells_nothing(bound: Bound, is_told: bool) -> None:
    sides = [
        Margin("lift", "force", "availability", ratio, 1, "N", ratio, bound, "")
        for ratio in (4.0, 2.0)
    ]
    assert (_by_move(MarginMove("lift", *sides)) is not None) is is_told

"""What a commissioner was misled by on a second reading: sentences, classes and complaints.

Axes are those of `tests/behaviour/axes.py`, all invented; figures are worked out beside.
"""

from __future__ import annotations

from math import pi

import pytest

from tests.behaviour.axes import (
    CARRIAGE_SET,
    LIFT_RECORD,
    LIFT_SET,
    TABLE_SET,
    axis,
    changed,
    the_change,
)
from tests.meaning.checks.sets import Settings, complaints, recorded, view_of, with_mechanics
from vault.behaviour.behave import margins_of
from vault.meaning.changes import Change, Surrounding
from vault.meaning.compare import compare
from vault.meaning.surrounding_consequences import explained as around_explained

WITHOUT_BRAKE = {key: value for key, value in LIFT_RECORD.items() if key != "brake"}


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


# ----- two axes


def test_what_each_axis_has_of_its_own_is_no_hazard_and_is_told_in_words_of_is() -> None:
    own = {"homing_method": 2, "encoder_direction": 1, "polarity": 192, "motor_pole_pairs": 5}
    found = compare(axis("lift"), axis("lift", **own), sides=("one", "two"))
    told = {str(change.shown.role): change for change in found.changes}
    assert {role: told[role].consequence for role in own} == {
        "homing_method": "travel", "encoder_direction": "travel", "polarity": "travel",
        "motor_pole_pairs": "electrical",
    }  # fmt: skip
    words = " ".join(change.explanation + change.more for change in told.values())
    assert not [word for word in ("reverse", "runs away", "run away", "unless") if word in words]


@pytest.mark.parametrize("one_sided", [False, True])
def test_an_output_on_another_terminal_is_no_hazard_between_two_axes(one_sided: bool) -> None:
    fault, brake = 3, 5  # of `digital_output_function`
    left = {"digital_output_function.2": fault, "digital_output_function.3": brake}
    right = {"digital_output_function.2": brake, "digital_output_function.3": fault}
    right |= {"digital_output_function.3": None} if one_sided else {}
    found = compare(axis("lift", **left), axis("lift", **right), sides=("one", "two"))
    assert {change.consequence for change in found.changes} == {"travel"}


def test_a_push_of_homing_is_compared_at_the_axis() -> None:
    # Half the rated torque on both: the smaller motor behind the slower gear pushes harder.
    weak = with_mechanics(LIFT_RECORD, gearbox={"motor": 1, "output": 1})
    strong = {"motor_rated_torque": "6000 mN*m", "gear_ratio_motor_revolutions": 1}
    one = axis("lift", homing_torque_limit=500)
    other = axis("lift", weak, homing_torque_limit=500, **strong)
    told = {c.shown.role: c for c in compare(one, other, sides=("one", "two")).changes}
    assert told["homing_torque_limit"].consequence != "hazard"
    harder = changed("lift", homing_torque_limit=(500, 700)).changes[0]
    assert harder.consequence == "hazard"


def test_gains_and_limits_of_two_machines_are_compared_by_what_they_do() -> None:
    # Twice the gain before twice the inertia is as fast; half the lead pushes twice as hard.
    short = with_mechanics(LIFT_RECORD, lead="10 mm")
    left = axis("lift", max_torque=2000)
    right = axis("lift", short, feed_constant_feed=10, velocity_gain="0.24 N*m*s/rad")
    found = compare(left, right, sides=("one", "two"))
    told = {c.shown.role: c.explanation for c in found.changes}
    assert "times as much" not in told["velocity_gain"]
    assert "The velocity loop is about" in told["velocity_gain"]
    assert "%" not in told["max_torque"]
    # 2 pi 0.9 x 2 x T / L: 6.4 N*m on 20 mm are 3,619 N, 8 N*m on 10 mm 9,048 N.
    assert "9,048 N at the axis) on two, 6.4 N*m (3,619 N) on one" in told["max_torque"]


def test_the_unit_that_an_axis_reads_its_gain_in_is_no_hazard_between_two() -> None:
    left, right = (
        recorded({**LIFT_RECORD, "position_gain_unit": unit}) for unit in ("1/s", "(m/min)/mm")
    )
    row = Surrounding("position_gain_unit", "1/s", "(m/min)/mm")
    (between,) = around_explained([row], left, right, ("one", "two"))
    (over_time,) = around_explained([row], left, right)
    assert (between.consequence, over_time.consequence) == ("dynamics", "hazard")


# ----- frequency drives

PUMP: Settings = {
    "max_frequency": "50 Hz", "rated_frequency": "50 Hz", "motor_rated_voltage": "400 V",
    "motor_pole_pairs": 2, "motor_type": 7, "voltage_frequency_pattern": 1,
}  # fmt: skip
PUMP_RECORD = {
    "mechanics": {"kind": "rotary", "load_inertia": "0.01 kg*m^2"},
    "motor": {"max_speed": "3000 r/min", "rated_speed": "1440 r/min", "inertia": "0.005 kg*m^2"},
}


def of_pump(role: str, after: object) -> Change:
    changed_set = {**PUMP, role: after}
    (told,) = compare(view_of(PUMP, PUMP_RECORD), view_of(changed_set, PUMP_RECORD)).changes
    return told


def test_nothing_is_commutated_by_volts_per_hertz() -> None:
    told = of_pump("motor_pole_pairs", 3)
    assert told.consequence == "dynamics"
    assert "does not run away" in told.explanation
    assert "1.5 times the frequency" in told.explanation
    assert the_change("lift", "motor_pole_pairs", 4, 3).consequence == "hazard"


def test_the_power_of_a_pump_is_told_where_it_grows() -> None:
    # (87 / 50)^3 = 5.268 (affinity laws).
    assert "5.27 times the power" in of_pump("max_frequency", "87 Hz").explanation


def test_the_rated_voltage_tells_the_volts_per_hertz() -> None:
    told = of_pump("motor_rated_voltage", "230 V")
    assert "4.6 V per hertz instead of 8 V: a weaker field" in told.explanation


def test_a_quick_stop_without_a_ramp_of_its_own_asks_for_one_that_the_family_has() -> None:
    # 5 s from 1500 r/min, 0.2 m a turn: 5 m/s at 1 m/s^2 fall by 12.5 m.
    hoist = {
        "mechanics": {
            "kind": "belt", "pulley_circumference": "200 mm", "orientation": "vertical",
            "moving_mass": "10 kg", "gearbox": {"motor": 1, "output": 1},
        },
        "motor": {"max_speed": "3000 r/min", "inertia": "0.005 kg*m^2", "max_torque": "50 N*m"},
        "supply": {"voltage": "400 V", "dc_link_capacitance": "470 uF"},
    }  # fmt: skip
    settings = {**PUMP, "braking_resistor_used": 0, "dc_link_overvoltage_threshold": "800 V"}
    found = margins_of(view_of(settings, hoist).state)["stop_energy"]
    assert found.missing == ("deceleration_time",)
    found = margins_of(view_of({**settings, "deceleration_time": "5 s"}, hoist).state)[
        "stop_energy"
    ]
    speed, inertia = 5.0, 10 + 0.005 * (2 * pi / 0.2) ** 2
    assert found.need == pytest.approx(inertia * speed**2 / 2 + 10 * 9.80665 * 12.5)
    assert "deceleration ramp" in found.hedge


# ----- told once, told at all


def test_limits_that_a_rating_shifts_are_told_once() -> None:
    found = changed("lift", motor_rated_torque=("3200 mN*m", "1600 mN*m"))
    shifted = [change.explanation for change in found.changes if change.kind == "shifted"]
    assert sum("really 4 N*m now" in text for text in shifted) == 1
    assert sum("told at" in text for text in shifted) == len(shifted) - 1 == 2


def test_a_probe_protects_nothing() -> None:
    told = the_change("lift", "touch_probe_function", 0, 3)
    assert told.consequence == "travel"
    assert "stops nothing" in told.explanation
    assert "takes no positions" in the_change("lift", "touch_probe_function", 3, 0).explanation


@pytest.mark.parametrize("after", [0, None])
def test_a_heartbeat_that_is_off_is_judged_by_what_else_watches(after: int | None) -> None:
    # 1016h: node 1 within 100 ms (CiA 301, from memory); the bus time-out is 4 ms.
    told = the_change("lift", "consumer_heartbeat_time", 0x10064, after)
    assert told.consequence == "link"
    assert "notices it after 4 ms" in told.explanation
    # Two milliseconds later the axis is 0.87 mm farther, which the room can bear.
    hardly = {"fieldbus_timeout": ("102 ms", "102 ms"), "consumer_heartbeat_time": (0x10064, 0)}
    assert {c.consequence for c in changed("lift", **hardly).changes} == {"link"}
    for other in (None, "900 ms"):
        watched = {"fieldbus_timeout": (other, other), "consumer_heartbeat_time": (0x10064, after)}
        (told,) = changed("lift", **watched).changes
        assert told.consequence == "hazard"


@pytest.mark.parametrize(
    "after",
    [{"min_software_position_limit": "0 deg", "max_software_position_limit": "0 deg"},
     {"software_position_limits_used": 0}],
)  # fmt: skip
def test_an_endless_table_has_no_hard_stops_to_run_into(after: Settings) -> None:
    mechanics = {"kind": "rotary_table", "gearbox": {"motor": 40, "output": 1}}
    settings = {**TABLE_SET, "software_position_limits_used": 1}
    found = compare(
        view_of(settings, {"mechanics": mechanics}),
        view_of({**settings, **after}, {"mechanics": mechanics}),
    )
    assert {change.consequence for change in found.changes} == {"travel"}
    assert all("turns on and on" in change.explanation for change in found.changes)
    assert all("hard stop" not in change.explanation for change in found.changes)
    with_ends = compare(axis("table", **settings), axis("table", **{**settings, **after}))
    assert {change.consequence for change in with_ends.changes} == {"hazard"}


@pytest.mark.parametrize(
    ("before", "after", "consequence", "says"),
    [
        ("130 degC", "200 degC", "electrical", "70 K hotter"),
        ("130 degC", "110 degC", "electrical", "20 K sooner"),
        ("130 degC", "0 degC", "hazard", "the drive's manual must tell"),
        ("130 degC", None, "hazard", "does not stop a motor"),
        ("0 degC", "130 degC", "electrical", "hotter than 130"),
    ],
)
def test_a_limit_of_the_motors_temperature_is_told(
    before: str, after: str | None, consequence: str, says: str
) -> None:
    told = the_change("lift", "motor_temperature_limit", before, after)
    assert told.consequence == consequence
    assert says in told.explanation


def test_the_voltage_set_is_held_against_the_one_fed() -> None:
    told = the_change("lift", "supply_voltage", "400 V", "480 V")
    assert "The cabinet feeds 400 V: the drive watches" in told.explanation
    assert "as set" in the_change("lift", "supply_voltage", "480 V", "400 V").explanation
    (found,) = complaints("supply_voltage", axis("lift", supply_voltage="480 V"))
    assert found.consequence == "electrical"
    assert "mains of 480 V, the cabinet feeds 400 V" in found.sentence
    assert not complaints("supply_voltage", axis("lift", supply_voltage="400 V"))
    fed_by_nobody = {key: value for key, value in LIFT_RECORD.items() if key != "supply"}
    (change,) = compare(
        axis("lift", fed_by_nobody, supply_voltage="400 V"),
        axis("lift", fed_by_nobody, supply_voltage="480 V"),
    ).changes
    # sqrt 2 x 480 V, a tenth more and less (IEC 60038, from memory).
    assert "rests at 746.7 V, at low mains at 610.9 V" in change.explanation


def test_an_undervoltage_above_low_mains_is_told_in_the_comparison() -> None:
    # 0.9 x sqrt 2 x 400 V = 509.1 V.
    told = the_change("lift", "undervoltage_threshold", "380 V", "520 V")
    assert "rests at 509.1 V, below it: the drive trips" in told.explanation
    assert (
        "below it" not in the_change("lift", "undervoltage_threshold", "380 V", "500 V").explanation
    )


def test_a_resistor_on_a_feed_of_direct_voltage_is_not_held_against_a_peak() -> None:
    # 1.1 x 400 V = 440 V.
    found = changed("lift", supply_phases=2, braking_resistor_threshold=("770 V", "600 V"))
    assert found.changes[0].explanation.endswith("rests at 440 V.")
    trips = the_change("carriage", "braking_resistor_threshold", "770 V", "830 V")
    assert "trips at 820 V" in trips.explanation  # by the set; the record has no trip


# ----- checks


def test_a_safely_limited_speed_acts_where_the_drives_own_limit_fails() -> None:
    # 4500 r/min on 10 mm a turn are 750 mm/s.
    (late,) = complaints("safely_limited_speed", axis("lift", safe_limited_speed="600 mm/s"))
    assert "the drive's own limit fails; the motor makes 750 mm/s" in late.sentence
    (never,) = complaints("safely_limited_speed", axis("lift", safe_limited_speed="800 mm/s"))
    assert never.sentence.endswith("it never acts.")


def test_limits_out_of_order_are_told_in_the_axes_own_unit() -> None:
    micrometres = {"si_unit_position": None, "feed_constant_feed": 20_000}
    crossed = {"min_software_position_limit": 600_000, "max_software_position_limit": 0}
    (found,) = complaints("software_limits", axis("lift", **micrometres, **crossed))
    assert "the lower one is 600 mm, the upper one 0 mm" in found.sentence


@pytest.mark.parametrize("mode", [7, 8, 9, 10, 11])
def test_all_cyclic_modes_take_set_points_in_step(mode: int) -> None:
    settings = {"interpolation_time_period": 1, "interpolation_time_index": -3}
    view = axis("lift", modes_of_operation=mode, task_period="2 ms", **settings)
    assert complaints("update_interval", view)


def test_a_floor_and_its_margin_have_one_class() -> None:
    encoder = {"encoder": {"single_turn_bits": 20, "multi_turn_bits": 4}}
    view = view_of(LIFT_SET, {**LIFT_RECORD, **encoder, "margins": {"absolute_range": "0.5"}})
    (floor,) = complaints("margin_floor", view)
    (told,) = complaints("absolute_range", view)
    assert floor.consequence == told.consequence == "travel"

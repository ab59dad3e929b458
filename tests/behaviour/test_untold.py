"""What protects and cannot be told any more, safety functions, and what is short on one of two.

Axes are those of `tests/behaviour/axes.py`, all invented; figures are worked out beside.
"""

from __future__ import annotations

import pytest

from tests.behaviour.axes import LIFT_RECORD, axis, changed, the_change
from tests.meaning.checks.sets import complaints, with_mechanics
from vault.behaviour.behave import margins_of
from vault.behaviour.stop import braking_rate
from vault.meaning.compare import compare

ROOMS = ("stop_room", "fault_room", "link_room", "trip_room", "drop_room")


def test_crossed_limits_are_a_hazard() -> None:
    # Many drives take them for none (common practice, no source): nothing may be said of the room.
    found = changed(
        "lift", min_software_position_limit=("0 mm", "600 mm"),
        max_software_position_limit=("600 mm", "0 mm"),
    )  # fmt: skip
    told = [change for change in found.changes if change.consequence == "hazard"]
    assert told
    assert "cannot be told any more" in told[0].explanation
    assert "the upper one is not above the lower" in told[0].explanation


@pytest.mark.parametrize(
    ("role", "before", "after", "gone"),
    [
        ("quick_stop_option_code", 2, -1, "stop_room"),
        ("fault_reaction_option_code", 2, -1, "fault_room"),
        ("fault_reaction_option_code", 2, 6, "fault_room"),
        ("stop_time_limit", "1000 ms", "0 ms", "stop_time"),
    ],
)
def test_a_reaction_of_the_makers_own_cannot_be_told(
    role: str, before: object, after: object, gone: str
) -> None:
    told = the_change("lift", role, before, after)
    assert told.consequence == "hazard"
    found = margins_of(axis("lift", **{role: after}).state)[gone]
    assert (found.ratio, found.missing) == (None, ())
    assert "manual" in found.hedge


def test_an_option_code_that_holds_after_the_stop_is_no_loss() -> None:
    # 605Ah 6 stops on the quick-stop ramp as 2 does, and holds then (CiA 402-2, from memory).
    assert the_change("lift", "quick_stop_option_code", 2, 6).consequence != "hazard"


@pytest.mark.parametrize("after", ["3000 ms", "250 ms"])
def test_another_delay_of_safe_stop_1_is_accepted_anew(after: str) -> None:
    told = the_change("lift", "safe_stop_delay", "300 ms", after)
    assert told.consequence == "hazard"
    assert "accepted anew" in told.explanation
    assert ("torque stays on" in told.explanation) == (after == "3000 ms")


@pytest.mark.parametrize(
    ("role", "before", "after", "word"),
    [
        ("safe_limited_speed", "100 mm/s", "250 mm/s", "go faster"),
        ("safe_operating_stop_window", "1 mm", "5 mm", "move further"),
        ("safe_limited_speed_delay", "100 ms", "900 ms", "watch later"),
    ],
)
def test_a_weaker_safety_function_says_in_which_way(
    role: str, before: str, after: str, word: str
) -> None:
    weaker, stronger = (
        the_change("lift", role, before, after),
        the_change("lift", role, after, before),
    )
    assert word in weaker.explanation
    assert word not in stronger.explanation
    assert weaker.consequence == stronger.consequence == "hazard"


def test_what_is_short_on_one_of_two_axes_is_one_row() -> None:
    weak = axis("lift", quick_stop_deceleration="1500 mm/s^2", max_motor_speed="2650 r/min")
    found = compare(weak, axis("lift"), sides=("one", "two"))
    (row,) = (one for one in found.surroundings if one.path == "margins.stop_room")
    assert row.explanation.startswith("On one: From ")
    assert (float(str(row.left)) < 1, float(str(row.right)) >= 1) == (True, True)
    told = {c.shown.role: c.consequence for c in found.changes}
    # 1500 mm/s^2 alone makes 65 mm of 45; 442 mm/s instead of 433 on 4000 mm/s^2 makes 26 mm.
    assert told["quick_stop_deceleration"] == "hazard"
    assert told["max_motor_speed"] != "hazard"


def test_swapped_sides_tell_the_same_of_two_axes() -> None:
    weak, strong = axis("lift", quick_stop_deceleration="1500 mm/s^2"), axis("lift")
    one = compare(weak, strong, sides=("a", "b"))
    other = compare(strong, weak, sides=("b", "a"))
    assert [c.consequence for c in one.changes] == [c.consequence for c in other.changes]
    assert [s.explanation for s in one.surroundings] == [s.explanation for s in other.surroundings]


def test_margins_that_share_their_room_are_told_in_one_row() -> None:
    short = axis("lift", with_mechanics(LIFT_RECORD, hard_stop_high="610 mm"))
    found = compare(short, axis("lift"), sides=("one", "two"))
    rows = [row for row in found.surroundings if row.path.startswith("margins.")]
    rooms = [row for row in rows if row.path.removeprefix("margins.") in ROOMS]
    (row,) = rooms
    assert "10 mm" in row.explanation
    assert all(name in row.explanation or name in row.path for name in ("stop_room", "fault_room"))


def test_of_chopper_and_trip_the_one_that_decides_is_the_hazard() -> None:
    found = changed(
        "lift", braking_resistor_used=(1, 0), braking_resistor_threshold=("770 V", "771 V"),
        dc_link_overvoltage_threshold=("820 V", "819 V"),
    )  # fmt: skip
    told = {c.shown.role: c.consequence for c in found.changes}
    assert told.pop("braking_resistor_used") == "hazard"
    assert set(told.values()) == {"electrical"}


def test_of_two_limits_the_one_that_decides_is_the_hazard() -> None:
    # 30 mm less above leave 15 mm, a quick stop takes 24.8; a hundredth below takes nothing.
    found = changed(
        "lift", min_software_position_limit=("0 mm", "-0.01 mm"),
        max_software_position_limit=("600 mm", "630 mm"),
    )  # fmt: skip
    told = {c.shown.role: c.consequence for c in found.changes}
    assert told["max_software_position_limit"] == "hazard"
    assert told["min_software_position_limit"] == "travel"


def test_what_just_suffices_suffices_for_all_that_ask() -> None:
    # 1500 r/min on 20 mm behind 2:1 are 250 mm/s; 12.5 m/s^2 take 20 ms, in floats a bit more.
    settings = {
        "max_motor_speed": "1500 r/min", "quick_stop_deceleration": "12500 mm/s^2",
        "max_profile_velocity": None, "max_torque": 9000, "positive_torque_limit": 9000,
        "negative_torque_limit": 9000,
    }  # fmt: skip
    found = margins_of(axis("lift", **settings, safe_stop_delay="20 ms").state)["safe_stop_delay"]
    assert found.ratio == 1
    (told,) = compare(
        axis("lift", **settings, safe_stop_delay="21 ms"),
        axis("lift", **settings, safe_stop_delay="20 ms"),
    ).changes
    assert "still moves" not in told.explanation


@pytest.mark.parametrize("recorded", ["mechanics.max_speed", "motor.max_speed"])
def test_a_speed_limit_of_the_motor_alone_is_checked_too(recorded: str) -> None:
    # Without 607Fh the motor's limit counts: 2600 r/min are 433 mm/s. Built for 350 mm/s; or for
    # 2000 r/min of the motor.
    section, _, key = recorded.partition(".")
    most = "350 mm/s" if section == "mechanics" else "2000 r/min"
    record = {**LIFT_RECORD, section: {**LIFT_RECORD[section], key: most}}
    view = axis("lift", record, max_profile_velocity=None)
    name = "machine_speed" if section == "mechanics" else "motor_speed"
    found = margins_of(view.state)[name]
    assert found.ratio is not None
    assert found.ratio < 1
    assert complaints(name, view)


def test_a_position_that_runs_over_is_checked() -> None:
    # 40 m of 20 mm a turn behind 2:1 are 4000 turns of 2^24 increments: 31 times what 32 bits hold.
    far = with_mechanics(LIFT_RECORD, hard_stop_high="40 m", stroke="40 m")
    view = axis("lift", far, position_encoder_increments=2**24)
    found = margins_of(view.state)["counts"]
    assert found.ratio == pytest.approx(2**31 / (4002.25 * 2**24), rel=0.01)
    assert complaints("counts", view)


def test_limits_that_are_switched_off_are_not_held_against_the_stroke() -> None:
    wide = axis("lift", max_software_position_limit="2000 mm", software_position_limits_used=0)
    assert "limits_in_stroke" not in margins_of(wide.state)


DUTY = {"cycle": "4 s", "moves": [{"distance": "300 mm"}, {"distance": "-300 mm"}]}


def test_the_nameplate_tells_what_heats_the_motor_and_not_the_set() -> None:
    record = {**LIFT_RECORD, "duty": DUTY}
    found = [
        margins_of(axis("lift", record, motor_rated_torque=rated).state)["rms_torque"]
        for rated in ("3200 mN*m", "6000 mN*m")
    ]
    assert found[0].have == found[1].have == 3.2
    assert found[0].ratio == found[1].ratio


def test_a_profile_that_does_not_act_makes_a_duty_no_certain_one() -> None:
    # Mode 8: the controller makes the moves; what they do not say is only taken from the profile.
    record = {**LIFT_RECORD, "duty": DUTY}
    rms = margins_of(axis("lift", record).state)["rms_torque"]
    assert rms.bound == "unknown"
    assert "the controller makes the moves in this mode" in rms.hedge
    own = {"speed": "0.3 m/s", "acceleration": "1.5 m/s^2", "deceleration": "1.5 m/s^2"}
    stated = {**DUTY, "moves": [{**move, **own} for move in DUTY["moves"]]}
    told = margins_of(axis("lift", {**LIFT_RECORD, "duty": stated}).state)["rms_torque"]
    assert told.bound != "unknown"
    assert told.need == pytest.approx(rms.need)
    in_profile = margins_of(axis("lift", record, modes_of_operation=1).state)["rms_torque"]
    assert in_profile.bound != "unknown"


def test_each_way_is_braked_by_its_own_limit() -> None:
    # 2.93 % of 3.2 N*m hold it: the positive way lifts. Downwards 8 N*m brake it, upwards 0.8 N*m
    # and the load's weight do: (0.8 / r + 588) / (60 + J / r^2) with r = 1.5915 mm and the rotor's
    # 1.6 kg*cm^2 are (502.7 + 588.4) / 123.2 = 8.86 m/s^2, more than the ramp of 4 m/s^2.
    view = axis("lift", torque_offset=293, negative_torque_limit=250)
    found = margins_of(view.state)
    assert found["stop_room"].ratio is not None
    assert found["stop_room"].ratio > 1
    assert view.state.ask(braking_rate) == pytest.approx(8.86, abs=0.01)
    assert not complaints("room_to_stop", view)


def test_a_limit_that_is_too_weak_lets_the_load_sink_on_and_does_not_let_it_coast() -> None:
    (found,) = complaints("room_to_stop", axis("lift", max_torque=250, positive_torque_limit=250))
    assert "it sinks on" in found.sentence
    assert "coasts" not in found.sentence


def test_what_makers_define_otherwise_is_said_with_the_hazard_on_request() -> None:
    told = the_change("lift", "max_current", 2500, 300)
    assert told.consequence == "hazard"
    assert told.more.endswith("Torque is taken in proportion to current, which saturation lessens.")

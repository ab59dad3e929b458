"""Stops, lags, speeds and the brake, term by term: worked by hand.

Axes are those of `tests/behaviour/axes.py`, all invented. Mechanics of a textbook throughout; where
the load falls it goes by F / (m + J / r^2).
"""

from __future__ import annotations

from math import inf, pi
from typing import Any

import pytest
from scipy import constants

from tests.behaviour.axes import CARRIAGE_RECORD, LIFT_RECORD, LIFT_SET, axis
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour import following, hold, mode, speed, stop
from vault.behaviour.behave import margins_of
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.state import State

R = 0.020 / (2 * pi * 2)  # of the lift, m for a radian of the motor
ROTOR = 1.6e-4 / R**2  # kg at the axis
PULL = 60 * constants.g
FAST = 2600 / 60 * 0.010  # m/s at 6080h


def lift(record: dict[str, Any] | None = None, **settings: Any) -> State:
    return axis("lift", record, **settings).state


def mech(**mechanics: Any) -> dict[str, Any]:
    return with_mechanics(LIFT_RECORD, **mechanics)


# ----- stops


@pytest.mark.parametrize(
    ("code", "way", "seconds"),
    [
        (1, FAST**2 / 3, FAST / 1.5),
        (2, FAST**2 / 8, FAST / 4),
        (3, FAST**2 / 2 / ((8 / R - PULL) / (60 + ROTOR)), FAST / ((8 / R - PULL) / (60 + ROTOR))),
        (4, FAST**2 / 2 / ((8 / R - PULL) / (60 + ROTOR)), FAST / ((8 / R - PULL) / (60 + ROTOR))),
        (5, FAST**2 / 3, FAST / 1.5),
        (6, FAST**2 / 8, FAST / 4),
        (0, inf, inf),
    ],
)
def test_an_option_code_says_how_the_axis_stops(code: int, way: float, seconds: float) -> None:
    state = lift(quick_stop_option_code=code)
    # Beside it 2 ms of the input's filter.
    reach = state.ask(stop.quick_stop_reach).value
    assert reach == pytest.approx(way + FAST * 0.002)
    assert state.ask(stop.quick_stop_time).value == pytest.approx(seconds)
    if code <= 4:
        fault = lift(fault_reaction_option_code=code).ask(stop.fault_stop_reach)
        assert fault.value == pytest.approx(way)


@pytest.mark.parametrize(
    ("role", "code"),
    [
        ("quick_stop_option_code", 9), ("quick_stop_option_code", -1),
        ("fault_reaction_option_code", 5), ("fault_reaction_option_code", -1),
    ],
)  # fmt: skip
def test_other_codes_are_the_maker_s_own(role: str, code: int) -> None:
    name = "stop_room" if role.startswith("quick") else "fault_room"
    found = margins_of(lift(**{role: code}))[name]
    assert (found.ratio, found.missing) == (None, ())


def test_a_sine_squared_stop_takes_twice_as_long() -> None:
    state = lift(motion_profile_type=1)
    found = state.ask(stop.quick_stop)
    assert (found.time, found.reach) == (pytest.approx(FAST / 2), pytest.approx(FAST**2 / 4))
    assert found.bound == "up_to"


@pytest.mark.parametrize(
    ("settings", "seconds"),
    [
        ({}, 0.004),
        ({"fieldbus_timeout": None}, None),
        ({"fieldbus_timeout": "0 ms"}, inf),
        ({"missed_update_limit": 3, "update_interval": "1 ms"}, 0.003),
        ({"missed_update_limit": 5, "update_interval": "1 ms"}, 0.004),
        ({"missed_update_limit": 0, "update_interval": "1 ms"}, 0.004),
        ({"missed_update_limit": 3}, 0.004),
        # 1016h: node 5 and 3 ms; without a node nobody is watched.
        ({"consumer_heartbeat_time": 0x050003}, 0.003),
        ({"consumer_heartbeat_time": 0x000003}, 0.004),
        ({"consumer_heartbeat_time": 0x050000}, 0.004),
        ({"consumer_heartbeat_time": 0x050009, "consumer_heartbeat_time.2": 0x060002}, 0.002),
        ({"consumer_heartbeat_time": 0x050009, "consumer_heartbeat_time.5": 0x060002}, 0.002),
        ({"guard_time": "1 ms", "life_time_factor": 3}, 0.003),
        ({"guard_time": "1 ms", "life_time_factor": 0}, 0.004),
        ({"guard_time": "1 ms"}, 0.004),
    ],
)
def test_the_quickest_of_what_watches_counts(settings: Settings, seconds: float | None) -> None:
    assert stop.supervision_time(lift(**settings)) == (seconds and pytest.approx(seconds))


@pytest.mark.parametrize(
    ("settings", "way"),
    [
        ({"fault_reaction_option_code": 1}, FAST * 0.004 + FAST**2 / 3),
        ({"abort_connection_option_code": None, "fault_reaction_option_code": 1},
         FAST * 0.004 + FAST**2 / 3),
        ({"abort_connection_option_code": 3, "fault_reaction_option_code": 1},
         FAST * 0.004 + FAST**2 / 8),
        ({"abort_connection_option_code": 0}, inf),
        ({"abort_connection_option_code": 2}, inf),
        ({"fieldbus_timeout": "0 ms"}, inf),
    ],
)  # fmt: skip
def test_what_a_lost_link_does(settings: Settings, way: float) -> None:
    assert lift(**settings).ask(stop.link_stop_reach).value == pytest.approx(way)


@pytest.mark.parametrize(
    ("settings", "way"),
    [
        ({}, 0.004 + FAST * 0.010 + FAST**2 / 8),
        ({"following_error_time_out": None}, 0.004 + FAST**2 / 8),
        ({"following_error_window": 0xFFFF_FFFF}, inf),
        ({"fault_reaction_option_code": 0}, inf),
    ],
)
def test_a_runaway_strays_by_window_time_out_and_stop(settings: Settings, way: float) -> None:
    assert lift(**settings).ask(stop.trip_reach).value == pytest.approx(way)


# ----- following error


@pytest.mark.parametrize(
    ("settings", "share"),
    [
        ({"velocity_feed_forward": None}, 0),
        ({"velocity_feed_forward": "100 %"}, 1),
        ({"velocity_feed_forward": "120 %"}, 1.2),
    ],
)
def test_a_lag_is_what_is_not_fed_forward(settings: Settings, share: float) -> None:
    # 400 mm/s over 30 1/s; what is fed too much leads as far.
    state = lift(**settings)
    assert following.feed_forward(state) == pytest.approx(share)
    assert state.ask(following.top_lag).value == pytest.approx(abs(1 - share) * 0.4 / 30)


def test_windows_are_held_against_the_lag_of_their_speed() -> None:
    # A tenth of 400 and 300 mm/s over 30 1/s.
    own = {"modes_of_operation": 1, "following_error_warning": "2 mm"}
    found = margins_of(lift(**own))
    assert found["window"].ratio == pytest.approx(4 / (0.1 * 400 / 30))
    assert found["warning"].ratio == pytest.approx(2 / (0.1 * 400 / 30))
    assert found["window_profile"].ratio == pytest.approx(4 / (0.1 * 300 / 30))


@pytest.mark.parametrize("settings", [
    {"position_gain": "0 1/s"}, {"modes_of_operation": 3}, {"following_error_window": "0 mm"},
    {"following_error_window": 0xFFFF_FFFF},
])  # fmt: skip
def test_no_lag_is_held_where_nothing_watches_it(settings: Settings) -> None:
    assert "window" not in margins_of(lift(**settings))


def test_way_in_the_time_out_and_share_of_the_room() -> None:
    state = lift(following_error_time_out="20 ms")
    assert state.ask(following.time_out_way).value == pytest.approx(FAST * 0.020)
    share = (0.004 + FAST * 0.020 + FAST**2 / 8) / 0.045
    assert state.ask(following.runaway_share).value == pytest.approx(share)
    assert lift(max_software_position_limit="650 mm").asked(following.runaway_share) is None
    assert lift(following_error_window=0xFFFF_FFFF).asked(following.runaway_share) is None


@pytest.mark.parametrize(
    ("settings", "role", "speed"),
    [
        ({}, "max_profile_velocity", 0.4),
        ({"max_motor_speed": "1200 r/min"}, "max_profile_velocity", 0.2),
        ({"modes_of_operation": 1}, "profile_velocity", 0.3),
        ({"modes_of_operation": 1, "max_profile_velocity": "200 mm/s"}, "profile_velocity", 0.2),
        ({}, "profile_velocity", None),  # the controller gives the speed
        ({"modes_of_operation": 1, "profile_velocity": "0 mm/s"}, "profile_velocity", None),
    ],
)
def test_a_steady_lag_is_that_of_a_speed_that_may_be(
    settings: Settings, role: str, speed: float | None
) -> None:
    state = lift(**settings)
    if speed is None:
        with pytest.raises(DoesNotApply):
            following.steady_lag(state, role)
    else:
        found = following.steady_lag(state, role)
        assert (found.speed, found.gain) == (pytest.approx(speed), 30)
        assert found.size == pytest.approx(speed / 300)
    with pytest.raises(Missing):
        following.steady_lag(lift(profile_velocity=None), "profile_velocity")


# ----- modes


@pytest.mark.parametrize(
    ("number", "cyclic", "by_place", "profiles"),
    [
        (1, False, True, True), (2, False, False, False), (3, False, False, True),
        (4, False, False, False), (6, False, True, True), (7, True, True, False),
        (8, True, True, False), (9, True, False, False), (10, True, False, False),
        (11, True, False, False), (None, False, True, False),
    ],
)  # fmt: skip
def test_what_acts_in_a_mode(
    number: int | None, cyclic: bool, by_place: bool, profiles: bool
) -> None:
    # CiA 402-2, from memory; 7 is the interpolated one, 11 torque with a commutation angle.
    state = lift(modes_of_operation=number)
    assert mode.is_cyclic(state) is cyclic
    assert mode.holds_position(state) is by_place
    assert mode.makes_profiles(state) is profiles
    assert mode.is_frequency_drive(state) is (number == 2)


def test_a_highest_frequency_makes_a_frequency_drive_where_no_mode_is_set() -> None:
    for number, is_one in ((None, True), (8, False), (2, True)):
        state = lift(modes_of_operation=number, max_frequency="50 Hz")
        assert mode.is_frequency_drive(state) is is_one
        assert mode.holds_position(state) is not is_one


# ----- speeds


@pytest.mark.parametrize(
    ("settings", "profile", "commanded", "worst"),
    [
        ({}, 0.3, 0.4, FAST),
        ({"max_profile_velocity": "200 mm/s"}, 0.2, 0.2, FAST),
        ({"max_motor_speed": "1200 r/min"}, 0.2, 0.2, 0.2),
        ({"max_motor_speed": "0 r/min"}, 0.3, 0.4, 0.75),
        ({"max_motor_speed": "9000 r/min"}, 0.3, 0.4, 0.75),
        ({"max_motor_speed": None}, 0.3, 0.4, 0.75),
        ({"max_motor_speed": None, "max_profile_velocity": None}, 0.3, 0.3, 0.75),
        ({"modes_of_operation": 1, "max_motor_speed": "1200 r/min"}, 0.2, 0.2, 0.2),
        ({"modes_of_operation": 1, "max_profile_velocity": "0 mm/s"}, 0.3, FAST, FAST),
    ],
)
def test_speeds_are_the_least_of_what_acts(
    settings: Settings, profile: float, commanded: float, worst: float
) -> None:
    state = lift(**settings)
    for asked, size in (
        (speed.profile_speed, profile), (speed.commanded_speed, commanded),
        (speed.worst_speed, worst),
    ):  # fmt: skip
        assert state.ask(asked).value == pytest.approx(size)


def test_motor_and_machine_are_held_against_the_commanded_speed() -> None:
    found = margins_of(lift(mech(max_speed="500 mm/s")))
    assert found["motor_speed"].ratio == pytest.approx(0.75 / 0.4)
    assert found["machine_speed"].ratio == pytest.approx(0.5 / 0.4)


def test_a_linear_motor_turns_by_its_pole_pitch() -> None:
    record: dict[str, Any] = {"mechanics": {"kind": "linear_motor", "pole_pitch": "24 mm"}}
    state = view_of({"motor_max_speed": "3000 r/min"}, record).state
    assert state.ask(speed.motor_top_speed).value == pytest.approx(50 * 0.024)


@pytest.mark.parametrize(("sls", "size"), [("100 mm/s", 0.1), ("0 mm/s", None), ("-1 mm/s", None)])
def test_a_safely_limited_speed_of_zero_is_none(sls: str, size: float | None) -> None:
    assert lift(safe_limited_speed=sls).asked(speed.safe_limited_speed) == (
        size and pytest.approx(size)
    )
    with pytest.raises(Missing, match=r"^safe_limited_speed$"):
        lift().ask(speed.safe_limited_speed)


@pytest.mark.parametrize(
    ("settings", "role", "axis_size", "motor"),
    [
        # 400 and 300 mm/s of 10 mm a turn.
        ({}, "max_profile_velocity", 0.4, 40),
        ({"max_profile_velocity": None}, "profile_velocity", 0.3, 30),
        ({"max_profile_velocity": "0 mm/s"}, "profile_velocity", 0.3, 30),
        ({"max_profile_velocity": 0xFFFF_FFFF}, "profile_velocity", 0.3, 30),
        ({"max_motor_speed": "600 r/min"}, "max_profile_velocity", 0.4, 40),  # cut by nothing
        ({"modes_of_operation": 2, "vl_velocity_max_amount": "1500 r/min"},
         "vl_velocity_max_amount", 0.25, 25),
        ({"modes_of_operation": 2, "vl_velocity_max_amount": "0 r/min"}, None, None, None),
        ({"max_profile_velocity": None, "profile_velocity": "0 mm/s"}, None, None, None),
    ],
)  # fmt: skip
def test_the_fastest_speed_that_is_stated(
    settings: Settings, role: str | None, axis_size: float | None, motor: float | None
) -> None:
    found = speed.fastest_stated(lift(**settings))
    if role is None:
        assert found is None
    else:
        assert found is not None
        assert found.role == role
        assert found.axis == pytest.approx(axis_size)
        assert found.motor == pytest.approx(2 * pi * (motor or 0))


def test_a_plate_goes_before_the_set() -> None:
    bare = {**LIFT_RECORD, "motor": {"inertia": "1.6 kg*cm^2"}}
    own = {"motor_rated_speed": "1000 r/min", "motor_max_speed": "2000 r/min"}
    for asked, plate, stated in (
        (speed.rated_motor_speed, 50, 1000 / 60), (speed.most_motor_speed, 75, 2000 / 60),
    ):  # fmt: skip
        assert lift(**own).ask(asked) == pytest.approx(2 * pi * plate)
        assert lift(bare, **own).ask(asked) == pytest.approx(2 * pi * stated)
        with pytest.raises(Missing):
            lift(bare).ask(asked)
    assert speed.motor_speed_limit(lift()) == pytest.approx(2 * pi * 2600 / 60)
    slow = speed.motor_speed_limit(lift(max_motor_speed="6 r/min"))
    assert slow == pytest.approx(2 * pi / 10)
    assert speed.motor_speed_limit(lift(max_motor_speed="0 r/min")) is None
    assert speed.motor_speed_limit(lift(max_motor_speed=None)) is None


# ----- the brake


def test_a_drop_is_free_fall_and_then_the_brake() -> None:
    falls = PULL / (60 + ROTOR)
    state = lift(brake_apply_delay="15 ms")
    assert state.ask(hold.falls_at) == pytest.approx(falls)
    assert state.ask(hold.unheld_time) == pytest.approx(0.025)
    assert state.ask(hold.drop_at_rest).value == pytest.approx(falls * 0.025**2 / 2)
    braking = (4.5 / R - PULL) / (60 + ROTOR)
    reached = FAST + falls * 0.040
    way = FAST * 0.040 + falls * 0.040**2 / 2 + reached**2 / 2 / braking
    assert state.ask(hold.drop_moving).value == pytest.approx(way)
    weak = {**LIFT_RECORD, "brake": {**LIFT_RECORD["brake"], "holding_torque": "0.93 N*m"}}
    assert lift(weak).ask(hold.drop_moving).value == inf


@pytest.mark.parametrize(("delay", "seconds"), [("60 ms", 0), ("40 ms", 0), ("-5 ms", 0.040)])
def test_nobody_holds_while_the_brake_closes_after_its_delay(delay: str, seconds: float) -> None:
    assert lift(brake_apply_delay=delay).ask(hold.unheld_time) == pytest.approx(seconds)


def test_what_drops_without_its_masses_falls_freely() -> None:
    light = {k: v for k, v in LIFT_RECORD.items() if k != "motor"}
    found = hold.drop_within(lift(light), 0.1)
    assert (found.value, found.basis) == (pytest.approx(constants.g / 200), "s = g t^2 / 2")
    known = hold.drop_within(lift(), 0.1)
    assert known.value == pytest.approx(PULL / (60 + ROTOR) / 200)


@pytest.mark.parametrize(
    ("name", "ratio"),
    [("brake_hold", 4.5 / (PULL * R)), ("brake_apply", 60 / 40), ("brake_release", 80 / 60)],
)
def test_margins_of_the_brake(name: str, ratio: float) -> None:
    assert margins_of(lift())[name].ratio == pytest.approx(ratio)
    assert name not in margins_of(lift(brake_used=0))
    unfitted = {**LIFT_RECORD, "brake": {**LIFT_RECORD["brake"], "fitted": False}}
    assert name not in margins_of(lift(unfitted))
    lying = margins_of(view_of({**LIFT_SET}, {**CARRIAGE_RECORD, "brake": LIFT_RECORD["brake"]})
                       .state)  # fmt: skip
    assert (name in lying) == (name == "brake_release")


def test_what_the_release_of_a_brake_lacks_is_asked_for() -> None:
    brake = {k: v for k, v in LIFT_RECORD["brake"].items() if k != "release_time"}
    bare = {**LIFT_RECORD, "brake": brake}
    assert margins_of(lift(bare))["brake_release"].missing == ("brake.release_time",)
    assert margins_of(lift(brake_release_delay=None))["brake_release"].missing == (
        "brake_release_delay",
    )
    assert "brake_release" not in margins_of(lift(bare, brake_release_delay=None))

"""Loops, notch filters and the search for home, case by case: worked by hand. Axes are invented.

Homing methods after CiA 402-2, loops after textbooks of control, both from memory.
"""

from __future__ import annotations

from math import cos, degrees, pi, sin, sqrt
from typing import Any

import pytest
from scipy import constants

from tests.behaviour.axes import LIFT_RECORD, TABLE_RECORD, axis
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour import homing, loops
from vault.behaviour.behave import margins_of
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.state import State

R = 0.020 / (2 * pi * 2)  # of the lift, m for a radian of the motor
INERTIA = 60 * R**2 + 1.6e-4  # at the motor


def lift(record: dict[str, Any] | None = None, **settings: Any) -> State:
    return axis("lift", record, **settings).state


# ----- loops


def test_bandwidth_and_inertia_at_the_motor() -> None:
    state = lift()
    assert state.ask(loops.inertia) == pytest.approx(INERTIA)
    assert state.ask(loops.velocity_bandwidth).value == pytest.approx(0.12 / INERTIA)
    assert state.ask(loops.inertia_ratio).value == pytest.approx(60 * R**2 / 1.6e-4)
    found = margins_of(state)
    assert found["loops_apart"].ratio == pytest.approx(0.12 / INERTIA / (4 * 30))
    assert found["inertia"].ratio == pytest.approx(10 / (60 * R**2 / 1.6e-4))


def test_a_counterweight_slows_the_loop_at_most() -> None:
    state = lift(with_mechanics(LIFT_RECORD, counterbalance="0.5"))
    band, ratio = state.ask(loops.velocity_bandwidth), state.ask(loops.inertia_ratio)
    assert (band.value, band.bound) == (pytest.approx(0.12 / (90 * R**2 + 1.6e-4)), "at_least")
    assert (ratio.value, ratio.bound) == (pytest.approx(90 * R**2 / 1.6e-4), "up_to")


@pytest.mark.parametrize(
    ("gain", "bandwidth", "hedged"),
    [("400 1/s", 400, True), ("0.24 N*m*s/rad", 0.24 / INERTIA, False), ("0 N*m*s/rad", None, 0),
     ("-1 N*m*s/rad", None, 0)],
)  # fmt: skip
def test_a_gain_tells_a_bandwidth_by_its_unit(
    gain: str, bandwidth: float | None, hedged: bool
) -> None:
    state = lift(velocity_gain=gain)
    found = state.asked(loops.velocity_bandwidth)
    assert (None if found is None else found.value) == (bandwidth and pytest.approx(bandwidth))
    assert any("1/s" in hedge for hedge in state.told(loops.velocity_bandwidth)[1]) == bool(hedged)


def test_a_rotor_without_inertia_has_no_ratio() -> None:
    light = {**LIFT_RECORD, "motor": {"max_speed": "4500 r/min"}}
    assert lift(light, motor_inertia="0 kg*m^2").asked(loops.inertia_ratio) is None
    assert lift(light, motor_inertia="0.0002 kg*m^2").ask(loops.inertia_ratio).value == (
        pytest.approx(60 * R**2 / 2e-4)
    )
    with pytest.raises(Missing, match=r"^motor\.inertia$"):
        lift(light).ask(loops.inertia_ratio)


@pytest.mark.parametrize(
    ("settings", "found"),
    [
        ({"notch_filter_frequency": "200 Hz"}, [(200, None, 1)]),
        ({"notch_filter_frequency": "0 Hz"}, []),
        ({"notch_filter_frequency": "200 Hz", "notch_filter_bandwidth": "0 Hz"}, []),
        ({"notch_filter_frequency": "200 Hz", "notch_filter_bandwidth": "20 Hz",
          "notch_filter_depth": "80 %"}, [(200, 20, 0.8)]),
        ({"notch_filter_frequency": "200 Hz", "notch_filter_depth": "130 %"}, [(200, None, 1)]),
        ({"notch_filter_frequency": "200 Hz", "notch_filter_depth": "-5 %"}, [(200, None, 0)]),
        # A first one that is off does not hide the second.
        ({"notch_filter_frequency": "0 Hz", "notch_filter_frequency.2": "300 Hz"},
         [(300, None, 1)]),
        # Without a second the third is not looked for.
        ({"notch_filter_frequency": "200 Hz", "notch_filter_frequency.3": "300 Hz"},
         [(200, None, 1)]),
        ({f"notch_filter_frequency{end}": "200 Hz" for end in
          ("", ".2", ".3", ".4", ".5", ".6", ".7", ".8", ".9")}, [(200, None, 1)] * 8),
    ],
)  # fmt: skip
def test_the_notches_that_act(settings: Settings, found: list[tuple[Any, ...]]) -> None:
    told = lift(**settings).ask(loops.notches)
    assert [(n.frequency, n.width, n.share) for n in told] == [pytest.approx(f) for f in found]


@pytest.mark.parametrize(("share", "left"), [(1, 0), (0.8, 0.2), (0, 1)])
def test_a_notch_leaves_its_share_in_the_middle(share: float, left: float) -> None:
    notch = loops.Notch(100, 20, share)
    assert abs(notch.passes(1j * 2 * pi * 100)) == pytest.approx(left, abs=1e-9)
    assert abs(notch.passes(1j * 1e-3)) == pytest.approx(1)
    # Where w^2 - w0^2 = B w the full notch lets 1 / sqrt(2) through: 20 Hz wide there.
    edges = [2 * pi * (sqrt(100**2 + 10**2) + side) for side in (-10, 10)]
    if share == 1:
        assert [abs(notch.passes(1j * edge)) for edge in edges] == pytest.approx([sqrt(0.5)] * 2)
    assert loops.Notch(100, None, 1).passes(1j * 2 * pi * 100) == 1


@pytest.mark.parametrize(
    ("record", "settings", "seconds", "bound"),
    [
        ({"loop_dead_time": "0.3 ms"}, {"velocity_loop_cycle": "200 us"}, 0.0003, "exact"),
        ({}, {"velocity_loop_cycle": "200 us"}, 0.0003, "at_least"),
        ({}, {"velocity_loop_cycle": "0 us"}, 0, "at_least"),
        ({}, {}, 0, "at_least"),
    ],
)
def test_dead_time_is_recorded_or_a_cycle_and_a_half(
    record: dict[str, Any], settings: Settings, seconds: float, bound: str
) -> None:
    found = lift({**LIFT_RECORD, **record}, **settings).ask(loops.dead_time)
    assert (found.value, found.bound) == (pytest.approx(seconds), bound)


def test_gain_and_phase_of_a_loop_by_its_parts() -> None:
    # At 100 rad/s: 200 / s, 1 + 1 / (0.01 s) and 1 / (1 + 0.01 s) are 2, sqrt(2) and 1 / sqrt(2),
    # turned by -90, -45 and -45 deg; 1 ms of dead time is 0.1 rad more.
    loop = loops.Loop(200, 0.01, (0.01,), (), 0.001)
    assert loop.gain(100) == pytest.approx(2)
    assert loop.turned(100) == pytest.approx(-pi - 0.1)
    assert loop.at(100) == pytest.approx(2 * complex(cos(-pi - 0.1), sin(-pi - 0.1)))
    # Together they are 20,000 / s^2, which crosses at sqrt(20,000) rad/s with nothing but delay.
    assert loops.worst_phase(loop) == pytest.approx(-degrees(sqrt(20_000) * 0.001), abs=1e-6)


def test_the_position_loop_goes_round_the_velocity_loop() -> None:
    # An inner loop of 100 / s closes to 1 / (1 + s / 100): 30 / s around it at 50 rad/s is
    # 0.6 / sqrt(1.25), turned by -90 deg and atan 0.5; 2 ms are 0.1 rad more.
    outer = loops.PositionLoop(loops.Loop(100, 0, (), (), 0), 30, 0.002)
    found = outer.at(50)
    assert abs(found) == pytest.approx(0.6 / sqrt(1.25))
    expected = -1j / (1 + 0.5j) * complex(cos(0.1), -sin(0.1)) * 0.6
    assert found == pytest.approx(expected)


@pytest.mark.parametrize(("velocity", "margin"), [("200 1/s", 65.53), ("100 1/s", 51.83)])
def test_phase_of_a_position_loop_of_second_order(velocity: str, margin: float) -> None:
    # K / (s (1 + T s)) with K T = 1/2 and 1 have dampings of 0.7071 and 0.5, and phase margins of
    # 65.53 and 51.83 deg (Ogata, Modern Control Engineering, from memory).
    state = lift(
        position_gain="100 1/s", velocity_gain=velocity, velocity_integral_time="0 ms",
        torque_filter_time="0 ms",
    )  # fmt: skip
    found = state.ask(loops.position_phase)
    assert (found.value, found.bound) == (pytest.approx(margin, abs=0.02), "up_to")
    assert margins_of(state)["position_phase"].ratio == pytest.approx(margin / 20, rel=1e-3)


@pytest.mark.parametrize(
    ("settings", "taken"),
    [
        ({}, 0),
        ({"torque_filter_time": "1 ms"}, 1),
        ({"velocity_filter_time": "1 ms"}, 1),
        ({"torque_filter_time": "1 ms", "velocity_filter_time": "1 ms"}, 2),
    ],
)
def test_every_filter_takes_its_phase(settings: Settings, taken: int) -> None:
    # Below 100 rad/s each 1 ms takes about atan 0.1, 5.71 deg, of 90 deg.
    plain = {"velocity_gain": "100 1/s", "velocity_integral_time": None, "torque_filter_time": None}
    found = lift(**{**plain, **settings}).ask(loops.phase_margin)
    assert found.value == pytest.approx(90 - 5.71 * taken, abs=0.15)
    assert found.bound == "up_to"


# ----- the search for home


# By the pictures of the standard: the way while the switch does not act.
WAYS = {
    1: -1, 2: 1, 3: 1, 4: 1, 5: -1, 6: -1, 7: 1, 8: 1, 9: 1, 10: 1, 11: -1, 12: -1, 13: -1, 14: -1,
    15: 0, 16: 0, 17: -1, 18: 1, 19: 1, 20: 1, 21: -1, 22: -1, 23: 1, 24: 1, 25: 1, 26: 1, 27: -1,
    28: -1, 29: -1, 30: -1, 31: 0, 32: 0, 33: -1, 34: 1, 35: 0, 36: 0, 37: 0, 38: 0, 0: 0, -1: 0,
}  # fmt: skip


@pytest.mark.parametrize("method", sorted(WAYS))
def test_what_a_homing_method_does(method: int) -> None:
    means = 0 <= method <= 37 and method not in (15, 16, 31, 32, 36)
    assert homing.direction(method) == WAYS[method]
    assert homing.has_meaning(method) is means
    assert homing.moves(method) is (WAYS[method] != 0)
    assert homing.turns_on_switch(method) is (method in (3, 4, 5, 6, 19, 20, 21, 22))
    assert homing.looks_for_pulse(method) is (method in (*range(1, 15), 33, 34))


@pytest.mark.parametrize(
    ("before", "after", "opposite", "dropped", "newly"),
    [
        (1, 2, True, False, False),
        (2, 1, True, False, False),
        (1, 17, False, True, False),
        (17, 1, False, False, False),
        (14, 30, False, True, False),
        (1, 18, True, False, False),
        (35, 1, False, False, True),
        (37, 33, False, False, True),
        (0, 34, False, False, True),
        (0, 35, False, False, False),
        (35, 16, False, False, False),
        (36, 1, False, False, False),
    ],
)
def test_what_another_method_changes(
    before: int, after: int, opposite: bool, dropped: bool, newly: bool
) -> None:
    assert homing.starts_opposite(before, after) is opposite
    assert homing.drops_the_pulse(before, after) is dropped
    assert homing.newly_moves(before, after) is newly


SEARCH: Settings = {
    "homing_switch_search_speed": "100 mm/s", "homing_zero_search_speed": "10 mm/s",
    "homing_acceleration": "2000 mm/s^2", "homing_time_out": "8 s",
}  # fmt: skip


def test_a_search_goes_so_far_and_runs_on() -> None:
    state = lift(**SEARCH)
    assert state.ask(homing.way_searched).value == pytest.approx(0.8)
    assert state.ask(homing.switch_overrun).value == pytest.approx(0.1**2 / 2 / 2)
    assert state.ask(homing.pulse_overrun).value == pytest.approx(0.01**2 / 2 / 2)
    assert state.ask(homing.switch_overrun).bound == "exact"
    unknown = lift({"mechanics": LIFT_RECORD["mechanics"]}, **SEARCH)
    assert unknown.ask(homing.switch_overrun).bound == "at_least"


@pytest.mark.parametrize(
    ("settings", "asked", "error"),
    [
        ({"homing_time_out": None}, homing.way_searched, Missing),
        ({"homing_time_out": "0 s"}, homing.way_searched, DoesNotApply),
        ({"homing_switch_search_speed": "0 mm/s"}, homing.way_searched, DoesNotApply),
        ({"homing_switch_search_speed": "-1 mm/s"}, homing.search_speed, DoesNotApply),
        ({"homing_switch_search_speed": None}, homing.search_speed, Missing),
        ({"homing_acceleration": None}, homing.switch_overrun, Missing),
        ({"homing_acceleration": "0 mm/s^2"}, homing.switch_overrun, DoesNotApply),
        ({"homing_acceleration": "9 rad/s^2"}, homing.switch_overrun, DoesNotApply),
    ],
)
def test_what_a_search_lacks(settings: dict[str, Any], asked: Any, error: type[Exception]) -> None:
    with pytest.raises(error):
        lift(**{**SEARCH, **settings}).ask(asked)


def test_torque_and_thrust_while_homing() -> None:
    state = lift(homing_torque_limit="1.2 N*m")
    assert state.ask(homing.homing_torque).value == pytest.approx(1.2)
    assert state.ask(homing.homing_thrust).value == pytest.approx(1.2 / R * 0.9)
    # The least of both limits brakes: 1.2 N*m, or 290 permille of 3.2 N*m.
    masses, pull = 60 + 1.6e-4 / R**2, 60 * constants.g
    assert state.ask(homing.braking_rate) == pytest.approx((1.2 / R - pull) / masses)
    weak = lift(homing_torque_limit="1.2 N*m", max_torque=330)
    assert weak.ask(homing.braking_rate) == pytest.approx((1.056 / R - pull) / masses)
    turning = view_of({"homing_torque_limit": "1 N*m"}, TABLE_RECORD).state
    with pytest.raises(DoesNotApply):
        turning.ask(homing.homing_thrust)


@pytest.mark.parametrize(("torque", "sinks"), [("0.93 N*m", True), ("0.94 N*m", False)])
def test_a_load_sinks_below_the_torque_that_holds_it(torque: str, sinks: bool) -> None:
    # 60 kg take 0.9365 N*m.
    assert homing.sinks_while_homing(lift(homing_torque_limit=torque)) is sinks
    assert not homing.sinks_while_homing(axis("carriage", homing_torque_limit=torque).state)


def test_another_home_offset_shifts_by_its_difference() -> None:
    assert homing.home_shift(lift(), lift(home_offset="40 mm")) == pytest.approx(0.030)
    assert homing.home_shift(lift(home_offset="40 mm"), lift()) == pytest.approx(-0.030)
    assert homing.home_shift(lift(), lift(home_offset=None)) is None


@pytest.mark.parametrize(
    ("before", "after", "gap"),
    [(1, 17, True), (33, 35, True), (34, 34, False), (1, 14, False), (19, 35, False)],
)
def test_only_one_of_two_pulses_leaves_a_gap(before: int, after: int, gap: bool) -> None:
    found = homing.index_pulse_gap(lift(), before, after)
    assert (found is not None) is gap

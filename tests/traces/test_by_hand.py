"""Traces drawn by hand whose figures are known by pen: a trapezoid, and a loop of v/Kv behind it.

What a recording hides is not told; what it tells is within what it says of itself.
"""

from __future__ import annotations

import numpy as np
import pytest

from vault.behaviour.trace.evaluate import Known, evaluate
from vault.behaviour.trace.filters import Vector, peak_of
from vault.behaviour.trace.measured import CannotBeTold, Measured
from vault.behaviour.trace.resonance import _lasts
from vault.behaviour.trace.signals import Recorded

WAY, KV, MASS, PULL, VISCOUS = 0.01 / (2 * np.pi), 30.0, 0.002, 1.5, 0.001
KNOWN = Known(True, False, WAY, 20e-6, 50.0)
FINE = 5e-5
# 0.5 m there and back at 0.5 m/s and at 0.2 m/s, with 5 m/s^2, 0.6 s at rest between.
SPEEDS = (0.5, -0.5, 0.2, -0.2)


class Axis:
    """Its demand, position, speed and torque in time, with a dry friction."""

    def __init__(self, dry: float = 0.3, kv: float = KV) -> None:
        corners, speeds, at = [0.0], [0.0], 0.2
        for speed in SPEEDS:
            ramp, even = abs(speed) / 5, 0.5 / abs(speed) - abs(speed) / 5
            corners += [at, at + ramp, at + ramp + even, at + 2 * ramp + even]
            speeds += [0.0, speed, speed, 0.0]
            at += 2 * ramp + even + 0.6
        self.fine = np.arange(0, at, FINE)
        speed = np.interp(self.fine, corners, speeds)
        rises = np.cumsum((speed[1:] + speed[:-1]) / 2) * FINE
        self.demand = np.concatenate([[0.0], rises])
        kept, place = np.empty_like(self.demand), 0.0
        for number, wanted in enumerate(self.demand.tolist()):
            kept[number] = place
            place += FINE * kv * (wanted - place)
        self.actual, self.velocity = kept, np.gradient(kept, FINE)
        turning = self.velocity / WAY
        self.torque = (
            MASS * np.gradient(turning, FINE) + dry * np.tanh(turning / 0.05)
            + VISCOUS * turning + PULL
        )  # fmt: skip
        self.times = np.arange(0, at - FINE, 1e-3)

    def at(self, signal: Vector, grain: float = 0.0) -> Vector:
        found = np.interp(self.times, self.fine, signal)
        return np.round(found / grain) * grain if grain else found

    @property
    def lag(self) -> Vector:
        return self.demand - self.actual


AXIS = Axis()


def figure(recorded: Recorded, name: str) -> Measured | None:
    found = evaluate(recorded, KNOWN)[name]
    return None if isinstance(found, CannotBeTold) else found


def is_right(found: Measured | None, true: float) -> bool:
    return found is not None and abs(found.value - true) <= max(found.uncertainty, 0.03 * true)


@pytest.mark.parametrize("grain", [0.0, 0.001, 0.02, 0.05])
def test_a_torque_in_steps_hides_as_much_of_friction_as_half_of_one(grain: float) -> None:
    a = AXIS
    torque = a.at(a.torque, grain)
    recorded = Recorded(a.times, a.at(a.demand), a.at(a.actual), None, None, torque)
    found = figure(recorded, "friction")
    assert is_right(found, 0.3) if found else grain > 0.02
    small = Axis(dry=0.05)
    torque = small.at(small.torque, 0.01)
    assert figure(Recorded(a.times, a.at(a.demand), a.at(a.actual), None, None, torque),
                  "friction") is None  # fmt: skip


def test_a_torque_that_still_dies_away_tells_no_friction() -> None:
    slow = Axis(dry=0.05, kv=8.0)
    times = np.arange(0, slow.fine[-1], 4e-3)
    velocity, torque = (np.interp(times, slow.fine, one) for one in (slow.velocity, slow.torque))
    found = figure(Recorded(times, None, None, velocity, None, torque), "friction")
    assert found is None or abs(found.value - 0.05) <= found.uncertainty


@pytest.mark.parametrize("grain", [1e-6, 2e-5, 2e-4, 5e-3])
def test_a_lag_in_steps_is_unsure_by_half_of_one(grain: float) -> None:
    a = AXIS
    recorded = Recorded(a.times, a.at(a.demand, grain), None, None, a.at(a.lag, grain), None)
    for name, true in (("steady_lag", 0.5 / KV), ("peak_lag", float(np.abs(a.lag).max()))):
        found = figure(recorded, name)
        assert found is not None
        assert abs(found.value - true) <= found.uncertainty
        assert found.uncertainty < 0.06 * true + grain


def test_a_following_error_the_other_way_round_makes_no_position_of_its_own() -> None:
    a = AXIS
    straight, other = (
        Recorded(a.times, a.at(a.demand), None, None, sign * a.at(a.lag), a.at(a.torque))
        for sign in (1.0, -1.0)
    )
    assert is_right(figure(straight, "inertia"), MASS)
    overshoot = figure(straight, "overshoot")
    assert overshoot is not None
    assert overshoot.value == 0
    for name in ("overshoot", "stop_distance", "inertia", "settling_time"):
        assert figure(straight, name) is not None
        assert figure(other, name) is None
    assert is_right(figure(other, "steady_lag"), 0.5 / KV)


def test_an_axis_held_up_short_of_its_end_has_no_overshoot_of_nought() -> None:
    a = AXIS
    held = np.minimum(a.at(a.actual), 0.3)
    assert figure(Recorded(a.times, a.at(a.demand), held, None, None, None), "overshoot") is None
    free = Recorded(a.times, a.at(a.demand), a.at(a.actual), None, None, None)
    assert figure(free, "overshoot") is not None


@pytest.mark.parametrize("apart", [0.01, -0.01, 1e-5])
def test_two_positions_from_two_zeros_are_no_lag_and_no_overshoot(apart: float) -> None:
    a = AXIS
    recorded = Recorded(a.times, a.at(a.demand), a.at(a.actual) + apart, None, None, None)
    assert figure(recorded, "overshoot") is None
    assert figure(recorded, "settling_time") is None
    for name in ("steady_lag", "peak_lag"):
        found = figure(recorded, name)
        assert is_right(found, 0.5 / KV) if abs(apart) < 1e-3 else found is None


@pytest.mark.parametrize("drag", [0.0, 0.5, 2.0])
def test_two_speeds_do_not_tell_how_friction_bends_below_them(drag: float) -> None:
    a = AXIS
    speed, torque = a.at(a.velocity), a.at(a.torque)
    bent = torque + drag * speed * np.abs(speed)
    found = figure(Recorded(a.times, a.at(a.demand), a.at(a.actual), speed, None, bent), "friction")
    assert found is not None
    assert abs(found.value - 0.3) <= found.uncertainty


def test_channels_of_uneven_samples_may_lie_apart_by_the_longest_step() -> None:
    a = AXIS
    every = np.ones(len(a.times), dtype=bool)
    every[2::3] = False  # steps of 1 ms and of 2 ms by turns
    even, uneven = (
        Recorded(a.times[kept], a.at(a.demand)[kept], a.at(a.actual)[kept], None, None, None)
        for kept in (slice(None), every)
    )
    first, second = figure(even, "steady_lag"), figure(uneven, "steady_lag")
    assert first is not None
    assert second is not None
    assert second.uncertainty - first.uncertainty == pytest.approx(0.5 * 1e-3, rel=0.1)


@pytest.mark.parametrize("period", [6, 10])
def test_what_rings_out_of_the_window_between_two_samples_never_settles(period: int) -> None:
    # Samples lie half a step beside each peak: inside the window of 20 um, and the peak is not.
    a = AXIS
    demand, still = a.at(a.demand), a.at(a.actual)
    peak = 0.985 * 20e-6 / np.cos(np.pi / period)
    ring = peak * np.cos(2 * np.pi * (np.arange(len(demand)) + 0.5) / period)
    assert peak > 20e-6 > float(np.abs(ring).max())
    rung = still + np.where(np.abs(np.gradient(demand)) < 1e-9, ring, 0.0)
    for actual, is_told in ((still, True), (rung, False)):
        found = figure(Recorded(a.times, demand, actual, None, None, None), "settling_time")
        assert (found is not None) == is_told


@pytest.mark.parametrize("ringing", [0.0, 0.025])
def test_a_torque_that_rings_for_a_moment_elsewhere_than_its_smoothed_peak_is_not_told(
    ringing: float,
) -> None:
    # 1 N*m for long, with noise; and 0.98 N*m with a ringing of six samples a period on it.
    chance = np.random.default_rng(11)
    times = np.arange(0, 3.0, 1e-3)
    torque = np.where((times > 1.0) & (times < 1.6), 1.0, 0.5) + chance.normal(0, 0.02, len(times))
    rings = (times > 2.0) & (times < 2.4)
    torque[rings] += 0.44 + 4 * ringing * np.cos(2 * np.pi * np.arange(rings.sum()) / 6)
    position = np.cumsum(np.interp(times, [0, 1, 2, 3], [0, 0.3, 0.3, 0])) * 1e-3
    recorded = Recorded(times, position, position, None, None, torque)
    found = figure(recorded, "peak_torque")
    assert (found is None) == bool(ringing)
    if found is not None:
        assert abs(found.value - 1.0) <= found.uncertainty


@pytest.mark.parametrize(
    ("begin", "speed"), [(0.15, 0.24960446917254367), (0.15, 0.2496), (0.1721, 0.24960446917254367)]
)
def test_a_step_of_a_rounded_position_is_no_begin_of_a_stop(begin: float, speed: float) -> None:
    # What it goes in 8.3575 ms is whole micrometres but for a trace: one comes late, long before
    # the stop. Its way is v^2 / 2 a of the demand and what the axis is behind.
    rate, late, step = 4.82181, 0.0126, 8.357508e-3
    ramp, even = speed / rate, 0.25029
    fine = np.arange(0, 0.9, 1e-5)
    rises = np.interp(fine, np.cumsum([begin, ramp, even, ramp]), [0, speed, speed, 0])
    exact = np.concatenate([[0.0], np.cumsum((rises[1:] + rises[:-1]) / 2) * 1e-5])
    times = np.round(step * np.arange(int(0.88 / step)), 7)
    demand = np.round(np.interp(times, fine, exact), 6)
    actual = np.round(np.interp(times - late, fine, exact), 6)
    found = figure(Recorded(times, demand, actual, None, None, None), "stop_distance")
    way = speed**2 / 2 / rate + speed * late
    assert found is None or abs(found.value - way) <= found.uncertainty


def test_what_still_creeps_beyond_its_end_when_the_trace_ends_has_no_overshoot() -> None:
    a = AXIS
    demand, actual = a.at(a.demand), a.at(a.actual)
    ended = int(np.flatnonzero(np.abs(np.gradient(demand)) > 1e-9)[-1])
    since = np.maximum(a.times - a.times[ended], 0)
    creeps, turns_back = np.exp((a.times - a.times[-1]) / 0.05), 30 * since * np.exp(-since / 0.05)
    for far, is_told in ((creeps, False), (turns_back, True)):
        beyond = Recorded(a.times, demand, actual - 2e-4 * far, None, None, None)
        assert (figure(beyond, "overshoot") is not None) == is_told


def test_a_ringing_that_dies_out_within_ten_periods_is_none_whatever_else_trembles() -> None:
    # A damping of 0.08: a tenth after 4.6 periods. What trembles beside it has a seventh of it.
    places = np.arange(600)
    turns = 2 * np.pi * places / 24
    short = np.exp(-0.08 * turns) * np.sin(turns)
    beside = 0.14 * np.sin(turns) * (places % 48 < 24)
    assert not _lasts(short + beside, 1 / 24, 1.0)
    assert _lasts(np.exp(-0.004 * turns) * np.sin(turns) + beside, 1 / 24, 1.0)


@pytest.mark.parametrize("fastest", [0.2, 0.4])
def test_the_lag_of_a_slower_move_is_not_told_where_the_fastest_is_never_even(
    fastest: float,
) -> None:
    # A triangle up to the fastest speed, then 1 s at 0.2 m/s.
    times = np.arange(0, 4.0, 1e-3)
    corners = np.cumsum([0.3, 0.4, 0.4, 0.4, 0.1, 1.0, 0.1])
    speed = np.interp(times, corners, [0, fastest, 0, 0, 0.2, 0.2, 0])
    demand = np.cumsum(speed) * 1e-3
    recorded = Recorded(times, demand, None, None, speed / KV, None)
    found = figure(recorded, "steady_lag")
    assert (found is not None) == (fastest <= 0.2)
    if found is not None:
        assert is_right(found, 0.2 / KV)


def test_a_millionth_of_a_move_beyond_its_end_is_no_overshoot() -> None:
    a = AXIS
    demand, actual = a.at(a.demand), a.at(a.actual)
    ended = int(np.flatnonzero(np.abs(np.gradient(demand)) > 1e-9)[-1])
    since = np.maximum(a.times - a.times[ended] - 0.3, 0)
    beyond = 50 * since * np.exp(-since / 0.02)
    for way, is_none in ((4e-7, True), (4e-5, False)):
        found = figure(
            Recorded(a.times, demand, actual - way * beyond, None, None, None), "overshoot"
        )
        assert found is not None
        assert (found.value == 0) == is_none
        assert found.uncertainty > 0


def test_samples_that_stand_out_alone_may_have_had_their_peak_beside_them() -> None:
    # Shocks of 0.22 N*m that die within two samples, on 1.1 N*m: one sample of each has half of it.
    times = np.arange(0, 6, 5e-3)
    smooth = np.interp(times, [2, 2.3, 4, 4.3], [0.4, 1.1, 1.1, 0.4])
    torque = smooth.copy()
    torque[600], torque[701] = 1.21, 1.2095
    position = 0.1 * (1 - np.cos(times))
    found = figure(Recorded(times, position, position, None, None, torque), "peak_torque")
    assert found is None or found.uncertainty >= 0.1
    plain = figure(Recorded(times, position, position, None, None, smooth), "peak_torque")
    assert plain is not None
    assert plain.uncertainty < 0.1


def test_a_short_peak_beside_a_long_one_that_smoothing_takes_off_is_not_overlooked() -> None:
    chance = np.random.default_rng(3)
    signal = np.full(250, 1.25) + chance.normal(0, 0.033, 250)
    plain = peak_of(signal)
    signal[70:73] = 1.45, 1.49, 1.3
    found = peak_of(signal)
    assert plain.uncertainty < 0.12
    assert abs(found.value - 1.49) <= found.uncertainty


def test_a_stop_begins_where_it_does_though_times_are_rounded() -> None:
    # At 0.44 m/s a time that is rounded to 0.1 us is 0.04 um off, in a demand of nanometres.
    speed, step, late = 0.44, 4.396195e-3, 0.0126
    fine = np.arange(0, 1.2, 1e-5)
    rises = np.interp(fine, np.cumsum([0.15, 0.2, 0.2, 0.2]), [0, speed, speed, 0])
    rounded = np.convolve(rises, np.ones(3800) / 3800, mode="same")
    exact = np.concatenate([[0.0], np.cumsum((rounded[1:] + rounded[:-1]) / 2) * 1e-5])
    for shift in range(12):
        times = step * np.arange(int(1.15 / step)) + shift * 1e-4
        told = np.round(times, 7)
        demand, actual = (np.interp(times - lag, fine, exact) for lag in (0.0, late))
        found = figure(Recorded(told, demand, actual, None, None, None), "stop_distance")
        begin = float(np.interp(0.55 - 0.019, fine, exact))
        way = float(exact[-1]) - begin + late * speed
        assert found is None or abs(found.value - way) <= found.uncertainty

"""The oracle itself: its integration against scipy, and textbook cases."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp  # type: ignore[import-untyped]

from tests.oracle.braking import AT_LIMIT, Command, brake
from tests.oracle.cases import Case, draw
from tests.oracle.integrator import integrate
from tests.oracle.machine import machines
from tests.oracle.measure import measure
from tests.oracle.plant import Plant
from tests.oracle.units import GRAVITY, POSITION_CODES, Vector

pytestmark = pytest.mark.sweep(2)

# An invented axis: a lift of 100 kg on a screw of 20 mm, the motor turning as fast as the screw.
_OBJECTS = {
    "0x60A8:00": POSITION_CODES["um"],
    "0x608F:01": 2**20,
    "0x608F:02": 1,
    "0x6091:01": 1,
    "0x6091:02": 1,
    "0x6092:01": 20000,
    "0x6092:02": 1,
    "0x6076:00": 5000,
    "0x6072:00": 3000,
    "0x6080:00": 3000,
    "0x6081:00": 500_000,
    "0x607F:00": 0,
    "0x6083:00": 5_000_000,
    "0x6084:00": 4_000_000,
    "0x6085:00": 8_000_000,
    "0x6065:00": 10_000,
    "0x6066:00": 20,
    "0x605A:00": 2,
    "0x605E:00": 2,
    "0x6007:00": 3,
    "0x60C2:01": 2,
    "0x60C2:02": -3,
}
_SETTINGS = {
    "position_gain": "25 1/s",
    "velocity_feed_forward": "80 %",
    "velocity_gain": "0.5 N*m*s/rad",
    "digital_input_filter_time": "5 ms",
    "missed_update_limit": "3",
    "brake_used": "1",
    "brake_apply_delay": "0 ms",
}


def lift(
    objects: dict[str, int] | None = None,
    settings: dict[str, str] | None = None,
    conventions: dict[str, object] | None = None,
    **record: dict[str, object],
) -> Case:
    """The invented lift with some of it changed."""
    mechanics = {
        "kind": "ball_screw",
        "lead": "20 mm",
        "orientation": "vertical",
        "moving_mass": "100 kg",
        "efficiency": "1",
        "stroke": "800 mm",
        "reference_move": "150 mm",
    }
    built: dict[str, dict[str, object]] = {
        "mechanics": {**mechanics, **record.pop("mechanics", {})},
        "motor": {"inertia": "10 kg*cm^2", "max_speed": "3000 r/min", **record.pop("motor", {})},
        "encoder": {"single_turn_bits": 20, "multi_turn_bits": 12},
        "brake": {"fitted": True, "apply_time": "60 ms", "holding_torque": "8 N*m"},
        "supply": {"voltage": "400 V", "dc_link_capacitance": "500 uF"},
    }
    return Case(
        0,
        str(built["mechanics"]["kind"]),
        {**_OBJECTS, **(objects or {})},
        {**_SETTINGS, **(settings or {})},
        {**built, **record},
        conventions or {},
    )


def figures(*cases: Case) -> Any:
    """What the oracle measures on an axis, or on each of several; figures are read by name."""
    measured = measure(cases)
    return measured[0] if len(cases) == 1 else measured


def column(*numbers: float) -> Vector:
    return np.array(numbers, dtype=np.float64)


# Integration, against scipy.integrate.solve_ivp


def test_fixed_steps_follow_cascaded_loops_like_scipy() -> None:
    gain, velocity_gain, integral, inertia = 20.0, 1.2, 0.05, 0.01
    pull = 2.0

    def rate(time: Any, state: Any) -> Any:
        place, speed, summed = state
        wanted = gain * (0.3 * np.sin(8 * time) - place)
        error = wanted - speed
        torque = velocity_gain * (error + summed / integral)
        return np.stack([speed, (torque - pull) / inertia, error])

    ours = integrate(rate, np.zeros((3, 1)), column(0.7), 2000)[:, 0]
    theirs = solve_ivp(rate, (0, 0.7), [0.0, 0.0, 0.0], rtol=1e-10, atol=1e-12).y[:, -1]
    assert ours == pytest.approx(theirs, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("limit", [3.0, 9.0, 50.0])
@pytest.mark.parametrize("jerk", [40.0, 400.0])
def test_a_stop_with_jerk_torque_limit_and_weight_is_scipys(
    sign: float, limit: float, jerk: float
) -> None:
    turns, rotor, mass, efficiency = 300.0, 4e-4, 60.0, 0.85
    speed, ramp, pull = 1.1, 6.0, sign * 60 * GRAVITY
    plant = Plant(*(column(figure) for figure in (turns, rotor, mass, pull, efficiency, 0.8235294)))
    command = Command(column(ramp), column(jerk), column(limit), column(limit))
    ours = brake(plant, column(speed), command)

    def set_speed(time: float) -> float:
        """Symmetric rounding of a ramp, textbook kinematics; zero once it has ended."""
        top = min(ramp, math.sqrt(speed * jerk))
        rounding, whole = top / jerk, speed / top + top / jerk
        if time >= whole:
            return 0.0
        if time > whole - rounding:
            return jerk * (whole - time) ** 2 / 2
        if time > rounding:
            return speed - top * (time - rounding / 2)
        return speed - jerk * time**2 / 2

    def rate(time: float, state: Any) -> list[float]:
        torque = min(max(2e5 * (set_speed(time) - state[1]), -limit), limit)
        load = torque * turns
        driving = (load * efficiency - pull) / (mass + rotor * turns**2 * efficiency)
        driven = (load - 0.8235294 * pull) / (0.8235294 * mass + rotor * turns**2)
        return [state[1], driving if mass * driving + pull > 0 else driven]

    def stands(time: float, state: Any) -> float:
        return float(state[1] - 1e-4 * speed)

    stands.terminal = True  # type: ignore[attr-defined]
    theirs = solve_ivp(
        rate, (0, 5), [0.0, speed], events=stands, method="LSODA", rtol=1e-8, max_step=0.002
    )
    if not theirs.t_events[0].size:
        assert np.isnan(ours.way[0])
        return
    assert ours.way[0] == pytest.approx(theirs.y[0, -1], rel=2e-3)
    assert ours.time[0] == pytest.approx(theirs.t[-1], rel=1e-2)


# Textbook cases


def test_a_parted_load_falls_freely_when_its_rotor_weighs_nothing() -> None:
    """s = g t^2 / 2: 17.65 mm in 60 ms."""
    case = lift(motor={"inertia": "0.00001 kg*cm^2"})
    assert figures(case)["drop_rest"] == pytest.approx(0.017652, rel=1e-4)


def test_a_falling_load_and_its_rotor_have_the_energy_of_the_height() -> None:
    turns, brake_torque = 2 * math.pi / 0.02, 8.0
    inertia = 1e-3 * turns**2 + 100
    measured = figures(lift())
    fallen = measured["drop_rest"]
    speed = 100 * GRAVITY / inertia * 0.06
    assert inertia * speed**2 / 2 == pytest.approx(100 * GRAVITY * fallen, rel=1e-9)
    until_it_stands = measured["drop_rest_until_standstill"]
    slid = until_it_stands - fallen
    assert 100 * GRAVITY * until_it_stands == pytest.approx(brake_torque * turns * slid, rel=1e-6)


def test_a_brake_takes_the_energy_of_movement_and_height() -> None:
    turns = 2 * math.pi / 0.02
    inertia = 1e-3 * turns**2 + 100
    way = figures(lift())["drop_moving"]
    rate = 100 * GRAVITY / inertia
    free = 1.0 * 0.06 + rate * 0.06**2 / 2
    energy = inertia / 2 + 100 * GRAVITY * way
    assert energy == pytest.approx(8 * turns * (way - free), rel=1e-6)


def test_a_stop_on_a_ramp_gives_back_movement_and_height_when_nothing_is_lost() -> None:
    turns = 2 * math.pi / 0.02
    measured = figures(lift(objects={"0x6072:00": 9000}))
    way = 1.0**2 / (2 * 8)
    energy = (1e-3 * turns**2 + 100) / 2 + 100 * GRAVITY * way
    assert measured["stop_energy_returned"] == pytest.approx(energy, rel=1e-6)
    assert measured["quick_stop_way"] == pytest.approx(way + 0.005, rel=1e-6)
    assert measured["quick_stop_time"] == pytest.approx(1 / 8 + 0.005, rel=1e-6)
    assert measured["link_stop_way"] == pytest.approx(way + 0.006, rel=1e-6)
    assert measured["trip_way"] == pytest.approx(0.01 + 0.02 + way, rel=1e-6)
    peak = math.sqrt(2 * 400**2 + 2 * energy / 500e-6)
    assert measured["dc_link_peak"] == pytest.approx(peak, rel=1e-6)


def test_jerk_adds_half_its_time_to_the_way_where_it_acts() -> None:
    objects = {"0x6086:00": 3, "0x60A4:01": 200_000_000, "0x6072:00": 9000}
    conventions: dict[str, object] = {"jerk_acts_on_quick_stop": True}
    free, acting = figures(lift(objects), lift(objects, conventions=conventions))
    longer = acting["quick_stop_way"] - free["quick_stop_way"]
    assert longer == pytest.approx(1.0 * (8 / 200) / 2, rel=2e-3)


def test_a_screw_pushes_with_two_pi_efficiency_torque_over_lead() -> None:
    measured = figures(lift(mechanics={"efficiency": "0.9"}))
    assert measured["thrust_positive"] == pytest.approx(2 * math.pi * 0.9 * 15 / 0.02)
    assert measured["hold_torque"] == pytest.approx(100 * GRAVITY * 0.02 / (2 * math.pi))
    assert measured["lift_torque"] == pytest.approx(measured["hold_torque"] / 0.9)


def test_friction_helps_to_lower_and_locks_a_poor_screw() -> None:
    """Nothing arrives at the motor below an efficiency of a half, but the rotor is to be braked."""
    poor, good = figures(
        lift(mechanics={"efficiency": "0.4"}), lift(mechanics={"efficiency": "0.9"})
    )
    assert poor["drop_rest"] == 0
    assert poor["descent_torque"] == pytest.approx(1e-3 * 8 * 2 * math.pi / 0.02)
    force = 100 * (GRAVITY + 8) * (2 - 1 / 0.9) * 0.02 / (2 * math.pi)
    assert good["descent_torque"] == pytest.approx(force + poor["descent_torque"])


def test_a_limit_below_the_load_never_stops_it() -> None:
    measured = figures(lift(objects={"0x6072:00": 500}))
    assert measured["quick_stop_way"] is None
    assert measured["acceleration_down_braking"] < 0


def test_a_limit_below_the_ramp_lengthens_the_stop() -> None:
    turns = 2 * math.pi / 0.02
    limit = 4.0
    measured = figures(lift(objects={"0x6072:00": 800, "0x6085:00": 20_000_000}))
    rate = (limit * turns - 100 * GRAVITY) / (100 + 1e-3 * turns**2)
    assert measured["quick_stop_way"] == pytest.approx(1 / (2 * rate) + 0.005, rel=1e-6)
    assert measured["acceleration_down_braking"] == pytest.approx(rate)


def test_a_counterweight_weighs_and_a_spring_does_not() -> None:
    half: dict[str, object] = {"counterbalance": "0.5"}
    kinds: list[dict[str, object]] = [{"counterbalance": "weight"}, {"counterbalance": "spring"}]
    weight, spring = figures(*(lift(mechanics=half, conventions=kind) for kind in kinds))
    assert weight["hold_torque"] == spring["hold_torque"]
    assert weight["inertia_ratio"] == pytest.approx(1.5 * spring["inertia_ratio"])


def test_a_gear_of_five_set_for_one_of_four_moves_a_quarter_too_far() -> None:
    gearbox: dict[str, object] = {"gearbox": {"motor": 4, "output": 1}, "lead": "16 mm"}
    objects = {"0x6092:01": 16000, "0x6091:01": 5}
    measured = figures(lift(objects, mechanics=gearbox))
    assert measured["travel_ratio"] == pytest.approx(1.25)
    assert measured["profile_speed"] == pytest.approx(0.2)  # 3000 r/min of the motor, not 0.625


def test_lag_is_speed_over_gain_less_what_is_fed_forward() -> None:
    measured = figures(lift())
    assert measured["lag_profile"] == pytest.approx(0.2 * 0.5 / 25)
    assert measured["lag_worst"] == pytest.approx(0.2 * 1.0 / 25)


def test_the_symmetrical_optimum_has_its_phase_margin() -> None:
    """Integral time 4 x the small lag, crossover at 1 / (2 x it): atan 2 - atan 1/2, 36.87 deg."""
    lag = 0.002
    inertia = 1e-3 + 100 * (0.02 / (2 * math.pi)) ** 2
    settings = {
        "velocity_gain": f"{inertia / (2 * lag)} N*m*s/rad",
        "velocity_integral_time": "8 ms",
        "torque_filter_time": "2 ms",
    }
    conventions: dict[str, object] = {"dead_time": 0.001}
    best, late = figures(lift(settings=settings), lift(settings=settings, conventions=conventions))
    assert best["phase_margin"] == pytest.approx(36.87, abs=0.01)
    lost = math.degrees(0.001 / (2 * lag))
    assert late["phase_margin"] == pytest.approx(36.87 - lost, abs=0.01)
    assert late["velocity_bandwidth"] == pytest.approx(1 / (2 * lag))


def test_a_triangle_without_load_needs_its_acceleration_torque_all_the_time() -> None:
    move = {
        "distance": "100 mm",
        "speed": "1000 mm/s",
        "acceleration": "2500 mm/s^2",
        "deceleration": "2500 mm/s^2",
    }
    back = {**move, "distance": "-100 mm"}
    duty: dict[str, object] = {"cycle": "0.8 s", "moves": [move, back]}
    measured = figures(lift(mechanics={"orientation": "horizontal"}, duty=duty))
    turns = 2 * math.pi / 0.02
    torque = 2.5 * (1e-3 * turns + 100 / turns)
    assert measured["duty_peak_torque"] == pytest.approx(torque, rel=1e-6)
    assert measured["duty_rms_torque"] == pytest.approx(torque, rel=2e-3)
    moving = (1e-3 * turns**2 + 100) * 0.5**2 / 2
    assert measured["duty_resistor_power"] == pytest.approx(2 * moving / 0.8, rel=5e-3)


def test_waiting_holds_the_weight_without_help() -> None:
    move = {
        "distance": "1 mm",
        "speed": "10 mm/s",
        "acceleration": "1000 mm/s^2",
        "deceleration": "1000 mm/s^2",
        "wait": "100 s",
    }
    duty: dict[str, object] = {"cycle": "101 s", "moves": [move]}
    measured = figures(lift(mechanics={"efficiency": "0.8"}, duty=duty))
    assert measured["duty_rms_torque"] == pytest.approx(measured["hold_torque"], rel=1e-2)


def test_what_the_encoder_tells_apart() -> None:
    measured = figures(lift())
    assert measured["absolute_range"] == pytest.approx(4096 * 0.02)
    assert measured["counts_over_stroke"] == pytest.approx(0.8 / 0.02 * 2**20)


def test_what_a_case_lacks_is_none() -> None:
    case = lift(objects={"0x6065:00": 0xFFFFFFFF, "0x605E:00": 0, "0x6007:00": 0})
    measured, flat = figures(case, lift(mechanics={"orientation": "horizontal"}))
    for name in ("trip_way", "fault_stop_way", "link_stop_way", "duty_rms_torque"):
        assert measured[name] is None
    for name in ("hold_torque", "drop_rest", "drop_moving", "brake_hold_ratio"):
        assert flat[name] is None


def test_torque_and_acceleration_of_a_plant_undo_each_other() -> None:
    plant = machines(draw(5, 60)).plant
    rates = np.random.default_rng(1).normal(0, 5, 60)
    assert plant.acceleration(plant.torque(rates)) == pytest.approx(rates)


def test_a_stop_at_the_limit_is_a_ramp_that_nothing_keeps() -> None:
    plant = Plant(*(column(figure) for figure in (1.0, 0.0, 2.0, 0.0, 1.0, 1.0)))
    never = column(math.inf)
    stop = brake(plant, column(3.0), Command(column(AT_LIMIT), never, column(6.0), column(6.0)))
    assert stop.time[0] == pytest.approx(1.0)
    assert stop.way[0] == pytest.approx(1.5)

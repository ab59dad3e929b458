"""Duty, energy and what the supply leaves, term by term: worked by hand.

Axes are those of `tests/behaviour/axes.py`, all invented. Work and power of a textbook throughout.
"""

from __future__ import annotations

from math import inf, pi, sqrt
from typing import Any

import pytest
from scipy import constants

from tests.behaviour.axes import CARRIAGE_RECORD, LIFT_RECORD, axis
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour import energy, heat, supply
from vault.behaviour.behave import margins_of
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.state import State

R = 0.020 / (2 * pi * 2)  # of the lift, m for a radian of the motor
ROTOR = 1.6e-4 / R**2  # kg at the axis
PULL = 60 * constants.g
FAST = 2600 / 60 * 0.010
RAMPS = {"speed": "1 m/s", "acceleration": "4 m/s^2", "deceleration": "5 m/s^2"}


def lift(record: dict[str, Any] | None = None, **settings: Any) -> State:
    return axis("lift", record, **settings).state


def fed(**more: Any) -> dict[str, Any]:
    """The lift with other entries of its supply; None takes one out."""
    own = {**LIFT_RECORD["supply"], **more}
    return {**LIFT_RECORD, "supply": {k: v for k, v in own.items() if v is not None}}


# ----- energy


def test_energy_and_power_of_a_stop() -> None:
    state = lift()
    stop = (60 + ROTOR) * FAST**2 / 2 + PULL * FAST**2 / 8
    assert state.ask(energy.stop_energy).value == pytest.approx(stop)
    assert state.ask(energy.stop_power).value == pytest.approx(((60 + ROTOR) * 4 + PULL) * FAST)
    assert state.ask(energy.descent_energy).value == pytest.approx(PULL * 0.690)
    assert energy.descent_power(state).value == pytest.approx(PULL * FAST)
    lying = axis("carriage").state
    masses = 12 + 20e-4 / (0.2 / 2 / pi) ** 2
    assert lying.ask(energy.stop_energy).value == pytest.approx(masses * 2.4**2 / 2)
    assert lying.asked(energy.descent_energy) is lying.asked(energy.descent_power) is None


def test_a_counterweight_gives_back_too() -> None:
    state = lift(with_mechanics(LIFT_RECORD, counterbalance="0.5"))
    stop = (90 + ROTOR) * FAST**2 / 2 + PULL / 2 * FAST**2 / 8
    assert state.ask(energy.stop_energy).value == pytest.approx(stop)
    assert state.ask(energy.stop_power).value == pytest.approx(((90 + ROTOR) * 4 + PULL / 2) * FAST)


def test_the_dc_link_takes_what_lies_between_rest_and_trip() -> None:
    # 470 uF from 565.7 to 820 V; nothing where it trips below its rest.
    joules = 470e-6 * (820**2 - 2 * 400**2) / 2
    assert lift().ask(energy.link_energy).value == pytest.approx(joules)
    assert lift(dc_link_overvoltage_threshold="560 V").ask(energy.link_energy).value == 0
    bare = fed(dc_link_capacitance=None)
    assert lift(bare, dc_link_capacitance="1000 uF").ask(energy.link_energy).value == pytest.approx(
        joules / 0.47
    )
    with pytest.raises(Missing, match=r"^supply\.dc_link_trip$"):
        lift(dc_link_overvoltage_threshold=None).ask(energy.trip_voltage)
    with pytest.raises(Missing, match=r"^supply\.dc_link_capacitance$"):
        lift(bare).ask(energy.link_energy)


@pytest.mark.parametrize(
    ("record", "settings", "volts"),
    [
        ({}, {"supply_voltage": "230 V"}, 400),
        ({"voltage": None}, {"supply_voltage": "230 V"}, 230),
        ({"voltage": None}, {"supply_voltage": "0 V"}, None),
        ({"voltage": None}, {}, None),
    ],
)
def test_mains_are_as_recorded_else_as_set(
    record: dict[str, Any], settings: Settings, volts: float | None
) -> None:
    state = lift(fed(**record), **settings)
    assert state.asked(energy.mains) == volts


@pytest.mark.parametrize(
    ("name", "settings", "record", "ratio"),
    [
        ("chopper_above_mains", {}, {}, 770 / (1.1 * sqrt(2) * 400)),
        ("trip_above_mains", {}, {}, 820 / (1.1 * sqrt(2) * 400)),
        ("trip_above_chopper", {}, {}, 820 / 770),
        ("undervoltage", {}, {}, 0.9 * sqrt(2) * 400 / 380),
        ("undervoltage", {"undervoltage_threshold": "0 V"}, {}, None),
        ("undervoltage", {"undervoltage_threshold": None}, {}, None),
        ("chopper_above_mains", {"braking_resistor_used": 0}, {}, None),
        ("trip_above_chopper", {"braking_resistor_used": 0}, {}, None),
        ("resistor_peak", {}, {}, 770**2 / 100 / (((60 + ROTOR) * 4 + PULL) * FAST)),
        ("resistor_peak", {"braking_resistor_used": 0}, {}, None),
        ("resistor_energy", {}, {"resistor_energy": "50 J"},
         50 / ((60 + ROTOR) * FAST**2 / 2 + PULL * FAST**2 / 8)),
        ("resistor_energy", {"braking_resistor_energy": "50 J"}, {},
         50 / ((60 + ROTOR) * FAST**2 / 2 + PULL * FAST**2 / 8)),
        ("resistor_energy", {"braking_resistor_used": 0}, {"resistor_energy": "50 J"}, None),
        ("stop_energy", {"braking_resistor_used": 0}, {},
         470e-6 * (820**2 - 2 * 400**2) / 2
         / ((60 + ROTOR) * FAST**2 / 2 + PULL * FAST**2 / 8)),
        ("stop_energy", {}, {}, None),
        ("descent_energy", {"braking_resistor_used": 0}, {},
         470e-6 * (820**2 - 2 * 400**2) / 2 / (PULL * 0.690)),
        ("descent_energy", {}, {}, None),
    ],
)  # fmt: skip
def test_margins_of_the_dc_link(
    name: str, settings: Settings, record: dict[str, Any], ratio: float | None
) -> None:
    found = margins_of(lift(fed(**record), **settings)).get(name)
    assert (None if found is None else found.ratio) == (ratio and pytest.approx(ratio))


def test_a_resistor_without_its_figures_is_asked_for() -> None:
    found = margins_of(lift(fed(resistor=None)))
    assert found["resistor_peak"].missing == ("supply.resistor",)
    assert found["resistor_energy"].missing == ("supply.resistor_energy",)
    assert found["resistor_power"].missing == ("supply.resistor_power",)
    own = lift(fed(resistor=None), braking_resistor_resistance="50 ohm")
    assert own.ask(energy.resistance) == 50
    zero = lift(fed(resistor=None), braking_resistor_resistance="0 ohm")
    assert zero.asked(energy.resistance) is None
    with pytest.raises(Missing, match=r"^braking_resistor_threshold$"):
        lift(braking_resistor_threshold=None).ask(energy.threshold)
    with pytest.raises(DoesNotApply):
        lift(braking_resistor_threshold=None, braking_resistor_used=None).ask(energy.threshold)


# ----- duty


def duty(*moves: dict[str, Any], cycle: str = "4 s", eta: str = "1") -> State:
    record = with_mechanics(LIFT_RECORD, efficiency=eta)
    return lift({**record, "duty": {"cycle": cycle, "moves": [*moves]}})


def test_a_move_up_takes_its_torques() -> None:
    # 0.4 m: 0.25 s and 0.2 s of ramps take 0.225 m, the rest 0.175 s; then 3.375 s to hold.
    found = duty({"distance": "400 mm", **RAMPS})
    parts = [
        ((PULL + (60 + ROTOR) * 4) * R, 0.25), (PULL * R, 0.175),
        ((PULL - (60 + ROTOR) * 5) * R, 0.2), (PULL * R, 3.375),
    ]  # fmt: skip
    mean = sqrt(sum(torque**2 * time for torque, time in parts) / 4)
    assert found.ask(heat.rms_torque).value == pytest.approx(mean)
    assert found.ask(heat.rms_torque).bound == "exact"
    assert found.ask(heat.peak_torque).value == pytest.approx(parts[0][0])
    assert found.ask(heat.moves_time) == pytest.approx(0.625)
    # To stop at 5 m/s^2 the motor pulls back a little: over 0.2 s at 0.5 m/s on average.
    back = ((60 + ROTOR) * 5 - PULL) * 0.5 * 0.2
    assert back > 0
    assert found.ask(heat.returned_power).value == pytest.approx(back / 4)


def test_a_short_move_is_a_triangle() -> None:
    # 0.1 m: peak sqrt(2 s a d / (a + d)) = 0.6667 m/s, 0.1667 s and 0.1333 s.
    found = duty({"distance": "100 mm", **RAMPS})
    assert found.ask(heat.moves_time) == pytest.approx(0.3)


def test_a_move_down_gives_back_what_the_load_loses() -> None:
    # F h less what it moves with is all of it, as it stands before and after; and the stop above.
    up, down = ({"distance": way, **RAMPS} for way in ("400 mm", "-400 mm"))
    found = duty(up, down)
    assert PULL > (60 + ROTOR) * 4  # sped up the load still pulls: every part down gives back
    mean = (PULL * 0.4 + ((60 + ROTOR) * 5 - PULL) * 0.5 * 0.2) / 4
    assert found.ask(heat.returned_power).value == pytest.approx(mean)
    record = {
        **with_mechanics(LIFT_RECORD, efficiency="1"),
        "supply": {**LIFT_RECORD["supply"], "resistor_power": "100 W"},
        "duty": {"cycle": "4 s", "moves": [up, down]},
    }
    assert margins_of(lift(record))["resistor_power"].ratio == pytest.approx(100 / mean)


def test_losses_are_taken_up_and_may_help_down() -> None:
    up, down = ({"distance": way, **RAMPS} for way in ("400 mm", "-400 mm"))
    lifting = duty(up, eta="0.9").ask(heat.peak_torque)
    size = ((PULL + 60 * 4) / 0.9 + ROTOR * 4) * R
    assert (lifting.value, lifting.bound) == (pytest.approx(size), "exact")
    # What drives the motor down arrives whole at worst, and is braked at 5 m/s^2.
    both = duty(up, down, eta="0.9")
    braking = both.ask(heat.peak_torque)
    size = (PULL + (60 + ROTOR) * 5) * R
    assert (braking.value, braking.bound) == (pytest.approx(size), "up_to")
    assert both.ask(heat.rms_torque).bound == "up_to"


def test_what_is_carried_is_lifted_and_held_too() -> None:
    # 20 kg more, that nothing balances, until the next move.
    loaded = {"distance": "400 mm", "load": "20 kg", "wait": "1 s", **RAMPS}
    found = duty(loaded, {"distance": "-400 mm", **RAMPS})
    weight = 80 * constants.g
    assert found.ask(heat.peak_torque).value == pytest.approx((weight + (80 + ROTOR) * 4) * R)
    # What is not carried down again is not given back; the stop above gives back a little.
    stop = ((80 + ROTOR) * 5 - weight) * 0.5 * 0.2
    assert found.ask(heat.returned_power).value == pytest.approx((PULL * 0.4 + max(0, stop)) / 4)
    times = [(weight + (80 + ROTOR) * 4, 0.25), (weight, 0.175 + 1),
             (weight - (80 + ROTOR) * 5, 0.2), (PULL - (60 + ROTOR) * 4, 0.25),
             (PULL, 0.175 + 4 - 2.25), (PULL + (60 + ROTOR) * 5, 0.2)]  # fmt: skip
    mean = sqrt(sum((push * R) ** 2 * time for push, time in times) / 4)
    assert found.ask(heat.rms_torque).value == pytest.approx(mean)


def test_a_duty_takes_speed_and_ramps_of_the_set() -> None:
    # 300 mm/s and 1.5 m/s^2: 1 s and 0.2 s; 1.2 s fit, 1.19 s do not.
    plain = {"distance": "300 mm"}
    assert duty(plain).ask(heat.moves_time) == pytest.approx(1.2)
    assert duty(plain, cycle="1.2 s").asked(heat.rms_torque) is not None
    with pytest.raises(Missing, match=r"^duty\.cycle$"):
        duty(plain, cycle="1.19 s").ask(heat.rms_torque)
    with pytest.raises(Missing, match=r"^duty$"):
        lift().ask(heat.rms_torque)


def test_margins_of_the_duty() -> None:
    moves = {"distance": "400 mm", **RAMPS}
    state = duty(moves)
    found = margins_of(state)
    assert found["peak_torque"].ratio == pytest.approx(8 / state.ask(heat.peak_torque).value)
    assert found["rms_torque"].ratio == pytest.approx(3.2 / state.ask(heat.rms_torque).value)


def test_what_the_set_is_told_of_the_motor_does_not_cool_it() -> None:
    loaded = {**LIFT_RECORD, "duty": {"cycle": "4 s", "rms_force": "1.6 N*m"}}
    weak = {**loaded, "motor": {**LIFT_RECORD["motor"], "rated_torque": "2.4 N*m"}}
    bare = {**loaded, "motor": {"inertia": "1.6 kg*cm^2"}}
    for record, have in ((loaded, 3.2), (weak, 2.4), (bare, 3.2)):
        found = margins_of(lift(record))["rms_torque"]
        assert (found.have, found.unit) == (pytest.approx(have), "N*m")
        assert found.ratio == pytest.approx(have / 1.6)


# ----- what the supply leaves


FLYWHEEL: dict[str, Any] = {
    "mechanics": {"kind": "rotary", "load_inertia": "1e-9 kg*m^2"},
    "motor": {"inertia": "0.001 kg*m^2"}, "supply": {"voltage": "400 V"},
    # 1.5708 N*m up to 314.16 rad/s and back.
    "duty": {"cycle": "4 s", "moves": [{
        "distance": "36000 deg", "speed": "18000 deg/s", "acceleration": "90000 deg/s^2",
        "deceleration": "90000 deg/s^2"}]},
}  # fmt: skip
TORQUE: Settings = {"motor_rated_torque": "2 N*m", "max_torque": 2000}


def flywheel(motor: dict[str, Any], **settings: Any) -> State:
    record = {**FLYWHEEL, "motor": {**FLYWHEEL["motor"], **motor}}
    return view_of({**TORQUE, **settings}, record).state


@pytest.mark.parametrize(
    ("motor", "have"),
    [
        # 3,000 r/min of 2,000 to 4,000: half of 4 N*m by the set, or of the motor's own.
        ({"corner_speed": "2000 r/min", "max_speed": "4000 r/min"}, 2),
        ({"corner_speed": "2000 r/min", "max_speed": "4000 r/min", "max_torque": "3 N*m"}, 1.5),
        ({"corner_speed": "2000 r/min", "max_speed": "5000 r/min"}, 8 / 3),
        ({"corner_speed": "2000 r/min", "max_speed": "2900 r/min"}, 0),
        ({"corner_speed": "2000 r/min", "max_speed": "2000 r/min"}, 0),
        ({"corner_speed": "3001 r/min"}, 4),
    ],
)
def test_above_its_corner_torque_falls_in_a_line(motor: dict[str, Any], have: float) -> None:
    assert margins_of(flywheel(motor))["speed_torque"].have == pytest.approx(have, abs=1e-9)


@pytest.mark.parametrize(
    ("settings", "have", "bound"),
    [
        ({"positive_torque_limit": 1000}, 2, "exact"),  # it speeds up the positive way
        ({"negative_torque_limit": 1000}, 4, "exact"),
        ({"negative_torque_limit": 1000, "polarity": 0x80}, 2, "at_least"),
        ({"polarity": 0x80}, 4, "exact"),
    ],
)
def test_torque_at_speed_is_that_of_its_way(settings: Settings, have: float, bound: str) -> None:
    found = margins_of(flywheel({"corner_speed": "5000 r/min"}, **settings))["speed_torque"]
    assert (found.have, found.bound) == (pytest.approx(have), bound)


def test_a_duty_that_drives_nothing_asks_for_no_torque_at_speed() -> None:
    record = {**FLYWHEEL, "duty": {"cycle": "4 s", "rms_force": "1 N*m"}}
    found = margins_of(view_of(TORQUE, record).state)["speed_torque"]
    assert found.missing == ("duty.moves",)


@pytest.mark.parametrize(
    ("speed", "torque"),
    [
        (0, 3 * 1.0 * 200 / sqrt(3) / sqrt(3) / 2),  # stalled: sqrt(3) K u / R of a phase
        (200, 0),  # its own voltage is all
        (201, 0),
        (100, 1.0 * 100 / 2),  # without inductance: K (U - K n) / R
    ],
)
def test_voltage_over_resistance_gives_torque(speed: float, torque: float) -> None:
    winding = supply.Winding(1.0, 200.0, 2.0, 0.0, 4)
    assert winding.torque(speed) == pytest.approx(torque)
    assert supply.Winding(1.0, 200.0, None, 0.0, 0).torque(199) == inf


@pytest.mark.parametrize("settings", [
    {"motor_winding_resistance": "0 ohm"}, {"motor_winding_inductance": None},
    {"motor_pole_pairs": 0},
])  # fmt: skip
def test_a_winding_of_which_something_lacks_is_known_by_its_voltage(
    settings: dict[str, Any],
) -> None:
    whole = {"motor_winding_resistance": "2 ohm", "motor_winding_inductance": "80 mH",
             "motor_pole_pairs": 4, **settings}  # fmt: skip
    given = {k: v for k, v in whole.items() if v is not None}
    state = flywheel({"voltage_constant": "1 V*s/rad"}, **given)
    assert state.ask(supply.winding).resistance is None
    assert state.ask(supply.winding).voltage == pytest.approx(360)


def test_a_winding_counts_a_phase_and_low_mains() -> None:
    state = flywheel(
        {"voltage_constant": "1 V*s/rad"}, motor_winding_resistance="2 ohm",
        motor_winding_inductance="80 mH", motor_pole_pairs=4,
    )  # fmt: skip
    found = state.ask(supply.winding)
    assert (found.resistance, found.inductance, found.pairs) == pytest.approx((1, 0.04, 4))


@pytest.mark.parametrize(
    ("phases", "settings", "is_single"),
    [(1, {}, True), (3, {}, False), (None, {"supply_phases": 1}, True),
     (3, {"supply_phases": 1}, False), (None, {"supply_phases": 3}, False), (None, {}, False)],
)  # fmt: skip
def test_phases_are_as_recorded_else_as_set(
    phases: int | None, settings: Settings, is_single: bool
) -> None:
    assert supply.is_single_phase(lift(fed(phases=phases), **settings)) is is_single


def test_what_the_duty_takes_of_the_drive_lacks_its_ratings() -> None:
    loaded = {**LIFT_RECORD, "duty": {"cycle": "4 s", "rms_force": "1.6 N*m"}}
    # 3.1 A for 3.2 N*m.
    found = margins_of(lift(loaded, drive_rated_current="2 A"))["duty_current"]
    assert found.ratio == pytest.approx(2 / (3.1 * 1.6 / 3.2))
    assert margins_of(lift(loaded))["duty_current"].missing == ("supply.drive_current",)
    zero = margins_of(lift(loaded, drive_rated_current="0 A"))["duty_current"]
    assert zero.missing == ("supply.drive_current",)
    bare = margins_of(lift(loaded, drive_rated_current="2 A", motor_rated_current=None))
    assert bare["duty_current"].missing == ("motor.rated_current",)
    assert "duty_current" not in margins_of(lift(loaded, motor_type=7))


def test_the_carriage_lies_and_gives_back_only_its_motion() -> None:
    # 2 m at 1 m/s: M v^2 / 2 comes back less nothing, and nothing to hold.
    record = with_mechanics(CARRIAGE_RECORD, efficiency="1")
    moves = [{"distance": "2000 mm", **RAMPS}]
    state = axis("carriage", {**record, "duty": {"cycle": "4 s", "moves": moves}}).state
    masses = 12 + 20e-4 / (0.2 / 2 / pi) ** 2
    assert state.ask(heat.returned_power).value == pytest.approx(masses / 2 / 4)
    torque = masses * 0.2 / 2 / pi
    mean = sqrt(((4 * torque) ** 2 * 0.25 + (5 * torque) ** 2 * 0.2) / 4)
    assert state.ask(heat.rms_torque).value == pytest.approx(mean)

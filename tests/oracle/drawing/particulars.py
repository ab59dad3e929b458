"""What only some records and sets say. Drawn last, so that the rest of a case stays as it was."""

from __future__ import annotations

import math

from tests.oracle.drawing.sketch import Sketch, text
from tests.oracle.units import si


def draw_particulars(sketch: Sketch) -> None:
    """Draw what many axes leave open."""
    _lower_end(sketch)
    _loop(sketch)
    _voltage(sketch)


def _lower_end(sketch: Sketch) -> None:
    """Positions grow upwards here; a record may say so."""
    mechanics = sketch.record["mechanics"]
    assert isinstance(mechanics, dict)
    if sketch.weight_share and sketch.chance(0.6):
        mechanics["down"] = "low"


def _loop(sketch: Sketch) -> None:
    """All dead time of the loop, or its cycle alone; notch filters well above the crossover."""
    dead = sketch.conventions["dead_time"]
    assert isinstance(dead, float)
    known = sketch.chance(0.4)
    if known:
        sketch.record["loop_dead_time"] = text(dead, "us", 6)
    elif sketch.chance(0.5):  # a cycle to compute, half a one that the torque is held
        sketch.set("velocity_loop_cycle", dead / 1.5 * sketch.dice.uniform(0.3, 0.99), "us", 3)
    if not sketch.chance(0.5):
        return
    bandwidth = si(sketch.settings["velocity_gain"]) / sketch.inertia
    for end in ("", ".2")[: sketch.dice.randint(1, 2)]:
        middle = bandwidth / (2 * math.pi) * sketch.between(3, 12)
        sketch.set(f"notch_filter_frequency{end}", middle, "Hz", 4)
        sketch.set(f"notch_filter_bandwidth{end}", middle * sketch.between(0.05, 0.6), "Hz", 4)
        sketch.set(f"notch_filter_depth{end}", sketch.dice.randint(40, 100) / 100, "%", 3)


def _voltage(sketch: Sketch) -> None:
    """The corner of the motor's curve, or its constant and winding, around the profile speed."""
    motor, supply = sketch.record["motor"], sketch.record["supply"]
    assert isinstance(motor, dict)
    assert isinstance(supply, dict)
    top, turning = si(str(motor["max_speed"])), sketch.profile * sketch.turns
    if sketch.linear_motor or sketch.chance(0.5):
        unit = "m/s" if sketch.linear_motor else "r/min"
        motor["corner_speed"] = text(top * sketch.dice.uniform(0.3, 0.9), unit)
        sketch.conventions["torque_at_top"] = sketch.dice.choice((0.0, 0.2, 0.5))
        return
    voltage = 0.9 * si(str(supply["voltage"]))
    motor["voltage_constant"] = text(voltage / turning * sketch.dice.uniform(0.3, 0.9), "V*s/rad")
    constant, pairs = si(str(motor["voltage_constant"])), sketch.dice.choice((3, 4, 5))
    current = sketch.duty_peak / (3**0.5 * constant)
    left = (voltage - constant * turning) / 3**0.5
    sketch.settings["motor_pole_pairs"] = str(pairs)
    sketch.set("motor_winding_resistance", 2 * left / current * sketch.between(0.05, 0.5), "ohm")
    reactance = left / current * sketch.between(0.2, 2)
    sketch.set("motor_winding_inductance", 2 * reactance / pairs / turning, "mH")
    sketch.conventions["voltage_lost"] = sketch.dice.choice((0.0, 0.03))

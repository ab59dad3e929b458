"""Loops, monitors, stop reactions, room, link, supply and safety of a drawn case."""

from __future__ import annotations

import math

from tests.oracle.drawing.sketch import Sketch, text
from tests.oracle.units import ALL_ONES


def draw_loops(sketch: Sketch) -> None:
    """Draw gains and filters, and the window over the lag that they leave."""
    gain = sketch.set("position_gain", sketch.between(8, 60), "1/s", 3)
    forward = sketch.dice.choice((0, 0, 50, 80, 90, 95, 100))
    sketch.settings["velocity_feed_forward"] = f"{forward} %"
    bandwidth = gain * sketch.between(2, 8)
    unit = "N*s/m" if sketch.linear_motor else "N*m*s/rad"
    sketch.set("velocity_gain", sketch.inertia * bandwidth, unit)
    if sketch.chance(0.8):
        integral = 0.0 if sketch.chance(0.1) else sketch.between(1, 10) / bandwidth
        sketch.set("velocity_integral_time", integral, "ms", 3)
    for role in ("torque_filter_time", "velocity_filter_time"):
        if sketch.chance(0.75):
            sketch.set(role, sketch.between(0.02, 0.5) / bandwidth, "ms", 3)
    sketch.conventions["dead_time"] = round(sketch.dice.uniform(0, 0.001), 6)
    lag = max(1 - forward / 100, 0.02) * sketch.profile / gain
    window = max(round(lag * sketch.between(0.5, 2.5) / sketch.unit), 1)
    sketch.objects["0x6065:00"] = ALL_ONES if sketch.chance(0.05) else window
    sketch.objects["0x6066:00"] = sketch.dice.choice((0, 5, 10, 20, 50, 100, 200))


def draw_stops(sketch: Sketch) -> None:
    """Draw reactions and delays of every stop, and the room that a stop has."""
    choices = sketch.dice.choices
    sketch.objects["0x605A:00"] = choices((2, 6, 1, 5, 3, 7, 0), (42, 24, 9, 7, 8, 5, 5))[0]
    sketch.objects["0x605E:00"] = choices((2, 1, 3, 4, 0), (40, 25, 12, 5, 18))[0]
    sketch.objects["0x6007:00"] = choices((3, 1, 2, 0), (48, 30, 12, 10))[0]
    delay = sketch.set("digital_input_filter_time", sketch.dice.randint(0, 20) / 1000, "ms")
    _size_stop(sketch, delay)
    _link(sketch)
    _room(sketch)
    allowed = max(round(sketch.stop_time * 1000 * sketch.between(0.5, 2)), 1)
    sketch.settings["safe_stop_delay"] = f"{allowed} ms"


def _size_stop(sketch: Sketch, delay: float) -> None:
    """Roughly how long and how far the axis goes on in a quick stop, at ramp or limit."""
    at_limit = (sketch.limit - 0.9 * sketch.holding) / sketch.inertia / sketch.turns
    ramp = min(sketch.quick, at_limit) if at_limit > 0 else sketch.quick
    sketch.stop_time = sketch.worst / ramp
    jerk = sketch.objects.get("0x60A4:01", 0) * sketch.unit
    if sketch.objects["0x6086:00"] == 3 and sketch.conventions["jerk_acts_on_quick_stop"]:
        sketch.stop_time += sketch.quick / jerk
    sketch.stop_way = sketch.worst * (delay + sketch.stop_time / 2)


def _link(sketch: Sketch) -> None:
    """Interval of the set points (60C2h) and what tells that they no longer come."""
    milliseconds = sketch.dice.choice((1, 2, 4, 8))
    in_tenths = sketch.chance(0.2)
    sketch.objects["0x60C2:01"] = milliseconds * 10 if in_tenths else milliseconds
    sketch.objects["0x60C2:02"] = -4 if in_tenths else -3
    if sketch.chance(0.75):
        sketch.settings["missed_update_limit"] = str(sketch.dice.randint(1, 20))
    if sketch.chance(0.5):
        sketch.settings["fieldbus_timeout"] = f"{sketch.dice.randint(2, 100)} ms"


def _room(sketch: Sketch) -> None:
    """Soft limits, and hard stops beyond them at about the way of a stop."""
    low = round(-sketch.dice.choice((0.0, 0.0, 0.5)) * sketch.stroke / sketch.unit)
    high = low + max(round(sketch.stroke / sketch.unit), 1)
    sketch.objects["0x607D:01"], sketch.objects["0x607D:02"] = low, high
    mechanics = sketch.record["mechanics"]
    assert isinstance(mechanics, dict)
    unit = "deg" if sketch.rotary else "mm"
    below, above = (sketch.stop_way * sketch.between(0.5, 2) for _ in range(2))
    if not sketch.rotary or sketch.chance(0.6):
        mechanics["hard_stop_low"] = text(low * sketch.unit - below, unit, 5)
        mechanics["hard_stop_high"] = text(high * sketch.unit + above, unit, 5)
    mechanics["stroke"] = text((high - low) * sketch.unit + below + above, unit, 5)


def draw_supply(sketch: Sketch) -> None:
    """Draw mains, DC link, chopper and resistor around the energy of a stop."""
    phases, mains = sketch.dice.choice(((1, 230), (3, 200), (3, 400), (3, 480)))
    peak = math.sqrt(2) * mains
    energy = sketch.inertia * (sketch.worst * sketch.turns) ** 2 / 2
    energy += sketch.pull * sketch.worst * sketch.stop_time / 2
    rise = sketch.between(1.03, 1.7)
    capacitance = text(2 * energy / (peak**2 * (rise**2 - 1)), "uF")
    threshold = round(peak * sketch.dice.uniform(1.08, 1.35))
    trip = round(peak * sketch.dice.uniform(1.15, 1.5))
    strongest = 2 * energy / sketch.stop_time
    resistor = text(threshold**2 / (strongest * sketch.between(0.5, 2)), "ohm", 3)
    power = text(sketch.duty_returned * sketch.between(0.5, 2), "W", 3)
    sketch.record["supply"] = {
        "phases": phases,
        "voltage": f"{mains} V",
        "dc_link_capacitance": capacitance,
        "dc_link_trip": f"{trip} V",
        "resistor": resistor,
        "resistor_power": power,
        "resistor_energy": text(energy * sketch.between(0.5, 2), "J", 3),
    }
    sketch.settings |= {
        "supply_voltage": f"{mains} V",
        "dc_link_capacitance": capacitance,
        "dc_link_overvoltage_threshold": f"{trip} V",
        "braking_resistor_used": "1" if sketch.chance(0.9) else "0",
        "braking_resistor_threshold": f"{threshold} V",
        "braking_resistor_resistance": resistor,
        "braking_resistor_power": power,
    }

"""How a drawn case looks for home: speeds, ramp, time and torque of the search."""

from __future__ import annotations

from tests.oracle.drawing.sketch import Sketch
from tests.oracle.units import ALL_ONES


def draw_homing(sketch: Sketch) -> None:
    """Draw the search: slower than a move, on its own ramp, with less torque in half the cases."""
    speed = sketch.profile * sketch.between(0.05, 0.5)
    for address, share in (("0x6099:01", 1.0), ("0x6099:02", 0.2)):
        raw = max(round(speed * share / sketch.speed_unit), 1)
        sketch.objects[address] = min(raw, ALL_ONES)
    rate = sketch.quick * sketch.between(0.2, 1.5)
    sketch.objects["0x609A:00"] = min(max(round(rate / sketch.acceleration_unit), 1), ALL_ONES)
    if sketch.chance(0.8):
        sketch.set("homing_time_out", sketch.stroke / speed * sketch.between(0.5, 2), "ms")
    if not sketch.linear_motor and sketch.chance(0.6):
        sketch.set("homing_torque_limit", sketch.limit * sketch.between(0.3, 1.2), "N*m")

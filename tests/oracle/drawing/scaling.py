"""Scaling objects of a drawn case, speeds and ramps in its raw units, and scaling gone wrong."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

from tests.oracle.drawing.sketch import Sketch
from tests.oracle.units import (
    ACCELERATION_CODES,
    ALL_ONES,
    POSITION_CODES,
    VELOCITY_CODES,
    si,
    stated_size,
)

_LINEAR = ("mm", "um", "0.1 um")
_ROTARY = ("deg", "0.001 deg", "0.001 deg", "rev")
_PER_MM = {"mm": Fraction(1), "um": Fraction(1000), "0.1 um": Fraction(10000)}
_PER_DEGREE = {"deg": Fraction(1), "0.001 deg": Fraction(1000), "rev": Fraction(1, 360)}


def draw_scaling(sketch: Sketch) -> None:
    """Draw units, resolution, gear and feed so that they fit the machine."""
    units = _ROTARY if sketch.rotary else _LINEAR
    unit = sketch.dice.choice(units)
    sketch.objects["0x60A8:00"] = POSITION_CODES[unit]
    sketch.unit = stated_size(POSITION_CODES[unit])
    feed = sketch.turn * (_PER_DEGREE if sketch.rotary else _PER_MM)[unit]
    _fraction(sketch, "0x6092", feed)
    _fraction(sketch, "0x6091", sketch.gear)
    encoder = sketch.record["encoder"]
    assert isinstance(encoder, dict)
    _fraction(sketch, "0x608F", Fraction(2 ** int(encoder["single_turn_bits"])))
    _unit_of_speed(sketch, unit)
    _unit_of_acceleration(sketch, unit)
    reversed_ = sketch.chance(0.4)
    sketch.conventions["polarity_reversed"] = reversed_
    if reversed_ or sketch.chance(0.7):
        sketch.objects["0x607E:00"] = 0xC0 if reversed_ else 0


def _fraction(sketch: Sketch, index: str, ratio: Fraction) -> None:
    """Write a ratio as two numbers, now and then not in lowest terms."""
    factor = sketch.dice.choice((1, 1, 1, 2, 10))
    if ratio.numerator * factor > ALL_ONES:
        factor = 1
    sketch.objects[f"{index}:01"] = ratio.numerator * factor
    sketch.objects[f"{index}:02"] = ratio.denominator * factor


def _unit_of_speed(sketch: Sketch, unit: str) -> None:
    if sketch.rotary:
        stated = "deg/s" if unit == "rev" or sketch.chance(0.4) else None
    else:
        choices = [None, None, "mm/s"] + ([] if sketch.linear_motor else ["r/min"])
        stated = sketch.dice.choice(choices)
    sketch.speed_unit = sketch.unit
    if stated is not None:
        sketch.objects["0x60A9:00"] = VELOCITY_CODES[stated]
        sketch.speed_unit = stated_size(VELOCITY_CODES[stated])
    if stated == "r/min":
        sketch.speed_unit /= sketch.turns


def _unit_of_acceleration(sketch: Sketch, unit: str) -> None:
    if sketch.rotary:
        stated = "deg/s^2" if unit == "rev" or sketch.chance(0.4) else None
    else:
        stated = sketch.dice.choices((None, "mm/s^2", "m/s^2"), (60, 32, 8))[0]
    sketch.acceleration_unit = sketch.unit
    if stated is not None:
        sketch.objects["0x60AA:00"] = ACCELERATION_CODES[stated]
        sketch.acceleration_unit = stated_size(ACCELERATION_CODES[stated])


def draw_movement(sketch: Sketch) -> None:
    """Draw speeds, ramps and jerk; the rough sizes of the sketch follow the rounded numbers."""
    _speeds(sketch)
    lasting = sketch.between(0.06, 0.4)
    sketch.quick = _ramp(sketch, "0x6085:00", sketch.worst / lasting)
    profile = _ramp(sketch, "0x6084:00", sketch.quick * sketch.between(0.3, 1))
    sketch.speeding_up = _ramp(sketch, "0x6083:00", profile * sketch.between(0.6, 1.2))
    sketch.objects["0x6086:00"] = sketch.dice.choices((0, 3, 1), (50, 45, 5))[0]
    sketch.conventions["jerk_acts_on_quick_stop"] = sketch.chance(0.5)
    jerk = round(sketch.quick / sketch.between(0.02, 0.12) / sketch.unit)
    if sketch.objects["0x6086:00"] == 3 or sketch.chance(0.3):
        sketch.objects["0x60A3:00"] = 1
        sketch.objects["0x60A4:01"] = min(max(jerk, 1), ALL_ONES)


def _speeds(sketch: Sketch) -> None:
    motor = sketch.record["motor"]
    assert isinstance(motor, dict)
    rated = si(str(motor["rated_speed"])) / sketch.turns
    raw = max(round(rated * sketch.between(0.4, 1.1) / sketch.speed_unit), 1)
    sketch.objects["0x6081:00"] = raw
    kind = sketch.dice.choices(("zero", "all ones", "value", "absent"), (20, 20, 50, 10))[0]
    sketch.conventions["max_profile_velocity"] = kind
    limit = max(round(raw * sketch.between(0.7, 1.6)), 1)
    if kind != "absent":
        sketch.objects["0x607F:00"] = {"zero": 0, "all ones": ALL_ONES, "value": limit}[kind]
    sketch.profile = (min(raw, limit) if kind == "value" else raw) * sketch.speed_unit
    sketch.worst = sketch.motor_top
    if sketch.linear_motor or sketch.chance(0.15):
        return
    top = sketch.motor_top * sketch.turns * 30 / math.pi
    speed = 0 if sketch.chance(0.12) else round(top * sketch.between(0.5, 1.3) / 10) * 10
    sketch.objects["0x6080:00"] = speed
    if speed:
        sketch.worst = min(sketch.worst, speed * math.pi / 30 / sketch.turns)
        sketch.profile = min(sketch.profile, speed * math.pi / 30 / sketch.turns)


def _ramp(sketch: Sketch, address: str, size: float) -> float:
    raw = min(max(round(size / sketch.acceleration_unit), 1), ALL_ONES)
    sketch.objects[address] = raw
    return raw * sketch.acceleration_unit


def spoil_scaling(sketch: Sketch) -> None:
    """In a fifth of cases make gear, feed or resolution of the drive another than the machine's."""
    wrong = sketch.chance(0.2)
    sketch.conventions["scaled_wrongly"] = wrong
    if wrong:
        spoil: Callable[[Sketch], None] = sketch.dice.choice((_gear_off, _feed_off, _encoder_off))
        spoil(sketch)


def _gear_off(sketch: Sketch) -> None:
    gear = sketch.gear * sketch.dice.choice(
        (Fraction(2), Fraction(1, 2), Fraction(101, 100), Fraction(4, 5), Fraction(50, 49))
    )
    _fraction(sketch, "0x6091", gear)


def _feed_off(sketch: Sketch) -> None:
    feed = Fraction(sketch.objects["0x6092:01"], sketch.objects["0x6092:02"])
    off = sketch.dice.choice((Fraction(2), Fraction(4, 5), Fraction(99, 100), Fraction(21, 20)))
    _fraction(sketch, "0x6092", feed * off)


def _encoder_off(sketch: Sketch) -> None:
    resolution = Fraction(sketch.objects["0x608F:01"], sketch.objects["0x608F:02"])
    off = sketch.dice.choice((Fraction(2), Fraction(1, 2)))
    _fraction(sketch, "0x608F", resolution * off)

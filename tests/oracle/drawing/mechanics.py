"""The machine of a drawn case: transmission, load, motor, encoder."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from tests.oracle.drawing.sketch import Sketch, text
from tests.oracle.units import GRAVITY, si


@dataclass(frozen=True, slots=True)
class _Build:
    """What a mechanism is commonly made of: common practice, no source.

    lengths: mm per turn. gears: turns of the motor and of the output. load: kg or kg*m^2.
    top: r/min of the motor, or m/s.
    """

    key: str
    lengths: tuple[str, ...]
    gears: tuple[tuple[int, int], ...]
    load: tuple[float, float]
    top: tuple[float, ...]


_FAST = (3000.0, 3600.0, 4500.0, 5000.0, 6000.0)
_BUILDS = {
    "ball_screw": _Build(
        "lead",
        ("5", "10", "16", "20", "25", "40"),
        ((1, 1), (1, 1), (2, 1), (3, 2), (3, 1)),
        (20, 900),
        _FAST,
    ),
    "belt": _Build(
        "pulley_circumference",
        ("100", "125", "150", "157.08", "200", "250.5"),
        ((3, 1), (5, 1), (7, 1), (10, 1), (49, 9)),
        (4, 120),
        _FAST,
    ),
    "rack": _Build(
        "pinion_circumference",
        ("106.103", "125.664", "188.496", "200", "251.327"),
        ((5, 1), (7, 1), (10, 1), (25, 1), (91, 10)),
        (40, 1500),
        _FAST,
    ),
    "rotary_table": _Build(
        "", (), ((10, 1), (36, 1), (72, 1), (90, 1), (121, 3)), (1, 150), (2000.0, *_FAST)
    ),
    "rotary": _Build(
        "", (), ((1, 1), (3, 1), (5, 1), (10, 1), (25, 2)), (0.02, 2), (1500.0, *_FAST)
    ),
    "linear_motor": _Build(
        "pole_pitch", ("20", "24", "30", "32"), ((1, 1),), (2, 120), (1.5, 2.0, 3.0, 5.0)
    ),
}


def draw_machine(sketch: Sketch) -> None:
    """Draw mechanics, motor and encoder into the record, and the conventions about them."""
    build = _BUILDS[sketch.mechanism]
    mechanics: dict[str, object] = {"kind": sketch.mechanism}
    sketch.record["mechanics"] = mechanics
    _transmission(sketch, build, mechanics)
    _loading(sketch, build, mechanics)
    _motor(sketch, build)
    _travel(sketch, mechanics)
    _encoder(sketch)


def _transmission(sketch: Sketch, build: _Build, mechanics: dict[str, object]) -> None:
    sketch.turn = Fraction(360)
    if build.key:
        length = sketch.dice.choice(build.lengths)
        mechanics[build.key] = f"{length} mm"
        sketch.turn = Fraction(length)
    motor, output = sketch.dice.choice(build.gears)
    sketch.gear = Fraction(motor, output)
    if (motor, output) != (1, 1) or (not sketch.linear_motor and sketch.chance(0.5)):
        mechanics["gearbox"] = {"motor": motor, "output": output}
    if not sketch.linear_motor:
        turn = math.radians(360) if sketch.rotary else float(sketch.turn) / 1000
        sketch.turns = 2 * math.pi * float(sketch.gear) / turn
        locking = sketch.mechanism in ("ball_screw", "rotary_table") and sketch.chance(0.06)
        low, high = (0.34, 0.48) if locking else (0.72, 0.97)
        mechanics["efficiency"] = f"{sketch.dice.uniform(low, high):.2f}"
    sketch.conventions["back_driving_losses"] = sketch.chance(0.8)


def _loading(sketch: Sketch, build: _Build, mechanics: dict[str, object]) -> None:
    load = sketch.between(*build.load)
    if sketch.rotary:
        mechanics["load_inertia"] = text(load, "kg*m^2")
        mechanics["orientation"] = sketch.dice.choice(("horizontal", "vertical", "inclined"))
        if mechanics["orientation"] == "inclined":
            mechanics["inclination"] = f"{sketch.dice.randint(5, 85)} deg"
        sketch.load = sketch.mass = si(str(mechanics["load_inertia"]))
        sketch.conventions["counterbalance"] = None
        return
    mechanics["moving_mass"] = text(load, "kg", 3)
    sketch.load = sketch.mass = si(str(mechanics["moving_mass"]))
    _orientation(sketch, mechanics)


def _orientation(sketch: Sketch, mechanics: dict[str, object]) -> None:
    """Slope and counterbalance of an axis that a weight pulls at."""
    orientation = sketch.dice.choices(("horizontal", "vertical", "inclined"), (25, 50, 25))[0]
    mechanics["orientation"] = orientation
    sketch.conventions["counterbalance"] = None
    if orientation == "horizontal":
        return
    sketch.weight_share = 1.0
    if orientation == "inclined":
        slope = sketch.dice.randint(10, 80)
        mechanics["inclination"] = f"{slope} deg"
        sketch.weight_share = math.sin(math.radians(slope))
    balance = 0.0
    if sketch.chance(0.4):
        balance = _balance(sketch)
        mechanics["counterbalance"] = f"{balance:.2f}"
        kind = sketch.dice.choice(("weight", "spring"))
        sketch.conventions["counterbalance"] = kind
        if kind == "weight":
            sketch.mass = sketch.load * (1 + balance)
    sketch.pull = sketch.load * GRAVITY * sketch.weight_share * abs(1 - balance)


def _balance(sketch: Sketch) -> float:
    """Share of the weight that is balanced, 0 to 1.2; now and then all of it, seldom more."""
    kind = sketch.dice.choices(("less", "all", "more"), (85, 5, 10))[0]
    ranges = {"less": (0.0, 0.9), "all": (1.0, 1.0), "more": (1.08, 1.2)}
    return round(sketch.dice.uniform(*ranges[kind]), 2)


def _motor(sketch: Sketch, build: _Build) -> None:
    """Nameplate speeds and rotor; torques follow when the load is known (see `torques`)."""
    top = sketch.dice.choice(build.top)
    rated = top * sketch.dice.choice((0.5, 0.6, 0.75, 0.9))
    motor: dict[str, object] = {}
    sketch.record["motor"] = motor
    if sketch.linear_motor:
        motor["rated_speed"], motor["max_speed"] = text(rated, "m/s"), text(top, "m/s")
        sketch.motor_top = top
        return
    motor["rated_speed"] = f"{rated:.0f} r/min"
    motor["max_speed"] = f"{top:.0f} r/min"
    at_motor = sketch.mass / sketch.turns**2
    motor["inertia"] = text(at_motor / sketch.between(0.3, 12), "kg*cm^2")
    sketch.rotor = si(str(motor["inertia"]))
    sketch.motor_top = si(str(motor["max_speed"])) / sketch.turns


def _travel(sketch: Sketch, mechanics: dict[str, object]) -> None:
    """The stroke between soft limits and the move of reference, in mm or degrees."""
    unit = "deg" if sketch.rotary else "mm"
    wanted = sketch.motor_top * sketch.between(0.5, 4)
    sketch.stroke = si(text(wanted, unit, 2))
    mechanics["reference_move"] = text(sketch.stroke * sketch.dice.uniform(0.2, 0.6), unit, 2)


def _encoder(sketch: Sketch) -> None:
    """Bits per turn, now and then so many that the stroke fills 32 bits; bits of turns."""
    turn = math.radians(360) if sketch.rotary else float(sketch.turn) / 1000
    turns = sketch.stroke / turn * float(sketch.gear)
    usual = (12, 14, 16, 17) if sketch.linear_motor else (13, 16, 17, 18, 20, 23, 24)
    bits = sketch.dice.choice(usual)
    if sketch.chance(0.35):
        bits = min(max(round(31 - math.log2(turns) + sketch.dice.uniform(-1, 1)), 8), 30)
    encoder: dict[str, object] = {"single_turn_bits": bits}
    sketch.record["encoder"] = encoder
    sketch.settings["encoder_single_turn_bits"] = str(bits)
    sketch.settings["encoder_type"] = "1"
    if sketch.chance(0.8) and not sketch.linear_motor:
        close = max(math.ceil(math.log2(turns)), 0) + sketch.dice.choice((-1, 0, 0, 1))
        common = sketch.dice.choice((12, 16))
        multi = common if sketch.chance(0.25) else min(max(close, 0), 16)
        encoder["multi_turn_bits"] = multi
        sketch.settings["encoder_multi_turn_bits"] = str(multi)
        sketch.settings["encoder_type"] = "5" if multi else "4"

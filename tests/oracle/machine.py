"""The machine as its record describes it: mechanics, motor and encoder as built."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.plant import Plant
from tests.oracle.readings import column, flags, from_record, recorded
from tests.oracle.units import GRAVITY, MISSING, Flags, Vector, number

ROTARY = ("rotary_table", "rotary")
_TURN = 2 * math.pi
_LENGTH_PER_TURN = {
    "ball_screw": "lead",
    "belt": "pulley_circumference",
    "rack": "pinion_circumference",
    "linear_motor": "pole_pitch",
}


@dataclass(frozen=True, slots=True)
class Machine:
    """The machine of each case.

    way_per_turn: m or rad of the axis per revolution of the motor, or per pole pitch.
    counts_per_turn: increments that the fitted encoder gives in that way.
    top_speed: m/s or rad/s of the axis at the motor's maximum speed.
    weight_per_mass: N that a further kg pulls with; 0 on rotary axes.
    """

    plant: Plant
    rotating: Flags
    hanging: Flags
    way_per_turn: Vector
    counts_per_turn: Vector
    top_speed: Vector
    weight_per_mass: Vector


def machines(cases: Sequence[Case]) -> Machine:
    """Read the machine of each case."""
    rotating = flags(cases, lambda case: case.mechanism != "linear_motor")
    way = column(cases, _way_per_turn)
    turns = np.where(rotating, _TURN / way, 1.0)
    slope = column(cases, _slope)
    plant = _plant(cases, turns, slope)
    top = from_record(cases, "motor", "max_speed")
    return Machine(
        plant=plant,
        rotating=rotating,
        hanging=np.abs(plant.pull) > 0,
        way_per_turn=way,
        counts_per_turn=2.0 ** from_record(cases, "encoder", "single_turn_bits"),
        top_speed=np.where(rotating, top / turns, top),
        weight_per_mass=GRAVITY * np.sin(slope),
    )


def _way_per_turn(case: Case) -> float:
    key = _LENGTH_PER_TURN.get(case.mechanism)
    length = _TURN if key is None else number(recorded(case, "mechanics", key))
    gearbox = recorded(case, "mechanics", "gearbox")
    if isinstance(gearbox, dict):
        return length * float(gearbox["output"]) / float(gearbox["motor"])
    return length


def _slope(case: Case) -> float:
    """Angle of the axis to the horizontal in rad; a rotary axis has no weight to lift."""
    if case.mechanism in ROTARY:
        return 0.0
    stated = recorded(case, "mechanics", "orientation")
    if stated == "vertical":
        return math.pi / 2
    if stated == "inclined":
        return number(recorded(case, "mechanics", "inclination"))
    return 0.0


def _plant(cases: Sequence[Case], turns: Vector, slope: Vector) -> Plant:
    mass = column(cases, _load)
    balance = from_record(cases, "mechanics", "counterbalance", absent=0.0)
    weighs = flags(cases, lambda case: case.conventions.get("counterbalance") == "weight")
    efficiency = from_record(cases, "mechanics", "efficiency", absent=1.0)
    loses = flags(cases, lambda case: bool(case.conventions.get("back_driving_losses", True)))
    return Plant(
        turns=turns,
        rotor=column(cases, _rotor),
        mass=mass * np.where(weighs, 1 + balance, 1.0),
        pull=mass * GRAVITY * np.sin(slope) * (1 - balance),
        driving=efficiency,
        driven=np.where(loses, np.maximum(2 - 1 / efficiency, 0.0), 1.0),
    )


def _load(case: Case) -> float:
    key = "load_inertia" if case.mechanism in ROTARY else "moving_mass"
    return number(recorded(case, "mechanics", key))


def _rotor(case: Case) -> float:
    if case.mechanism == "linear_motor":
        return 0.0
    inertia = recorded(case, "motor", "inertia")
    return MISSING if inertia is None else number(inertia)

"""A case while it is being drawn, and the ways to draw and write a figure."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction
from random import Random

from tests.oracle.units import si


@dataclass(slots=True)
class Sketch:
    """What is drawn so far; sizes in SI and only rough, for sizing what comes next.

    turn: m or rad of the axis per turn behind the gearbox, as mm or degrees. turns: rad of the
    motor per m or rad, 1 for a linear motor. pull: N that the axis must hold. limit, duty_peak:
    N*m of the motor, or N. duty_returned: W. stop_way: m or rad.
    """

    dice: Random
    mechanism: str
    objects: dict[str, int] = field(default_factory=dict)
    settings: dict[str, str] = field(default_factory=dict)
    record: dict[str, object] = field(default_factory=dict)
    conventions: dict[str, object] = field(default_factory=dict)
    turn: Fraction = Fraction(1)
    gear: Fraction = Fraction(1)
    turns: float = 1.0
    rotor: float = 0.0
    mass: float = 0.0
    load: float = 0.0
    pull: float = 0.0
    weight_share: float = 0.0
    motor_top: float = 0.0
    stroke: float = 0.0
    unit: float = 1.0
    speed_unit: float = 1.0
    acceleration_unit: float = 1.0
    profile: float = 0.0
    worst: float = 0.0
    speeding_up: float = 0.0
    quick: float = 0.0
    limit: float = 0.0
    duty_peak: float = 0.0
    duty_returned: float = 0.0
    stop_way: float = 0.0
    stop_time: float = 0.0

    @property
    def rotary(self) -> bool:
        """Whether the axis turns."""
        return self.mechanism in ("rotary_table", "rotary")

    @property
    def linear_motor(self) -> bool:
        """Whether the force acts at the load itself."""
        return self.mechanism == "linear_motor"

    @property
    def inertia(self) -> float:
        """Total inertia at the motor in kg*m^2, or mass in kg."""
        return self.rotor + self.mass / self.turns**2

    @property
    def holding(self) -> float:
        """Torque in N*m, or force in N, that the motor must hold."""
        return self.pull / self.turns

    def between(self, low: float, high: float) -> float:
        """A figure between two, each factor as likely as another."""
        return math.exp(self.dice.uniform(math.log(low), math.log(high)))

    def chance(self, share: float) -> bool:
        """True in this share of cases."""
        return self.dice.random() < share

    def set(self, role: str, value: float, unit: str, digits: int = 4) -> float:
        """Write a setting; returns what was written, in SI."""
        self.settings[role] = text(value, unit, digits)
        return si(self.settings[role])


def text(value: float, unit: str, digits: int = 4) -> str:
    """Write a figure given in SI as a quantity with this unit, to so many digits."""
    size = si(f"1 {unit}") if unit else 1.0
    rounded = float(f"{value / size:.{digits}g}")
    plain = f"{rounded:.12f}".rstrip("0").rstrip(".")
    return f"{plain} {unit}".strip()

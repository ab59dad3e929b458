"""The mechanics of an axis: how torque and movement belong together.

Moving is always positive here; an axis that moves the other way is `mirrored`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.oracle.units import Vector


@dataclass(frozen=True, slots=True)
class Plant:
    """Rotor, transmission and load; a column for each case.

    turns: rad of the motor per m or rad of the axis, 1 for a linear motor.
    rotor: kg*m^2, 0 for a linear motor. mass: kg, or kg*m^2 of a rotary axis.
    pull: N or N*m at the axis, positive against positive movement.
    driving: share of the motor's torque that reaches the load (efficiency).
    driven: share of the load's torque that reaches the motor while the load drives it.
    """

    turns: Vector
    rotor: Vector
    mass: Vector
    pull: Vector
    driving: Vector
    driven: Vector

    @property
    def inertia(self) -> Vector:
        """Total inertia at the motor in kg*m^2, of a linear motor the mass in kg."""
        return self.rotor + self.mass / self.turns**2

    def mirrored(self) -> Plant:
        """The same axis looked at in the other direction."""
        return replace(self, pull=-self.pull)

    def upward(self) -> Plant:
        """The axis as it moves against what pulls at it."""
        return replace(self, pull=np.abs(self.pull))

    def downward(self) -> Plant:
        """The axis as it moves with what pulls at it."""
        return replace(self, pull=-np.abs(self.pull))

    def without_friction(self) -> Plant:
        """The same axis with a transmission that loses nothing and helps nobody."""
        one = np.ones_like(self.driving)
        return replace(self, driving=one, driven=one)

    def torque(self, acceleration: Vector) -> Vector:
        """Torque of the motor in N*m (N) that gives this acceleration in m/s^2 (rad/s^2).

        Balance of forces on the load, of torques on the rotor (Newton, Euler).
        """
        force = self.mass * acceleration + self.pull
        share = np.where(force > 0, 1 / self.driving, self.driven)
        return self.rotor * acceleration * self.turns + force / self.turns * share

    def acceleration(self, torque: Vector) -> Vector:
        """Acceleration in m/s^2 (rad/s^2) under this torque of the motor in N*m (N)."""
        turned = self.rotor * self.turns**2
        driving = (torque * self.turns * self.driving - self.pull) / (
            self.mass + turned * self.driving
        )
        driven = (torque * self.turns - self.driven * self.pull) / (
            self.driven * self.mass + turned
        )
        return np.where(self.mass * driving + self.pull > 0, driving, driven)

"""What is measured on a trace: a figure with its uncertainty, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass, field

QUANTITIES = (
    "steady_lag", "peak_lag", "settling_time", "overshoot", "rms_torque", "peak_torque",
    "stop_distance", "friction", "inertia", "resonance",
)  # fmt: skip
"""What a trace may tell, in the order that it is shown."""


class CannotBeTold(Exception):
    """A trace does not tell a quantity; `reason` ends the sentence `cannot be told because …`."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Measured:
    """A figure in SI that a trace tells; the true one lies within `uncertainty` of it.

    `speed` is the one that it was measured at, in m/s or rad/s of the axis, where it depends on
    one; `parts` are further figures that belong to it, by name: value and unit.
    """

    value: float
    unit: str
    uncertainty: float
    basis: str
    speed: float | None = None
    parts: dict[str, tuple[float, str]] = field(default_factory=dict)


WIDEST = 0.25
"""Share of a figure that its uncertainty may be; a figure with more is none."""


def sure_enough(found: Measured, why: str, widest: float = WIDEST) -> Measured:
    """The figure, if its uncertainty leaves something of it. Raises CannotBeTold."""
    if found.uncertainty > widest * abs(found.value):
        raise CannotBeTold(why)
    return found

"""Sizes of the controller's user units: by the scale that the axis record states, and no other.

What a controller calls a unit has nothing to do with the drive's scaling. A way is in the unit of
`scale.per`, a speed in that a second, and so on (common practice, no source).
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.scaling import Sizes, rated
from vault.model.quantities import physical

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord

USER_UNITS = ("user_position", "user_velocity", "user_acceleration", "user_jerk")


def controller_sizes(axis: AxisRecord | None) -> Sizes:
    """Sizes of the controller's units; none where the record states no scale."""
    scale = axis.controller.scale if axis is not None and axis.controller is not None else None
    unit = physical(1, scale.per.unit) if scale is not None and scale.per.unit else None
    if scale is None or unit is None:
        return Sizes("nominal", {}, {})
    units = {name: rated(unit, order) if order else unit for order, name in enumerate(USER_UNITS)}
    count = unit * (Fraction(scale.per.value) / scale.counts)
    return Sizes("nominal", units | {"increments": count}, {})

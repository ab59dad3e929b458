"""What a controller calls a unit, and how many counts it sends for a way: the set's word first.

Where the set does not say it, the axis record does, as `controller.scale`. It has nothing to do
with the drive's scaling. A way is in the unit of the way that counts are given for, a speed in that
a second, and so on (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.scaling import Sizes, rated
from vault.model.quantities import Measure, physical

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

USER_UNITS = ("user_position", "user_velocity", "user_acceleration", "user_jerk")
COUNTS, COUNTS_PER = "controller_counts", "controller_counts_per"


@dataclass(frozen=True, slots=True)
class StatedScale:
    """So many counts for a way, as the set or axis.yaml has it; `per` has a unit of a way."""

    counts: Fraction
    per: Measure


@dataclass(frozen=True, slots=True)
class ControllerUnits:
    """What each of both says: the symbol of a user unit, and the scale."""

    own_symbol: str | None
    recorded_symbol: str | None
    own: StatedScale | None
    recorded: StatedScale | None

    @property
    def symbol(self) -> str | None:
        """Symbol of the user unit: `mm`, `deg`, `rev`; None where nobody says it."""
        return self.own_symbol or self.recorded_symbol

    @property
    def scale(self) -> StatedScale | None:
        """Counts and their way."""
        return self.own or self.recorded


def controller_units(
    find: Callable[[str], Parameter | None], counts: object, per: object
) -> ControllerUnits:
    """Unit and scale by the set that `find` looks into, and by `counts` and `per` of axis.yaml."""
    recorded_per = per if isinstance(per, Measure) else None
    own_per = find(COUNTS_PER)
    symbols = _symbol(own_per), _symbol(recorded_per)
    number = find(COUNTS)
    own_counts = None if number is None or isinstance(number.value, str) else number.value
    own_way = None if own_per is None else _way(own_per, symbols[0] or symbols[1])
    return ControllerUnits(
        *symbols,
        _scale(None if own_counts is None else Fraction(own_counts), own_way),
        _scale(Fraction(counts) if isinstance(counts, int) else None, recorded_per),
    )


def _symbol(per: Parameter | Measure | None) -> str | None:
    size = None if per is None or per.unit is None else physical(1, per.unit)
    return per.unit if per is not None and _is_way(size) else None


def _is_way(size: Physical | None) -> bool:
    return size is not None and size.kind in ("length", "angle")


def _way(per: Parameter, symbol: str | None) -> Measure | None:
    """The way that the set gives its counts for: a bare one is in the user unit."""
    if isinstance(per.value, str):
        return None
    unit = symbol if per.unit is None or per.unit in USER_UNITS else per.unit
    return Measure(Decimal(per.value), unit)


def _scale(counts: Fraction | None, per: Measure | None) -> StatedScale | None:
    if not counts or per is None or not per.value or not _is_way(per.physical()):
        return None
    return StatedScale(counts, per)


def units_said(find: Callable[[str], Parameter | None], axis: AxisRecord | None) -> ControllerUnits:
    """Unit and scale by the set that `find` looks into, and by the record of its axis."""
    said = axis.controller.scale if axis is not None and axis.controller is not None else None
    return controller_units(find, said.counts if said else None, said.per if said else None)


def controller_sizes(found: ControllerUnits) -> Sizes:
    """Sizes of the units of a controller's set; none where neither it nor the record says them."""
    unit = physical(1, found.symbol) if found.symbol is not None else None
    if unit is None:
        return Sizes("nominal", {}, {})
    units = {name: rated(unit, order) if order else unit for order, name in enumerate(USER_UNITS)}
    way = found.scale.per.physical() if found.scale is not None else None
    if found.scale is not None and way is not None:
        # Negative counts turn the direction round, and no size: a modulo is a way, not less than 0.
        units["increments"] = way * (1 / abs(found.scale.counts))
    return Sizes("nominal", units, {})

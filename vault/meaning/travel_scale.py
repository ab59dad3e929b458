"""Where an axis may go and how far it goes for a command, on two sides; m or rad.

Everything as it is on the machine as built, not as a set believes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from vault.meaning.explainers.limits import HIGH, LOW, are_off
from vault.meaning.explainers.meanings import WAY, sized
from vault.meaning.explainers.rooms import stops_for
from vault.meaning.explainers.travel import travel_ratio
from vault.meaning.findings import is_linear

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change
    from vault.model.quantities import Physical

_SHIFT = "shift of every position"
"""What explainers of homing call it among their findings."""

_COMMANDED = {True: 0.1, False: pi / 2}
"""Way to command where the record has no reference move: 100 mm, or a quarter of a turn."""


@dataclass(frozen=True, slots=True)
class TravelSide:
    """Software limits of a state, None where they do not act; and what a commanded way becomes."""

    low: float | None
    high: float | None
    moved: float | None

    @property
    def has_limits(self) -> bool:
        """Whether there are limits to draw."""
        return self.low is not None and self.high is not None


@dataclass(frozen=True, slots=True)
class TravelScale:
    """Travel before and after; `stops` are the hard stops, `commanded` the way both were told.

    Unless `is_real`, only the ratio of the two ways is known, and the first stands for one.
    """

    before: TravelSide
    after: TravelSide
    commanded: float
    is_real: bool
    stops: tuple[float, float] | None
    like: Physical

    @property
    def is_rescaled(self) -> bool:
        """Whether a command goes another way than it did."""
        one, other = self.before.moved, self.after.moved
        return one is not None and other is not None and abs(one - other) > 1e-6 * abs(one)

    @property
    def is_limited_anew(self) -> bool:
        """Whether the limits lie elsewhere, or do not act any more."""
        pairs = ((self.before.low, self.after.low), (self.before.high, self.after.high))
        return any(
            (one is None) != (other is None)
            or (one is not None and other is not None and abs(one - other) > 1e-9)
            for one, other in pairs
        )


def travel_scale(left: AxisView, right: AxisView) -> TravelScale | None:
    """Limits and scale of both sides; None where they are alike, or not known."""
    like = _like(right) or _like(left)
    if like is None:
        return None
    commanded = _commanded(right, like)
    before, after = _moved(left, right, commanded)
    scale = TravelScale(
        TravelSide(*_limits(left, like), before),
        TravelSide(*_limits(right, like), after),
        commanded,
        right.scaling.travel_error is not None,
        stops_for(right, like),
        like,
    )
    return scale if scale.is_rescaled or scale.is_limited_anew else None


def _like(view: AxisView) -> Physical | None:
    travel = view.scaling.travel
    if travel is not None:
        return travel.per_turn
    return sized(view, HIGH, WAY) or sized(view, LOW, WAY) or view.scaling.nominal_unit


def _limits(view: AxisView, like: Physical) -> tuple[float | None, float | None]:
    if are_off(view) is not False:
        return None, None
    low, high = sized(view, LOW, (like.kind,)), sized(view, HIGH, (like.kind,))
    if low is None or high is None:
        return None, None
    return float(low.number()), float(high.number())


def _commanded(view: AxisView, like: Physical) -> float:
    measure = view.mechanics.stroke if view.mechanics is not None else None
    size = measure.physical() if measure is not None else None
    fits = size is None or is_linear(size) == is_linear(like)
    return (view.reference_move if fits else None) or _COMMANDED[is_linear(like)]


def _moved(left: AxisView, right: AxisView, way: float) -> tuple[float | None, float | None]:
    """What a commanded way becomes on both sides: k times it, else by the ratio of the sets."""
    before, after = left.scaling.travel_error, right.scaling.travel_error
    if before is not None and after is not None:
        return float(before) * way, float(after) * way
    ratio = travel_ratio(left, right)
    if ratio is None or before is not None or after is not None:
        return None, None
    return way, float(ratio) * way


@dataclass(frozen=True, slots=True)
class PositionShift:
    """How far every position lies elsewhere, against the room behind the software limits."""

    size: float
    low: float
    high: float
    stops: tuple[float, float] | None
    like: Physical

    @property
    def rooms(self) -> tuple[float, float] | None:
        """Way from limit to hard stop at the lower and at the upper end."""
        if self.stops is None:
            return None
        return self.low - self.stops[0], self.stops[1] - self.high


def position_shift(change: Change, right: AxisView) -> PositionShift | None:
    """The shift that a change's findings tell, where there are limits that shift with it."""
    like = _like(right)
    found = next((one for one in change.findings if one.quantity == _SHIFT), None)
    if like is None or found is None or found.unit != ("m" if is_linear(like) else "rad"):
        return None
    low, high = _limits(right, like)
    size = abs(float(found.value))
    if low is None or high is None or high <= low or size == 0:
        return None
    return PositionShift(size, low, high, stops_for(right, like), like)

"""Where an axis may go and how far it goes for a command, on two sides; m or rad.

Everything as it is on the machine as built, not as a set believes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.move import reference_way
from vault.behaviour.position_limits import hard_stops, rooms, stated_limits
from vault.behaviour.scale import unit as unit_of
from vault.behaviour.travel import ways_of_a_command

if TYPE_CHECKING:
    from vault.behaviour.position_limits import Ends
    from vault.behaviour.state import State
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

_SHIFT = "shift of every position"
"""What explainers of homing call it among their findings."""

_COMMANDED = {"m": 0.1, "rad": pi / 2}
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

    `unit` is m or rad. Unless `is_real`, only the ratio of the two ways is known, and the first
    stands for one.
    """

    before: TravelSide
    after: TravelSide
    commanded: float
    is_real: bool
    stops: Ends | None
    unit: str

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
    unit = right.state.asked(unit_of) or left.state.asked(unit_of)
    if unit is None:
        return None
    way = right.state.asked(reference_way)
    commanded = _COMMANDED[unit] if way is None or way.value <= 0 else way.value
    before, after = ways_of_a_command(left.state, right.state, commanded)
    scale = TravelScale(
        TravelSide(*_limits(left.state, unit), before),
        TravelSide(*_limits(right.state, unit), after),
        commanded,
        right.scaling.travel_error is not None,
        right.state.asked(hard_stops),
        unit,
    )
    return scale if scale.is_rescaled or scale.is_limited_anew else None


def _limits(state: State, unit: str) -> tuple[float | None, float | None]:
    limits = state.asked(stated_limits)
    if limits is None or state.asked(unit_of) != unit:
        return None, None
    return limits.negative, limits.positive


@dataclass(frozen=True, slots=True)
class PositionShift:
    """How far every position lies elsewhere, against the room behind the software limits."""

    size: float
    low: float
    high: float
    stops: Ends | None
    rooms: Ends | None
    unit: str


def position_shift(change: Change, right: AxisView) -> PositionShift | None:
    """The shift that a change's findings tell, where there are limits that shift with it."""
    unit = right.state.asked(unit_of)
    found = next((one for one in change.findings if one.quantity == _SHIFT), None)
    limits = right.state.asked(stated_limits)
    if unit is None or found is None or found.unit != unit or limits is None:
        return None
    size = abs(float(found.value))
    if limits.apart <= 0 or size == 0:
        return None
    stops, room = right.state.asked(hard_stops), right.state.asked(rooms)
    return PositionShift(size, *limits, stops, room, unit)

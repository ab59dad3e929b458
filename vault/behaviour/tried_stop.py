"""How far the axis should go when it is stopped from a speed that somebody held and stated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure
from vault.behaviour.following import lag_at
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import holds_position
from vault.behaviour.scale import is_linear
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import worst_speed
from vault.behaviour.stop import fault_stop_reach, quick_stop_reach, slow_ramp_stop

if TYPE_CHECKING:
    from vault.behaviour.state import State

_STATED = "the speed that was held"


@dataclass(frozen=True, slots=True)
class ExpectedStop:
    """The way of a stop from a stated speed, and the `lag` that the axis may have had then besides.

    What the axis lags behind its set point at the edge it goes too, until it stands; None where
    nobody knows.
    """

    way: Figure
    lag: float | None

    @property
    def most(self) -> float:
        """The longest way that set and record explain, m or rad."""
        return self.way.value + (self.lag or 0.0)


def expected_stop(state: State, speed: float, by: str) -> ExpectedStop:
    """The way of a stop by `quick_stop`, `fault` or `ramp` from a speed in m/s or rad/s.

    Raises Missing, DoesNotApply.
    """
    unit = "m/s" if state.ask(is_linear) else "rad/s"
    held = state.supposing(worst_speed, Figure(speed, unit, _STATED))
    if by == "ramp":
        stop = held.ask(slow_ramp_stop)
        way = Figure(stop.reach, axis_unit(state), stop.basis, stop.bound)
    else:
        way = held.ask(fault_stop_reach if by == "fault" else quick_stop_reach)
    return ExpectedStop(way, _lag(state, speed))


def _lag(state: State, speed: float) -> float | None:
    if not holds_position(state):
        return 0.0
    try:
        return lag_at(state, speed).value
    except (Missing, DoesNotApply):
        return None

"""The room between the software limits and the hard stops, at both ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, exact_unless, fact
from vault.behaviour.force import falling_end
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import holds_position
from vault.behaviour.scale import HIGH, LOW, position
from vault.behaviour.scale import unit as axis_unit

if TYPE_CHECKING:
    from vault.behaviour.state import State


@dataclass(frozen=True, slots=True)
class Rooms:
    """Way (m or rad) from each software limit to the hard stop behind it, less a shift."""

    low: float
    high: float

    @property
    def least(self) -> float:
        """At the end with less."""
        return min(self.low, self.high)


def rooms(state: State) -> Rooms:
    """The room at both ends. Raises Missing, DoesNotApply."""
    if not holds_position(state):
        raise DoesNotApply
    low, high = position(state, LOW), position(state, HIGH)
    if low is None or high is None:
        raise Missing(*(role for role, end in ((LOW, low), (HIGH, high)) if end is None))
    if low >= high or state.choice("software_position_limits_used") == 0:
        raise DoesNotApply  # without limits nothing but a switch stops the axis before its end
    stops = [state.recorded(f"mechanics.hard_stop_{end}") for end in ("low", "high")]
    if stops[0] is None or stops[1] is None:
        if state.record("mechanics.kind") in ("rotary", "rotary_table"):
            raise DoesNotApply  # it may turn without end
        raise Missing("mechanics.hard_stop_low", "mechanics.hard_stop_high")
    # Rounded to picometres: a stop that just fits must fit in floating point too.
    shift, doubt = state.shift
    return Rooms(
        round(low + shift - stops[0] - doubt, 12), round(stops[1] - high - shift - doubt, 12)
    )


def room(state: State) -> Figure:
    """The least way from a software limit to the hard stop behind it, less a shift of position."""
    basis = "software limit to hard stop, the lesser end, less a shift"
    return Figure(state.ask(rooms).least, axis_unit(state), basis)


@fact("room where the load falls")
def falling_room(state: State) -> Figure:
    """Room at the end that the load falls to; where nobody says which, there is at least so much.

    Raises Missing, DoesNotApply.
    """
    both, end = state.ask(rooms), state.ask(falling_end)
    unit, basis = axis_unit(state), "software limit to hard stop, less a shift"
    if end is None:
        bound = exact_unless(both.low != both.high, "at_least")
        return Figure(both.least, unit, f"{basis}, the lesser end", bound)
    return Figure(both.low if end == "low" else both.high, unit, f"{basis}, the {end} end")

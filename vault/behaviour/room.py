"""The room that a stop has: from the software limits to the hard stops, less a shift of zero."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.facts import Bound, Figure, exact_unless, fact
from vault.behaviour.force import falling_end
from vault.behaviour.missing import DoesNotApply
from vault.behaviour.mode import holds_position
from vault.behaviour.position_limits import (
    Ends,
    hard_stops,
    limits_are_off,
    rooms,
    stated_limits,
)
from vault.behaviour.scale import unit as axis_unit

if TYPE_CHECKING:
    from vault.behaviour.state import State

_NO_LIMITS = (
    "no software limit acts: they are switched off, or the upper one is not above the lower, which "
    "many drives take for none"
)
_EITHER_WAY = "which way positions go by an offset differs between makers: taken either way"


def rooms_left(state: State) -> Ends:
    """The room at both ends, less a shift of every position. Raises Missing, DoesNotApply."""
    if not holds_position(state):
        raise DoesNotApply
    if state.asked(hard_stops) is None and state.record("mechanics.kind") in (
        "rotary", "rotary_table",
    ):  # fmt: skip
        raise DoesNotApply  # it may turn without end
    if state.ask(limits_are_off) or state.ask(stated_limits).apart <= 0:
        raise state.untold(_NO_LIMITS)
    behind, shift = state.ask(rooms), state.shift
    if shift:
        state.hedge(_EITHER_WAY)
    # Rounded to picometres: a stop that just fits must fit in floating point too.
    return Ends(round(behind.negative - shift, 12), round(behind.positive - shift, 12))


def _bound(state: State) -> Bound:
    return exact_unless(state.shift, "at_least")


def room(state: State) -> Figure:
    """The least way from a software limit to the hard stop behind it, less a shift of position."""
    basis = "software limit to hard stop, the lesser end, less a shift"
    return Figure(state.ask(rooms_left).least, axis_unit(state), basis, _bound(state))


@fact("room where the load falls")
def falling_room(state: State) -> Figure:
    """Room at the end that the load falls to; where nobody says which, there is at least so much.

    Raises Missing, DoesNotApply.
    """
    both, end = state.ask(rooms_left), state.ask(falling_end)
    unit, basis = axis_unit(state), "software limit to hard stop, less a shift"
    if end is None:
        bound = exact_unless(both.negative != both.positive, "at_least")
        return Figure(both.least, unit, f"{basis}, the lesser end", bound)
    size = both.negative if end == "low" else both.positive
    return Figure(size, unit, f"{basis}, the {end} end", _bound(state))

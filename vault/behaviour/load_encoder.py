"""The encoder at the load: what the drive reckons with between it and the motor.

60E6h over 60EBh are its increments in a motor revolution (CiA 402-2, from memory); as built these
are the way of a motor turn over the way of a count.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, fact
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import way_of_motor_turn
from vault.behaviour.scale import transmission
from vault.behaviour.state import kind_of

if TYPE_CHECKING:
    from vault.behaviour.state import State

INCREMENTS = "additional_encoder_increments"
REVOLUTIONS = "additional_encoder_motor_revolutions"
LOAD_ENCODER = "load_encoder"
CLOSES = f"{LOAD_ENCODER}.closes_position"
"""Key of the axis record: whether the drive positions by it."""


def counts_reckoned(state: State) -> float:
    """Counts of the load encoder in a motor revolution, as the drive reckons.

    Raises Missing; DoesNotApply for none.
    """
    counts, turns = state.number(INCREMENTS), state.number(REVOLUTIONS)
    if counts is None:
        raise Missing(INCREMENTS)
    turns = 1.0 if turns is None else turns
    if counts <= 0 or turns <= 0:
        raise DoesNotApply  # as delivered where none is used
    return counts / turns


def counts_as_built(state: State) -> float:
    """Counts of the load encoder in a motor revolution, by the machine. Raises Missing."""
    gears = state.ask(transmission)
    if gears.is_direct:
        raise DoesNotApply  # a linear motor's own encoder is at the load
    step, counts = state.recorded(f"{LOAD_ENCODER}.step"), state.record(f"{LOAD_ENCODER}.counts")
    kind = kind_of(state.record(f"{LOAD_ENCODER}.step"))
    if step is None or (kind == "length") != gears.is_linear:
        if gears.is_linear or not isinstance(counts, int):
            raise Missing(f"{LOAD_ENCODER}.{'step' if gears.is_linear else 'counts'}")
        step = 2 * pi / counts
    return state.ask(way_of_motor_turn).value / step


def may_close_position(state: State) -> bool:
    """Whether the drive positions by an encoder at the load, or nobody said that it does not."""
    if state.record(LOAD_ENCODER) is None:
        return False
    return state.record(CLOSES) is not False


@fact("ratio of the load encoder")
def load_ratio(state: State) -> Figure:
    """Way made over way told where the drive positions by its load encoder: 1 where it is right."""
    size = state.ask(counts_reckoned) / state.ask(counts_as_built)
    return Figure(size, "1", "(60E6h / 60EBh) / ((L / G) / way of a count)")

"""Over which way the axis knows its place, and how positions start over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, fact, margin
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import HIGH, LOW, position, transmission

if TYPE_CHECKING:
    from vault.behaviour.state import State

_MOST_BITS = 64
_MULTI_TURN = 5  # of `encoder_type`


def multi_turn_bits(state: State) -> int:
    """Bits that count turns: of the set, else of the encoder. Raises Missing, DoesNotApply."""
    kind = state.choice("encoder_type")
    if kind is not None and kind != _MULTI_TURN:
        raise DoesNotApply
    found = state.number("encoder_multi_turn_bits")
    if found is None:
        recorded = state.record("encoder.multi_turn_bits")
        found = float(recorded) if isinstance(recorded, int) else None
    if found is None:
        raise Missing("encoder.multi_turn_bits")
    if not 0 < found <= _MOST_BITS or found != int(found):
        raise DoesNotApply
    return int(found)


@fact("absolute range")
def absolute_range(state: State) -> Figure:
    """Way over which the encoder knows its place: 2^bits revolutions of the motor x L / G."""
    gears = state.ask(transmission)
    size = 2.0 ** state.ask(multi_turn_bits) * gears.per_turn / gears.gear
    return Figure(size, gears.unit, "2^bits L / G")


def stroke(state: State) -> Figure:
    """The stroke as recorded, else between the hard stops. Raises Missing."""
    unit = state.ask(transmission).unit
    found = state.recorded("mechanics.stroke")
    if found is not None:
        return Figure(found, unit, "mechanics.stroke")
    low, high = (state.recorded(f"mechanics.hard_stop_{end}") for end in ("low", "high"))
    if low is None or high is None:
        if state.record("mechanics.kind") in ("rotary", "rotary_table"):
            raise DoesNotApply
        raise Missing("mechanics.stroke")
    return Figure(high - low, unit, "hard stop to hard stop")


@margin("absolute_range", "availability", "what the encoder counts absolutely against the stroke")
def absolute(state: State) -> Held:
    """Beyond it the place is lost with the power."""
    return Held(state.ask(absolute_range), state.ask(stroke))


@margin("limits_in_stroke", "availability", "the stroke against the way between the limits")
def limits_in_stroke(state: State) -> Held:
    """Software limits farther apart than the stroke protect nothing at one end."""
    low, high = position(state, LOW), position(state, HIGH)
    if low is None or high is None:
        raise Missing(*(role for role, end in ((LOW, low), (HIGH, high)) if end is None))
    if low >= high:
        raise DoesNotApply
    have = state.ask(stroke)
    return Held(have, Figure(high - low, have.unit, "upper less lower limit"))

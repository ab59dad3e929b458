"""Over which way the axis knows its place, how positions start over, and when they run over."""

from __future__ import annotations

from fractions import Fraction
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, fact, margin
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position_limits import limits_are_off
from vault.behaviour.scale import HIGH, LOW, position, transmission
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import profile_speed
from vault.model.axis import Duty
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from vault.behaviour.scaling import Travel
    from vault.behaviour.state import State

MOST_BITS = 64
_ENDLESS = ("rotary_table", "rotary")
_MULTI_TURN = 5  # of `encoder_type`


def is_single_turn(state: State) -> bool:
    """Whether the set says that the encoder does not count turns without power."""
    return state.choice("encoder_type") not in (None, _MULTI_TURN)


def multi_turn_bits(state: State) -> int:
    """Bits that count turns: of the set, else of the encoder. Raises Missing, DoesNotApply."""
    if state.ask(is_single_turn):
        raise DoesNotApply
    found = state.number("encoder_multi_turn_bits")
    if found is None:
        recorded = state.record("encoder.multi_turn_bits")
        found = float(recorded) if isinstance(recorded, int) else None
    if found is None:
        raise Missing("encoder.multi_turn_bits")
    if not 0 < found <= MOST_BITS or found != int(found):
        raise DoesNotApply
    return int(found)


def is_endless(state: State) -> bool:
    """Whether the axis turns on and on: neither stroke nor hard stops are recorded."""
    return state.record("mechanics.kind") in _ENDLESS and state.asked(stroke) is None


def _endless(state: State) -> Travel:
    """The transmission of an endless axis, exactly. Raises DoesNotApply for another."""
    if not state.ask(is_endless) or state.scaling.travel is None:
        raise DoesNotApply
    return state.scaling.travel


@fact("way of a motor turn")
def way_of_motor_turn(state: State) -> Figure:
    """Way of the axis for a turn of the motor, L / G: an index pulse comes once in it."""
    gears = state.ask(transmission)
    return Figure(gears.per_turn / gears.gear, gears.unit, "L / G")


def range_of(state: State, bits: int) -> Figure:
    """Way over which an encoder with so many bits of turns knows its place. Raises Missing."""
    turn = state.ask(way_of_motor_turn)
    return Figure(2.0**bits * turn.value, turn.unit, "2^bits L / G")


def stated_range(state: State) -> Figure:
    """The range by the bits of the set alone; without any it is a turn. Raises Missing."""
    bits = state.number("encoder_multi_turn_bits")
    if bits is None:
        raise Missing("encoder_multi_turn_bits")
    if not 0 <= bits <= MOST_BITS or bits != int(bits):
        raise DoesNotApply
    return range_of(state, int(bits))


@fact("absolute range")
def absolute_range(state: State) -> Figure:
    """Way over which the encoder knows its place: 2^bits revolutions of the motor x L / G."""
    return range_of(state, state.ask(multi_turn_bits))


@fact("zero lost when the turns run over")
def lost_turn(state: State) -> Figure:
    """How far zero lies elsewhere each time the encoder's turns of an endless axis run over.

    2^bits / G turns of the axis, less the whole ones: a gear that does not close loses the rest.
    """
    travel = _endless(state)
    turns = 2 ** state.ask(multi_turn_bits) / travel.gear % 1
    rest = min(turns, 1 - turns)  # either way round
    return Figure(2 * pi * float(rest), "rad", "(2^bits / G) turns, less the whole ones")


@fact("time until the turns run over")
def time_to_run_over(state: State) -> Figure:
    """How long an endless axis may turn one way until its encoder's turns run over, in s.

    At what its duty makes of it; without one at the profile speed, which is the soonest.
    """
    _endless(state)
    way = state.ask(absolute_range).value
    net, cycle = _net_way(state)
    if net and cycle:
        return Figure(way / net * cycle, "s", "absolute range over the duty's net way")
    speed = state.ask(profile_speed).value
    return Figure(way / speed, "s", "absolute range / v at profile speed", "at_least")


def _net_way(state: State) -> tuple[float, float]:
    """How far (rad) a cycle (s) of the duty leaves the axis from where it began; else zero."""
    duty = state.record("duty")
    if not isinstance(duty, Duty):
        return 0.0, 0.0
    ways = [si_number(move.distance) or 0.0 for move in duty.moves]
    return abs(sum(ways)), si_number(duty.cycle) or 0.0


def counts_of_turn(state: State) -> Fraction:
    """Increments in a turn of an endless axis, R G, exactly. Raises Missing, DoesNotApply."""
    travel, own = _endless(state), state.scaling
    counted = own.encoder_fitted or own.encoder
    if counted is None:
        raise Missing("position_encoder_increments")
    return counted * travel.gear


@fact("increments of a turn")
def increments_of_turn(state: State) -> Figure:
    """Increments in a turn of an endless axis; a fraction of one adds up turn by turn."""
    return Figure(float(state.ask(counts_of_turn)), "increments", "R G")


def units_of_turn(state: State) -> Fraction:
    """User units in a turn of an endless axis as built, exactly. Raises Missing, DoesNotApply."""
    travel, turns = _endless(state), state.scaling.motor_turns
    if not turns:
        raise Missing("feed_constant_feed")
    return travel.gear / turns


@fact("user units of a turn")
def user_units_of_turn(state: State) -> Figure:
    """User units in a turn of an endless axis; its positions start over after whole turns."""
    return Figure(float(state.ask(units_of_turn)), "1", "gear as built / turns a unit")


def closes(width: Fraction, turn: Fraction) -> bool:
    """Whether positions that start over after `width` user units do so after whole turns.

    Some drives count the upper end as its own place, so a range of one unit less is whole too.
    """
    return any((size / turn).denominator == 1 for size in (width, width + 1))


def stroke(state: State) -> Figure:
    """The stroke as recorded, else between the hard stops. Raises Missing."""
    unit = axis_unit(state)
    found = state.recorded("mechanics.stroke")
    if found is not None:
        return Figure(found, unit, "mechanics.stroke")
    low, high = (state.recorded(f"mechanics.hard_stop_{end}") for end in ("low", "high"))
    if low is None or high is None:
        if state.record("mechanics.kind") in _ENDLESS:
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
    if low >= high or state.ask(limits_are_off):
        raise DoesNotApply
    have = state.ask(stroke)
    return Held(have, Figure(high - low, have.unit, "upper less lower limit"))

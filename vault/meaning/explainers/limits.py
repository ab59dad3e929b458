"""Software limits and position range: how far the axis may go, against its stroke."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.position import is_endless, stroke
from vault.behaviour.position_limits import (
    LIMITS_USED,
    ROUNDING,
    both_zero,
    high_limit_and_stop,
    limits_are_off,
    low_limit_and_stop,
    position_range,
    rooms,
    stated_limits,
    travel_between_limits,
)
from vault.behaviour.scale import HIGH, LOW
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import worst_speed
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import WAY, chosen_in, of_kind
from vault.meaning.explainers.ramps import stop_basis, stop_of, top
from vault.meaning.explainers.rooms import shortage
from vault.meaning.findings import figure, finding, in_reader_units, in_words, length_or_angle

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

# Software limits.
LIMIT_GONE = "Without it the set has no software limit at the {end} end."
BOTH_ZERO = "Both software limits are zero, which commonly switches them off: {goes_on}."
GOES_ON = {
    "ends": "the axis runs on to its over-travel switches or hard stops",
    "endless": "the axis is recorded without ends, and turns on and on",
}
NO_EFFECT = "Software limits are switched off: it has no effect."
NEW_STOP = "The axis stops at it at its {end} end; the other set has the limits off."
FARTHER = "The axis may go {distance} farther at its {end} end."
LESS_FAR = "The axis may go {distance} less far at its {end} end."
OUT_OF_ORDER = "The lower limit is not below the upper one."
BETWEEN = "Between the limits lie {distance}{instead}."
INSTEAD = " instead of {distance}"
BEYOND_STOP = "It lies {distance} beyond the hard stop at {stop}: the axis meets the stop first."
LITTLE_ROOM = "To the hard stop there are {room}; a quick stop from {speed} takes {distance}."

# Whether they are used.
USE_UNKNOWN = "Without it the set does not say whether software limits stop the axis."
SWITCHED_OFF = "Software limits do not stop the axis: {goes_on}."
ZERO_ALL_THE_SAME = "Both limits are zero, though, which commonly switches them off."
IN_USE = "Software limits stop the axis."
IN_USE_AT = "Software limits stop the axis at {low} and {high}."
STOP_TAKES = "A quick stop takes {distance}, {shortage}."

# The range of position values.
NO_RANGE = "The range has no length: positions do not start over."
STARTS_OVER = "Position values run over {distance} and then start over at the other end."
TWO_PLACES = "The stroke is {stroke}: values stand for two places in it."


@explains(LOW, HIGH)
def software_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Travel gained or lost, against stroke and stopping distance."""
    upper = change.shown.role == HIGH
    end = "positive" if upper else "negative"
    was_off, state = left.state.asked(limits_are_off), right.state
    goes_on, unlimited = _goes_on(state)
    if change.right is None:
        return Explanation(LIMIT_GONE.format(end=end), "travel" if was_off else unlimited)
    if state.asked(both_zero):
        idle = was_off and change.left is not None
        text = BOTH_ZERO.format(goes_on=goes_on)
        return Explanation(text, "travel" if idle else unlimited)
    if state.choice(LIMITS_USED) == 0:
        return Explanation(NO_EFFECT, "travel")
    before, after = of_kind(change.left_physical, WAY), of_kind(change.right_physical, WAY)
    if after is None:
        return None
    findings: list[Finding] = []
    said: list[str] = []
    outward = False
    if before is not None and before.kind == after.kind:
        gap = float((after - before).number())
        outward = (gap > 0 if upper else gap < 0) and not was_off
        findings.append(figure("limit moved by", gap, "right less left", like=after))
        if was_off:
            said.append(NEW_STOP.format(end=end))
        elif gap:
            text = FARTHER if outward else LESS_FAR
            said.append(text.format(distance=length_or_angle(abs(gap), after), end=end))
    bad = _between(left.state, state, said, findings)
    bad = _against_stop(upper, state, said) or bad
    if not bad and (outward or before is None):
        bad = _against_ramp(upper, right, said)
    return Explanation(" ".join(said), "hazard" if bad or outward else "travel", tuple(findings))


def _goes_on(state: State) -> tuple[str, str]:
    """Where the axis goes without software limits, and the class of that."""
    if state.asked(is_endless):
        return GOES_ON["endless"], "travel"
    return GOES_ON["ends"], "hazard"


def _between(left: State, right: State, said: list[str], findings: list[Finding]) -> bool:
    """Travel between the limits; tells whether they are out of order."""
    before, after = (state.asked(travel_between_limits) for state in (left, right))
    if after is None:
        return False
    findings.append(finding("travel between the limits", after))
    if after.value <= 0:
        said.append(OUT_OF_ORDER)
        return True
    instead = ""
    if before is not None and before.unit == after.unit and before.value > 0:
        differs = before.value != after.value
        instead = INSTEAD.format(distance=in_words(before)) if differs else ""
    said.append(BETWEEN.format(distance=in_words(after), instead=instead))
    return False


def _against_stop(upper: bool, state: State, said: list[str]) -> bool:
    """Whether a limit lies beyond its hard stop."""
    found = state.asked(high_limit_and_stop if upper else low_limit_and_stop)
    if found is None or found.beyond <= ROUNDING:
        return False
    unit = state.ask(axis_unit)
    distance, stop = (in_reader_units(size, unit) for size in (found.beyond, found.stop))
    said.append(BEYOND_STOP.format(distance=distance, stop=stop))
    return True


def _against_ramp(upper: bool, view: AxisView, said: list[str]) -> bool:
    """Whether a quick stop that starts at the limit ends beyond the hard stop."""
    ends, stop = view.state.asked(rooms), stop_of(view, "quick_stop_deceleration")
    velocity = view.state.asked(worst_speed)
    if velocity is None or stop is None or ends is None:
        return False
    room, unit = ends.positive if upper else ends.negative, view.state.ask(axis_unit)
    if stop[1] <= room + ROUNDING:
        return False
    text = LITTLE_ROOM.format(
        room=in_reader_units(room, unit),
        speed=in_words(velocity),
        distance=in_reader_units(stop[1], unit),
    )
    said.append(text)
    return True


@explains(LIMITS_USED)
def limits_used(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Limits that are switched off protect nothing."""
    used, was = chosen_in(right, LIMITS_USED), chosen_in(left, LIMITS_USED)
    if used is None:
        return Explanation(USE_UNKNOWN, "hazard") if change.right is None and was else None
    if used == 0:
        idle = was == 0 or left.state.asked(both_zero)
        goes_on, unlimited = _goes_on(right.state)
        text = SWITCHED_OFF.format(goes_on=goes_on)
        return Explanation(text, "travel" if idle else unlimited)
    if right.state.asked(both_zero):
        return Explanation(ZERO_ALL_THE_SAME, "hazard")
    limits = right.state.asked(stated_limits)
    if limits is None:
        return Explanation(IN_USE, "travel")
    findings: list[Finding] = []
    low, high = (in_reader_units(end, right.state.ask(axis_unit)) for end in limits)
    said = [IN_USE_AT.format(low=low, high=high)]
    stop, ramp = stop_of(right, "quick_stop_deceleration"), top(right)
    if stop is not None and ramp is not None and (short := shortage(right, stop[1], ramp)):
        findings.append(figure("way of a quick stop", stop[1], stop_basis(right), like=ramp))
        distance = length_or_angle(stop[1], ramp)
        said.append(STOP_TAKES.format(distance=distance, shortage=short))
    return Explanation(" ".join(said), "travel", tuple(findings))


@explains("min_position_range_limit", "max_position_range_limit")
def value_range(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Where position values start over (607Bh, from memory), against the stroke."""
    size, whole = right.state.asked(position_range), right.state.asked(stroke)
    if size is None:
        return None
    if size.value <= 0:
        return Explanation(NO_RANGE, "travel")
    text, findings = STARTS_OVER.format(distance=in_words(size)), (finding("position range", size),)
    if whole is not None and size.value < whole.value:
        text += f" {TWO_PLACES.format(stroke=in_words(whole))}"
        return Explanation(text, "hazard", findings)
    return Explanation(text, "travel", findings)

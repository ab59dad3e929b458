"""Homing: where zero is, and how the machine looks for it.

Home offset (607Ch), methods (6098h) and speeds (6099h) after CiA 402-2, from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour import homing
from vault.behaviour.force import hold_torque
from vault.behaviour.load_encoder import may_close_position
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import stroke
from vault.behaviour.position_limits import least_room
from vault.behaviour.stop import quick_stop_reach
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.inputs import inputs, serving
from vault.meaning.explainers.meanings import RAMP, SPEED, WAY, chosen_in, of_kind
from vault.meaning.findings import (
    digits,
    figure,
    finding,
    in_reader_units,
    in_words,
    length_or_angle,
    seconds,
    with_bound,
)
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.behaviour.facts import Figure
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change
    from vault.model.quantities import Physical

# Zero and its shift.
ZERO_GONE = "Without it zero lies where the drive itself puts it."
ZERO_AT = "Zero lies {distance} from the home mark."
SHIFT_AT_HOMING = (
    "From the next homing on, every position, software limits included, lies {distance} elsewhere."
)
SHIFT_AT_START = "From the next start of the drive on, every position lies {distance} elsewhere."
SHIFT_UNKNOWN = "From the next start of the drive on, every position lies elsewhere."
OTHER_ENCODER = "It belongs to another encoder: how far positions lie apart cannot be told."
LEAVES = "That leaves {room} behind a software limit."
LEAVES_TOO_LITTLE = (
    "That leaves {room} behind a software limit, where a quick stop takes {distance}."
)
LEAVES_NONE = (
    "That is more than the {room} between software limit and hard stop: the limits do not keep the "
    "axis off its stops."
)
NEVER_SET_UP = "Zero is also what a drive holds that was never set up."
NEVER_REFERENCED = "Zero is also what a drive holds that was never referenced."
REFERENCE_FIRST = "Reference the axis before it moves on its own."

# The search.
METHOD_GONE = "Without it the set does not say how the axis finds home."
MAKERS_METHOD = (
    "Method {number} is the maker's own: whether the axis moves, and which way, the drive's manual "
    "must tell."
)
NO_METHOD = "The standard gives method {number} no meaning."
NOT_HOMED = "The axis is not homed."
STANDS = (
    "At homing the axis does not move: where it stands becomes home. Zero is only right if it "
    "stands where it should."
)
SEARCH = "At homing the axis {search}."
STARTS = {
    -1: "starts in the negative direction",
    1: "starts in the positive direction",
    0: "starts",
}
OFF_SWITCH = "{start}, the other way where it stands on its switch,"
TO_PULSE = "{start} and stops at the next index pulse"
TO_SWITCH = "{start} and looks for {switch}"
TO_SWITCH_AND_PULSE = "{start} and looks for {switch} and then the index pulse"
SWITCHES = {
    "negative over-travel": "the negative limit switch",
    "positive over-travel": "the positive limit switch",
    "homing switch": "the homing switch",
}
OPPOSITE = "The other method starts the opposite way."
NEWLY_MOVES = "The other method does not move the axis at all."
NO_INPUT = "No input reads {switch}: the search does not end there."
NO_PULSE = "Home is as exact as the switch: no index pulse is used."
A_TURN_OFF = "Home may lie up to a turn of the motor, {distance}, elsewhere."
MARKS_AT_LOAD = "If the mark is one of the load encoder, it lies as far as its marks are apart."
A_TURN_OFF_UNKNOWN = "Home may lie up to a turn of the motor elsewhere."

# Its speeds, time and torque.
NOUGHT = "What a drive does with nought here its manual must tell: it may not home at all."
FASTER = "The axis meets the switch faster and overruns it farther."
OVERRUN = "From {speed} the axis overruns its mark by {distance}{instead}, and then comes back."
INSTEAD = " instead of {distance}"
WAY_BEHIND = "The way behind the switch must be long enough for that."
NO_TIME_LIMIT = (
    "Nought commonly means no time limit: a search for a dead switch goes on to the end of the "
    "axis."
)
SEARCH_ENDS = "A search that finds nothing ends after {time}."
SEARCHED = "The axis can search {distance} in that time{stroke}."
WITHIN_STROKE = "; its stroke is {stroke}"
BELOW_STROKE = ", less than its stroke of {stroke}: it may find nothing"
NO_PUSH_LIMIT = "Without it the set does not limit the push of homing."
PUSH = "While homing the motor gives at most {torque}{thrust}{verdict}."
THRUST = ", {thrust} N at the axis"
SINKS = "; the load needs {torque} to be held, so it sinks"
HARDER = "; it meets a stop that much harder if the maker's method looks for one"


def shift(way: float, view: AxisView, *, moved: bool) -> tuple[str, str]:
    """What a shift of every position (m or rad) does to the software limits, and its class.

    Beyond the room behind a limit the axis meets a hard stop first.
    """
    if not moved:
        return "", "travel"
    room = view.state.asked(least_room)
    if room is None:
        return "", "hazard" if view.is_vertical else "travel"
    left, needed = homing.room_after(view.state, way), view.state.asked(quick_stop_reach)
    if left.value < 0:
        return LEAVES_NONE.format(room=in_words(room)), "hazard"
    if needed is not None and left.value < needed.value:
        text = LEAVES_TOO_LITTLE.format(room=in_words(left), distance=in_words(needed))
        return text, "travel"
    return LEAVES.format(room=in_words(left)), "travel"


@explains("home_offset")
def offset(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Every position shifts by the difference."""
    before, after = of_kind(change.left_physical, WAY), of_kind(change.right_physical, WAY)
    if change.right is None:
        return Explanation(ZERO_GONE, "travel")
    if after is None:
        return None
    if before is None or before.kind != after.kind:
        way = length_or_angle(abs(float(after.number())), after)
        return Explanation(ZERO_AT.format(distance=way), "travel")
    gap = float((after - before).number())
    more, consequence = shift(gap, right, moved=gap != 0)
    said = [
        SHIFT_AT_HOMING.format(distance=length_or_angle(abs(gap), after)),
        more,
        NEVER_SET_UP if after.ratio == 0 else "",
    ]
    return Explanation(
        " ".join(filter(None, said)),
        consequence,
        (figure("shift of every position", gap, "right less left", like=after),),
    )


@explains("encoder_absolute_offset")
def absolute(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The absolute reference moves at once, without homing."""
    if change.right is None:
        return None
    worst = "hazard" if right.is_vertical else "travel"
    check = [REFERENCE_FIRST, *([NEVER_REFERENCED] if change.right.value == 0 else [])]
    try:
        moved = homing.absolute_shift(left.state, right.state, str(change.shown.role))
    except DoesNotApply:
        return Explanation(" ".join([OTHER_ENCODER, *check]), worst)
    except Missing:
        return Explanation(" ".join([SHIFT_UNKNOWN, *check]), worst)
    distance = in_reader_units(abs(moved.value), moved.unit)
    more, worst = shift(moved.value, right, moved=moved.value != 0)
    said = [SHIFT_AT_START.format(distance=distance), *([more] if more else []), *check]
    return Explanation(" ".join(said), worst, (finding("shift of every position", moved),))


@explains("homing_method")
def method(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the axis does at its next homing, and which switch it looks for."""
    if change.right is None:
        return Explanation(METHOD_GONE, "travel")
    number, before = chosen(change.right), chosen(change.left)
    if number is None:
        return None
    if number < 0:
        worst = "travel" if before is None else "hazard"
        return Explanation(MAKERS_METHOD.format(number=number), worst)
    if not homing.has_meaning(number):
        return Explanation(NO_METHOD.format(number=number), "travel")
    if not homing.moves(number):
        return Explanation(NOT_HOMED if number == 0 else STANDS, "travel")
    turned = before is not None and homing.starts_opposite(before, number)
    starts = before is not None and homing.newly_moves(before, number)
    said = [SEARCH.format(search=_search(number)), *([OPPOSITE] if turned else [])]
    said += _missing_switch(number, right)
    if before is not None:
        said += [NO_PULSE] if homing.drops_the_pulse(before, number) else []
        said += _one_turn(before, number, right)
    said += [NEWLY_MOVES] if starts else []
    return Explanation(" ".join(said), "hazard" if turned or starts else "travel")


def _one_turn(before: int, after: int, view: AxisView) -> list[str]:
    """How far the index pulse may lie from its switch."""
    try:
        gap = homing.index_pulse_gap(view.state, before, after)
    except Missing:
        return [A_TURN_OFF_UNKNOWN]
    if gap is None:
        return []
    at_load = [MARKS_AT_LOAD] if view.state.ask(may_close_position) else []
    return [A_TURN_OFF.format(distance=in_words(gap)), *at_load]


def _search(number: int) -> str:
    """What moves, which way, towards what."""
    start = STARTS[homing.direction(number)]
    if homing.turns_on_switch(number):
        start = OFF_SWITCH.format(start=start)
    switch = next((name for name, known in homing.SWITCHES.items() if number in known), None)
    if switch is None:
        return TO_PULSE.format(start=start)
    text = TO_SWITCH_AND_PULSE if homing.looks_for_pulse(number) else TO_SWITCH
    return text.format(start=start, switch=SWITCHES[switch])


def _missing_switch(number: int, view: AxisView) -> list[str]:
    if not inputs(view):
        return []
    for function, methods in homing.SWITCHES.items():
        if number in methods and not serving(view, function):
            return [NO_INPUT.format(switch=SWITCHES[function])]
    return []


@explains("homing_switch_search_speed", "homing_zero_search_speed", "homing_acceleration")
def homing_speed(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How far the axis overruns its switch: v^2 / 2a on the homing ramp."""
    role = str(change.shown.role)
    if change.right is None:
        return None
    size, other = change.right_physical, change.left_physical
    if of_kind(size, RAMP if role == "homing_acceleration" else SPEED) is None:
        return None
    if size is not None and size.ratio <= 0:
        return Explanation(NOUGHT, "travel")
    before, after = overrun(left, role), overrun(right, role)
    if after is None:
        faster = size is not None and other is not None and size.number() > other.number()
        if role == "homing_acceleration" or not faster:
            return None
        return Explanation(FASTER, "travel")
    instead = ""
    if before is not None and before.value != after.value:
        instead = INSTEAD.format(distance=in_words(before))
    searched = homing.search_speed(right.state, _searched(role))
    speed = in_reader_units(searched, f"{after.unit}/s")
    distance = with_bound(after) if after.bound == "up_to" else in_words(after)
    text = OVERRUN.format(speed=speed, distance=distance, instead=instead)
    farther = before is None or after.value > before.value
    if before is not None and farther:
        text += f" {WAY_BEHIND}"
    figures = (finding("overrun at homing", after),)
    return Explanation(text, "travel" if farther else "dynamics", figures)


def _searched(role: str) -> str:
    """The speed that a role of homing decides with."""
    return homing.SEARCH_SPEED if role == "homing_acceleration" else role


def overrun(view: AxisView, role: str) -> Figure | None:
    """Way from a homing speed to standstill on the homing ramp."""
    at_pulse = _searched(role) == homing.ZERO_SPEED
    return view.state.asked(homing.pulse_overrun if at_pulse else homing.switch_overrun)


@explains("homing_time_out")
def time_out(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How far the axis can search in the time, against its stroke."""
    size = of_kind(change.right_physical, ("time",))
    if size is None:
        return None
    if size.ratio <= 0:
        return Explanation(NO_TIME_LIMIT, "hazard")
    searched, whole = right.state.asked(homing.way_searched), right.state.asked(stroke)
    if searched is None:
        return Explanation(SEARCH_ENDS.format(time=seconds(float(size.number()))), "travel")
    against = ""
    if whole is not None:
        against = BELOW_STROKE if searched.value < whole.value else WITHIN_STROKE
        against = against.format(stroke=in_words(whole))
    text = SEARCHED.format(distance=in_words(searched), stroke=against)
    return Explanation(text, "travel", (finding("way searched", searched),))


@explains("homing_torque_limit")
def torque_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How hard the axis pushes while it looks for home, and whether that holds its load."""
    size, before = (of_kind(s, ("torque",)) for s in (change.right_physical, change.left_physical))
    if change.right is None and change.left is not None:
        return Explanation(NO_PUSH_LIMIT, "hazard")
    torque, force = (
        right.state.asked(each) for each in (homing.homing_torque, homing.homing_thrust)
    )
    if size is None or torque is None:
        return None
    findings = [finding("torque while homing", torque)]
    parts = {"torque": _at_motor(torque), "thrust": "", "verdict": ""}
    if force is not None:
        findings.append(finding("thrust while homing", force))
        parts["thrust"] = THRUST.format(thrust=digits(force.value))
    harder = before is not None and _harder(left, right, size, before)
    needed = right.state.asked(hold_torque)
    sinks = homing.sinks_while_homing(right.state)
    if sinks and needed is not None:
        findings.append(finding("torque to hold the load", needed))
        parts["verdict"] = SINKS.format(torque=_at_motor(needed))
    elif harder and (chosen_in(right, "homing_method") or 0) < 0:
        parts["verdict"] = HARDER
    worst = "hazard" if sinks or harder else "dynamics"
    return Explanation(PUSH.format(**parts), worst, tuple(findings))


def _harder(left: AxisView, right: AxisView, size: Physical, before: Physical) -> bool:
    """Whether the axis pushes harder: at the axis where that is known, else at the motor."""
    one, other = (view.state.asked(homing.homing_thrust) for view in (left, right))
    if one is not None and other is not None:
        return other.value > one.value
    return size.number() > before.number()


def _at_motor(size: Figure) -> str:
    """A torque of the motor, or the force of a linear one."""
    return f"{digits(size.value)} {size.unit}"

"""Inputs: over-travel switches and whatever else stops, or starts, the axis."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from vault.behaviour.position_limits import limits_are_off
from vault.behaviour.scale import HIGH, LOW
from vault.meaning.consequences import rank
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import FALLS, WAY, chosen_in, of_kind, sized
from vault.meaning.explainers.ramps import stop_basis, stop_of, top
from vault.meaning.explainers.rooms import stops_for
from vault.meaning.findings import figure, length_or_angle, seconds, speed
from vault.model import choices

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.parameters import Parameter

OTHER_END = "The input reads the other end: unless the wires move too, no end stops the axis."
STARTS = "The input starts motion: {function}."
SERVES = "The input serves as {function}."
READ_FROM = "{function} is read from {inputs}: the wire must be there."
NOT_READ = "No input reads the over-travel switch at the {end} end{stop}."
STOP = {
    "limit": ": only the software limit at {place} stops the axis there",
    "hard stop": ": nothing stops the axis before its hard stop at {place}",
    "unknown": ", and no software limit is known to stop the axis there",
}
NO_HOMING_SWITCH = "No input reads the homing switch."
NONE_SERVES = "No input serves as {function}."
LOST = {
    "quick stop": "No input brings about a quick stop.",
    "halt": "No input halts the axis.",
    "enable": "No input holds the drive back from being switched on.",
    "external fault": "No input lets a fault outside stop the axis.",
    "torque limit": "No input limits the torque.",
}
NO_FUNCTION = "The input has no function: that does nothing."
INVERTED = "{function} acts on the opposite level{effect}."
INVERTED_UNKNOWN = "The input acts on the opposite level: check that a broken wire stops the axis."
EFFECT = {
    "stops": ": with the same wiring the input always stops the axis, or does not when it must. "
    "Check that a broken wire stops it",
    "starts": ": an open wire may start motion",
}
NO_STOP = "An over-travel switch does not stop the axis."
COASTS = "At an over-travel switch the axis coasts until friction, or its end, stops it."
POWER = {"on": "power stays on", "off": "power goes off"}
STOPPED = "When the axis has stopped, {power}."
BEHIND = "Behind the switch the axis needs {distance} to stop from {speed}; then {power}."
LATE = "A switch is noticed {time} late{way}."
WAY_IN_IT = "; at {speed} the axis goes {distance} in that time"
PROBE = {
    True: "The drive takes positions at its probe inputs: that moves and stops nothing by itself.",
    False: "The drive takes no positions at its probe inputs: what the controller measures by them "
    "is missing.",
}

_FUNCTION = "digital_input_function"
_INPUTS = 32
_PROBES_ON = 0x0101  # of 60B8h, from memory
_ENDS = {"positive over-travel": ("positive", HIGH), "negative over-travel": ("negative", LOW)}
_STARTS = (
    "run forward",
    "run reverse",
    "jog positive",
    "jog negative",
    "start homing",
)
_HARMLESS = ("not assigned", "fault reset", "touch probe 1", "touch probe 2")


def function_of(parameter: Parameter | None) -> str | None:
    """What an input does, as the table of `vault.model.choices` spells it in small letters.

    None for functions that the table has not; numbers alone say nothing, makers choose them.
    """
    if parameter is None or parameter.label is None:
        return None
    wanted = parameter.label.casefold()
    for known in choices.table(_FUNCTION).values():
        name = known.casefold()
        # "Positive over-travel, opens to stop" is one too; "Enable brake test" is none.
        if wanted == name or re.match(re.escape(name) + r"\s*[,(:;]", wanted):
            return name
    return None


def inputs(view: AxisView) -> dict[str, str | None]:
    """Function by input role, for all inputs of a view."""
    roles = [_FUNCTION, *(f"{_FUNCTION}.{number}" for number in range(2, _INPUTS + 1))]
    found = {role: view.find(role) for role in roles}
    return {role: function_of(known) for role, known in found.items() if known is not None}


def serving(view: AxisView, function: str) -> list[str]:
    """Names of the inputs that serve a function: `input 3`."""
    return [_input(role) for role, known in inputs(view).items() if known == function]


def _input(role: str) -> str:
    return f"input {role.partition('.')[2] or 1}"


@explains(_FUNCTION)
def input_function(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A protective input that is taken away is a hazard, and so is one that starts motion."""
    before, after = function_of(change.left), function_of(change.right)
    if before is None and after is None:
        return None
    said: list[str] = []
    worst = "dynamics" if after in (None, *_HARMLESS) else "travel"
    if before in _ENDS and after in _ENDS and before != after:
        return Explanation(OTHER_END, "hazard")
    if before is not None and before != after:
        text, lost = _taken_away(before, right)
        said += [text] if text else []
        worst = min(worst, lost, key=rank)
    if after in _STARTS:
        said.append(STARTS.format(function=after))
        worst = "hazard"
    elif after is not None and after != before and after not in _HARMLESS:
        said.append(SERVES.format(function=after))
    # A label that is not known may be protective: the usual class is the careful one.
    unknown = (change.left and before is None) or (change.right and after is None)
    if unknown and worst != "hazard":
        return None
    return Explanation(" ".join(said), worst)


def _taken_away(function: str, view: AxisView) -> tuple[str, str]:
    """What it means that an input has lost a function, and its class."""
    others = serving(view, function)
    if function in (*_ENDS, *LOST, "homing switch") and others:
        return READ_FROM.format(
            function=function.capitalize(), inputs=" and ".join(others)
        ), "travel"
    if function in _ENDS:
        return _end(function, view), "hazard"
    if function == "homing switch":
        return NO_HOMING_SWITCH, "travel"
    if function in LOST:
        return LOST[function], "hazard"
    return "" if function in _HARMLESS else NONE_SERVES.format(function=function), "dynamics"


def _end(function: str, view: AxisView) -> str:
    end, limit = _ENDS[function]
    size = sized(view, limit, WAY)
    stops = stops_for(view, size) if size is not None else None
    stop = STOP["unknown"]
    if size is not None and view.state.asked(limits_are_off) is False:
        stop = STOP["limit"].format(place=length_or_angle(float(size.number()), size))
    elif stops is not None and size is not None:
        place = length_or_angle(stops[1 if end == "positive" else 0], size)
        stop = STOP["hard stop"].format(place=place)
    return NOT_READ.format(end=end, stop=stop)


@explains("digital_input_inverted")
def inverted(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An input read the other way round: a broken wire may stop the axis, or let it run on."""
    if change.left is None or change.right is None:
        return None
    number = str(change.shown.role).partition(".")[2]
    parameter = right.find(f"{_FUNCTION}.{number}" if number else _FUNCTION)
    function = function_of(parameter)
    if function == "not assigned":
        return Explanation(NO_FUNCTION, "record")
    if function is None:
        return Explanation(INVERTED_UNKNOWN, "hazard")
    effect, worst = "", "travel" if function == "homing switch" else "dynamics"
    if function in (*_ENDS, *LOST):
        effect, worst = EFFECT["stops"], "hazard"
    elif function in _STARTS:
        effect, worst = EFFECT["starts"], "hazard"
    text = INVERTED.format(function=function.capitalize(), effect=effect)
    return Explanation(text, worst)


@explains("touch_probe_function")
def touch_probe(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A probe takes positions and protects nothing (60B8h, bits 0 and 8 switch them on)."""
    raw = change.right.raw if change.right is not None else None
    if not isinstance(raw, int):
        return Explanation("", "travel")
    return Explanation(PROBE[bool(raw & _PROBES_ON)], "travel")


@explains("overtravel_reaction")
def overtravel(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the drive does when the axis reaches an over-travel switch."""
    kind = chosen_in(right, "overtravel_reaction")
    if kind is None:
        return None
    if kind in (0, 1):
        was = chosen_in(left, "overtravel_reaction")
        return Explanation(NO_STOP, "dynamics" if was in (0, 1) else "hazard")
    if kind == 2:
        if right.is_vertical:
            return Explanation(f"{COASTS} {FALLS}", "hazard")
        return Explanation(COASTS, "dynamics")
    stop, velocity = stop_of(right, "quick_stop_deceleration"), top(right)
    power = POWER["on" if kind == 3 else "off"]
    if stop is None or velocity is None:
        return Explanation(STOPPED.format(power=power), "dynamics")
    return Explanation(
        BEHIND.format(
            distance=length_or_angle(stop[1], velocity),
            speed=speed(float(velocity.number()), velocity),
            power=power,
        ),
        "dynamics",
        (figure("way of a quick stop", stop[1], stop_basis(right), like=velocity),),
    )


@explains("digital_input_filter_time")
def filter_time(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How far the axis goes before the drive believes a switch."""
    size, velocity = of_kind(change.right_physical, ("time",)), top(right)
    if size is None:
        return None
    before = of_kind(change.left_physical, ("time",))
    time = float(size.number())
    longer = before is not None and size.number() > before.number()
    said = ""
    findings: tuple[Finding, ...] = ()
    if velocity is not None:
        way, at = float(velocity.number()) * time, speed(float(velocity.number()), velocity)
        said = WAY_IN_IT.format(speed=at, distance=length_or_angle(way, velocity))
        findings = (figure("way before a switch is noticed", way, "v t", like=velocity),)
    text = LATE.format(time=seconds(time), way=said)
    return Explanation(text, "travel" if longer else "dynamics", findings)

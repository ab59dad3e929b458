"""Inputs: over-travel switches and whatever else stops, or starts, the axis."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from vault.behaviour.position_limits import limits_are_off
from vault.behaviour.scale import HIGH, LOW
from vault.meaning.consequences import rank
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import WAY, chosen_in, of_kind, sized
from vault.meaning.explainers.ramps import stop_basis, stop_of, top
from vault.meaning.explainers.rooms import stops_for
from vault.meaning.findings import figure, length_or_angle, seconds, speed
from vault.model import choices

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change
    from vault.model.parameters import Parameter

_FUNCTION = "digital_input_function"
_INPUTS = 32
_ENDS = {"positive over-travel": ("positive", HIGH), "negative over-travel": ("negative", LOW)}
_LOST = {
    "quick stop": "No input brings about a quick stop.",
    "halt": "No input halts the axis.",
    "enable": "No input holds the drive back from being switched on.",
    "external fault": "No input lets a fault outside stop the axis.",
    "torque limit": "No input limits the torque.",
}
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
        text = "The input reads the other end: unless the wires move too, no end stops the axis."
        return Explanation(text, "hazard")
    if before is not None and before != after:
        text, lost = _taken_away(before, right)
        said += [text] if text else []
        worst = min(worst, lost, key=rank)
    if after in _STARTS:
        said.append(f"The input starts motion: {after}.")
        worst = "hazard"
    elif after is not None and after != before and after not in _HARMLESS:
        said.append(f"The input serves as {after}.")
    # A label that is not known may be protective: the usual class is the careful one.
    unknown = (change.left and before is None) or (change.right and after is None)
    if unknown and worst != "hazard":
        return None
    return Explanation(" ".join(said), worst)


def _taken_away(function: str, view: AxisView) -> tuple[str, str]:
    """What it means that an input has lost a function, and its class."""
    others = serving(view, function)
    if function in (*_ENDS, *_LOST, "homing switch") and others:
        places = " and ".join(others)
        return f"{function.capitalize()} is read from {places}: the wire must be there.", "travel"
    if function in _ENDS:
        return _end(function, view), "hazard"
    if function == "homing switch":
        return "No input reads the homing switch.", "travel"
    if function in _LOST:
        return _LOST[function], "hazard"
    return "" if function in _HARMLESS else f"No input serves as {function}.", "dynamics"


def _end(function: str, view: AxisView) -> str:
    end, limit = _ENDS[function]
    size = sized(view, limit, WAY)
    text = f"No input reads the over-travel switch at the {end} end"
    if size is not None and view.state.ask(limits_are_off) is False:
        place = length_or_angle(float(size.number()), size)
        return f"{text}: only the software limit at {place} stops the axis there."
    stops = stops_for(view, size) if size is not None else None
    if stops is not None and size is not None:
        stop = stops[1 if end == "positive" else 0]
        return f"{text}: nothing stops the axis before its hard stop at " + (
            f"{length_or_angle(stop, size)}."
        )
    return f"{text}, and no software limit is known to stop the axis there."


@explains("digital_input_inverted")
def inverted(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An input read the other way round: a broken wire may stop the axis, or let it run on."""
    if change.left is None or change.right is None:
        return None
    number = str(change.shown.role).partition(".")[2]
    parameter = right.find(f"{_FUNCTION}.{number}" if number else _FUNCTION)
    function = function_of(parameter)
    if function == "not assigned":
        return Explanation("The input has no function: that does nothing.", "record")
    if function is None:
        return Explanation(
            "The input acts on the opposite level: check that a broken wire stops the axis.",
            "hazard",
        )
    text = f"{function.capitalize()} acts on the opposite level"
    if function in (*_ENDS, *_LOST):
        return Explanation(
            f"{text}: with the same wiring the input always stops the axis, or does not stop "
            "it when it must. Check that a broken wire stops it.",
            "hazard",
        )
    if function in _STARTS:
        return Explanation(f"{text}: an open wire may start motion.", "hazard")
    return Explanation(f"{text}.", "travel" if function == "homing switch" else "dynamics")


@explains("overtravel_reaction")
def overtravel(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the drive does when the axis reaches an over-travel switch."""
    kind = chosen_in(right, "overtravel_reaction")
    if kind is None:
        return None
    if kind in (0, 1):
        was = chosen_in(left, "overtravel_reaction")
        return Explanation(
            "An over-travel switch does not stop the axis.",
            "dynamics" if was in (0, 1) else "hazard",
        )
    if kind == 2:
        text = "At an over-travel switch the axis coasts until friction, or its end, stops it."
        if right.is_vertical:
            text += " It hangs: until the brake closes the load falls."
        return Explanation(text, "hazard" if right.is_vertical else "dynamics")
    stop, velocity = stop_of(right, "quick_stop_deceleration"), top(right)
    after = "power stays on" if kind == 3 else "power goes off"
    if stop is None or velocity is None:
        return Explanation(f"When the axis has stopped, {after}.", "dynamics")
    return Explanation(
        f"Behind the switch the axis needs {length_or_angle(stop[1], velocity)} to stop from "
        f"{speed(float(velocity.number()), velocity)}; then {after}.",
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
    text = f"A switch is noticed {seconds(time)} late"
    longer = before is not None and size.number() > before.number()
    if velocity is None:
        return Explanation(f"{text}.", "travel" if longer else "dynamics")
    way = float(velocity.number()) * time
    text += (
        f"; at {speed(float(velocity.number()), velocity)} the axis goes "
        f"{length_or_angle(way, velocity)} in that time"
    )
    return Explanation(
        f"{text}.",
        "travel" if longer else "dynamics",
        (figure("way before a switch is noticed", way, "v t", like=velocity),),
    )

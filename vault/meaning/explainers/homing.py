"""Homing: where zero is, and how the machine looks for it.

Home offset (607Ch), methods (6098h) and speeds (6099h) after CiA 402-2, from memory.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.stop import quick_stop_reach
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.inputs import inputs, serving
from vault.meaning.explainers.meanings import RAMP, SPEED, WAY, chosen_in, of_kind, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.explainers.rooms import rooms
from vault.meaning.explainers.torque import holding_torque, thrust
from vault.meaning.findings import digits, figure, is_linear, length_or_angle, seconds, speed
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.quantities import Physical

_NEGATIVE = (1, 11, 12, 13, 14, 17, 27, 28, 29, 30, 33)
_POSITIVE = (2, 7, 8, 9, 10, 18, 23, 24, 25, 26, 34)
_PRESENT = (35, 37)
_POSITIVE_OFF, _NEGATIVE_OFF = (3, 4, 19, 20), (5, 6, 21, 22)
"""Methods that start one way while their switch does not act, and the other way on it."""
_RESERVED = (15, 16, 31, 32, 36)
_LAST = 37
_SWITCHES = {
    "negative over-travel": (1, 17),
    "positive over-travel": (2, 18),
    "homing switch": (*range(3, 15), *range(19, 31)),
}
_SWITCH_WORDS = {
    "negative over-travel": "the negative limit switch",
    "positive over-travel": "the positive limit switch",
    "homing switch": "the homing switch",
}


def shift(way: float, like: Physical, view: AxisView, *, moved: bool) -> tuple[str, str]:
    """What a shift of every position does to the software limits, and its class.

    `way` in m or rad. Beyond the room behind a limit the axis meets a hard stop first.
    """
    found = rooms(view)
    if not moved:
        return "", "travel"
    if not found:
        return "", "hazard" if view.is_vertical else "travel"
    room = min(size for _, size in found)
    needed = view.state.asked(quick_stop_reach)
    if way <= room and needed is not None and room - way < needed.value:
        return (
            f" That leaves {length_or_angle(room - way, like)} behind a software limit, where a "
            f"quick stop takes {length_or_angle(needed.value, like)}.",
            "travel",
        )
    if way > room:
        return (
            f" That is more than the {length_or_angle(room, like)} between software limit and "
            "hard stop: the limits do not keep the axis off its stops.",
            "hazard",
        )
    return f" That leaves {length_or_angle(room - way, like)} behind a software limit.", "travel"


@explains("home_offset")
def offset(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Every position shifts by the difference."""
    before, after = of_kind(change.left_physical, WAY), of_kind(change.right_physical, WAY)
    if change.right is None:
        return Explanation("Without it zero lies where the drive itself puts it.", "travel")
    if after is None:
        return None
    if before is None or before.kind != after.kind:
        way = length_or_angle(abs(float(after.number())), after)
        return Explanation(f"Zero lies {way} from the home mark.", "travel")
    gap = float((after - before).number())
    text = (
        f"From the next homing on, every position, software limits included, lies "
        f"{length_or_angle(abs(gap), after)} elsewhere."
    )
    more, consequence = shift(abs(gap), after, right, moved=gap != 0)
    if after.ratio == 0:
        more += " Zero is also what a drive holds that was never set up."
    return Explanation(
        text + more,
        consequence,
        (figure("shift of every position", gap, "right less left", like=after),),
    )


@explains("encoder_absolute_offset")
def absolute(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The absolute reference moves at once, without homing."""
    if change.right is None:
        return None
    worst = "hazard" if right.is_vertical else "travel"
    start = "From the next start of the drive on,"
    check = " Reference the axis before it moves on its own."
    if change.right.value == 0:
        check += " Zero is also what a drive holds that was never referenced."
    if left.scaling.encoder_fitted != right.scaling.encoder_fitted:
        text = "It belongs to another encoder: how far positions lie apart cannot be told."
        return Explanation(text + check, worst)
    turns = _motor_angle(change)
    travel = right.scaling.travel
    if turns is None or travel is None:
        return Explanation(f"{start} every position lies elsewhere.{check}", worst)
    step = travel.per_turn
    way = turns * float(step.number()) / float(travel.gear)
    more, worst = shift(abs(way), step, right, moved=way != 0)
    return Explanation(
        f"{start} every position lies {length_or_angle(abs(way), step)} elsewhere.{more}{check}",
        worst,
        (figure("shift of every position", way, "increments / R x L / G", like=step),),
    )


def _motor_angle(change: Change) -> float | None:
    """Difference of two offsets in motor revolutions."""
    before, after = (of_kind(s, ("angle",)) for s in (change.left_physical, change.right_physical))
    if before is None or after is None:
        return None
    return float((after - before).number()) / (2 * pi)


@explains("homing_method")
def method(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the axis does at its next homing, and which switch it looks for."""
    if change.right is None:
        return Explanation("Without it the set does not say how the axis finds home.", "travel")
    number, before = chosen(change.right), chosen(change.left)
    if number is None:
        return None
    if number < 0:
        return Explanation(
            f"Method {number} is the maker's own: the drive's manual says what moves.", "travel"
        )
    if number in _RESERVED or number > _LAST:
        return Explanation(f"The standard gives method {number} no meaning.", "travel")
    if number == 0:
        return Explanation("The axis is not homed.", "travel")
    if number in _PRESENT:
        text = "At homing the axis does not move: where it stands becomes home."
        return Explanation(f"{text} Zero is only right if it stands where it should.", "travel")
    turned = before is not None and direction(before) * direction(number) < 0
    said = [f"At homing the axis {_search(number)}."]
    said += ["The other method starts the opposite way."] if turned else []
    said += _missing_switch(number, right)
    if before is not None and before + 16 == number:
        said.append("Home is as exact as the switch: no index pulse is used.")
    if before is not None and _has_pulse(before) != _has_pulse(number):
        said += _one_turn(right)
    starts = before in (0, *_PRESENT)
    if starts:
        said.append("The other method does not move the axis at all.")
    return Explanation(" ".join(said), "hazard" if turned or starts else "travel")


def direction(method: int) -> int:
    """Way a homing method starts while its switch does not act: -1, 1, or 0 for none."""
    if method in (*_NEGATIVE, *_NEGATIVE_OFF):
        return -1
    return 1 if method in (*_POSITIVE, *_POSITIVE_OFF) else 0


def _has_pulse(method: int) -> bool:
    return 1 <= method <= 14 or method in (33, 34)


def _one_turn(view: AxisView) -> list[str]:
    """How far the index pulse may lie from its switch: a turn of the motor, L / G."""
    travel = view.scaling.travel
    if travel is None:
        return ["Home may lie up to a turn of the motor elsewhere."]
    turn = float(travel.per_turn.number()) / float(travel.gear)
    size = length_or_angle(turn, travel.per_turn)
    return [f"Home may lie up to a turn of the motor, {size}, elsewhere."]


def _search(method: int) -> str:
    """What moves, which way, towards what."""
    way = {
        -1: "starts in the negative direction",
        1: "starts in the positive direction",
        0: "starts",
    }[direction(method)]
    if method in (*_POSITIVE_OFF, *_NEGATIVE_OFF):
        way += ", the other way where it stands on its switch,"
    switch = next((name for name, known in _SWITCHES.items() if method in known), None)
    if switch is None:
        return f"{way} and stops at the next index pulse"
    pulse = " and then the index pulse" if method <= 14 else ""
    return f"{way} and looks for {_SWITCH_WORDS[switch]}{pulse}"


def _missing_switch(method: int, view: AxisView) -> list[str]:
    if not inputs(view):
        return []
    for function, methods in _SWITCHES.items():
        if method in methods and not serving(view, function):
            return [f"No input reads {_SWITCH_WORDS[function]}: the search does not end there."]
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
        text = "What a drive does with nought here its manual must tell: it may not home at all."
        return Explanation(text, "travel")
    searched = role if role != "homing_acceleration" else "homing_switch_search_speed"
    before, after = overrun(left, searched), overrun(right, searched)
    velocity = sized(right, searched, SPEED)
    if after is None or velocity is None:
        faster = size is not None and other is not None and size.number() > other.number()
        if role == "homing_acceleration" or not faster:
            return None
        return Explanation("The axis meets the switch faster and overruns it farther.", "travel")
    like = axis_speed(right, velocity)
    text = (
        f"From {speed(float(like.number()), like)} the axis overruns its mark by "
        f"{length_or_angle(after, like)}"
    )
    if before is not None and before != after:
        text += f" instead of {length_or_angle(before, like)}"
    text += ", and then comes back."
    findings = (figure("overrun at homing", after, "v^2 / 2a", like=like),)
    if before is not None and after > before:
        text += " The way behind the switch must be long enough for that."
    return Explanation(text, "travel" if before is None or after > before else "dynamics", findings)


def overrun(view: AxisView, role: str) -> float | None:
    """Way (m or rad) from a homing speed to standstill on the homing ramp."""
    velocity, ramp = sized(view, role, SPEED), sized(view, "homing_acceleration", RAMP)
    if velocity is None or ramp is None or ramp.ratio <= 0 or velocity.ratio < 0:
        return None
    velocity = axis_speed(view, velocity)
    if is_linear(velocity) != is_linear(ramp):
        return None
    return formulas.stop_distance(float(velocity.number()), float(ramp.number()))


@explains("homing_time_out")
def time_out(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How far the axis can search in the time, against its stroke."""
    size = of_kind(change.right_physical, ("time",))
    if size is None:
        return None
    if size.ratio <= 0:
        return Explanation(
            "Nought commonly means no time limit: a search for a dead switch goes on to the end "
            "of the axis.",
            "hazard",
        )
    velocity = sized(right, "homing_switch_search_speed", SPEED)
    if velocity is None or velocity.ratio <= 0:
        return Explanation(
            f"A search that finds nothing ends after {seconds(float(size.number()))}.", "travel"
        )
    like = axis_speed(right, velocity)
    way = float(like.number()) * float(size.number())
    findings: list[Finding] = [figure("way searched", way, "v t", like=like)]
    text = f"The axis can search {length_or_angle(way, like)} in that time"
    stroke = right.stroke
    if stroke is not None and way < stroke:
        text += f", less than its stroke of {length_or_angle(stroke, like)}: it may find nothing"
    elif stroke is not None:
        text += f"; its stroke is {length_or_angle(stroke, like)}"
    return Explanation(f"{text}.", "travel", tuple(findings))


@explains("homing_torque_limit")
def torque_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How hard the axis pushes while it looks for home, and whether that holds its load."""
    size, before = (of_kind(s, ("torque",)) for s in (change.right_physical, change.left_physical))
    if change.right is None and change.left is not None:
        return Explanation("Without it the set does not limit the push of homing.", "hazard")
    if size is None:
        return None
    torque = float(size.number())
    findings = [figure("torque while homing", torque, "share of the rating", unit="N*m")]
    text = f"While homing the motor gives at most {digits(torque)} N*m"
    force = thrust(right, torque)
    if force is not None:
        findings.append(figure("thrust while homing", force, "F = 2 pi eta G T / L", unit="N"))
        text += f", {digits(force)} N at the axis"
    needed = holding_torque(right)
    if needed is not None and torque < needed:
        findings.append(figure("torque to hold the load", needed, "m g L / (2 pi G)", unit="N*m"))
        text += f"; the load needs {digits(needed)} N*m to be held, so it sinks"
        return Explanation(f"{text}.", "hazard", tuple(findings))
    harder = before is not None and size.number() > before.number()
    if harder and (chosen_in(right, "homing_method") or 0) < 0:
        text += "; it meets a stop that much harder if the maker's method looks for one"
    return Explanation(f"{text}.", "hazard" if harder else "dynamics", tuple(findings))

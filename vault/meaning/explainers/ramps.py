"""Ramps, jerk and profile type: how far a stop goes, and how long a move takes."""

from __future__ import annotations

from fractions import Fraction
from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.force import hold_torque, limit_rate, limits
from vault.behaviour.move import (
    JERK_LIMITED,
    LINEAR_RAMP,
    SINE_SQUARED,
    profile_jerk,
    reference_move_time,
    reference_way,
)
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.speed import worst_speed
from vault.behaviour.stop import limit_braking, quick_ramp_stop, slow_ramp_stop
from vault.behaviour.travel import at_axis, of_motor_at_axis
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import (
    JERK,
    RAMP,
    SPEED,
    chosen_in,
    instead_of,
    of_kind,
    sized,
)
from vault.meaning.explainers.rooms import shortage
from vault.meaning.findings import figure, in_reader_units, length_or_angle, seconds, speed
from vault.meaning.sentences import size_text
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.behaviour.stop import Stop
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

STOP = "From {speed} {stop} takes {time} and {distance}{instead}{shortage}."
MOVE = "The reference move of {distance} takes {time}{instead}."
ON_RAMPS = " on {shape} ramps"
TORQUE_LIMITED = "The torque limit gives only about {rate}: the axis does not keep to this ramp."
NOT_HELD = "The torque limit cannot even hold the load."
CUT = "The profile's {rate} are cut to it."
NOUGHT = {
    "stop": "What a drive does with a ramp of nought, an abrupt stop or none, its manual must "
    "tell.",
    "start": "What a drive does with nought here, no limit or no motion, its manual must tell.",
}
NO_EFFECT = "It has no effect: the profile has {shape} ramps."
NOT_ROUNDED = "The ramps are counted here without rounding."
NO_JERK = "No jerk is set for it: the ramps are counted here without rounding."
MAKERS_OWN = "That ramp is the maker's own: see the drive's manual."
SHAPE = "Speed changes on {shape} ramps."

_RAMP_WORDS = {
    LINEAR_RAMP: "linear",
    SINE_SQUARED: "sine-squared",
    JERK_LIMITED: "jerk-limited",
}
_STOPS = {"profile_deceleration": "a stop", "quick_stop_deceleration": "a quick stop"}


def axis_speed(view: AxisView, size: Physical) -> Physical:
    """A speed as the axis makes it; r/min on a linear axis are the motor's (see `scaling`)."""
    return at_axis(view.scaling, size)


def motor_speed_at_axis(view: AxisView, size: Physical) -> Physical | None:
    """Speed of the axis at an angular speed of the motor; None without a transmission."""
    travel = view.scaling.travel
    return None if travel is None else of_motor_at_axis(travel, size)


def fastest(view: AxisView) -> Physical | None:
    """Highest speed that a command may have; None where the set gives none, or nought."""
    for role in ("max_profile_velocity", "profile_velocity"):
        size, parameter = sized(view, role, SPEED), view.find(role)
        is_none = parameter is not None and is_all_ones(parameter.raw)
        if size is not None and size.ratio > 0 and not is_none:
            return axis_speed(view, size)
    return None


def top(view: AxisView) -> Physical | None:
    """Highest speed that a stop may begin at, as behaviour has it; else that of a command."""
    worst = view.state.asked(worst_speed)
    if worst is None or worst.value <= 0:
        return fastest(view)
    kind = "velocity" if worst.unit == "m/s" else "angular_velocity"
    return Physical(Fraction(worst.value), 0, kind, worst.unit)


def stop_of(view: AxisView, role: str) -> tuple[float, float] | None:
    """Time and way to stop from the worst speed on the ramp of a role, as behaviour has it.

    None where it is not known, or where the axis does not come to a stand.
    """
    stop = _stop_on(view, role)
    return None if stop is None else (stop.time, round(stop.reach, 12))  # as rooms are


def stop_basis(view: AxisView, role: str = "quick_stop_deceleration") -> str:
    """Formula of the stopping distance."""
    stop = _stop_on(view, role)
    return "" if stop is None else stop.basis


def _stop_on(view: AxisView, role: str) -> Stop | None:
    ramps = {"quick_stop_deceleration": quick_ramp_stop, "profile_deceleration": slow_ramp_stop}
    stop = view.state.asked(ramps[role])
    return None if stop is None or isinf(stop.reach) else stop


def move_sentence(
    left: AxisView, right: AxisView, findings: list[Finding], *, named: bool = False
) -> str:
    """Time of the reference move on the right, beside the left; `named` with the kind of ramp."""
    before, after = (view.state.asked(reference_move_time) for view in (left, right))
    way = right.state.asked(reference_way)
    if after is None or way is None:
        return ""
    findings.append(figure("time of the reference move", after.value, after.basis, unit="s"))
    time = f"{seconds(after.value)}{_on(right) if named else ''}"
    was = None if before is None else f"{seconds(before.value)}{_on(left) if named else ''}"
    is_same = before is not None and seconds(before.value) == seconds(after.value)
    said = "" if is_same else instead_of(was, time)
    return MOVE.format(distance=in_reader_units(way.value, way.unit), time=time, instead=said)


def _on(view: AxisView) -> str:
    kind = chosen_in(view, "motion_profile_type")
    return ON_RAMPS.format(shape=_RAMP_WORDS[kind]) if kind in _RAMP_WORDS else ""


@explains("profile_deceleration", "quick_stop_deceleration", "max_deceleration")
def stopping_ramp(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Way and time of a stop against the room there is."""
    role = str(change.shown.role)
    size = of_kind(change.right_physical, RAMP)
    if size is None:
        return None
    if size.ratio <= 0:
        return _nought(role)
    findings: list[Finding] = []
    said: list[str] = []
    ramps = tuple(_STOPS) if role == "max_deceleration" else (role,)
    worst = _stops(ramps, left, right, said, findings)
    said += _beyond_torque(size, right, findings, braking=True)
    if role == "profile_deceleration" and (text := move_sentence(left, right, findings)):
        said.append(text)
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


@explains("profile_acceleration", "max_acceleration")
def starting_ramp(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Time of the reference move, and what the torque limit leaves of the ramp."""
    role = str(change.shown.role)
    size = of_kind(change.right_physical, RAMP)
    if size is None:
        return None
    if size.ratio <= 0:
        return _nought(role)
    findings: list[Finding] = []
    said = _beyond_torque(size, right, findings, braking=False)
    if role == "profile_acceleration" and (text := move_sentence(left, right, findings)):
        said.append(text)
    profile = sized(right, "profile_acceleration", (size.kind,))
    if role == "max_acceleration" and profile is not None and profile.number() > size.number():
        said.append(CUT.format(rate=size_text(profile)))
    return Explanation(" ".join(said), "dynamics", tuple(findings)) if said else None


def _nought(role: str) -> Explanation:
    stops = role in ("profile_deceleration", "quick_stop_deceleration")
    return Explanation(NOUGHT["stop" if stops else "start"], "hazard" if stops else "dynamics")


@explains("profile_jerk")
def jerk(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A lower jerk makes moves softer, and stops longer."""
    size = of_kind(change.right_physical, JERK)
    if size is None or change.shown.role != "profile_jerk":
        return None
    kind = chosen_in(right, "motion_profile_type")
    if kind in (LINEAR_RAMP, SINE_SQUARED):
        return Explanation(NO_EFFECT.format(shape=_RAMP_WORDS[kind]), "dynamics")
    if kind != JERK_LIMITED:
        return None
    findings: list[Finding] = []
    said: list[str] = []
    if size.ratio <= 0:
        said.append(NOT_ROUNDED)
    worst = _stops(tuple(_STOPS), left, right, said, findings)
    if text := move_sentence(left, right, findings):
        said.append(text)
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


@explains("motion_profile_type")
def profile_type(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Time of the reference move and way of a stop, before and after."""
    kind = chosen_in(right, "motion_profile_type")
    if kind is not None and kind < 0:
        return Explanation(MAKERS_OWN, "dynamics")
    if kind not in _RAMP_WORDS:
        return None
    findings: list[Finding] = []
    said: list[str] = []
    if kind == JERK_LIMITED and right.state.asked(profile_jerk) is None:
        said.append(NO_JERK)
    if text := move_sentence(left, right, findings, named=True):
        said.append(text)
    worst = _stops(tuple(_STOPS), left, right, said, findings)
    if not said:
        return Explanation(SHAPE.format(shape=_RAMP_WORDS[kind]), "dynamics")
    return Explanation(" ".join(said), worst, tuple(findings))


def _stops(
    ramps: tuple[str, ...],
    left: AxisView,
    right: AxisView,
    said: list[str],
    findings: list[Finding],
) -> str:
    """Say how far stops go; of several ramps only those that differ. Gives the class."""
    worst = "dynamics"
    for ramp in ramps:
        before, after = stop_of(left, ramp), stop_of(right, ramp)
        if after is None or (len(ramps) > 1 and before == after):
            continue
        text, consequence = _stop(ramp, before, after, right, findings)
        said.append(text)
        worst = "hazard" if consequence == "hazard" else worst
    return worst


def _stop(
    ramp: str,
    before: tuple[float, float] | None,
    after: tuple[float, float],
    view: AxisView,
    findings: list[Finding],
) -> tuple[str, str]:
    velocity = top(view)
    if velocity is None:
        return "", "dynamics"
    findings += [
        figure(f"way of {_STOPS[ramp]}", after[1], stop_basis(view, ramp), like=velocity),
        figure(f"time of {_STOPS[ramp]}", after[0], "the same ramp", unit="s"),
    ]
    longer = before is not None and after[1] > before[1]
    short = shortage(view, after[1], velocity)
    distance = length_or_angle(after[1], velocity)
    was = None if before is None else length_or_angle(before[1], velocity)
    text = STOP.format(
        speed=speed(float(velocity.number()), velocity),
        stop=_STOPS[ramp],
        time=seconds(after[0]),
        distance=distance,
        instead=instead_of(was, distance),
        shortage=f", {short}" if short else "",
    )
    if short:  # a shorter stop is no new hazard even where it still does not fit
        return text, "hazard" if longer or before is None else "dynamics"
    quick = ramp == "quick_stop_deceleration"
    return text, "hazard" if longer and quick else "dynamics"


def _beyond_torque(
    ramp: Physical, view: AxisView, findings: list[Finding], *, braking: bool
) -> list[str]:
    held, least = view.state.asked(hold_torque), view.state.asked(limits)
    if held is not None and least is not None and least.weaker < held.value:
        return [NOT_HELD]
    most = view.state.asked(limit_braking if braking else limit_rate)
    if most is None or not most.unit.startswith("m") or ramp.kind != "acceleration":
        return []
    if float(ramp.number()) <= most.value * (1 + 1e-9):
        return []
    name = "deceleration" if braking else "acceleration"
    findings.append(figure(f"{name} at the torque limit", most.value, most.basis, unit=most.unit))
    size = size_text(Physical(Fraction(f"{most.value:.4g}"), 0, "acceleration", "m/s^2"))
    return [TORQUE_LIMITED.format(rate=size)]

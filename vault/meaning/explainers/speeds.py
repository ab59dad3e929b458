"""Speeds: of the motor against its ratings, of the axis against what the machine bears."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.mode import is_cyclic
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.scale import is_linear as moves_in_a_line
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import (
    RPM,
    most_motor_speed,
    motor_limit,
    motor_speed_at,
    rated_motor_speed,
)
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import SPEED, instead_of, of_kind, sized
from vault.meaning.explainers.ramps import (
    axis_speed,
    motor_speed_at_axis,
    move_sentence,
    stop_basis,
    stop_of,
    top,
)
from vault.meaning.explainers.rooms import shortage
from vault.meaning.findings import digits, figure, is_linear, length_or_angle, speed
from vault.model import roles
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

NO_LIMIT = "Without it the set gives no such limit of the speed."
NONE_BY_NUMBER = "FFFFFFFFh is commonly no limit: the motor's own limit is left."
BY_CONTROLLER = "In the mode that is set the controller gives the speed."
NOT_SLOWER = "The motor does not turn slower than that, whatever speed is set."
GOES_ON = "The axis does not stand at the end of such a move: it goes on at this speed."
NOUGHT = {
    "profile": "At a profile speed of nought a move does not start.",
    "limit": "Whether nought means no motion or no limit, the drive's manual must tell.",
}
TURNS = "The motor turns at {up_to}{turns}{rating}{at_axis}."
UP_TO = "up to "
RATING = {
    "maximum": ", beyond its maximum of {most}",
    "rated": ", above its rated {most}",
}
AT_AXIS = "; that is {speed} at the axis"
BUILT_FOR = "The machine is built for {most}; this is {speed}."
STOP = "A quick stop from there takes {distance}{instead}{shortage}."
HELD_BY_MOTOR = "6080h holds the axis to {speed}."
CUT = "The drive cuts it to its maximum of {most}."

_LIMITS = ("max_profile_velocity", "max_motor_speed", "vl_velocity_max_amount")
_CLOSE = 1.0001
"""A speed is beyond another when it is more than rounding above it."""


def motor_speed(view: AxisView, size: Physical) -> float | None:
    """Motor speed in r/min at a speed of the axis: 60 v G / L. None without the transmission."""
    made, of_axis = axis_speed(view, size), view.state.asked(axis_unit)
    if (of_axis == "m") != is_linear(made):
        return None
    speed_of_motor = motor_speed_at(view.state, float(made.number()))
    return None if speed_of_motor is None else speed_of_motor / RPM


@explains(
    "profile_velocity",
    "max_profile_velocity",
    "max_motor_speed",
    "vl_velocity_max_amount",
    "vl_velocity_min_amount",
    "jog_velocity",
    "end_velocity",
)
def speeds(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Motor and axis speed against what motor and machine bear, and what follows from it."""
    role = str(change.shown.role)
    if change.right is None:
        if role not in _LIMITS:
            return None
        return Explanation(NO_LIMIT, "hazard")
    size, before = of_kind(change.right_physical, SPEED), of_kind(change.left_physical, SPEED)
    if size is None:
        return None
    if size.ratio <= 0 and role in (*_LIMITS, "profile_velocity"):
        return _nought(role)
    if role in _LIMITS and is_all_ones(change.right.raw):
        was_none = change.left is not None and is_all_ones(change.left.raw)
        return Explanation(NONE_BY_NUMBER, "dynamics" if was_none else "hazard")
    findings: list[Finding] = []
    said: list[str] = []
    if role in ("profile_velocity", "end_velocity") and is_cyclic(right.state):
        return Explanation(BY_CONTROLLER, "dynamics")
    faster = before is not None and before.kind == size.kind and size.number() > before.number()
    if role == "profile_velocity":
        size = _cut(size, right, said)
    if role in ("profile_velocity", "max_profile_velocity"):
        size = _cut_by_motor_limit(size, right, said)
    beyond = _turns(role, size, right, said, findings)
    worst = "hazard" if beyond or (faster and role in _LIMITS) else "dynamics"
    if role == "max_motor_speed" and _stop(left, right, said, findings):
        worst = "hazard"
    if role == "profile_velocity" and (text := move_sentence(left, right, findings)):
        said.append(text)
    if role == "vl_velocity_min_amount" and size.ratio > 0:
        said.append(NOT_SLOWER)
    if role == "end_velocity" and size.ratio > 0:
        said.append(GOES_ON)
        worst = "hazard"
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


def _nought(role: str) -> Explanation:
    if role == "profile_velocity":
        return Explanation(NOUGHT["profile"], "dynamics")
    return Explanation(NOUGHT["limit"], "hazard")


def _turns(
    role: str, size: Physical, view: AxisView, said: list[str], findings: list[Finding]
) -> bool:
    """Say what motor and axis make of it; tells whether that is beyond what they bear."""
    known = roles.find(role)
    if known is not None and known.kind == "motor_speed":
        motor: float | None = float(size.number()) / RPM
        at_axis = motor_speed_at_axis(view, size)
    else:
        motor, at_axis = motor_speed(view, size), axis_speed(view, size)
    beyond = False
    if motor is not None:
        findings.append(figure("motor speed", motor, "60 v G / L", unit="r/min"))
        rating, beyond = _against_rating(motor, view)
        given_at_motor = known is not None and known.kind == "motor_speed"
        axis = _speed(at_axis) if at_axis is not None and given_at_motor else None
        text = TURNS.format(
            up_to=UP_TO if role in _LIMITS else "",
            turns=f"{digits(motor)} r/min",
            rating=rating,
            at_axis="" if axis is None else AT_AXIS.format(speed=axis),
        )
        said.append(text)
    if at_axis is not None and (most := _machine_limit(view, at_axis)) is not None:
        findings.append(figure("speed of the axis", at_axis, "the set, in the unit of the axis"))
        said.append(BUILT_FOR.format(most=speed(most, at_axis), speed=_speed(at_axis)))
        beyond = True
    return beyond


def _against_rating(motor: float, view: AxisView) -> tuple[str, bool]:
    """The motor's rating (r/min) that a speed is above, in words; whether that is its maximum."""
    rated, most = (
        (view.state.asked(plate) or 0.0) / RPM for plate in (rated_motor_speed, most_motor_speed)
    )
    if most and motor > most * _CLOSE:
        return RATING["maximum"].format(most=f"{digits(most)} r/min"), True
    if rated and motor > rated * _CLOSE:
        return RATING["rated"].format(most=f"{digits(rated)} r/min"), False
    return "", False


def _speed(size: Physical) -> str:
    return speed(float(size.number()), size)


def _machine_limit(view: AxisView, size: Physical) -> float | None:
    """Highest speed of the machine as built where `size` is beyond it."""
    stated = view.mechanics.max_speed if view.mechanics is not None else None
    most = stated.physical() if stated is not None else None
    if most is None or most.kind != size.kind or size.number() <= most.number() * 1.0001:
        return None
    return float(most.number())


def _stop(left: AxisView, right: AxisView, said: list[str], findings: list[Finding]) -> bool:
    """Say how far a quick stop goes from there; tells whether it ends beyond a hard stop."""
    ramp = "quick_stop_deceleration"
    before, after, velocity = stop_of(left, ramp), stop_of(right, ramp), top(right)
    if after is None or velocity is None:
        return False
    findings.append(figure("way of a quick stop", after[1], stop_basis(right), like=velocity))
    short, distance = shortage(right, after[1], velocity), length_or_angle(after[1], velocity)
    instead = instead_of(None if before is None else length_or_angle(before[1], velocity), distance)
    but = f", {short}" if short else ""
    said.append(STOP.format(distance=distance, instead=instead, shortage=but))
    return bool(short) and (before is None or after[1] > before[1])


def _cut(size: Physical, view: AxisView, said: list[str]) -> Physical:
    """The profile speed as the maximum of the set lets it be."""
    most = sized(view, "max_profile_velocity", (size.kind,))
    if most is None or not 0 < most.number() < size.number():
        return size
    said.append(CUT.format(most=_speed(axis_speed(view, most))))
    return most


def _cut_by_motor_limit(size: Physical, view: AxisView, said: list[str]) -> Physical:
    """A speed as the limit of the motor's speed (6080h) lets it be, at the axis."""
    at_axis, most = axis_speed(view, size), view.state.asked(motor_limit)
    if most is None or view.state.asked(moves_in_a_line) != is_linear(at_axis):
        return size
    if float(at_axis.number()) <= most * _CLOSE:
        return size
    said.append(HELD_BY_MOTOR.format(speed=speed(most, at_axis)))
    return replace(at_axis, ratio=Fraction(most), pi_power=0)

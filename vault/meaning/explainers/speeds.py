"""Speeds: of the motor against its ratings, of the axis against what the machine bears."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.mode import is_cyclic
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.scale import is_linear as moves_in_a_line
from vault.behaviour.speed import motor_limit
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import SPEED, of_kind, sized
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

_LIMITS = ("max_profile_velocity", "max_motor_speed", "vl_velocity_max_amount")
_CLOSE = 1.0001
"""A speed is beyond another when it is more than rounding above it."""


def motor_speed(view: AxisView, size: Physical) -> float | None:
    """Motor speed in r/min at a speed of the axis: 60 v G / L. None without the transmission."""
    travel = view.scaling.travel
    is_direct = view.mechanics is not None and view.mechanics.kind == "linear_motor"
    if travel is None or is_direct:  # a linear motor does not turn
        return None
    at_axis = axis_speed(view, size)
    if is_linear(at_axis) != (travel.per_turn.kind == "length"):
        return None
    return 60 * float(at_axis.number() / travel.per_turn.number() * travel.gear)


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
        return Explanation("Without it the set gives no such limit of the speed.", "hazard")
    size, before = of_kind(change.right_physical, SPEED), of_kind(change.left_physical, SPEED)
    if size is None:
        return None
    if size.ratio <= 0 and role in (*_LIMITS, "profile_velocity"):
        return _nought(role)
    if role in _LIMITS and is_all_ones(change.right.raw):
        text = "FFFFFFFFh is commonly no limit: the motor's own limit is left."
        return Explanation(
            text, "dynamics" if change.left and is_all_ones(change.left.raw) else "hazard"
        )
    findings: list[Finding] = []
    said: list[str] = []
    if role in ("profile_velocity", "end_velocity") and is_cyclic(right.state):
        return Explanation("In the mode that is set the controller gives the speed.", "dynamics")
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
        said.append("The motor does not turn slower than that, whatever speed is set.")
    if role == "end_velocity" and size.ratio > 0:
        said.append("The axis does not stand at the end of such a move: it goes on at this speed.")
        worst = "hazard"
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


def _nought(role: str) -> Explanation:
    if role == "profile_velocity":
        return Explanation("At a profile speed of nought a move does not start.", "dynamics")
    return Explanation(
        "Whether nought means no motion or no limit, the drive's manual must tell.", "hazard"
    )


def _turns(
    role: str, size: Physical, view: AxisView, said: list[str], findings: list[Finding]
) -> bool:
    """Say what motor and axis make of it; tells whether that is beyond what they bear."""
    known = roles.find(role)
    if known is not None and known.kind == "motor_speed":
        motor: float | None = float(size.number()) * 30 / pi
        at_axis = motor_speed_at_axis(view, size)
    else:
        motor, at_axis = motor_speed(view, size), axis_speed(view, size)
    text, beyond = "", False
    if motor is not None:
        findings.append(figure("motor speed", motor, "60 v G / L", unit="r/min"))
        text = f"The motor turns at {'up to ' if role in _LIMITS else ''}{digits(motor)} r/min"
        rated, most = view.motor_speed("rated_speed"), view.motor_speed("max_speed")
        if most and motor > most * _CLOSE:
            text += f", beyond its maximum of {digits(most)} r/min"
            beyond = True
        elif rated and motor > rated * _CLOSE:
            text += f", above its rated {digits(rated)} r/min"
    if at_axis is not None and known is not None and known.kind == "motor_speed":
        text += f"; that is {speed(float(at_axis.number()), at_axis)} at the axis"
    if text:
        said.append(f"{text}.")
    if at_axis is not None and (most_axis := _machine_limit(view, at_axis)) is not None:
        findings.append(figure("speed of the axis", at_axis, "the set, in the unit of the axis"))
        said.append(
            f"The machine is built for {speed(most_axis, at_axis)}; this is "
            f"{speed(float(at_axis.number()), at_axis)}."
        )
        beyond = True
    return beyond


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
    text = f"A quick stop from there takes {length_or_angle(after[1], velocity)}"
    if before is not None and before[1] != after[1]:
        text += f" instead of {length_or_angle(before[1], velocity)}"
    short = shortage(right, after[1], velocity)
    said.append(f"{text}, {short}." if short else f"{text}.")
    return bool(short) and (before is None or after[1] > before[1])


def _cut(size: Physical, view: AxisView, said: list[str]) -> Physical:
    """The profile speed as the maximum of the set lets it be."""
    most = sized(view, "max_profile_velocity", (size.kind,))
    if most is None or not 0 < most.number() < size.number():
        return size
    like = axis_speed(view, most)
    said.append(f"The drive cuts it to its maximum of {speed(float(like.number()), like)}.")
    return most


def _cut_by_motor_limit(size: Physical, view: AxisView, said: list[str]) -> Physical:
    """A speed as the limit of the motor's speed (6080h) lets it be, at the axis."""
    at_axis, most = axis_speed(view, size), view.state.asked(motor_limit)
    if most is None or view.state.asked(moves_in_a_line) != is_linear(at_axis):
        return size
    if float(at_axis.number()) <= most * _CLOSE:
        return size
    said.append(f"6080h holds the axis to {speed(most, at_axis)}.")
    return replace(at_axis, ratio=Fraction(most), pi_power=0)

"""Speeds of the set against each other, the motor and the machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.speed import axis_speed as axis_speed_of
from vault.behaviour.speed import worst_speed
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, MECHANICS, MOTOR, codes, is_frequency_drive
from vault.meaning.explainers.meanings import SPEED, sized
from vault.meaning.explainers.ramps import axis_speed, fastest, motor_speed_at_axis
from vault.meaning.explainers.speeds import motor_speed as turns_of
from vault.meaning.findings import digits, figure, speed
from vault.meaning.margin_sentences import amount

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical

_ANGULAR = ("angular_velocity",)
_MOST, _PROFILE = "max_profile_velocity", "profile_velocity"
_RATED = {"rated_speed": "motor_rated_speed", "max_speed": "motor_max_speed"}


@dataclass(frozen=True, slots=True)
class Fastest:
    """Highest speed that a set allows: of motor (r/min) and axis, and the role that sets it."""

    motor: float | None
    axis: Physical | None
    role: str


def _fastest(view: AxisView) -> Fastest | None:
    """The highest speed, in the mode in which the drive is run."""
    if is_frequency_drive(view):
        role = "vl_velocity_max_amount"
        size = sized(view, role, _ANGULAR)
        if size is None or size.ratio <= 0:
            return None
        return Fastest(float(size.number()) * 30 / pi, motor_speed_at_axis(view, size), role)
    size = fastest(view)
    if size is None:
        return None
    given = sized(view, _MOST, SPEED)
    role = _MOST if given is not None and given.ratio > 0 else _PROFILE
    return Fastest(_turns(view, size), size, role)


def _turns(view: AxisView, size: Physical) -> float | None:
    """Motor speed in r/min; a linear motor does not turn."""
    if view.mechanics is not None and view.mechanics.kind == "linear_motor":
        return None
    return turns_of(view, size)


def _motor_limit(view: AxisView) -> float | None:
    """Speed in r/min to which the drive holds the motor (6080h); None without, or zero."""
    size = sized(view, "max_motor_speed", _ANGULAR)
    return float(size.number()) * 30 / pi if size is not None and size.ratio > 0 else None


def _motor_places(view: AxisView, *roles: str) -> tuple[str, ...]:
    return (*codes(view, *roles), *((MOTOR,) if view.axis and view.axis.motor else ()))


@rule
def motor_speed(view: AxisView) -> Iterator[Complaint]:
    """The highest speed against what the motor may turn: 60 v G / L."""
    fastest, most = _fastest(view), view.motor_speed("max_speed")
    if fastest is None or fastest.motor is None or not most:
        return
    limit = _motor_limit(view)
    held = fastest.motor if limit is None else min(fastest.motor, limit)
    if held <= most * CLOSE:
        return
    basis = "the set" if is_frequency_drive(view) else "60 v G / L"
    yield Complaint(
        "motor_speed",
        "hazard",
        f"At its highest speed the axis turns the motor at {digits(held)} r/min; it may turn "
        f"{digits(most)} r/min.",
        _motor_places(view, fastest.role, "max_motor_speed", _RATED["max_speed"]),
        (figure("motor speed", fastest.motor, basis, unit="r/min"),),
    )


@rule
def motor_speed_limit(view: AxisView) -> Iterator[Complaint]:
    """A limit of the motor speed below what the highest speed of the axis needs."""
    fastest, limit = _fastest(view), _motor_limit(view)
    if fastest is None or fastest.motor is None or limit is None or fastest.motor <= limit * CLOSE:
        return
    yield Complaint(
        "motor_speed_limit",
        "dynamics",
        f"The highest speed of the axis needs {digits(fastest.motor)} r/min of the motor, which "
        f"the set holds to {digits(limit)} r/min: it is never reached.",
        codes(view, fastest.role, "max_motor_speed"),
        (figure("motor speed", fastest.motor, "60 v G / L", unit="r/min"),),
    )


@rule
def rated_speed(view: AxisView) -> Iterator[Complaint]:
    """A profile speed above the rated one; the highest speed too where no more is recorded."""
    rated, most = view.motor_speed("rated_speed"), view.motor_speed("max_speed")
    size, which = sized(view, _PROFILE, SPEED), "profile"
    if not most and (highest := fastest(view)) is not None:
        size, which = highest, "highest"
    if not rated or size is None or is_frequency_drive(view):
        return
    turns = _turns(view, size)
    if turns is None or turns <= rated * CLOSE or (most and turns > most * CLOSE):
        return
    yield Complaint(
        "rated_speed",
        "dynamics",
        f"At its {which} speed the axis turns the motor at {digits(turns)} r/min, above its rated "
        f"{digits(rated)} r/min: it does not give its rated torque there for long.",
        _motor_places(
            view, *((_MOST,) if which == "highest" else ()), _PROFILE, _RATED["rated_speed"]
        ),
        (figure("motor speed", turns, "60 v G / L", unit="r/min"),),
    )


@rule
def machine_speed(view: AxisView) -> Iterator[Complaint]:
    """The highest speed against what the machine is built for."""
    fastest, mechanics = _fastest(view), view.mechanics
    stated = mechanics.max_speed if mechanics is not None else None
    most = stated.physical() if stated is not None else None
    if fastest is None or fastest.axis is None or most is None or most.ratio <= 0:
        return
    axis, limit = fastest.axis, _motor_limit(view)
    if most.kind != axis.kind:
        return
    reached = float(axis.number())
    if limit is not None and fastest.motor:  # the drive holds the motor to it
        reached *= min(1.0, limit / fastest.motor)
    if reached <= float(most.number()) * CLOSE:
        return
    yield Complaint(
        "machine_speed",
        "hazard",
        f"The set lets the axis go {speed(reached, axis)}; the machine is built for "
        f"{speed(float(most.number()), axis)}.",
        (*codes(view, fastest.role), MECHANICS),
        (
            figure(
                "highest speed",
                reached,
                "the set, on the machine as built",
                like=None,
                unit=axis.unit,
            ),
        ),
    )


@rule
def profile_speed(view: AxisView) -> Iterator[Complaint]:
    """A profile speed above the maximum of the same set: the drive cuts it, or refuses."""
    size, most = sized(view, _PROFILE, SPEED), sized(view, _MOST, SPEED)
    if size is None or most is None or most.ratio <= 0 or is_frequency_drive(view):
        return
    asked, allowed = axis_speed(view, size), axis_speed(view, most)
    if asked.kind != allowed.kind or float(asked.number()) <= float(allowed.number()) * CLOSE:
        return
    yield Complaint(
        "profile_speed",
        "dynamics",
        f"The profile speed of {speed(float(asked.number()), asked)} is above the maximum of "
        f"{speed(float(allowed.number()), allowed)} in the same set: it is never reached.",
        codes(view, _PROFILE, _MOST),
        (figure("profile speed", asked, "the set"), figure("maximum speed", allowed, "the set")),
    )


@rule
def safely_limited_speed(view: AxisView) -> Iterator[Complaint]:
    """A safely limited speed that the axis cannot reach limits nothing."""
    state = view.state
    limit, worst = axis_speed_of(state, "safe_limited_speed"), state.asked(worst_speed)
    if limit is None or limit <= 0 or worst is None or worst.bound != "exact":
        return
    if limit <= worst.value * CLOSE:
        return
    yield Complaint(
        "safely_limited_speed",
        "dynamics",
        f"The safely limited speed of {amount(limit, worst.unit)} is above the "
        f"{amount(worst.value, worst.unit)} that the axis reaches: it never acts.",
        codes(view, "safe_limited_speed", "max_motor_speed"),
        (figure("worst speed", worst.value, worst.basis, unit=worst.unit),),
    )

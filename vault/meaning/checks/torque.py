"""Torque and current limits against motor, drive, weight and ramps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, INDUCTION, MECHANICS, MOTOR, codes, recorded
from vault.meaning.explainers.meanings import RAMP, chosen_in, sized
from vault.meaning.explainers.ramps import reachable
from vault.meaning.explainers.torque import holding_torque
from vault.meaning.findings import digits, figure
from vault.meaning.sentences import size_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

_TORQUE, _CURRENT = ("torque",), ("current",)
_LIMITS = ("max_torque", "positive_torque_limit", "negative_torque_limit")


@rule
def torque_limit(view: AxisView) -> Iterator[Complaint]:
    """Not above the motor's maximum, and enough for the load that hangs."""
    yield from _above_motor(view)
    yield from _load_sinks(view)


def _above_motor(view: AxisView) -> Iterator[Complaint]:
    motor = view.axis.motor if view.axis is not None else None
    most = recorded(motor.max_torque, "torque") if motor is not None else None
    if not most or most < 0:
        return
    for role in _LIMITS:
        torque, parameter = _torque(view, role), view.find(role)
        if torque is None or parameter is None or torque <= most * CLOSE:
            continue
        yield Complaint(
            "torque_limit",
            "electrical",
            f"{parameter.name}: {digits(torque)} N*m is more than the {digits(most)} N*m that the "
            "motor gives at most.",
            (*codes(view, role, "motor_rated_torque"), MOTOR),
            (figure("torque limit", torque, "share of the rated torque", unit="N*m"),),
        )


def _load_sinks(view: AxisView) -> Iterator[Complaint]:
    needed, strength = holding_torque(view), _strength(view)
    if needed is None or strength is None or strength.torque >= needed:
        return
    yield Complaint(
        "torque_limit",
        "hazard",
        f"The set limits the motor to {digits(strength.torque)} N*m; the load needs "
        f"{digits(needed)} N*m to be held: it sinks.",
        (*codes(view, *strength.roles), MECHANICS),
        (
            figure("torque to hold the load", needed, "m g L / (2 pi G)", unit="N*m"),
            figure("torque left by the limits", strength.torque, "the set", unit="N*m"),
        ),
    )


def _torque(view: AxisView, role: str) -> float | None:
    size = sized(view, role, _TORQUE)
    return None if size is None else abs(float(size.number()))


@dataclass(frozen=True, slots=True)
class Strength:
    """Torque (N*m) that the set leaves the motor, and the roles that say so."""

    torque: float
    roles: tuple[str, ...]


def _strength(view: AxisView) -> Strength | None:
    """Torque towards the stronger side, or the side that the torque offset shows the load on.

    None where no limit is known.
    """
    limits: list[tuple[float, tuple[str, ...]]] = []
    if (most := _torque(view, "max_torque")) is not None:
        limits.append((most, ("max_torque",)))
    positive, negative = (_torque(view, role) for role in _LIMITS[1:])
    offset = view.number("torque_offset") if view.number("polarity") in (None, 0) else None
    if offset and offset > 0 and positive is not None:
        limits.append((positive, ("positive_torque_limit",)))
    elif offset and offset < 0 and negative is not None:
        limits.append((negative, ("negative_torque_limit",)))
    elif positive is not None and negative is not None:
        limits.append((max(positive, negative), _LIMITS[1:]))
    if (by_current := _by_current(view)) is not None:
        limits.append((by_current, ("max_current",)))
    if not limits:
        return None
    torque, roles = min(limits, key=lambda limit: limit[0])
    return Strength(torque, (*roles, "motor_rated_torque"))


def _by_current(view: AxisView) -> float | None:
    """Torque at the current limit, in proportion (permanent-magnet motor; common practice)."""
    limit = sized(view, "max_current", _CURRENT)
    torque, current = view.scaling.rated_torque, view.scaling.rated_current
    if limit is None or torque is None or current is None or current.ratio <= 0:
        return None
    if chosen_in(view, "motor_type") in INDUCTION:
        return None
    return abs(float(limit.number() / current.number() * torque.number()))


@rule
def ramp_torque(view: AxisView) -> Iterator[Complaint]:
    """The profile's acceleration against what the torque limit gives."""
    ramp, most = sized(view, "profile_acceleration", RAMP), reachable(view, braking=False)
    if ramp is None or most is None or ramp.kind != "acceleration" or most <= 0:
        return
    rate, cut = float(ramp.number()), sized(view, "max_acceleration", (ramp.kind,))
    if cut is not None and cut.ratio > 0:
        rate = min(rate, float(cut.number()))
    if rate <= most * CLOSE:
        return
    basis = "(2 pi eta G T / L - m g) / (m + J (2 pi G / L)^2)"
    finding = figure("acceleration at the torque limit", most, basis, unit="m/s^2")
    yield Complaint(
        "ramp_torque",
        "dynamics",
        f"The torque limit gives about {digits(most)} m/s^2, the profile asks for "
        f"{size_text(ramp)}: the axis lags behind it, or trips.",
        (*codes(view, "profile_acceleration", "max_torque", "motor_rated_torque"), MECHANICS),
        (finding,),
    )

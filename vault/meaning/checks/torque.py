"""Torque and current limits against motor, drive, weight and ramps."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.loops import inertia_ratio
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, MOTOR, codes, recorded
from vault.meaning.explainers.meanings import sized
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

ABOVE_MOTOR = "{name}: {torque} N*m is more than the {most} N*m that the motor gives at most."
OTHER_INERTIA = (
    "The drive reckons with a load of {said} times the rotor's inertia, as built it has {built} "
    "times."
)

_TORQUE, _CURRENT = ("torque",), ("current",)
_LIMITS = ("max_torque", "positive_torque_limit", "negative_torque_limit")


@rule
def torque_limit(view: AxisView) -> Iterator[Complaint]:
    """Not above the motor's maximum."""
    yield from _above_motor(view)


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
            ABOVE_MOTOR.format(name=parameter.name, torque=digits(torque), most=digits(most)),
            (*codes(view, role, "motor_rated_torque"), MOTOR),
            (figure("torque limit", torque, "share of the rated torque", unit="N*m"),),
        )


def _torque(view: AxisView, role: str) -> float | None:
    size = sized(view, role, _TORQUE)
    return None if size is None else abs(float(size.number()))


_CLOSE_INERTIA = 1.3
"""A load inertia that is set may be off by so much (common practice, no source)."""


@rule
def load_inertia(view: AxisView) -> Iterator[Complaint]:
    """The load inertia that the drive reckons with, against that of the machine as built."""
    parameter = view.find("load_inertia_ratio")
    said, built = sized(view, "load_inertia_ratio", ("ratio",)), view.state.asked(inertia_ratio)
    if parameter is None or said is None or built is None or said.ratio <= 0 or built.value <= 0:
        return
    times = (1 + float(said.number())) / (1 + built.value)  # what the loops see is all of it
    if 1 / _CLOSE_INERTIA <= times <= _CLOSE_INERTIA:
        return
    yield Complaint(
        "load_inertia",
        "dynamics",
        OTHER_INERTIA.format(said=digits(float(said.number())), built=digits(built.value)),
        (parameter.code, "axis.yaml: mechanics", MOTOR),
        (figure("inertia ratio", built.value, built.basis, unit="1"),),
    )

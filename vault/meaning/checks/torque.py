"""Torque and current limits against motor and weight."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.explainers.torque import holding_torque
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def torque_limit(view: AxisView) -> Iterator[Complaint]:
    """The limit against the motor's maximum, and against the load that hangs."""
    motor = view.axis.motor if view.axis is not None else None
    size = motor.max_torque.physical() if motor is not None and motor.max_torque else None
    needed = holding_torque(view)
    for role in ("max_torque", "positive_torque_limit", "negative_torque_limit"):
        torque = view.si(role)
        if torque is None:
            continue
        if size is not None and torque > float(size.number()) * 1.0001:
            yield Complaint(
                "torque_limit",
                "electrical",
                f"The limit of {digits(torque)} N*m is more than the motor's "
                f"{digits(float(size.number()))} N*m.",
                codes(view, role),
                (figure("torque limit", torque, "permille of the rating", unit="N*m"),),
            )
        if needed is not None and role != "negative_torque_limit" and torque < needed:
            yield Complaint(
                "torque_limit",
                "hazard",
                f"The limit of {digits(torque)} N*m cannot hold the load, which needs "
                f"{digits(needed)} N*m.",
                codes(view, role),
                (figure("torque to hold the load", needed, "m g L / (2 pi G)", unit="N*m"),),
            )

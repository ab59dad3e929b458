"""Speeds of the set against motor and machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.explainers.ramps import top_speed
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def motor_speed(view: AxisView) -> Iterator[Complaint]:
    """The highest speed against what the motor may turn."""
    velocity, travel, most = top_speed(view), view.scaling.travel, view.motor_speed("max_speed")
    if velocity is None or travel is None or most is None:
        return
    turns = 60 * physics.motor_speed(velocity, float(travel.per_turn.number()), float(travel.gear))
    if turns > most * 1.0001:
        yield Complaint(
            "motor_speed",
            "hazard",
            f"At its highest speed the axis turns the motor at {digits(turns)} r/min; "
            f"it may turn {digits(most)} r/min.",
            codes(view, "max_profile_velocity", "profile_velocity"),
            (figure("motor speed", turns, "v G / L", unit="r/min"),),
        )

"""A trace in SI, as its axis is set and built; what does not fit is left out and told."""

from __future__ import annotations

from decimal import Decimal
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from vault.behaviour.force import rated_torque, torque_follows_current
from vault.behaviour.loops import velocity_bandwidth
from vault.behaviour.scale import is_linear, position, transmission
from vault.behaviour.scaling import own_sizes
from vault.behaviour.trace.evaluate import Known
from vault.behaviour.trace.filters import Vector
from vault.behaviour.trace.signals import Recorded

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.model.quantities import Physical
    from vault.model.trace import Column, Trace

_SHARES = ("percent", "permille")
"""Of the rating, where a torque or a current is recorded in it (common practice, no source)."""
_NEAR = 0.12
"""How far a recorded speed may be from what the position does, as a share."""


def known_of(state: State) -> Known:
    """What the evaluation asks of a state."""
    gears = state.asked(transmission)
    linear = gears.is_linear if gears is not None else state.asked(is_linear) is not False
    bandwidth = state.asked(velocity_bandwidth)
    return Known(
        linear, gears is not None and gears.is_direct,
        None if gears is None else gears.per_radian,
        state.asked(_position_window), None if bandwidth is None else bandwidth.value / (2 * pi),
    )  # fmt: skip


def _position_window(state: State) -> float | None:
    return position(state, "position_window")


def recorded_of(trace: Trace, state: State) -> tuple[Recorded, tuple[str, ...]]:
    """The channels in SI, and remarks on what could not be taken."""
    known, remarks = known_of(state), list[str]()
    found: dict[str, Vector] = {}
    for name, column in trace.columns.items():
        factor = _factor(column, state, known)
        if factor is None:
            remarks.append(
                f"{column.heading!r} is not used: what {column.unit} is at this axis is not known"
            )
            continue
        found[name] = np.array(column.samples) * factor
    torque = found.get("torque_actual", found.get("current_actual"))
    velocity = found.get("velocity_actual")
    place = found.get("position_actual", found.get("position_demand"))
    times = np.array(trace.times)
    if velocity is not None and place is not None:
        velocity = _agreeing(times, place, velocity, known.per_radian)
        if velocity is None:
            heading = trace.columns["velocity_actual"].heading
            remarks.append(f"{heading!r} is not used: the position moves at another speed")
    elif velocity is not None and _may_be_either(trace.columns["velocity_actual"], known):
        velocity = None
        heading = trace.columns["velocity_actual"].heading
        remarks.append(f"{heading!r} is not used: whether it is the motor's speed or that of the "
                       "axis, no position tells")  # fmt: skip
    return (
        Recorded(
            times, found.get("position_demand"), found.get("position_actual"), velocity,
            found.get("following_error"), torque, tuple((g.begin, g.end) for g in trace.gaps),
        ),
        tuple(remarks),
    )  # fmt: skip


def _may_be_either(column: Column, known: Known) -> bool:
    """Whether a speed may be that of the motor or that of the axis: both turn, with a gear."""
    turns = not known.is_linear and known.per_radian not in (None, 1.0)
    return turns and not column.unit.startswith(("user", "increments"))


def _agreeing(
    times: Vector, place: Vector, velocity: Vector, per_radian: float | None
) -> Vector | None:
    """The speed as that of the axis, though it may be the motor's; None where it is neither."""
    moved = np.gradient(place, times)
    fast = np.abs(moved) > 0.3 * np.quantile(np.abs(moved), 0.98)
    if not fast.any():
        return velocity
    ratio = float((velocity[fast] * moved[fast]).sum() / (moved[fast] ** 2).sum())
    factor = min((1.0, per_radian or 1.0), key=lambda one: abs(ratio * one - 1))
    return velocity * factor if abs(ratio * factor - 1) < _NEAR else None


def _factor(column: Column, state: State, known: Known) -> float | None:
    """What one of the column's unit is in SI at the axis, or at the motor for a torque."""
    quantity = column.channel.partition("_")[0]
    if quantity in ("torque", "current"):
        return _torque_factor(column, state, known)
    kind = "velocity" if quantity == "velocity" else "position"
    size = _size(state, column.unit, kind)
    if size is None:
        return None
    wanted = {
        "position": "length" if known.is_linear else "angle",
        "velocity": "velocity" if known.is_linear else "angular_velocity",
    }[kind]
    number = float(size.number())
    of_motor = column.unit.startswith("increments")
    if size.kind == wanted and not of_motor:
        return number
    turning = ("angle", "angular_velocity")
    if size.kind in turning and known.per_radian is not None and not known.is_direct:
        return number * known.per_radian
    return None


def _torque_factor(column: Column, state: State, known: Known) -> float | None:
    is_current = column.channel == "current_actual"
    name = "current" if is_current else "torque"
    unit = column.unit
    if unit in _SHARES:
        unit = f"{unit}_rated_{name}"
    size = _size(state, unit, None)
    if size is None:
        return None
    number = float(size.number())
    if not is_current:
        return number if size.kind in ("torque", "force" if known.is_direct else "torque") else None
    rating, torque = state.scaling.rated_current, state.asked(rated_torque)
    if size.kind != "current" or rating is None or not rating.ratio or torque is None:
        return None
    if not torque_follows_current(state):
        return None
    return number / float(rating.number()) * torque


def _size(state: State, unit: str, kind: str | None) -> Physical | None:
    return own_sizes(state.scaling).physical(Decimal(1), unit, kind)

"""How far, how fast and how hard the axis goes for what it is told; two states beside each other.

Factor group of CiA 402-2 / IEC 61800-7-201 (see `vault.behaviour.scaling`).
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, fact
from vault.behaviour.force import efficiency, rated_torque, torque_follows_current
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import stroke
from vault.behaviour.scale import position, transmission
from vault.behaviour.scaling import TURN
from vault.behaviour.speed import rated_motor_speed
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.behaviour.scaling import Scaling, Travel
    from vault.behaviour.state import State

CLOSE = Fraction(1, 1000)
"""A k nearer to 1 is a measured circumference, not a wrong setting (common practice, no source)."""
_MOST_CALIBRATION = 1e-4
_TOLERANT = ("belt", "rack", "ball_screw")
"""Mechanics whose way per turn is measured; gears are exact, and endless axes add errors up."""


def ratio_between(left: State, right: State) -> Fraction | None:
    """Way on the right over way on the left for the same command in user units."""
    before, after = left.scaling.actual_unit, right.scaling.actual_unit
    if before is not None and after is not None and before.kind == after.kind and before.ratio:
        return after.ratio / before.ratio
    turns = left.scaling.motor_turns, right.scaling.motor_turns
    if turns[0] and turns[1]:
        return turns[1] / turns[0]
    return None


def ways_of_a_command(left: State, right: State, way: float) -> tuple[float | None, float | None]:
    """What a commanded way becomes on both sides: k times it, else by the ratio of the sets."""
    before, after = left.scaling.travel_error, right.scaling.travel_error
    if before is not None and after is not None:
        return float(before) * way, float(after) * way
    ratio = ratio_between(left, right)
    if ratio is None or before is not None or after is not None:
        return None, None
    return way, float(ratio) * way


def is_calibration(left: State, right: State) -> bool:
    """Whether ways differ by 100 ppm at most, and over the stroke by less than a quarter window.

    Endless axes have no tolerance: it adds up. Gears are exact.
    """
    ratio, whole = ratio_between(left, right), right.asked(stroke)
    if ratio is None or whole is None or right.record("mechanics.kind") not in _TOLERANT:
        return False
    off = float(abs(ratio - 1))
    window = position(right, "position_window")
    within = window is not None and off * whole.value < window / 4
    return 0 < off <= _MOST_CALIBRATION and within


def speed_ratio(before: Travel, after: Travel) -> Fraction | None:
    """Speed of one machine over that of another at the same motor speed, v = n L / G."""
    if before.per_turn.kind != after.per_turn.kind:
        return None
    return (after.per_turn.ratio / after.gear) / (before.per_turn.ratio / before.gear)


def at_axis(own: Scaling, speed: Physical) -> Physical:
    """A speed as the axis makes it; turns on a linear axis are the motor's (see `scaling`)."""
    travel = own.travel
    if speed.kind != "angular_velocity" or travel is None or travel.per_turn.kind != "length":
        return speed
    return of_motor_at_axis(travel, speed)


def of_motor_at_axis(travel: Travel, speed: Physical) -> Physical:
    """Speed of the axis at an angular speed of the motor: w / (2 pi) x L / G."""
    step = travel.per_turn
    kind, unit = ("velocity", "m/s") if step.kind == "length" else ("angular_velocity", "rad/s")
    ratio = speed.ratio / 2 * step.ratio / travel.gear
    return Physical(ratio, speed.pi_power - 1 + step.pi_power, kind, unit)


def torque_of_current(state: State, current: float) -> float | None:
    """Motor torque (N*m, or N) at a current (A): in proportion (common practice, no source).

    None for motors whose torque does not go with the current alone.
    """
    own = state.scaling
    if not torque_follows_current(state):
        return None
    if own.rated_torque is None or own.rated_current is None or not own.rated_current.ratio:
        return None
    return float(own.rated_torque.number()) * current / float(own.rated_current.number())


def delivered(state: State, torque: float) -> Figure | None:
    """What of a motor torque arrives at the axis, losses taken off: 2 pi eta G T / L, or eta G T.

    None for a linear motor, which is the axis itself, and without a transmission.
    """
    gears = state.asked(transmission)
    if gears is None or gears.is_direct:
        return None
    size = torque / gears.per_radian * state.ask(efficiency)
    return Figure(size, gears.force_unit, "F = 2 pi eta G T / L" if gears.is_linear else "eta G T")


@fact("speed at rated motor speed")
def speed_at_rated(state: State) -> Figure:
    """What the motor's rated speed is at the axis: n L / G."""
    gears = state.ask(transmission)
    if gears.is_direct:
        raise DoesNotApply
    size = state.ask(rated_motor_speed) * gears.per_radian
    return Figure(size, f"{gears.unit}/s", "v = n L / G")


@fact("thrust at rated torque")
def thrust_at_rated(state: State) -> Figure:
    """What the motor's rated torque gives at the axis, losses taken off: 2 pi eta G T / L."""
    gears = state.ask(transmission)
    size = state.ask(rated_torque) / gears.per_radian * state.ask(efficiency)
    return Figure(size, gears.force_unit, "F = 2 pi eta G T / L")


@fact("feed in revolutions")
def feed_in_turns(state: State) -> Figure:
    """Revolutions that the feed states for one of the shaft, where positions are angles: 1."""
    own = state.scaling
    if own.feed is None or own.unit is None:
        raise Missing("feed_constant_feed" if own.feed is None else "si_unit_position")
    size = own.unit.size
    if size.kind != "angle":
        raise DoesNotApply
    return Figure(float(own.feed * (size / TURN)), "1", "F x unit of position")

"""What the duty of an axis record takes of the motor, and what it gives back, move by move.

Each move is a trapezoid (or a triangle, where it is too short for its speed); torque goes through
the efficiency of the transmission in the direction that power flows, the rotor's does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from vault.behaviour.facts import DoesNotApply, Figure, Held, Missing, exact_unless, fact, margin
from vault.behaviour.force import (
    FALL,
    RISE,
    back_efficiency,
    bare_pull,
    efficiency,
    limits,
    load,
    moved,
    pull,
    ramp,
    rated_torque,
)
from vault.behaviour.scale import transmission
from vault.behaviour.speed import profile_speed
from vault.model.axis import Duty, Move
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from vault.behaviour.force import Moved
    from vault.behaviour.scale import Transmission
    from vault.behaviour.state import State


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the duty at one torque of the motor (N*m, or N): its time and the axis's speeds."""

    torque: float
    time: float
    begin: float
    end: float

    def returned(self, per_radian: float) -> float:
        """Energy (J) that comes back from the motor in it: torque against the motion."""
        mean = (self.begin + self.end) / 2 / per_radian
        return max(0.0, -self.torque * mean * self.time)


@dataclass(frozen=True, slots=True)
class Load:
    """What one move works on: masses at the axis and the pull of gravity (N, down positive)."""

    behind: float
    rotor: float
    force: float


def duty(state: State) -> Duty:
    """The duty of the axis record. Raises Missing."""
    found = state.record("duty")
    if not isinstance(found, Duty):
        raise Missing("duty")
    return found


def stretches(state: State) -> tuple[Stretch, ...]:
    """The duty as parts of one torque each, standing included. Raises Missing."""
    wanted = state.ask(duty)
    if not wanted.moves:
        raise Missing("duty.moves")
    found: list[Stretch] = []
    for move in wanted.moves:
        found += _move(state, move)
    left = (si_number(wanted.cycle) or 0.0) - sum(part.time for part in found)
    if left < -1e-9:
        raise Missing("duty.cycle")  # its moves do not fit in it
    hold = _standing(state, 0.0)
    return (*found, Stretch(hold, max(0.0, left), 0.0, 0.0))


def _of(state: State, extra: float) -> Load:
    masses: Moved = state.ask(moved)
    linear = state.ask(transmission).is_linear
    pulled = state.ask(pull) if linear else 0.0
    # A counterbalance carries its share of the load itself, and none of what is added.
    force = state.ask(load) * pulled + extra * state.ask(bare_pull) if linear else 0.0
    return Load(masses.load + extra, masses.rotor, force)


def _standing(state: State, extra: float) -> float:
    gears: Transmission = state.ask(transmission)
    return _of(state, extra).force * gears.per_radian


def _move(state: State, move: Move) -> list[Stretch]:
    distance = si_number(move.distance) or 0.0
    way, sign = abs(distance), 1.0 if distance >= 0 else -1.0
    speed = si_number(move.speed)
    speed = state.ask(profile_speed).value if speed is None else speed
    rise, fall = si_number(move.acceleration), si_number(move.deceleration)
    rise = ramp(state, RISE) if rise is None else rise
    fall = ramp(state, FALL) if fall is None else fall
    extra = si_number(move.load) or 0.0
    peak = min(speed, sqrt(2 * way * rise * fall / (rise + fall)))
    even = way - peak**2 / 2 / rise - peak**2 / 2 / fall
    parts = (
        (rise, peak / rise, 0.0, peak),
        (0.0, max(0.0, even) / peak if peak else 0.0, peak, peak),
        (-fall, peak / fall, peak, 0.0),
    )
    found = [
        Stretch(_torque(state, extra, sign * rate, sign), time, sign * begin, sign * end)
        for rate, time, begin, end in parts
        if time > 0
    ]
    wait = si_number(move.wait) or 0.0
    if wait > 0:
        found.append(Stretch(_standing(state, extra), wait, 0.0, 0.0))
    return found


def _torque(state: State, extra: float, rate: float, sign: float) -> float:
    """Torque of the motor at a rate (m/s^2, upwards positive) while it moves one way."""
    own, gears = _of(state, extra), state.ask(transmission)
    behind = own.behind * rate + own.force
    drives = behind * sign > 0
    through = behind / state.ask(efficiency) if drives else behind * state.ask(back_efficiency)
    return (through + own.rotor * rate) * gears.per_radian


@fact("r.m.s. torque of the duty")
def rms_torque(state: State) -> Figure:
    """Root of the mean square of the motor's torque over a cycle; measured, where it was."""
    gears = state.ask(transmission)
    measured = state.recorded("duty.rms_force")
    if measured is not None:
        return Figure(measured, gears.motor_unit, "duty.rms_force, measured")
    parts = state.ask(stretches)
    whole = sum(part.time for part in parts)
    if whole <= 0:
        raise DoesNotApply
    size = sqrt(sum(part.torque**2 * part.time for part in parts) / whole)
    bound = exact_unless(state.ask(moved).counterweight, "at_least")
    return Figure(size, gears.motor_unit, "sqrt(sum T^2 t / cycle) of the duty", bound)


@fact("peak torque of the duty")
def peak_torque(state: State) -> Figure:
    """The largest torque that the duty asks of the motor."""
    gears = state.ask(transmission)
    size = max(abs(part.torque) for part in state.ask(stretches))
    bound = exact_unless(state.ask(moved).counterweight, "at_least")
    return Figure(size, gears.motor_unit, "largest torque of the duty", bound)


@fact("power that the duty gives back")
def returned_power(state: State) -> Figure:
    """Mean power (W) over a cycle that comes back from the motor, winding losses not taken off."""
    gears, parts = state.ask(transmission), state.ask(stretches)
    whole = sum(part.time for part in parts)
    if whole <= 0:
        raise DoesNotApply
    size = sum(part.returned(gears.per_radian) for part in parts) / whole
    return Figure(size, "W", "braking and lowering energy of the duty / cycle", "up_to")


@margin("rms_torque", "availability", "the motor's rated torque against the r.m.s. of its duty")
def thermal(state: State) -> Held:
    """The motor must not get hotter than it bears."""
    gears = state.ask(transmission)
    have = Figure(state.ask(rated_torque), gears.motor_unit, "rated torque")
    return Held(have, state.ask(rms_torque))


@margin("peak_torque", "availability", "the torque limit against the peak of the duty")
def peak(state: State) -> Held:
    """The limits must leave what the duty asks for."""
    gears, both = state.ask(transmission), state.ask(limits)
    return Held(Figure(both.weaker, gears.motor_unit, both.basis), state.ask(peak_torque))

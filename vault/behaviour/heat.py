"""What the duty of an axis record takes of the motor, and what it gives back, move by move.

Each move is a trapezoid (or a triangle, where it is too short for its speed); torque goes through
the efficiency of the transmission in the direction that power flows, the rotor's does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from math import sqrt
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, exact_unless, fact, margin, together
from vault.behaviour.force import (
    back_efficiency,
    bare_pull,
    efficiency,
    hangs,
    limits,
    load,
    moved,
    pull,
    rated_torque,
)
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_cyclic
from vault.behaviour.ramp import FALL, RISE, ramp
from vault.behaviour.scale import transmission
from vault.behaviour.speed import profile_speed
from vault.behaviour.state import kind_of
from vault.model.axis import Duty, Move
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from vault.behaviour.force import Moved
    from vault.behaviour.scale import Transmission
    from vault.behaviour.state import State


_ONE_WAY_HEDGE = "the moves of the duty do not end where they began: the way back is not reckoned"
_ASSUMED_HEDGE = (
    "the controller makes the moves in this mode: what a move of the duty does not say of speed "
    "and ramps is taken from the profile"
)
_FORCE_HEDGE = "duty.rms_force in N is taken at the axis, without what the rotor takes of the motor"
ROUNDING = 1e-9
"""Times closer than this, in s, are one."""


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


def is_assumed(state: State) -> bool:
    """Whether a move is reckoned with a profile that does not act in this mode; hedged then."""
    found = state.asked(duty)
    if found is None or not is_cyclic(state):
        return False
    stated = ((move.speed, move.acceleration, move.deceleration) for move in found.moves)
    if not any(None in each for each in stated):
        return False
    state.hedge(_ASSUMED_HEDGE)
    return True


def places(wanted: Duty) -> list[float]:
    """Where its moves end, from where they begin, in m or rad: the begin first."""
    steps = (si_number(move.distance) or 0.0 for move in wanted.moves)
    return [*accumulate(steps, initial=0.0)]


def end_of(wanted: Duty) -> float:
    """Where the last move ends, from where the first began, in m or rad."""
    return places(wanted)[-1]


@dataclass(frozen=True, slots=True)
class Doubt:
    """What nobody recorded: whether losses help while the load drives, and what balances it."""

    losses_help: bool
    has_counterweight: bool


def ways(state: State) -> tuple[tuple[Stretch, ...], ...]:
    """The duty in every way that the record leaves open. Raises Missing."""
    helps = (True, False) if state.ask(efficiency) < 1 else (True,)
    weighs = (False, True) if state.ask(moved).counterweight else (False,)
    return tuple(_stretches(state, Doubt(help_, weigh)) for help_ in helps for weigh in weighs)


def _stretches(state: State, doubt: Doubt) -> tuple[Stretch, ...]:
    """The duty as parts of one torque each, standing included."""
    wanted = state.ask(duty)
    if not wanted.moves:
        raise Missing("duty.moves")
    if state.asked(hangs) and abs(end_of(wanted)) > ROUNDING:
        state.hedge(_ONE_WAY_HEDGE)
    found = _moves(state, wanted, doubt)
    left = (si_number(wanted.cycle) or 0.0) - sum(part.time for part in found)
    if left < -ROUNDING:
        raise Missing("duty.cycle")  # its moves do not fit in it: check says by how much
    hold = _standing(state, si_number(wanted.moves[-1].load) or 0.0)
    return (*found, Stretch(hold, max(0.0, left), 0.0, 0.0))


def _moves(state: State, wanted: Duty, doubt: Doubt) -> list[Stretch]:
    return [part for move in wanted.moves for part in _move(state, move, doubt)]


def moves_time(state: State) -> float:
    """Time (s) that the moves of the duty and their waits take, however the cycle is."""
    wanted = state.ask(duty)
    return sum(part.time for part in _moves(state, wanted, Doubt(True, False)))


def _of(state: State, extra: float, doubt: Doubt | None = None) -> Load:
    masses: Moved = state.ask(moved)
    beside = masses.counterweight if doubt is not None and doubt.has_counterweight else 0.0
    linear = state.ask(transmission).is_linear
    pulled = state.ask(pull) if linear else 0.0
    # A counterbalance carries its share of the load itself, and none of what is added.
    force = state.ask(load) * pulled + extra * state.ask(bare_pull) if linear else 0.0
    return Load(masses.load + extra + beside, masses.rotor, force)


def _standing(state: State, extra: float) -> float:
    gears: Transmission = state.ask(transmission)
    return _of(state, extra).force * gears.per_radian


def _move(state: State, move: Move, doubt: Doubt) -> list[Stretch]:
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
    own = _of(state, extra, doubt)
    found = [
        Stretch(_torque(state, own, sign * rate, sign, doubt), time, sign * begin, sign * end)
        for rate, time, begin, end in parts
        if time > 0
    ]
    wait = si_number(move.wait) or 0.0
    if wait > 0:
        found.append(Stretch(_standing(state, extra), wait, 0.0, 0.0))
    return found


def _torque(state: State, own: Load, rate: float, sign: float, doubt: Doubt) -> float:
    """Torque of the motor at a rate (m/s^2, upwards positive) while it moves one way."""
    behind = own.behind * rate + own.force
    if behind * sign > 0:
        through = behind / state.ask(efficiency)
    else:
        through = behind * (state.ask(back_efficiency) if doubt.losses_help else 1.0)
    return (through + own.rotor * rate) * state.ask(transmission).per_radian


def _cycle(parts: tuple[Stretch, ...]) -> float:
    """Time of a whole cycle in s."""
    whole = sum(part.time for part in parts)
    if whole <= 0:
        raise DoesNotApply
    return whole


def _worst(state: State, figures: list[float], unit: str, basis: str) -> Figure:
    """The largest of what is open; exact where nothing is."""
    size = max(figures)
    bound = exact_unless(min(figures) < size * (1 - 1e-9), "up_to")
    return Figure(size, unit, basis, together(bound, exact_unless(is_assumed(state), "unknown")))


@fact("r.m.s. torque of the duty")
def rms_torque(state: State) -> Figure:
    """Root of the mean square of the motor's torque over a cycle; measured, where it was."""
    gears = state.ask(transmission)
    measured = state.recorded("duty.rms_force")
    if measured is not None:
        return _measured(state, measured)
    found = [
        sqrt(sum(part.torque**2 * part.time for part in parts) / _cycle(parts))
        for parts in state.ask(ways)
    ]
    return _worst(state, found, gears.motor_unit, "sqrt(sum T^2 t / cycle) of the duty")


def _measured(state: State, size: float) -> Figure:
    """What was measured, at the motor: F L / (2 pi eta G) of a force at an axis."""
    gears = state.ask(transmission)
    if gears.is_direct or kind_of(state.record("duty.rms_force")) != "force":
        return Figure(size, gears.motor_unit, "duty.rms_force, measured")
    state.hedge(_FORCE_HEDGE)
    eta = state.ask(efficiency)
    basis = "duty.rms_force, measured, x L / (2 pi eta G)"
    bound = exact_unless(eta < 1, "up_to")
    return Figure(size * gears.per_radian / eta, gears.motor_unit, basis, bound)


@fact("peak torque of the duty")
def peak_torque(state: State) -> Figure:
    """The largest torque that the duty asks of the motor."""
    found = [max(abs(part.torque) for part in parts) for parts in state.ask(ways)]
    unit = state.ask(transmission).motor_unit
    return _worst(state, found, unit, "largest torque of the duty")


@fact("power that the duty gives back")
def returned_power(state: State) -> Figure:
    """Mean power (W) over a cycle that comes back from the motor, winding losses not taken off."""
    per_radian = state.ask(transmission).per_radian
    found = [
        sum(part.returned(per_radian) for part in parts) / _cycle(parts)
        for parts in state.ask(ways)
    ]
    basis = "braking and lowering energy of the duty / cycle"
    bound = together("up_to", exact_unless(is_assumed(state), "unknown"))
    return Figure(max(found), "W", basis, bound)


@margin("rms_torque", "availability", "the motor's rated torque against the r.m.s. of its duty")
def thermal(state: State) -> Held:
    """The motor must not get hotter than it bears."""
    gears = state.ask(transmission)
    plate = state.recorded("motor.rated_torque")
    if plate is None:
        have = Figure(state.ask(rated_torque), gears.motor_unit, "rated torque")
    else:  # what the set is told of the motor does not cool it
        have = Figure(plate, gears.motor_unit, "motor.rated_torque")
    return Held(have, state.ask(rms_torque))


@margin("peak_torque", "availability", "the torque limit against the peak of the duty")
def peak(state: State) -> Held:
    """The limits must leave what the duty asks for."""
    gears, both = state.ask(transmission), state.ask(limits)
    return Held(Figure(both.weaker, gears.motor_unit, both.basis), state.ask(peak_torque))

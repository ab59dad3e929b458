"""How far the axis goes for what it is told, which way, and how many counts that takes.

Factor group of CiA 402-2 / IEC 61800-7-201 (see `vault.behaviour.scaling`).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, fact, margin
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.state import TRAVEL
from vault.model.axis import TURNING

if TYPE_CHECKING:
    from vault.behaviour.state import State

LOW, HIGH = "min_software_position_limit", "max_software_position_limit"
_POSITION_BIT = 0x80  # of 607Eh, from memory
_MOST_COUNTS = 2.0**31
"""Positions are INTEGER32 (CiA 402-2)."""
_DIRECT = "linear_motor"
_NO_GEARBOX = "the gearbox is taken as 1:1, as mechanics.gearbox is not recorded"


@dataclass(frozen=True, slots=True)
class Transmission:
    """What stands between motor and axis as built.

    `per_radian`: m, or rad of the axis, for a radian of the motor. A linear motor is the axis
    itself: 1, and its torques are forces; its `turn` is the pole pitch, None where not recorded.
    """

    per_radian: float
    turn: float | None
    gear: float
    is_linear: bool
    is_direct: bool

    @property
    def per_turn(self) -> float:
        """Way for a turn of the driving shaft, in m or rad. Raises Missing."""
        if self.turn is None:
            raise Missing("mechanics.pole_pitch")
        return self.turn

    @property
    def unit(self) -> str:
        """Unit of a position of the axis."""
        return "m" if self.is_linear else "rad"

    @property
    def force_unit(self) -> str:
        """Unit of what pushes or turns the axis."""
        return "N" if self.is_linear else "N*m"

    @property
    def motor_unit(self) -> str:
        """Unit of what the motor gives."""
        return "N" if self.is_direct else "N*m"


def transmission(state: State) -> Transmission:
    """The transmission as built. Raises Missing."""
    kind = state.record("mechanics.kind")
    if kind is None:
        raise Missing("mechanics.kind")
    keys = {
        "ball_screw": "mechanics.lead",
        "belt": "mechanics.pulley_circumference",
        "rack": "mechanics.pinion_circumference",
        "linear_motor": "mechanics.pole_pitch",
    }
    key = keys.get(str(kind))
    per_turn = 2 * pi if key is None else state.recorded(key)
    if kind == _DIRECT:
        return Transmission(1.0, per_turn, 1.0, is_linear=True, is_direct=True)
    if per_turn is None:
        raise Missing(key or "mechanics.kind")
    motor, output = (state.record(f"mechanics.gearbox.{end}") for end in ("motor", "output"))
    if motor is None:
        state.hedge(_NO_GEARBOX)
    gear = motor / output if isinstance(motor, int) and isinstance(output, int) else 1.0
    return Transmission(per_turn / (2 * pi * gear), per_turn, gear, key is not None, False)


def is_linear(state: State) -> bool:
    """Whether the axis moves in a line: as built, else by the unit of its set. Raises Missing."""
    kind = state.record("mechanics.kind")
    if kind is not None:
        return kind not in TURNING
    nominal = state.scaling.nominal_unit
    if nominal is not None:
        return nominal.kind == "length"
    for role in (HIGH, "following_error_window", "position_window"):
        found = state.value(role)
        if found is not None and found.kind in TRAVEL:
            return found.kind == "length"
    for role in ("profile_velocity", "max_profile_velocity"):
        found = state.value(role)
        if found is not None and found.kind == "velocity":
            return True  # turns may be those of a motor that moves a line
    raise Missing("mechanics.kind")


def unit(state: State) -> str:
    """Unit of a position of the axis: m or rad. Raises Missing."""
    return "m" if state.ask(is_linear) else "rad"


def position(state: State, role: str) -> float | None:
    """A position of the set on the machine as built, in m or rad as the axis moves; else None."""
    return state.si(role, ("length" if state.ask(is_linear) else "angle",))


@fact("travel ratio")
def travel_ratio(state: State) -> Figure:
    """k: way really moved over way stated; 1 where parameters and machine agree."""
    own = state.scaling
    error = own.travel_error
    state.asked(transmission)  # what it takes for granted is told
    if error is None:
        state.need(
            feed_constant_feed=None if own.feed is None else 1.0,
            si_unit_position=None if own.unit is None else 1.0,
            mechanics=None if own.travel is None else 1.0,
        )
        raise DoesNotApply
    return Figure(float(error), "1", "(R_set G_set / F_set) / (R_real G_real / L_real) / unit")


@fact("direction of motion")
def direction(state: State) -> Figure:
    """Sign of motion for a positive command: 607Eh times the direction that the encoder counts."""
    polarity, counted = state.raw("polarity"), state.choice("encoder_direction")
    if polarity is None and counted is None:
        raise Missing("polarity")
    sign = -1.0 if (polarity or 0) & _POSITION_BIT else 1.0
    return Figure(-sign if counted == 1 else sign, "1", "607Eh bit 7 x encoder direction")


@margin("counts", "availability", "the counts that 32 bits hold against those of the travel")
def counts(state: State) -> Held:
    """Positions in increments must fit a signed 32-bit number over the whole way."""
    own, gears = state.scaling, state.ask(transmission)
    if own.travel is None:
        raise Missing("mechanics")
    counted = own.encoder_fitted or own.encoder
    if counted is None:
        raise Missing("position_encoder_increments")
    stroke = state.recorded("mechanics.stroke")
    limits = [abs(end) for role in (LOW, HIGH) if (end := position(state, role)) is not None]
    if stroke is None and not limits:
        raise Missing("mechanics.stroke")
    if not stroke and not any(limits):
        raise DoesNotApply
    per_unit = float(counted) * gears.gear / gears.per_turn
    need = (max(limits) if stroke is None else stroke) * per_unit
    return Held(
        Figure(_MOST_COUNTS, "increments", "INTEGER32"),
        Figure(need, "increments", "R G / L x way"),
    )

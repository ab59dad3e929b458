"""What the supply leaves: torque at speed by its voltage, current on the phases that are fed.

A drive gives at most the voltage of its DC link; the motor's own voltage grows with its speed and
takes it up. Voltages are r.m.s. between two lines, 1 / sqrt(2) of the link (textbooks of electrical
drives, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from typing import TYPE_CHECKING

from vault.behaviour.energy import rest_low
from vault.behaviour.facts import Figure, Held, exact_unless, margin, together
from vault.behaviour.force import CURRENT_SAYS_LITTLE, limits, rated_torque
from vault.behaviour.heat import is_assumed, rms_torque, ways
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import transmission
from vault.behaviour.state import kind_of
from vault.model.quantities import Measure

if TYPE_CHECKING:
    from vault.behaviour.facts import Bound
    from vault.behaviour.state import State

_CONSTANT_HEDGE = "the torque constant is taken per ampere r.m.s.; see the motor's data"
_WINDING_HEDGE = "winding resistance and inductance are taken between two lines"
_LINE_HEDGE = (
    "from the corner to its highest speed the motor's torque is taken to fall to nothing in a line"
)
_ONE_PHASE_HEDGE = "on one phase many drives give less than they are rated; see the drive's manual"
_SHARE_HEDGE = "current is taken in proportion to torque"


@dataclass(frozen=True, slots=True)
class Winding:
    """A motor fed by its voltage: constant in V*s/rad between lines, of a phase ohm and H.

    `voltage` is what the drive gives between two lines; `pairs` are those of poles.
    """

    constant: float
    voltage: float
    resistance: float | None
    inductance: float
    pairs: float

    def torque(self, speed: float) -> float:
        """The most torque in N*m at a speed in rad/s: (e + R I)^2 + (p n L I)^2 = u^2."""
        own, given = self.constant * speed / sqrt(3), self.voltage / sqrt(3)
        if own >= given:
            return 0.0
        if self.resistance is None:
            return inf
        drop = self.resistance * own
        impedance = self.resistance**2 + (self.pairs * speed * self.inductance) ** 2
        current = (sqrt(drop**2 + impedance * (given**2 - own**2)) - drop) / impedance
        return sqrt(3) * self.constant * current


def winding(state: State) -> Winding:
    """The motor at low mains. Raises Missing with the corner, which tells as much."""
    if state.choice("motor_type") in CURRENT_SAYS_LITTLE or state.ask(transmission).is_direct:
        raise Missing("motor.corner_speed")
    constant = state.recorded("motor.voltage_constant")
    if constant is None:
        by_torque = state.si("motor_torque_constant", ("torque_constant",))
        if by_torque is None or by_torque <= 0:
            raise Missing("motor.corner_speed")
        state.hedge(_CONSTANT_HEDGE)
        constant = by_torque / sqrt(3)
    ohm = state.si("motor_winding_resistance", ("resistance",))
    henry = state.si("motor_winding_inductance", ("inductance",))
    pairs = state.number("motor_pole_pairs")
    voltage = state.ask(rest_low).value / sqrt(2)
    if not ohm or ohm < 0 or henry is None or not pairs:
        return Winding(constant, voltage, None, 0.0, 0.0)
    state.hedge(_WINDING_HEDGE)
    return Winding(constant, voltage, ohm / 2, henry / 2, pairs)


def _of_motor(state: State, speed: float) -> tuple[float, Bound]:
    """The most torque of the motor at its speed (rad/s, or m/s), whatever the set allows."""
    corner = state.recorded("motor.corner_speed")
    wanted = "velocity" if state.ask(transmission).is_direct else "angular_velocity"
    if corner is None or kind_of(state.record("motor.corner_speed")) != wanted:
        return state.ask(winding).torque(speed), "up_to"
    if speed <= corner:
        return inf, "exact"
    top, most = state.needed("motor.max_speed"), state.recorded("motor.max_torque")
    if most is None:
        most = state.ask(limits).weaker
    state.hedge(_LINE_HEDGE)
    return most * max(0.0, top - speed) / (top - corner) if top > corner else 0.0, "at_least"


@margin(
    "speed_torque", "availability", "torque that the voltage leaves at speed against the duty's"
)
def speed_torque(state: State) -> Held:
    """At speed the motor's own voltage leaves less to drive current with."""
    gears, both, found = state.ask(transmission), state.ask(limits), []
    for parts in state.ask(ways):
        points = [
            (part.torque, max(abs(part.begin), abs(part.end)) / gears.per_radian)
            for part in parts
            if part.torque * (part.begin + part.end) > 0
        ]
        for torque, speed in points:
            own, bound = _of_motor(state, speed)
            limit = both.positive if torque > 0 else both.negative
            if state.raw("polarity") and both.positive != both.negative:  # which way, makers differ
                limit, bound = both.weaker, together(bound, "at_least")
            have = Figure(min(own, limit), gears.motor_unit, "what limits and voltage leave", bound)
            found.append(Held(have, Figure(abs(torque), gears.motor_unit, "the duty's at speed")))
    if not found:
        raise DoesNotApply  # nothing is driven
    worst = min(found, key=lambda held: held.have.value / held.need.value)
    doubt = state.recorded("mechanics.counterbalance")
    bound = together(exact_unless(doubt or 0, "up_to"), exact_unless(is_assumed(state), "unknown"))
    return Held(worst.have, Figure(worst.need.value, worst.need.unit, worst.need.basis, bound))


def is_single_phase(state: State) -> bool:
    """Whether one phase feeds the drive: as recorded, else as it is set."""
    phases = state.record("supply.phases")
    return (phases if phases is not None else state.choice("supply_phases")) == 1


def drive_current(state: State) -> Figure:
    """What the drive gives all the time on the supply that feeds it, in A. Raises Missing."""
    recorded = state.record("supply.drive_current")
    size = recorded.physical() if isinstance(recorded, Measure) else None
    if size is not None:
        return Figure(float(size.number()), size.unit, "supply.drive_current")
    found = state.value("drive_rated_current")
    if found is None or found.kind != "current" or not found.size or found.size < 0:
        raise Missing("supply.drive_current")
    single = state.ask(is_single_phase)
    if single:
        state.hedge(_ONE_PHASE_HEDGE)
    return Figure(
        found.size, found.unit or "A", "the drive's rating", exact_unless(single, "up_to")
    )


@margin("duty_current", "availability", "the drive's continuous current against that of the duty")
def drive_current_for_duty(state: State) -> Held:
    """The drive must bear the duty, on one phase too."""
    if state.choice("motor_type") in CURRENT_SAYS_LITTLE:
        raise DoesNotApply
    have, torque = state.ask(drive_current), state.ask(rms_torque)
    rated = state.scaling.rated_current
    if rated is None or rated.ratio <= 0:
        raise Missing("motor.rated_current")
    state.hedge(_SHARE_HEDGE)
    state.hedge_amperes(have.unit, rated.unit)
    size = float(rated.number()) * torque.value / state.ask(rated_torque)
    return Held(have, Figure(size, rated.unit, "I_rated T_rms / T_rated", torque.bound))

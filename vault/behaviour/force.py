"""What pushes the axis, what pulls at it, and what moves, at the axis: N and kg, or N*m, kg*m^2.

The rotor is not behind the efficiency of the transmission; a load that drives the motor loses
2 - 1/eta of its pull on the way (self-locking screws: none arrives; mechanics textbooks, from the
balance of friction, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin, tan
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, exact_unless, fact, margin, together
from vault.behaviour.formulas import G0
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_cyclic
from vault.behaviour.ramp import QUICK_STOP, RISE, ramp
from vault.behaviour.scale import is_linear, transmission

if TYPE_CHECKING:
    from vault.behaviour.scale import Transmission
    from vault.behaviour.state import State

_CREEPS = 0.1
"""Slope, as its tangent, that the friction of a guide may hold (common practice, no source)."""
_LINEAR_HEDGE = "6076h of a linear motor is taken in mN, though its unit is mN*m"
_CURRENT_HEDGE = "torque is taken in proportion to current, which saturation lessens"
CURRENT_SAYS_LITTLE = (5, 6, 7)
"""Motor types of 6402h (from memory) whose torque is not in proportion to their current."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What moves: the load, and the rotor as it counts at the axis; kg or kg*m^2.

    `counterweight` is what a counterbalance adds where it is a weight and not a spring.
    """

    load: float
    rotor: float
    counterweight: float

    @property
    def least(self) -> float:
        """Without a counterweight."""
        return self.load + self.rotor

    @property
    def most(self) -> float:
        """With it."""
        return self.load + self.rotor + self.counterweight


def efficiency(state: State) -> float:
    """Efficiency of the transmission while the motor drives; 1 where it is not recorded."""
    return state.recorded("mechanics.efficiency") or 1.0


def back_efficiency(state: State) -> float:
    """Share of the load's pull that arrives while the load drives the motor: 2 - 1/eta."""
    return max(0.0, 2 - 1 / state.ask(efficiency))


def hangs(state: State) -> bool:
    """Whether the load moves by itself when nothing holds it. Raises Missing.

    An axis that turns has no weight in its record that pulls at it.
    """
    if not state.ask(is_linear):
        return False
    orientation = state.ask(lies)
    if orientation == "vertical":
        return state.ask(pull) != 0
    if orientation != "inclined":
        return False
    slope = state.recorded("mechanics.inclination")
    steep = slope is None or abs(tan(slope)) > _CREEPS
    return steep and state.ask(pull) != 0


def lies(state: State) -> str:
    """How an axis lies: `horizontal`, `vertical` or `inclined`. Raises Missing."""
    found = state.record("mechanics.orientation")
    if found is None:
        raise Missing("mechanics.orientation")
    return str(found)


def bare_pull(state: State) -> float:
    """How gravity speeds up along the axis what nothing counterbalances, m/s^2; 0 where it lies.

    Raises Missing.
    """
    orientation = state.ask(lies)
    if orientation == "horizontal":
        return 0.0
    slope = pi / 2 if orientation == "vertical" else state.needed("mechanics.inclination")
    return G0 * sin(abs(slope))


def pull(state: State) -> float:
    """How gravity speeds up a free load, m/s^2, less what is counterbalanced."""
    carried = state.recorded("mechanics.counterbalance") or 0.0
    return 0.0 if carried == 1 else state.ask(bare_pull) * (1 - carried)


def steepest_pull(state: State) -> float:
    """Pull of a load that hangs, as if plumb where its slope is not recorded; 0 for another."""
    hanging = state.asked(hangs)
    if hanging is False or state.record("mechanics.kind") is None:
        return 0.0
    found = state.asked(pull)
    if found is not None:
        return found
    return G0 * (1 - (state.recorded("mechanics.counterbalance") or 0.0))


def load(state: State) -> float:
    """What moves behind the transmission, at the axis: kg, or kg*m^2. Raises Missing."""
    linear = state.ask(transmission).is_linear
    return state.needed("mechanics.moving_mass" if linear else "mechanics.load_inertia")


def hanging_force(state: State) -> float:
    """Pull (N) of a load that hangs, as if plumb where its slope is not recorded. Raises Missing.

    Of one that lies, or that its guide holds, 0.
    """
    pulled = state.ask(steepest_pull)
    return pulled * state.ask(load) if pulled else 0.0


def gravity_force(state: State) -> float:
    """Pull along the axis in N, down positive; 0 for one that lies or turns. Raises Missing."""
    if not state.ask(transmission).is_linear:
        return 0.0
    pulled = state.ask(pull)
    return state.ask(load) * pulled if pulled else 0.0


def rotor_inertia(state: State) -> float:
    """Rotor inertia in kg*m^2; a linear motor's moving part belongs to the moved mass."""
    if state.ask(transmission).is_direct:
        return 0.0
    found = state.recorded("motor.inertia")
    if found is None:
        found = state.si("motor_inertia", ("inertia",))
    if found is None or found < 0:
        raise Missing("motor.inertia")
    return found


def counterweight(state: State) -> float:
    """What a counterbalance adds to the load where it is a weight, in kg. Raises Missing."""
    carried = state.recorded("mechanics.counterbalance") or 0.0
    pulled = carried and state.ask(is_linear) and state.ask(lies) != "horizontal"
    return state.ask(load) * carried if pulled else 0.0


def moved(state: State) -> Moved:
    """What a push at the axis must speed up. Raises Missing."""
    per_radian, own = state.ask(transmission).per_radian, state.ask(load)
    return Moved(own, state.ask(rotor_inertia) / per_radian**2, state.ask(counterweight))


def rated_torque(state: State) -> float:
    """Rated torque in N*m, of a linear motor its force in N. Raises Missing."""
    rated = state.scaling.rated_torque
    if rated is None:
        raise Missing("motor.rated_torque")
    if state.ask(transmission).is_direct:
        state.hedge(_LINEAR_HEDGE)
    return abs(float(rated.number()))


@dataclass(frozen=True, slots=True)
class Limits:
    """Torque that the motor may give either way: N*m, or N of a linear motor; and what says so."""

    positive: float
    negative: float
    basis: str

    @property
    def weaker(self) -> float:
        """The least of both ways."""
        return min(self.positive, self.negative)


def limits(state: State) -> Limits:
    """The least of all that limits torque: 6072h, 60E0h and 60E1h, current, the motor's maximum.

    Raises Missing where nothing does.
    """
    common = [_torque(state, "max_torque"), _by_current(state), _by_motor(state)]
    ways = []
    for role in ("positive_torque_limit", "negative_torque_limit"):
        known = [size for size in (_torque(state, role), *common) if size is not None]
        if not known:
            raise Missing("max_torque")
        ways.append(min(known))
    return Limits(ways[0], ways[1], "least of 6072h, 60E0h or 60E1h, 6073h and the motor's maximum")


def _torque(state: State, role: str) -> float | None:
    size = state.si(role, ("torque",))
    return None if size is None else abs(size)


def torque_follows_current(state: State) -> bool:
    """Whether torque is in proportion to current, as far as the motor's type says."""
    return state.choice("motor_type") not in CURRENT_SAYS_LITTLE


def _by_current(state: State) -> float | None:
    """Torque at the current limit: in proportion (permanent-magnet motor; common practice)."""
    limit, own = state.value("max_current"), state.scaling
    if limit is None or limit.size is None or limit.kind != "current":
        return None
    if own.rated_torque is None or not own.rated_current:
        return None
    if not torque_follows_current(state) or own.rated_current.ratio <= 0:
        return None
    state.hedge(_CURRENT_HEDGE)
    state.hedge_amperes(limit.unit, own.rated_current.unit)
    return abs(limit.size) / float(own.rated_current.number()) * state.ask(rated_torque)


def _by_motor(state: State) -> float | None:
    most = state.recorded("motor.max_torque")
    return most if most is not None and most > 0 else None


def falling_end(state: State) -> str | None:
    """The end, `low` or `high`, that the load goes to when nothing holds it; None for unknown.

    By `mechanics.down`, else by the torque offset (60B2h), which holds it.
    """
    down = state.record("mechanics.down")
    if down is not None:
        falls = down if state.ask(pull) >= 0 else ("low" if down == "high" else "high")
        return str(falls)
    offset = state.number("torque_offset")
    if not offset or state.raw("polarity"):
        return None  # which way a turned bit turns the torque, makers differ
    return "low" if offset > 0 else "high"


def lifting_limit(state: State) -> Figure:
    """Torque left to hold and lift: of the weaker way, unless it is known which way lifts.

    Positive torque goes to the high end, where 607Eh turns nothing.
    """
    both, gears, falls = state.ask(limits), state.ask(transmission), state.asked(falling_end)
    if both.positive == both.negative:
        return Figure(both.positive, gears.motor_unit, both.basis)
    if falls is not None and not state.raw("polarity"):
        way = both.positive if falls == "low" else both.negative
        return Figure(way, gears.motor_unit, f"{both.basis}, the way that lifts")
    return Figure(both.weaker, gears.motor_unit, f"{both.basis}, the weaker way", "at_least")


def _at_motor(force: float, gears: Transmission) -> float:
    return force * gears.per_radian


@fact("thrust at the limit")
def thrust(state: State) -> Figure:
    """What the torque limit gives at the axis, losses taken off: 2 pi eta G T / L."""
    gears = state.ask(transmission)
    size = state.ask(limits).weaker / gears.per_radian * state.ask(efficiency)
    return Figure(size, gears.force_unit, "2 pi eta G T / L, the weaker way")


@fact("torque to hold the load")
def hold_torque(state: State) -> Figure:
    """Torque at rest without help of friction: m g L / (2 pi G)."""
    if not state.ask(hangs):
        raise DoesNotApply
    gears = state.ask(transmission)
    size = abs(_at_motor(state.ask(gravity_force), gears))
    lossy = state.ask(efficiency) < 1
    return Figure(size, gears.motor_unit, "m g L / (2 pi G)", exact_unless(lossy, "up_to"))


@fact("torque to lift the load")
def lift_torque(state: State) -> Figure:
    """Torque upwards at constant speed: m g L / (2 pi eta G)."""
    if not state.ask(hangs):
        raise DoesNotApply
    gears = state.ask(transmission)
    size = abs(_at_motor(state.ask(gravity_force), gears)) / state.ask(efficiency)
    return Figure(size, gears.motor_unit, "m g L / (2 pi eta G)")


@fact("torque to speed up")
def acceleration_torque(state: State) -> Figure:
    """Torque on the acceleration ramp, upwards: (m g + m a) L / (2 pi eta G) + J a 2 pi G / L.

    In cyclic modes the controller makes the ramps.
    """
    if is_cyclic(state):
        raise DoesNotApply
    gears, rate = state.ask(transmission), ramp(state, RISE)
    masses, force = state.ask(moved), abs(state.ask(gravity_force))
    behind = force + (masses.load + masses.counterweight) * rate
    size = _at_motor(behind / state.ask(efficiency) + masses.rotor * rate, gears)
    bound = exact_unless(masses.counterweight, "up_to")
    return Figure(size, gears.motor_unit, "(F + m a) L / (2 pi eta G) + J a 2 pi G / L", bound)


@fact("acceleration at the torque limit")
def limit_rate(state: State) -> Figure:
    """Acceleration (m/s^2 or rad/s^2) upwards that the torque limit gives.

    (T / r - F / eta) / (m / eta + J / r^2): the rotor is not behind the efficiency.
    """
    gears, masses, eta = state.ask(transmission), state.ask(moved), state.ask(efficiency)
    force = state.ask(lifting_limit).value / gears.per_radian - abs(state.ask(gravity_force)) / eta
    if force <= 0:
        raise DoesNotApply  # it does not go up
    size = force / ((masses.load + masses.counterweight) / eta + masses.rotor)
    bound = together(state.ask(lifting_limit).bound, exact_unless(masses.counterweight, "at_least"))
    unit = f"{gears.unit}/s^2"
    return Figure(size, unit, "(T / r - F / eta) / (m / eta + J / r^2), r = L / (2 pi G)", bound)


@fact("torque to brake a descent")
def descent_torque(state: State) -> Figure:
    """Torque on the quick-stop ramp while the load goes down; losses may help."""
    if not state.ask(hangs):
        raise DoesNotApply
    gears, rate, masses = state.ask(transmission), ramp(state, QUICK_STOP), state.ask(moved)
    behind = abs(state.ask(gravity_force)) + (masses.load + masses.counterweight) * rate
    size = _at_motor(behind + masses.rotor * rate, gears)
    bound = exact_unless(masses.counterweight or state.ask(efficiency) < 1, "up_to")
    basis = "(F + m a) L / (2 pi G) + J a 2 pi G / L"
    return Figure(size, gears.motor_unit, basis, bound)


@margin("hold", "protects", "the torque limit against the load that hangs")
def hold(state: State) -> Held:
    """The motor must be able to hold what hangs."""
    return Held(state.ask(lifting_limit), state.ask(hold_torque))


@margin("lift", "availability", "the torque limit against lifting at constant speed")
def lift(state: State) -> Held:
    """The motor must be able to lift it."""
    return Held(state.ask(lifting_limit), state.ask(lift_torque))


@margin("acceleration", "availability", "the torque limit against the acceleration ramp")
def acceleration(state: State) -> Held:
    """The motor must be able to follow the acceleration ramp."""
    return Held(state.ask(lifting_limit), state.ask(acceleration_torque))


@margin("descent", "availability", "the torque limit against braking a descent on its ramp")
def descent(state: State) -> Held:
    """The motor must be able to follow the quick-stop ramp downwards."""
    return Held(state.ask(lifting_limit), state.ask(descent_torque))

"""How fast the control loops are, by gains and all that they move, and how near to ringing."""

from __future__ import annotations

from cmath import phase
from math import degrees, pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, exact_unless, fact, margin
from vault.behaviour.following import position_gain
from vault.behaviour.force import moved, rotor_inertia
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import transmission

if TYPE_CHECKING:
    from vault.behaviour.state import State

_TIME = ("time",)
_GAINS = ("damping", "linear_damping")
_APART = 4
"""The velocity loop is at least so many times as fast as the position loop (common practice)."""
_LEAST_PHASE = 20.0
"""Degrees of phase margin under which a loop rings for long (common practice, no source)."""
_MOST_INERTIA = 10.0
"""Load over rotor that is commonly kept to (common practice, no source)."""


def inertia(state: State) -> float:
    """All that the motor turns, at its shaft: kg*m^2; kg of a linear motor. Raises Missing."""
    per_radian, masses = state.ask(transmission).per_radian, state.ask(moved)
    return masses.most * per_radian**2


def gain(state: State) -> float:
    """Proportional gain of the velocity loop in N*m*s/rad. Raises Missing, DoesNotApply."""
    found = state.value("velocity_gain")
    if found is None or found.number is None:
        raise Missing("velocity_gain")
    if found.number <= 0 or found.kind not in _GAINS:
        raise DoesNotApply  # a gain in another unit tells a bandwidth, or nothing
    return found.size or found.number


@fact("bandwidth of the velocity loop")
def velocity_bandwidth(state: State) -> Figure:
    """Kp / J in 1/s, J all that moves; or the gain itself, where it is in 1/s."""
    direct = state.si("velocity_gain", ("gain",))
    if direct is not None and direct > 0:
        state.hedge("a velocity gain in 1/s is taken for the bandwidth, whatever the inertia")
        return Figure(direct, "1/s", "the gain")
    bound = exact_unless(state.ask(moved).counterweight, "at_least")
    return Figure(state.ask(gain) / state.ask(inertia), "1/s", "Kp / J", bound)


@fact("inertia ratio")
def inertia_ratio(state: State) -> Figure:
    """Load over rotor, both at the motor."""
    rotor = state.ask(rotor_inertia)
    if rotor <= 0:
        raise DoesNotApply
    masses = state.ask(moved)
    size = (masses.load + masses.counterweight) * state.ask(transmission).per_radian ** 2 / rotor
    return Figure(
        size, "1", "load at the motor / rotor", exact_unless(masses.counterweight, "up_to")
    )


def open_loop(state: State, bandwidth: float, omega: float) -> complex:
    """Open velocity loop at an angular frequency: PI, filters of first order, all that moves."""
    reset = state.si("velocity_integral_time", _TIME)
    s = 1j * omega
    found: complex = bandwidth / s
    if reset is not None and reset > 0:
        found *= 1 + 1 / (reset * s)
    for role in ("torque_filter_time", "velocity_filter_time"):
        time = state.si(role, _TIME)
        if time is not None and time > 0:
            found /= 1 + time * s
    return found


def crossover(state: State, bandwidth: float) -> float:
    """Angular frequency (rad/s) at which the open velocity loop has a gain of one."""
    low, high = 1e-6, 1e9
    for _ in range(60):  # the gain falls with the frequency: halve in its logarithm
        middle = (low * high) ** 0.5
        if abs(open_loop(state, bandwidth, middle)) > 1:
            low = middle
        else:
            high = middle
    return low


def _phase_margin(state: State, bandwidth: float) -> float:
    turned = phase(open_loop(state, bandwidth, crossover(state, bandwidth)))
    return 180 + degrees(turned if turned <= 0 else turned - 2 * pi)


@fact("phase margin of the velocity loop")
def phase_margin(state: State) -> Figure:
    """180 deg and the phase at the crossover, without dead time, of which no set tells.

    The larger of both, where a counterbalance may be a weight or a spring.
    """
    least = state.ask(velocity_bandwidth).value
    found = [_phase_margin(state, least)]
    masses = state.asked(moved)
    if masses is not None and masses.counterweight:
        found.append(_phase_margin(state, least * masses.most / masses.least))
    return Figure(max(found), "deg", "180 deg + phase at the crossover", "up_to")


@margin("loops_apart", "availability", "the velocity loop against four times the position loop")
def loops_apart(state: State) -> Held:
    """A position loop nearly as fast as the velocity loop overshoots and swings."""
    need = Figure(_APART * state.ask(position_gain), "1/s", "4 Kv (common practice, no source)")
    return Held(state.ask(velocity_bandwidth), need)


@margin("phase", "protects", "phase margin of the velocity loop against 20 degrees")
def stability(state: State) -> Held:
    """A loop with less rings for long, or swings for ever."""
    need = Figure(_LEAST_PHASE, "deg", "common practice, no source")
    return Held(state.ask(phase_margin), need)


@margin("inertia", "availability", "ten times the inertia of the rotor against that of the load")
def inertia_apart(state: State) -> Held:
    """A load much heavier than the rotor leads the motor about."""
    have = Figure(_MOST_INERTIA, "1", "common practice, no source")
    return Held(have, state.ask(inertia_ratio))


def _position_loop(state: State, bandwidth: float, omega: float) -> complex:
    """Open position loop: Kv / s around the closed velocity loop."""
    inner = open_loop(state, bandwidth, omega)
    return state.ask(position_gain) / (1j * omega) * inner / (1 + inner)


@fact("phase margin of the position loop")
def position_phase(state: State) -> Figure:
    """180 deg and the phase of the position loop at its crossover, without dead time."""
    bandwidth = state.ask(velocity_bandwidth).value
    low, high = (state.ask(position_gain) * times for times in (0.01, 100))
    steps = 120
    before, turned = low, phase(_position_loop(state, bandwidth, low))
    for number in range(1, steps + 1):
        omega = low * (high / low) ** (number / steps)
        loop = _position_loop(state, bandwidth, omega)
        if abs(loop) < 1:
            return Figure(
                180 + degrees(_at_crossing(state, bandwidth, before, omega, turned)),
                "deg", "180 deg + phase at the crossover", "up_to",
            )  # fmt: skip
        before, turned = omega, _unwrapped(phase(loop), turned)
    raise DoesNotApply


def _unwrapped(angle: float, last: float) -> float:
    """An angle on the turn that lies next to the last one."""
    return angle + 2 * pi * round((last - angle) / (2 * pi))


def _at_crossing(state: State, bandwidth: float, low: float, high: float, last: float) -> float:
    """Phase where the open position loop has a gain of one."""
    for _ in range(40):
        middle = (low * high) ** 0.5
        loop = _position_loop(state, bandwidth, middle)
        last = _unwrapped(phase(loop), last)
        low, high = (middle, high) if abs(loop) > 1 else (low, middle)
    return last


@margin("position_phase", "protects", "phase margin of the position loop against 20 degrees")
def position_stability(state: State) -> Held:
    """A position loop too fast for its velocity loop swings, and may swing for ever."""
    need = Figure(_LEAST_PHASE, "deg", "common practice, no source")
    return Held(state.ask(position_phase), need)

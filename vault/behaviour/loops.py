"""How fast the control loops are, by gains and all that they move, and how near to ringing."""

from __future__ import annotations

from cmath import exp, phase
from dataclasses import dataclass
from functools import lru_cache
from math import degrees, pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, exact_unless, fact, margin
from vault.behaviour.following import position_gain
from vault.behaviour.force import counterweight, load, moved, rotor_inertia
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import transmission

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.behaviour.state import State

_TIME = ("time",)
_GAINS = ("damping", "linear_damping")
_APART = 4
"""The velocity loop is at least so many times as fast as the position loop (common practice)."""
_LEAST_PHASE = 20.0
"""Degrees of phase margin under which a loop rings for long (common practice, no source)."""
_MOST_INERTIA = 10.0
"""Load over rotor that is commonly kept to (common practice, no source)."""
_CYCLES = 1.5
_CYCLE_HEDGE = "a loop is taken to act a cycle and a half later; some drives are quicker"
_DEPTH_HEDGE = (
    "a notch's depth is taken as what it takes out, 100 % for all; see the drive's manual"
)
_MOVES_HEDGE = "a resonance moves with the load and the place along the stroke"
_HERTZ = ("frequency",)
_MOST_NOTCHES = 8
_HALVINGS = 40  # of 12 decades: closer than anybody measures
_FROM, _TO, _STEPS = 0.01, 100.0, 200
"""Where crossovers are looked for, in bandwidths: a notch may make several."""
_KEPT = 256
"""Loops whose phase margin is kept: the sides of a comparison and its variants share most."""


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


def load_at_motor(state: State) -> Figure:
    """Inertia (kg*m^2) of the load as the motor has it: m (L / (2 pi G))^2, or J / G^2.

    Raises Missing; DoesNotApply for a linear motor, which moves the mass itself.
    """
    gears = state.ask(transmission)
    if gears.is_direct:
        raise DoesNotApply
    carried = state.ask(counterweight)
    size = (state.ask(load) + carried) * gears.per_radian**2
    basis = "m (L / (2 pi G))^2" if gears.is_linear else "J / G^2"
    return Figure(size, "kg*m^2", basis, exact_unless(carried, "up_to"))


@fact("inertia ratio")
def inertia_ratio(state: State) -> Figure:
    """Load over rotor, both at the motor."""
    rotor = state.ask(rotor_inertia)
    if rotor <= 0:
        raise DoesNotApply
    at_motor = state.ask(load_at_motor)
    return Figure(at_motor.value / rotor, "1", "load at the motor / rotor", at_motor.bound)


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch filter: where it lies, how wide (both Hz; None for unknown), what it takes out.

    `share` is 1 where nothing passes in its middle.
    """

    frequency: float
    width: float | None
    share: float

    def passes(self, s: complex) -> complex:
        """(s^2 + (1 - share) B s + w^2) / (s^2 + B s + w^2), B = 2 pi x width; 1 for unknown."""
        middle, damped = (2 * pi * self.frequency) ** 2 + s * s, 2 * pi * (self.width or 0.0) * s
        return (middle + (1 - self.share) * damped) / (middle + damped) if damped else 1.0


def corner_frequency(time: float) -> float:
    """Frequency (Hz) at which a filter of first order of a time (s) begins to damp."""
    return 1 / (2 * pi * time)


def notches(state: State) -> tuple[Notch, ...]:
    """The notch filters that are switched on. Raises Missing where the set has none at all."""
    if state.value("notch_filter_frequency") is None:
        raise Missing("notch_filter_frequency")
    found = []
    for number in range(1, _MOST_NOTCHES + 1):
        end = "" if number == 1 else f".{number}"
        frequency = state.si(f"notch_filter_frequency{end}", _HERTZ)
        if frequency is None:
            break
        width = state.si(f"notch_filter_bandwidth{end}", _HERTZ)
        if frequency <= 0 or width == 0:
            continue
        depth = state.number(f"notch_filter_depth{end}")
        if depth is not None:
            state.hedge(_DEPTH_HEDGE)
        share = 1.0 if depth is None else min(max(depth / 100, 0.0), 1.0)
        found.append(Notch(frequency, width, share))
    return tuple(found)


def dead_time(state: State) -> Figure:
    """Time (s) that the velocity loop takes beside its filters: recorded, else by its cycle.

    A cycle to compute, and half a one for which the torque is held (textbooks of sampled control,
    from memory).
    """
    known = state.recorded("loop_dead_time")
    if known is not None:
        return Figure(known, "s", "loop_dead_time")
    cycle = state.si("velocity_loop_cycle", _TIME) or 0.0
    if cycle > 0:
        state.hedge(_CYCLE_HEDGE)
    return Figure(_CYCLES * max(0.0, cycle), "s", "1.5 cycles of the velocity loop", "at_least")


@dataclass(frozen=True, slots=True)
class Loop:
    """The open velocity loop: PI, filters of first order, notches, dead time, all that moves."""

    bandwidth: float
    reset: float
    filters: tuple[float, ...]
    notches: tuple[Notch, ...]
    dead: float

    def gain(self, omega: float) -> float:
        """Gain at an angular frequency in rad/s."""
        return abs(self._undelayed(omega))

    def turned(self, omega: float) -> float:
        """Phase in rad at an angular frequency, however often it has gone round."""
        return sum(phase(factor) for factor in self._factors(omega)) - omega * self.dead

    def at(self, omega: float) -> complex:
        """The open loop at an angular frequency."""
        return self._undelayed(omega) * exp(-1j * omega * self.dead)

    def _undelayed(self, omega: float) -> complex:
        """The product of all factors, without dead time: asked hundreds of times for a margin."""
        s = 1j * omega
        found = self.bandwidth / s
        if self.reset > 0:
            found *= 1 + 1 / (self.reset * s)
        for time in self.filters:
            found /= 1 + time * s
        for notch in self.notches:
            found *= notch.passes(s)
        return found

    def _factors(self, omega: float) -> Iterator[complex]:
        s = 1j * omega
        yield self.bandwidth / s
        if self.reset > 0:
            yield 1 + 1 / (self.reset * s)
        for time in self.filters:
            yield 1 / (1 + time * s)
        for notch in self.notches:
            yield notch.passes(s)

    def crossovers(self) -> Iterator[float]:
        """Angular frequencies (rad/s) at which the gain falls through one."""
        if not self.notches:  # the gain only falls
            yield self._crossover(self.bandwidth * 1e-6, self.bandwidth * 1e6)
            return
        low = self.bandwidth * _FROM
        was_above = self.gain(low) > 1
        for step in range(1, _STEPS + 1):
            high = self.bandwidth * _FROM * (_TO / _FROM) ** (step / _STEPS)
            is_above = self.gain(high) > 1
            if was_above and not is_above:
                yield self._crossover(low, high)
            low, was_above = high, is_above

    def _crossover(self, low: float, high: float) -> float:
        for _ in range(_HALVINGS):  # in its logarithm
            middle = (low * high) ** 0.5
            low, high = (middle, high) if self.gain(middle) > 1 else (low, middle)
        return low


@lru_cache(_KEPT)
def worst_phase(velocity: Loop) -> float:
    """180 deg and the phase at the crossover, the worst of several. Raises DoesNotApply."""
    found = [180 + degrees(velocity.turned(omega)) for omega in velocity.crossovers()]
    if not found:
        raise DoesNotApply
    return min(found)


def loop(state: State, bandwidth: float) -> Loop:
    """The open velocity loop of a state at this bandwidth in 1/s."""
    reset, dead = state.si("velocity_integral_time", _TIME), state.ask(dead_time).value
    times = [state.si(role, _TIME) for role in ("torque_filter_time", "velocity_filter_time")]
    filters = tuple(time for time in times if time is not None and time > 0)
    return Loop(bandwidth, max(reset or 0.0, 0.0), filters, state.asked(notches) or (), dead)


@fact("phase margin of the velocity loop")
def phase_margin(state: State) -> Figure:
    """180 deg and the phase at the crossover; at most that where not all delay is known.

    The larger of both, where a counterbalance may be a weight or a spring.
    """
    least = state.ask(velocity_bandwidth).value
    found = [worst_phase(loop(state, least))]
    masses = state.asked(moved)
    open_ = (
        state.ask(dead_time).bound != "exact" or state.si("velocity_gain", ("gain",)) is not None
    )
    open_ |= any(notch.width is None for notch in state.asked(notches) or ())
    if masses is not None and masses.counterweight:
        open_ = True
        found.append(worst_phase(loop(state, least * masses.most / masses.least)))
    bound = exact_unless(open_, "up_to")
    return Figure(max(found), "deg", "180 deg + phase at the crossover", bound)


@margin("notch", "availability", "half the notch filter's width against its way from the resonance")
def notch_at_resonance(state: State) -> Held:
    """A notch beside the resonance filters what is none, and leaves the resonance."""
    resonance = state.recorded("mechanics.resonance")
    if resonance is None:
        raise DoesNotApply
    active = state.ask(notches)
    if not active:
        raise DoesNotApply  # not every resonance needs one
    reach = [(notch.width, abs(notch.frequency - resonance)) for notch in active]
    known = [(width / 2, away) for width, away in reach if width is not None]
    if not known:
        raise Missing("notch_filter_bandwidth")
    state.hedge(_MOVES_HEDGE)
    half, away = max(known, key=lambda one: one[0] - one[1])
    return Held(Figure(half, "Hz", "half its width"), Figure(away, "Hz", "notch to resonance"))


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


def position_cycle(state: State) -> float:
    """Cycle of the position loop in s; 0 where the set does not tell."""
    cycle = state.si("position_loop_cycle", _TIME) or 0.0
    if cycle > 0:
        state.hedge(_CYCLE_HEDGE)
    return max(0.0, cycle)


@dataclass(frozen=True, slots=True)
class PositionLoop:
    """The open position loop: Kv / s around the closed velocity loop, later by its own cycle."""

    inner: Loop
    gain: float
    late: float

    def at(self, omega: float) -> complex:
        """The open loop at an angular frequency in rad/s."""
        inner = self.inner.at(omega)
        outer = self.gain / (1j * omega) * exp(-1j * omega * self.late)
        return outer * inner / (1 + inner)


@fact("phase margin of the position loop")
def position_phase(state: State) -> Figure:
    """180 deg and the phase of the position loop at its crossover; at most that."""
    inner, kv = loop(state, state.ask(velocity_bandwidth).value), state.ask(position_gain)
    outer = PositionLoop(inner, kv, _CYCLES * state.ask(position_cycle))
    return Figure(_phase_around(outer), "deg", "180 deg + phase at the crossover", "up_to")


@lru_cache(_KEPT)
def _phase_around(outer: PositionLoop) -> float:
    """180 deg and the phase at the first crossover. Raises DoesNotApply."""
    low, high = (outer.gain * times for times in (0.01, 100))
    steps = 120
    before, turned = low, phase(outer.at(low))
    for number in range(1, steps + 1):
        omega = low * (high / low) ** (number / steps)
        found = outer.at(omega)
        if abs(found) < 1:
            return 180 + degrees(_at_crossing(outer, before, omega, turned))
        before, turned = omega, _unwrapped(phase(found), turned)
    raise DoesNotApply


def _unwrapped(angle: float, last: float) -> float:
    """An angle on the turn that lies next to the last one."""
    return angle + 2 * pi * round((last - angle) / (2 * pi))


def _at_crossing(outer: PositionLoop, low: float, high: float, last: float) -> float:
    """Phase where the open position loop has a gain of one."""
    for _ in range(_HALVINGS):
        middle = (low * high) ** 0.5
        found = outer.at(middle)
        last = _unwrapped(phase(found), last)
        low, high = (middle, high) if abs(found) > 1 else (low, middle)
    return last


@margin("position_phase", "protects", "phase margin of the position loop against 20 degrees")
def position_stability(state: State) -> Held:
    """A position loop too fast for its velocity loop swings, and may swing for ever."""
    need = Figure(_LEAST_PHASE, "deg", "common practice, no source")
    return Held(state.ask(position_phase), need)

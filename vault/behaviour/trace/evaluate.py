"""All that a trace tells, quantity by quantity: a figure, or why it cannot be told."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from vault.behaviour.trace.friction import friction
from vault.behaviour.trace.inertia import inertia
from vault.behaviour.trace.lag import overshoot, peak_lag, settling_time, steady_lag
from vault.behaviour.trace.measured import QUANTITIES, CannotBeTold, Measured
from vault.behaviour.trace.phases import Phases, phases_of
from vault.behaviour.trace.resonance import resonance
from vault.behaviour.trace.signals import Recorded, Signals, even_signals
from vault.behaviour.trace.stopping import stop_distance
from vault.behaviour.trace.torque import peak_torque, rms_torque

_NO_GEARS = "what the motor turns for a way of the axis is not known"


@dataclass(frozen=True, slots=True)
class Known:
    """What must be known of an axis beside its trace; None for what is not.

    `per_radian` is the way (m or rad) for a radian of the motor, 1 of a linear motor; `window` the
    position window in m or rad, `bandwidth` that of the velocity loop in Hz.
    """

    is_linear: bool = True
    is_direct: bool = False
    per_radian: float | None = None
    window: float | None = None
    bandwidth: float | None = None

    @property
    def unit(self) -> str:
        """Unit of a way of the axis."""
        return "m" if self.is_linear else "rad"

    @property
    def torque_unit(self) -> str:
        """Unit of what the motor gives."""
        return "N" if self.is_direct else "N*m"

    @property
    def inertia_unit(self) -> str:
        """Unit of what the motor moves."""
        return "kg" if self.is_direct else "kg*m^2"


Answers = Mapping[str, Measured | CannotBeTold]


def evaluate(recorded: Recorded, known: Known) -> Answers:
    """Each quantity of `QUANTITIES`: what the trace tells, or why it does not."""
    signals = even_signals(recorded)
    phases: _Parts
    try:
        phases = phases_of(signals)
    except CannotBeTold as error:
        phases = error
    signals = _turned(signals, phases, known)
    return {name: _answer(_ASKED[name], signals, phases, known) for name in QUANTITIES}


_Parts = Phases | CannotBeTold
"""The parts of the move, or why it has none that can be told apart."""


def _turned(signals: Signals, phases: _Parts, known: Known) -> Signals:
    """The signals with torque counted the way of the motion: mass resists what speeds it up."""
    if signals.torque is None:
        return signals
    try:
        found = inertia(signals, _moved(phases), known.inertia_unit, known.per_radian or 1.0)
    except CannotBeTold:
        return signals
    return signals if found.value >= 0 else replace(signals, torque=-signals.torque)


_Question = Callable[[Signals, _Parts, Known], Measured]


def _answer(
    question: _Question, signals: Signals, phases: _Parts, known: Known
) -> Measured | CannotBeTold:
    try:
        return question(signals, phases, known)
    except CannotBeTold as error:
        return error


def _moved(phases: _Parts) -> Phases:
    """The parts of the move, for what cannot be told without. Raises CannotBeTold."""
    if isinstance(phases, CannotBeTold):
        raise phases
    return phases


def _gears(known: Known) -> float:
    if known.per_radian is None:
        raise CannotBeTold(_NO_GEARS)
    return known.per_radian


_ASKED: dict[str, _Question] = {
    "steady_lag": lambda s, p, k: steady_lag(s, _moved(p), k.unit),
    "peak_lag": lambda s, p, k: peak_lag(s, _moved(p), k.unit),
    "settling_time": lambda s, p, k: settling_time(s, _moved(p), k.window),
    "overshoot": lambda s, p, k: overshoot(s, _moved(p), k.unit),
    "rms_torque": lambda s, p, k: rms_torque(s, k.torque_unit),
    "peak_torque": lambda s, p, k: peak_torque(s, k.torque_unit),
    "stop_distance": lambda s, p, k: stop_distance(s, _moved(p), k.unit),
    "friction": lambda s, p, k: friction(s, _moved(p), k.torque_unit, _gears(k)),
    "inertia": lambda s, p, k: inertia(s, _moved(p), k.inertia_unit, _gears(k)),
    "resonance": lambda s, p, k: resonance(s, p if isinstance(p, Phases) else None, k.bandwidth),
}

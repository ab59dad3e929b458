"""What set and record say of what a trace measured: the figures that each is held against."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Figure
from vault.behaviour.following import lag_at, settling_time, window
from vault.behaviour.force import limits, rated_torque
from vault.behaviour.loops import inertia, notches
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_cyclic
from vault.behaviour.ramp import FALL, QUICK_STOP, ramp
from vault.behaviour.scale import position, transmission, unit
from vault.behaviour.stop import WINDOW, jerk
from vault.behaviour.trace.evaluate import evaluate
from vault.behaviour.trace.in_si import known_of, recorded_of
from vault.behaviour.trace.measured import CannotBeTold, Measured

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.model.trace import Trace

_STOPS = ("stop", "halt", "not-aus", "notaus")


@dataclass(frozen=True, slots=True)
class Told:
    """What a trace tells of a quantity: a figure with what it is held against, or the reason."""

    name: str
    measured: Measured | None
    reason: str
    against: tuple[Figure, ...] = ()


def told_of(trace: Trace, state: State, move: str) -> tuple[dict[str, Told], tuple[str, ...]]:
    """Every quantity that a trace may tell of a state's axis, and remarks on its columns."""
    recorded, remarks = recorded_of(trace, state)
    answers = evaluate(recorded, known_of(state))
    found = {}
    for name, answer in answers.items():
        if isinstance(answer, CannotBeTold):
            found[name] = Told(name, None, answer.reason)
        else:
            figures = _against(state, name, answer, move)
            found[name] = Told(name, answer, "", figures)
    return found, remarks


def _against(state: State, name: str, measured: Measured, move: str) -> tuple[Figure, ...]:
    found = []
    for question in _ASKED.get(name, ()):
        try:
            figure = question(state, measured, move)
        except (Missing, DoesNotApply, OverflowError, ZeroDivisionError):
            continue
        if figure is not None:
            found.append(figure)
    return tuple(found)


_Question = Callable[["State", Measured, str], Figure | None]


def _lag(state: State, measured: Measured, move: str) -> Figure | None:
    return None if measured.speed is None else lag_at(state, measured.speed)


def _window(state: State, measured: Measured, move: str) -> Figure | None:
    found = window(state, WINDOW)
    return Figure(found.value, found.unit, "following error window")


def _settling(state: State, measured: Measured, move: str) -> Figure | None:
    return state.ask(settling_time)


def _position_window(state: State, measured: Measured, move: str) -> Figure | None:
    size = position(state, "position_window")
    return None if size is None else Figure(size, unit(state), "position window")


def _rated(state: State, measured: Measured, move: str) -> Figure | None:
    motor = state.ask(transmission).motor_unit
    return Figure(state.ask(rated_torque), motor, "rated torque")


def _limit(state: State, measured: Measured, move: str) -> Figure | None:
    both = state.ask(limits)
    return Figure(both.weaker, state.ask(transmission).motor_unit, both.basis)


def _stop(state: State, measured: Measured, move: str) -> Figure | None:
    """v^2 / 2a on the ramp of the move; the controller makes it in cyclic modes."""
    if measured.speed is None:
        return None
    is_stop = any(word in move.casefold() for word in _STOPS)
    if not is_stop and is_cyclic(state):
        return None
    rate = ramp(state, QUICK_STOP if is_stop else FALL)
    which = "quick-stop ramp" if is_stop else "deceleration ramp"
    size = formulas.stop_distance(measured.speed, rate, state.ask(jerk))
    return Figure(size, unit(state), f"v^2 / 2a of the {which}, without lag", "at_least")


def _inertia(state: State, measured: Measured, move: str) -> Figure | None:
    return Figure(state.ask(inertia), measured.unit, "motor and load of the axis record")


def _resonance(state: State, measured: Measured, move: str) -> Figure | None:
    known = state.recorded("mechanics.resonance")
    return None if known is None else Figure(known, "Hz", "mechanics.resonance")


def _notch(state: State, measured: Measured, move: str) -> Figure | None:
    active = state.ask(notches)
    if not active:
        return None
    nearest = min(active, key=lambda one: abs(one.frequency - measured.value))
    return Figure(nearest.frequency, "Hz", "the nearest notch filter")


_ASKED: Mapping[str, tuple[_Question, ...]] = {
    "steady_lag": (_lag, _window),
    "peak_lag": (_lag, _window),
    "settling_time": (_settling,),
    "overshoot": (_position_window,),
    "rms_torque": (_rated,),
    "peak_torque": (_limit, _rated),
    "stop_distance": (_stop,),
    "inertia": (_inertia,),
    "resonance": (_notch, _resonance),
}

"""Who holds a load that hangs, at every moment: brake torque, order of delays, and the drop.

Friction may help and is not counted on; the rotor slows the fall (its inertia at the axis counts).
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Figure, Held, fact, margin, together
from vault.behaviour.force import gravity_force, hangs, hold_torque, moved, pull, steepest_pull
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.room import falling_room
from vault.behaviour.scale import transmission
from vault.behaviour.speed import worst_speed

if TYPE_CHECKING:
    from vault.behaviour.state import State

_TIME = ("time",)
_NO = 0


def _held_by_brake(state: State) -> None:
    """Raise DoesNotApply where nothing hangs, or no brake is fitted or worked by the drive."""
    if state.record("brake.fitted") is False or state.choice("brake_used") == _NO:
        raise DoesNotApply
    if not state.ask(hangs):
        raise DoesNotApply


def brake_torque(state: State) -> Figure:
    """Holding torque of the fitted brake at the motor. Raises Missing."""
    found = state.recorded("brake.holding_torque")
    basis = "brake.holding_torque"
    if found is None:
        found, basis = state.si("brake_torque", ("torque",)), "the set"
    if found is None:
        raise Missing("brake.holding_torque")
    return Figure(found, state.ask(transmission).motor_unit, basis)


def apply_time(state: State) -> float:
    """How long the brake takes to close, in s. Raises Missing."""
    return state.needed("brake.apply_time")


def falls_at(state: State) -> float:
    """How a load that nothing holds speeds up, m/s^2: F / (m + J / r^2), no weight beside it.

    Where masses are not recorded, as nothing would slow it.
    """
    masses = state.asked(moved)
    if masses is None:
        return abs(state.ask(pull))
    return abs(state.ask(gravity_force)) / masses.least


def drop_within(state: State, time: float) -> Figure:
    """How far the load goes from a stand while nothing holds it for so many s."""
    falls = state.asked(falls_at)
    rate = state.ask(steepest_pull) if falls is None else falls
    is_plumb = rate == formulas.G0
    basis = "s = g t^2 / 2" if is_plumb else "s = a t^2 / 2, a = F / (m + J / r^2)"
    return Figure(formulas.drop(time, rate), "m", basis, "up_to")


def unheld_time(state: State) -> float:
    """How long neither motor nor brake holds, from a stand: apply time less apply delay, in s."""
    delay = state.si("brake_apply_delay", _TIME)
    if delay is None:
        raise Missing("brake_apply_delay")
    return max(0.0, state.ask(apply_time) - max(0.0, delay))


@fact("drop from a stand")
def drop_at_rest(state: State) -> Figure:
    """How far the load sinks while neither motor nor brake holds it: a t^2 / 2."""
    _held_by_brake(state)
    size = state.ask(falls_at) * state.ask(unheld_time) ** 2 / 2
    return Figure(size, state.ask(transmission).unit, "a t^2 / 2, a = F / (m + J / r^2)", "up_to")


@fact("drop from the worst speed")
def drop_moving(state: State) -> Figure:
    """How far the load goes when power is lost at the highest speed downwards, until it stands.

    Free fall while the brake closes, then the brake against load and rotor.
    """
    _held_by_brake(state)
    speed, after, falls = state.ask(worst_speed), state.ask(apply_time), state.ask(falls_at)
    gears, masses = state.ask(transmission), state.ask(moved)
    braking = state.ask(brake_torque).value / gears.per_radian - abs(state.ask(gravity_force))
    unit = gears.unit
    if braking <= 0:
        return Figure(inf, unit, "the brake does not stop the load", together(speed.bound, "up_to"))
    reached = speed.value + falls * after
    free = speed.value * after + falls * after**2 / 2
    size = free + reached**2 / 2 / (braking / masses.most)
    return Figure(size, unit, "v t + a t^2 / 2 + (v + a t)^2 / 2b", together(speed.bound, "up_to"))


@margin("brake_hold", "protects", "the brake's torque against the load that hangs")
def brake_hold(state: State) -> Held:
    """The brake must hold what hangs."""
    _held_by_brake(state)
    return Held(state.ask(brake_torque), state.ask(hold_torque))


@margin("brake_apply", "protects", "the delay that the motor holds against the brake's closing")
def brake_apply(state: State) -> Held:
    """The motor must hold until the brake has closed."""
    _held_by_brake(state)
    delay = state.si("brake_apply_delay", _TIME)
    if delay is None:
        raise Missing("brake_apply_delay")
    return Held(Figure(delay, "s", "the set"), Figure(state.ask(apply_time), "s", "the brake's"))


@margin("brake_release", "availability", "the delay before motion against the brake's opening")
def brake_release(state: State) -> Held:
    """The axis must not start against a brake that is closed."""
    if state.record("brake.fitted") is False or state.choice("brake_used") == _NO:
        raise DoesNotApply
    opens = state.recorded("brake.release_time")
    delay = state.si("brake_release_delay", _TIME)
    if delay is None and opens is None:
        raise DoesNotApply
    if delay is None or opens is None:
        raise Missing("brake.release_time" if opens is None else "brake_release_delay")
    return Held(Figure(delay, "s", "the set"), Figure(opens, "s", "the brake's"))


@margin("drop_room", "protects", "room where the load falls against the drop when power is lost")
def drop_room(state: State) -> Held:
    """What falls at the highest speed must stand before the hard stop."""
    return Held(state.ask(falling_room), state.ask(drop_moving))

"""Where the energy of a stop and of lowering goes: DC link, braking resistor, trip.

The order is supply peak at high mains, switch-on of the resistor, trip. Losses help and are not
counted on, so what comes back is `up_to` so much.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Figure, Held, fact, margin, together
from vault.behaviour.force import gravity_force, hangs, moved
from vault.behaviour.heat import returned_power
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import stroke
from vault.behaviour.ramp import QUICK_STOP, ramp
from vault.behaviour.speed import worst_speed
from vault.behaviour.stop import quick_ramp_stop

if TYPE_CHECKING:
    from vault.behaviour.state import State

_HIGH_MAINS, _LOW_MAINS = 1.1, 0.9
"""Mains may be a tenth above or below their nominal voltage (IEC 60038, from memory)."""
_DIRECT = 2  # of `supply_phases`: the DC link is fed itself
_VOLT = ("voltage",)
_NO = 0
_CHOPPER_HEDGE = (
    "whether the chopper bears the current U / R: its least resistance is in the drive's manual"
)


def mains(state: State) -> float:
    """Voltage of the supply in V. Raises Missing."""
    found = state.recorded("supply.voltage")
    if found is None:
        found = state.si("supply_voltage", _VOLT)
    if found is None or found <= 0:
        raise Missing("supply.voltage")
    return found


def rest_voltage(state: State) -> float:
    """Voltage of the DC link at rest: a rectifier charges it to the peak of the mains."""
    direct = state.choice("supply_phases") == _DIRECT
    return state.ask(mains) if direct else formulas.rectified(state.ask(mains))


def trip_voltage(state: State) -> float:
    """Voltage of the DC link at which the drive trips. Raises Missing."""
    found = state.si("dc_link_overvoltage_threshold", _VOLT)
    if found is None or found <= 0:
        found = state.recorded("supply.dc_link_trip")
    if found is None:
        raise Missing("supply.dc_link_trip")
    return found


def power_in(resistance: float, voltage: float) -> float:
    """Power (W) that a braking resistor (ohm) takes at a voltage of the DC link: U^2 / R."""
    return formulas.resistor_power(voltage, resistance)


def uses_resistor(state: State) -> bool | None:
    """Whether the drive switches a braking resistor; None where the set does not say."""
    chosen = state.choice("braking_resistor_used")
    return None if chosen is None else chosen != _NO


def threshold(state: State) -> float:
    """Voltage at which the resistor is switched on. Raises Missing, DoesNotApply without one."""
    if state.ask(uses_resistor) is False:
        raise DoesNotApply
    found = state.si("braking_resistor_threshold", _VOLT)
    if found is None:
        if state.ask(uses_resistor) is None:
            raise DoesNotApply
        raise Missing("braking_resistor_threshold")
    return found


def resistance(state: State) -> float:
    """The resistor that is fitted, in ohm, else the one that the set knows. Raises Missing."""
    found = state.recorded("supply.resistor")
    if found is None:
        found = state.si("braking_resistor_resistance", ("resistance",))
    if found is None or found <= 0:
        raise Missing("supply.resistor")
    return found


def shared_with(state: State) -> tuple[str, ...]:
    """Axes on the same DC link, as recorded."""
    found = state.record("supply.shared_with")
    return tuple(map(str, found)) if isinstance(found, tuple) else ()


def _taken(state: State, have: Figure, need: Figure, protects: bool = False) -> Held:
    """What the DC link and its resistor take against what comes back.

    Shared with other axes it takes more where these stand or drive, and less where they brake too.
    """
    others = state.ask(shared_with)
    if others:
        state.hedge(f"the DC link is shared with {', '.join(others)}")
        have = replace(have, bound="unknown")
    return Held(have, need, protects)


@fact("highest voltage at rest")
def rest_high(state: State) -> Figure:
    """DC link at rest while the mains are high."""
    return Figure(_HIGH_MAINS * state.ask(rest_voltage), "V", "1.1 x peak of the mains")


@fact("lowest voltage at rest")
def rest_low(state: State) -> Figure:
    """DC link at rest while the mains are low."""
    return Figure(_LOW_MAINS * state.ask(rest_voltage), "V", "0.9 x peak of the mains")


@fact("energy of a stop")
def stop_energy(state: State) -> Figure:
    """Energy (J) back from the motor in a stop on the quick-stop ramp from the worst speed.

    All that moves, and what the load falls meanwhile where it hangs: M v^2 / 2 + F s.
    """
    speed, force, masses = state.ask(worst_speed), state.ask(gravity_force), state.ask(moved)
    fallen = abs(force) * state.ask(quick_ramp_stop).reach if force else 0.0
    size = masses.most * speed.value**2 / 2 + fallen
    return Figure(size, "J", "M v^2 / 2 + F s", together(speed.bound, "up_to"))


@fact("power of a stop")
def stop_power(state: State) -> Figure:
    """Peak power (W) back from the motor in such a stop: (M a + F) v."""
    speed, rate, masses = state.ask(worst_speed), ramp(state, QUICK_STOP), state.ask(moved)
    pushed = masses.most * rate + abs(state.ask(gravity_force))
    return Figure(pushed * speed.value, "W", "(M a + F) v", together(speed.bound, "up_to"))


@fact("energy that the DC link takes")
def link_energy(state: State) -> Figure:
    """C (U2^2 - U1^2) / 2 between its rest at the nominal mains and the trip."""
    capacity = state.recorded("supply.dc_link_capacitance")
    if capacity is None:
        capacity = state.si("dc_link_capacitance", ("capacitance",))
    if capacity is None:
        raise Missing("supply.dc_link_capacitance")
    rest, trip = state.ask(rest_voltage), state.ask(trip_voltage)
    size = formulas.dc_link_energy(capacity, rest, trip) if trip > rest else 0.0
    return Figure(size, "J", "C (U2^2 - U1^2) / 2")


@margin("chopper_above_mains", "availability", "the resistor's switch-on against high mains")
def chopper_above_mains(state: State) -> Held:
    """Below the highest rest of the DC link the resistor would be on all the time, and burn."""
    return Held(Figure(state.ask(threshold), "V", "the set"), state.ask(rest_high))


@margin("trip_above_chopper", "availability", "the over-voltage trip against the switch-on")
def trip_above_chopper(state: State) -> Held:
    """Above the trip the resistor would never help."""
    need = Figure(state.ask(threshold), "V", "the set")
    have = Figure(state.ask(trip_voltage), "V", "the set, else supply.dc_link_trip")
    return Held(have, need, protects=state.asked(hangs) is True)


@margin("trip_above_mains", "availability", "the over-voltage trip against high mains")
def trip_above_mains(state: State) -> Held:
    """Below it the drive trips while the mains are high."""
    have = Figure(state.ask(trip_voltage), "V", "the set, else supply.dc_link_trip")
    return Held(have, state.ask(rest_high))


@margin("undervoltage", "availability", "low mains against the under-voltage threshold")
def undervoltage(state: State) -> Held:
    """Above the lowest rest of the DC link the drive trips while the mains are low."""
    limit = state.si("undervoltage_threshold", _VOLT)
    if limit is None or limit <= 0:
        raise DoesNotApply
    return Held(state.ask(rest_low), Figure(limit, "V", "the set"))


@margin("stop_energy", "availability", "what the DC link takes against the energy of a stop")
def link(state: State) -> Held:
    """Without a resistor the DC link must take all of a stop; else the drive lets go."""
    if state.ask(uses_resistor) is not False:
        raise DoesNotApply
    return _taken(state, state.ask(link_energy), state.ask(stop_energy), state.asked(hangs) is True)


@fact("energy of a descent")
def descent_energy(state: State) -> Figure:
    """Energy (J) back from the motor when the load is lowered over the stroke: F h."""
    if not state.ask(hangs):
        raise DoesNotApply
    force = abs(state.ask(gravity_force))
    return Figure(force * state.ask(stroke).value, "J", "F x stroke", "up_to")


def descent_power(state: State) -> Figure:
    """Power (W) back from the motor while the load is lowered at the worst speed: F v."""
    if not state.ask(hangs):
        raise DoesNotApply
    speed = state.ask(worst_speed)
    force = abs(state.ask(gravity_force))
    return Figure(force * speed.value, "W", "F v", together(speed.bound, "up_to"))


@margin("descent_energy", "availability", "what the DC link takes against lowering over the stroke")
def link_descent(state: State) -> Held:
    """Without a resistor the DC link must take all of a descent; else the drive lets go."""
    if state.ask(uses_resistor) is not False:
        raise DoesNotApply
    return _taken(
        state, state.ask(link_energy), state.ask(descent_energy), state.asked(hangs) is True
    )


@margin("resistor_peak", "availability", "the resistor's peak power against that of a stop")
def resistor_peak(state: State) -> Held:
    """U^2 / R at its switch-on must cover the begin of a stop."""
    if not state.ask(uses_resistor):
        raise DoesNotApply
    size = formulas.resistor_power(state.ask(threshold), state.ask(resistance))
    state.hedge(_CHOPPER_HEDGE)
    have = Figure(size, "W", "U^2 / R")
    return _taken(state, have, state.ask(stop_power), state.asked(hangs) is True)


@margin("resistor_energy", "availability", "the resistor's pulse energy against that of a stop")
def resistor_energy(state: State) -> Held:
    """What it takes in one pulse must cover a stop."""
    if not state.ask(uses_resistor):
        raise DoesNotApply
    size = state.recorded("supply.resistor_energy")
    if size is None:
        size = state.si("braking_resistor_energy", ("energy",))
    if size is None:
        raise Missing("supply.resistor_energy")
    return _taken(state, Figure(size, "J", "the fitted one's"), state.ask(stop_energy))


@margin("resistor_power", "availability", "the resistor's continuous power against the duty")
def resistor_power(state: State) -> Held:
    """What it takes all the time must cover what the duty gives back."""
    if not state.ask(uses_resistor):
        raise DoesNotApply
    size = state.recorded("supply.resistor_power")
    if size is None:
        size = state.si("braking_resistor_power", ("power",))
    if size is None:
        raise Missing("supply.resistor_power")
    return _taken(state, Figure(size, "W", "the fitted one's"), state.ask(returned_power))

"""What a margin says in a sentence: one template each, with named parts.

`{have}` and `{need}` are its two figures in the reader's unit, `{speed}` the worst speed.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.energy import shared_with
from vault.behaviour.facts import FACTS
from vault.behaviour.force import lifting_limit, limits, pull
from vault.behaviour.heat import is_assumed
from vault.behaviour.stop import TOO_WEAK
from vault.meaning.findings import digits, in_reader_units, seconds

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.behaviour.state import State

_ROOM = "between software limit and hard stop there are only {have}"
BELOW = {
    "counts": "The way takes {need}, a drive's position holds {have}: it runs over.",
    "motor_speed": "The set allows {need}, the motor makes {have} at the axis at most.",
    "machine_speed": "The set allows {need}; the machine is built for {have}.",
    "hold": "The set leaves the motor {have}; the load needs {need} to be held: it sinks.",
    "lift": "The set leaves the motor {have}; lifting the load takes {need}: it does not go up.",
    "acceleration": "The set leaves the motor {have}; the acceleration ramp takes {need}: the axis "
    "lags behind it, or trips.",
    "descent": "The set leaves the motor {have}; braking a descent on the quick-stop ramp takes "
    "{need}: the axis does not keep to it.",
    "stop_room": "From {speed} a quick stop takes {need}, but " + _ROOM + ".",
    "fault_room": "From {speed} the stop of a fault takes {need}, but " + _ROOM + ".",
    "link_room": "Left by its controller at {speed} the axis goes {need} until it stands, but "
    + _ROOM
    + ".",
    "trip_room": "Running away at {speed} the axis goes {need} until the drive has tripped and it "
    "stands, but " + _ROOM + ".",
    "stop_time": "A quick stop from {speed} takes {need}, the drive waits {have}: then power goes "
    "off and the axis coasts.",
    "window_profile": "At its profile speed the axis lags {need}, more than the window of {have}: "
    "it trips as soon as it runs.",
    "window": "At its highest speed the axis lags {need}, more than the window of {have}: it trips "
    "when it goes that fast.",
    "warning": "At its highest speed the axis lags {need}: the warning at {have} is always on.",
    "rms_torque": "The duty asks the motor for {need} r.m.s., it is rated {have}: it gets too hot.",
    "peak_torque": "The duty asks the motor for {need}, the set leaves it {have}.",
    "chopper_above_mains": "The braking resistor is switched on at {have}, at high mains the DC "
    "link rests at {need}: the resistor may be on all the time, and burn.",
    "trip_above_chopper": "The drive trips at {have}, before the braking resistor is switched on "
    "at {need}.",
    "trip_above_mains": "The drive trips at {have}, at high mains the DC link rests at {need}.",
    "undervoltage": "The drive trips below {need}, at low mains the DC link rests at {have}.",
    "stop_energy": "A stop from {speed} gives back up to {need}, the DC link takes {have} and "
    "no braking resistor is used: the drive can trip on over-voltage.",
    "descent_energy": "Lowering the load over the stroke gives back up to {need}, the DC link "
    "takes {have} and no braking resistor is used: the drive can trip on over-voltage.",
    "resistor_peak": "A stop from {speed} gives back up to {need}, the braking resistor takes "
    "{have}: the drive can trip on over-voltage.",
    "resistor_energy": "A stop from {speed} gives back up to {need}, the braking resistor bears "
    "{have} at a time.",
    "resistor_power": "The duty gives back up to {need} on average, the braking resistor bears "
    "{have}.",
    "speed_torque": "At speed the voltage leaves the motor {have}, the duty asks for {need} there: "
    "the axis does not keep up.",
    "duty_current": "The duty asks the drive for {need} r.m.s., it gives {have} all the time: it "
    "trips on overload.",
    "brake_hold": "The brake holds {have}, the load pulls with {need} at the motor: it slips.",
    "brake_apply": "The brake closes in {need}, the motor holds for {have}: for {gap} nothing "
    "holds the load, which drops up to {drop}.",
    "brake_release": "The brake opens in {need}, the axis starts after {have}: the motor pulls "
    "against a closed brake, which wears.",
    "drop_room": "Power lost at {speed} downwards, the load goes {need} until the brake has "
    "stopped it, but " + _ROOM + ".",
    "loops_apart": "The velocity loop is as fast as {have}; four times the position loop are "
    "{need}: it tends to overshoot and to swing.",
    "phase": "The velocity loop has a phase margin of {have}; below some {need} it rings.",
    "position_phase": "The position loop has a phase margin of {have}; below some {need} it swings "
    "for long, below zero for ever.",
    "inertia": "The load has {need} times the rotor's inertia; more than some {have} times are "
    "hard to lead.",
    "notch": "The notch filter lies {need} beside the resonance and reaches {have} either way: it "
    "does not hold it.",
    "absolute_range": "The encoder knows its place over {have} only; the stroke is {need}: with "
    "power off the place in it is lost.",
    "limits_in_stroke": "The software limits are {need} apart, the stroke is only {have}: they "
    "cannot keep the axis off both its ends.",
    "safe_stop_delay": "Power is taken off safely after {have}, a stop from {speed} takes {need}: "
    "the axis still moves then.",
}  # fmt: skip
"""What it means that a margin is below 1."""


def amount(value: float | None, unit: str | None) -> str:
    """A figure of a margin or a fact for people; `unit` is its SI unit."""
    if value is None:
        return "unknown"
    if isinf(value):
        return "a way without end" if unit in ("m", "rad") else "without end"
    if unit == "s":
        return seconds(value)
    if unit == "deg":  # of a phase; ways of an axis that turns are in rad
        return f"{digits(value)} deg"
    if unit in ("increments", "1"):
        return digits(value) if unit == "1" else f"{digits(value)} increments"
    return in_reader_units(value, unit or "")


_LARGEST = ("m", "rad", "s")
"""Units of a need that may be less than is told."""
_UNBRAKED = {
    "stop_room": "At a quick stop nothing brakes the axis: it coasts, and the room is {have}.",
    "fault_room": "At a fault nothing brakes the axis: it coasts, and the room is {have}.",
    "link_room": "Left by its controller the axis is not braked: the room is {have}.",
    "trip_room": "Nothing stops a runaway: it is not watched, or the axis coasts when it trips.",
    "drop_room": "Power lost at {speed} downwards, the brake does not stop the load.",
    "stop_time": "A quick stop does not come to an end by itself.",
}
_SINKS_ON = "The torque limit does not stop a load that goes down: it sinks on, whatever the ramp."
ONE_SIDED = (
    "One way the set leaves the motor {have}; the load needs {need} to be held: if it hangs that "
    "way, it sinks."
)
"""Of `hold`, where the other way is stronger and nothing tells which way the load hangs."""


_ON_THE_LINK = (
    "stop_energy",
    "descent_energy",
    "resistor_peak",
    "resistor_energy",
    "resistor_power",
)
_SHARED = "these take some of that, or brake at the same time and give more."


_OF_DUTY = ("rms_torque", "peak_torque", "resistor_power", "duty_current", "speed_torque")
_ASSUMED = (
    "Speed and ramps that the duty does not say are those of the profile, which does not act in "
    "this mode."
)


def below(margin: Margin, state: State) -> str:
    """What it means that a margin is below 1, with its figures."""
    text = BELOW[margin.name]
    if margin.name == "hold" and state.ask(lifting_limit).bound == "at_least":
        both = state.ask(limits)
        if margin.need is not None and max(both.positive, both.negative) >= margin.need:
            text = ONE_SIDED
    pulled = state.asked(pull)
    if pulled is not None and pulled < 0:  # more than the whole is balanced
        text = text.replace("it sinks", "it rises").replace("which drops", "which rises")
    if _ROOM in text and margin.have is not None and margin.have < 0:
        beyond = amount(-margin.have, margin.unit)
        text = text.replace(_ROOM, f"the software limit lies {beyond} beyond the hard stop")
    if margin.name in _UNBRAKED and margin.need is not None and isinf(margin.need):
        text = _UNBRAKED[margin.name]
        if TOO_WEAK in margin.basis:
            text = _SINKS_ON
    need = amount(margin.need, margin.unit)
    less_needed = "up_to" if (margin.have or 0.0) < 0 else "at_least"
    if margin.bound == less_needed and "up to {need}" not in text and margin.unit in _LARGEST:
        need = f"up to {need}"
    others = state.ask(shared_with) if margin.name in _ON_THE_LINK else ()
    if others:
        text = f"{text} It shares its DC link with {', '.join(others)}: {_SHARED}"
    if margin.name in _OF_DUTY and is_assumed(state):
        text = f"{text} {_ASSUMED}"
    return text.format(
        have=amount(margin.have, margin.unit),
        need=need,
        gap=amount((margin.need or 0.0) - (margin.have or 0.0), margin.unit),
        speed=_fact(state, "worst speed", "its highest speed"),
        drop=_fact(state, "drop from a stand", "an unknown way"),
    )


def _fact(state: State, quantity: str, otherwise: str) -> str:
    found = state.asked(FACTS[quantity].compute)
    return otherwise if found is None else amount(found.value, found.unit)

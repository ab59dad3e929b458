"""Drives that are set in hertz and seconds: speeds of the field, voltage, ramp times.

Speed of the field n = 60 f / p with p pole pairs; slip is left out. Above the rated frequency the
voltage cannot rise with the frequency, so the torque falls about as rated over actual frequency
(common practice, no source).
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, fact
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_frequency_drive
from vault.behaviour.scale import transmission
from vault.behaviour.speed import rated_motor_speed

if TYPE_CHECKING:
    from vault.behaviour.state import State

HERTZ, _ANGULAR, _TIME = ("frequency",), ("angular_velocity",), ("time",)
_DELTA_SPEED = {
    "vl_acceleration_delta_time": "vl_acceleration_delta_speed",
    "vl_deceleration_delta_time": "vl_deceleration_delta_speed",
    "vl_quick_stop_delta_time": "vl_quick_stop_delta_speed",
}
DELTA_TIME = {speed: time for time, speed in _DELTA_SPEED.items()}
"""The time of a ramp by the speed that belongs to it (6048h, 6049h, 604Ah)."""
_MOST_PAIRS = 64
_ROUNDING = 1e-3


def pole_pairs(state: State) -> float:
    """Pole pairs of the set. Raises Missing, DoesNotApply."""
    pairs = state.number("motor_pole_pairs")
    if pairs is None:
        raise Missing("motor_pole_pairs")
    if pairs <= 0:
        raise DoesNotApply
    return pairs


def _frequency(state: State, role: str) -> float:
    hertz = state.si(role, HERTZ)
    if hertz is None:
        raise Missing(role)
    if hertz <= 0:
        raise DoesNotApply
    return hertz


def highest_frequency(state: State) -> float:
    """The highest frequency in Hz. Raises Missing, DoesNotApply."""
    return _frequency(state, "max_frequency")


def rated_frequency(state: State) -> float:
    """The motor's rated frequency in Hz. Raises Missing, DoesNotApply."""
    return _frequency(state, "rated_frequency")


def field_speed(state: State, hertz: float) -> Figure | None:
    """Speed (rad/s) of the field at a frequency, n = 60 f / p; None where that is not known."""
    pairs = state.asked(pole_pairs)
    return None if pairs is None else Figure(2 * pi * hertz / pairs, "rad/s", "n = 60 f / p")


@fact("speed of the field")
def highest_field_speed(state: State) -> Figure:
    """Speed of the field at the highest frequency."""
    hertz, pairs = state.ask(highest_frequency), state.ask(pole_pairs)
    return Figure(2 * pi * hertz / pairs, "rad/s", "n = 60 f / p")


def torque_share(state: State, hertz: float) -> Figure | None:
    """Share of the torque that is left at a frequency, f_rated / f.

    None up to the rated one, or where that is not known.
    """
    rated = state.asked(rated_frequency)
    if rated is None or hertz <= rated:
        return None
    return Figure(rated / hertz, "1", "f_rated / f")


@fact("torque above rated frequency")
def least_torque_share(state: State) -> Figure:
    """Share of the torque that is left at the highest frequency; all of it up to the rated."""
    share = state.ask(rated_frequency) / state.ask(highest_frequency)
    return Figure(min(1.0, share), "1", "f_rated / f")


def runs_by_frequency(state: State) -> bool:
    """Whether the motor follows a frequency whatever it does: voltage over frequency, no encoder.

    Nothing is commutated then.
    """
    curve = ("voltage_frequency_pattern", "boost_voltage")
    return is_frequency_drive(state) and any(state.value(role) is not None for role in curve)


def frequencies_out_of_order(state: State) -> bool:
    """Whether the lowest frequency is above the highest."""
    low, high = state.si("min_frequency", HERTZ), state.si("max_frequency", HERTZ)
    return low is not None and high is not None and low > high


def pump_power(ratio: float) -> Figure:
    """Power of a pump or fan at another speed, as a ratio: (n2 / n1)^3 (affinity laws)."""
    return Figure(ratio**3, "1", "(n2 / n1)^3")


@fact("volts per hertz")
def volts_per_hertz(state: State) -> Figure:
    """Rated voltage over rated frequency (V/Hz), which decides the motor's field."""
    volts = state.si("motor_rated_voltage", ("voltage",))
    if volts is None:
        raise Missing("motor_rated_voltage")
    return Figure(volts / state.ask(rated_frequency), "V/Hz", "U / f, rated")


@fact("highest motor speed")
def top_motor_speed(state: State) -> Figure:
    """Highest speed (rad/s) that the set gives the motor: 6046h, else 60 f / p."""
    size = state.si("vl_velocity_max_amount", _ANGULAR)
    if size is not None and size > 0:
        return Figure(size, "rad/s", "6046h")
    return state.ask(highest_field_speed)


def has_ramp_speed(state: State, role: str) -> bool:
    """Whether the speed that the time of a ramp is made for is known, and the highest one."""
    by = state.si(_DELTA_SPEED.get(role, role), _ANGULAR)
    return by is not None and state.asked(top_motor_speed) is not None


def ramp_time(state: State, role: str) -> Figure | None:
    """Seconds from the highest speed to a stop; where that is not known, the bare ramp's.

    `role` is the time of the ramp, t in t n / dn; None without it.
    """
    time = state.si(role, _TIME)
    if time is None:
        return None
    over, most = state.si(_DELTA_SPEED.get(role, role), _ANGULAR), state.asked(top_motor_speed)
    if over is None or over <= 0 or most is None:
        return Figure(time, "s", "t v / dv, else the set")
    return Figure(time * most.value / over, "s", "t v / dv, else the set")


def turns_to_stop(state: State, time: float) -> Figure:
    """Angle (rad) of the motor from its highest speed to a stand in a time: n t / 2."""
    return Figure(state.ask(top_motor_speed).value * time / 2, "rad", "n t / 2")


def way_to_stop(state: State, time: float) -> Figure:
    """What that is at the axis. Raises Missing."""
    gears = state.ask(transmission)
    turned = turns_to_stop(state, time)
    return Figure(turned.value * gears.per_radian, gears.unit, "n t / 2 x L / G")


@fact("time of the deceleration ramp")
def deceleration_time(state: State) -> Figure:
    """Seconds from the highest speed to a stand on the ramp in use."""
    for role in ("vl_deceleration_delta_time", "deceleration_time"):
        if (found := ramp_time(state, role)) is not None:
            return found
    raise Missing("deceleration_time")


@fact("revolutions to a stop")
def revolutions_to_stop(state: State) -> Figure:
    """Angle (rad) of the motor on that ramp."""
    return turns_to_stop(state, state.ask(deceleration_time).value)


@fact("pole pairs")
def fitting_pole_pairs(state: State) -> Figure:
    """Pole pairs by the plate: an induction motor runs a little slower than its field.

    p = 60 f / n, rounded down.
    """
    if not is_frequency_drive(state):
        raise DoesNotApply
    turns = state.ask(rated_motor_speed) / (2 * pi)
    if turns <= 0:
        raise DoesNotApply
    pairs = int(state.ask(rated_frequency) / turns + _ROUNDING)
    if not 1 <= pairs <= _MOST_PAIRS:
        raise DoesNotApply
    return Figure(float(pairs), "1", "60 f / n, rounded down")

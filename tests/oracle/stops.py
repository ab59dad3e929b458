"""The ways in which an axis comes to a stand: quick stop, fault, lost link, runaway.

Option codes 6007h, 605Ah, 605Eh: CiA 402-2, from memory. All ways are real ones of the machine,
from the worst speed, each in the worse direction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests.oracle.braking import AT_LIMIT, Command, Stop, brake
from tests.oracle.cases import Case
from tests.oracle.drive import Drive, link_reaction, worst_speed
from tests.oracle.machine import Machine
from tests.oracle.readings import from_objects, from_settings
from tests.oracle.units import MISSING, Vector

_RAMP_OF_OPTION = {1: "profile", 5: "profile", 2: "quick", 6: "quick"}
_LIMIT_OPTIONS = (3, 4, 7, 8)
_TRIP_STEPS = 1000


@dataclass(frozen=True, slots=True)
class Stops:
    """Figures of all stops: ways in m or rad, times in s, energy in J."""

    quick_way: Vector
    quick_time: Vector
    quick_time_without_filter: Vector
    fault_way: Vector
    link_way: Vector
    trip_way: Vector
    energy: Vector
    surplus: Vector


def stops(cases: Sequence[Case], machine: Machine, drive: Drive) -> Stops:
    """Run every stop of each case."""
    speed = worst_speed(drive, machine)
    by_quick = _ramp(cases, "0x605A:00", drive, highest=8)
    by_fault = _ramp(cases, "0x605E:00", drive, highest=4)
    quick = _worse(machine, drive, speed, by_quick)
    fault = _worse(machine, drive, speed, by_fault)
    on_quick_ramp = _worse(machine, drive, speed, drive.quick_ramp)
    reaction = from_settings(cases, "digital_input_filter_time", absent=0.0)
    return Stops(
        quick_way=going_on(speed, reaction) + quick.way,
        quick_time=reaction + quick.time,
        quick_time_without_filter=quick.time,
        fault_way=fault.way,
        link_way=_link(cases, speed, quick, fault),
        trip_way=_until_trip(drive, speed) + fault.way,
        energy=on_quick_ramp.returned,
        surplus=on_quick_ramp.surplus,
    )


def going_on(speed: Vector, duration: Vector) -> Vector:
    """Way at a constant speed until the drive reacts."""
    return speed * duration


def _ramp(cases: Sequence[Case], address: str, drive: Drive, highest: int) -> Vector:
    """Deceleration that a stop's option code chooses; not a number where the axis coasts."""
    code = from_objects(cases, address)
    ramps = {"profile": drive.profile_ramp, "quick": drive.quick_ramp}
    chosen = np.full_like(code, MISSING)
    for option, name in _RAMP_OF_OPTION.items():
        if option <= highest:
            chosen = np.where(code == option, ramps[name], chosen)
    for option in _LIMIT_OPTIONS:
        if option <= highest:
            chosen = np.where(code == option, AT_LIMIT, chosen)
    return chosen


def _worse(machine: Machine, drive: Drive, speed: Vector, ramp: Vector) -> Stop:
    """The stop in both directions; the larger of each figure, none where one never ends."""
    jerk = np.where(ramp == AT_LIMIT, np.inf, drive.jerk)
    lower, upper = drive.negative_limit, drive.positive_limit
    known = np.where((ramp == AT_LIMIT) & (np.isnan(lower) | np.isnan(upper)), MISSING, ramp)
    one = brake(machine.plant, speed, Command(known, jerk, lower, upper))
    other = brake(machine.plant.mirrored(), speed, Command(known, jerk, upper, lower))
    return Stop(
        way=np.maximum(one.way, other.way),
        time=np.maximum(one.time, other.time),
        returned=np.maximum(one.returned, other.returned),
        surplus=np.maximum(one.surplus, other.surplus),
    )


def _link(cases: Sequence[Case], speed: Vector, quick: Stop, fault: Stop) -> Vector:
    """Way after the link is lost, by 6007h: 1 fault reaction, 3 quick stop, else it never stops."""
    code = from_objects(cases, "0x6007:00")
    braking = np.where(code == 1, fault.way, np.where(code == 3, quick.way, MISSING))
    return going_on(speed, link_reaction(cases)) + braking


def _until_trip(drive: Drive, speed: Vector) -> Vector:
    """Way until the following error has been beyond its window for the time-out (6065h, 6066h)."""
    longest = 1.05 * (drive.window / speed + drive.window_time)
    step = longest / _TRIP_STEPS
    way = np.zeros_like(speed)
    tripped = np.full_like(speed, MISSING)
    for _ in range(_TRIP_STEPS):
        way = way + speed * step
        late = (way - drive.window) / speed - drive.window_time
        now = np.isnan(tripped) & (late >= 0)
        tripped = np.where(now, way - speed * late, tripped)
    return tripped

"""What the encoder can tell apart: turns until it overflows, increments over the stroke."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.drive import Drive
from tests.oracle.machine import Machine
from tests.oracle.readings import column, from_objects, from_record, recorded
from tests.oracle.units import MISSING, Vector

_STRIDES = 64


def positions(cases: Sequence[Case], machine: Machine, drive: Drive) -> dict[str, Vector]:
    """Way in m or rad until an absolute encoder begins anew; increments over the stroke; room."""
    turns = column(cases, _turns_told_apart)
    stroke = from_record(cases, "mechanics", "stroke")
    counts = stroke / machine.way_per_turn * machine.counts_per_turn
    absolute = np.where(machine.rotating, turns * machine.way_per_turn, MISSING)
    return {
        "absolute_range": absolute,
        "counts_over_stroke": counts,
        "motor_turn_way": _between_pulses(machine),
        "falling_room": _falling_room(cases, machine, drive),
    }


def _between_pulses(machine: Machine) -> Vector:
    """Way from one index pulse to the next: the encoder counts on until its turn is full."""
    way, counted = np.zeros_like(machine.way_per_turn), np.zeros_like(machine.way_per_turn)
    for _ in range(_STRIDES):
        counted = counted + machine.counts_per_turn / _STRIDES
        way = counted / machine.counts_per_turn * machine.way_per_turn
    return way


def _falling_room(cases: Sequence[Case], machine: Machine, drive: Drive) -> Vector:
    """Way in m or rad from a soft limit to the hard stop where a load goes by itself."""
    below = from_objects(cases, "0x607D:01") * drive.way_per_unit - from_record(
        cases, "mechanics", "hard_stop_low"
    )
    above = from_record(cases, "mechanics", "hard_stop_high") - (
        from_objects(cases, "0x607D:02") * drive.way_per_unit
    )
    return np.where(machine.plant.pull >= 0, below, above)


def _turns_told_apart(case: Case) -> float:
    bits = recorded(case, "encoder", "multi_turn_bits")
    return _counted(int(str(bits))) if bits is not None else MISSING


@cache
def _counted(bits: int) -> float:
    """Turn the encoder on until its counter of turns reads zero again."""
    mask, counter, turns = (1 << bits) - 1, 0, 0
    while True:
        counter, turns = (counter + 1) & mask, turns + 1
        if counter == 0:
            return float(turns)

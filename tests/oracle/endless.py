"""Axes that turn on and on: the drawn rotary ones without ends, and what their counters do."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from tests.oracle.cases import Case
from tests.oracle.units import number

_TURN = 2 * math.pi
_ENDS = ("stroke", "hard_stop_low", "hard_stop_high")


@dataclass(frozen=True, slots=True)
class Turned:
    """What turning one way shows.

    lost: rad by which zero lies elsewhere once the counter of turns reads zero again. counts and
    units: increments and user units in a turn. time: s until then at `speed` in rad/s, or by the
    duty; `step` is how exactly that is known.
    """

    lost: float
    counts: float
    units: float
    time: float
    step: float


def without_ends(case: Case) -> Case:
    """The same axis, endless, its encoder counting turns."""
    mechanics = case.record["mechanics"]
    assert isinstance(mechanics, dict)
    record = {**case.record, "mechanics": {k: v for k, v in mechanics.items() if k not in _ENDS}}
    return replace(case, record=record)


def turn_on(case: Case, speed: float, *, by_duty: bool) -> Turned:
    """Turn the motor turn by turn until the counter of turns reads zero again."""
    mechanics, encoder = case.record["mechanics"], case.record["encoder"]
    assert isinstance(mechanics, dict)
    assert isinstance(encoder, dict)
    box = mechanics.get("gearbox", {"motor": 1, "output": 1})
    mask, counter = (1 << int(encoder["multi_turn_bits"])) - 1, 0
    place, motor_turns = Fraction(0), 0
    while True:
        counter, motor_turns = (counter + 1) & mask, motor_turns + 1
        place += Fraction(box["output"], box["motor"])
        if counter == 0:
            break
    rest = float(place - math.floor(place))
    increments = 2 ** int(encoder["single_turn_bits"]) * box["motor"] / box["output"]
    time, step = _by_duty(case, float(place) * _TURN) if by_duty else (0.0, 0.0)
    return Turned(
        lost=_TURN * min(rest, 1 - rest),
        counts=increments,
        units=_units(case, box),
        time=time if by_duty else float(place) * _TURN / speed,
        step=step,
    )


def _units(case: Case, box: dict[str, int]) -> float:
    """User units that a turn of the machine takes, through the increments that are counted."""
    objects, encoder = case.objects, case.record["encoder"]
    assert isinstance(encoder, dict)
    counted = 2 ** int(encoder["single_turn_bits"]) * box["motor"] / box["output"]
    per_unit = objects["0x608F:01"] / objects["0x608F:02"]
    per_unit *= objects["0x6091:01"] / objects["0x6091:02"]
    per_unit *= objects["0x6092:02"] / objects["0x6092:01"]
    return counted / per_unit


def _by_duty(case: Case, whole: float) -> tuple[float, float]:
    """Time until the cycles of the duty have made the way, and the time of a cycle."""
    duty = case.record["duty"]
    assert isinstance(duty, dict)
    cycle, place, time = number(duty["cycle"]), 0.0, 0.0
    net = sum(number(move["distance"]) for move in duty["moves"])
    while abs(place) < whole:
        place, time = place + net, time + cycle
    return time, cycle

"""A second encoder at the load: what a drive that positions by it makes of a command."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from tests.oracle.cases import Case
from tests.oracle.machine import machines
from tests.oracle.units import number

_ROTARY = ("rotary_table", "rotary")
_WRONG = (Fraction(1), Fraction(1), Fraction(2), Fraction(1, 4), Fraction(51, 50))


@dataclass(frozen=True, slots=True)
class Positioned:
    """Way that is told and that is made, in m or rad."""

    told: float
    made: float


def with_load_encoder(case: Case) -> Case:
    """The same axis with an encoder at its load, which the drive now and then takes for another."""
    dice = Random(f"load encoder/{case.number}")
    way = float(machines([case]).way_per_turn[0])
    in_turn = dice.randint(2_000, 40_000)
    fitted: dict[str, object]
    if case.mechanism not in _ROTARY:
        fitted = {"step": f"{way / in_turn * 1e6:.6g} um"}
    elif dice.random() < 0.5:
        fitted = {"step": f"{math.degrees(way / in_turn):.6g} deg"}
    else:
        fitted = {"counts": round(2 * math.pi / way * in_turn)}
    reckoned = in_turn * dice.choice(_WRONG)
    objects = {**case.objects, "0x60E6:01": reckoned.numerator, "0x60EB:01": reckoned.denominator}
    return replace(case, record={**case.record, "load_encoder": fitted}, objects=objects)


def position(case: Case, turns: int) -> Positioned:
    """Command so many motor revolutions; the drive goes on until it has counted them."""
    fitted = case.record["load_encoder"]
    assert isinstance(fitted, dict)
    step = number(fitted["step"]) if "step" in fitted else 2 * math.pi / fitted["counts"]
    wanted = Fraction(turns * case.objects["0x60E6:01"], case.objects["0x60EB:01"])
    counted = 0
    while counted < wanted:
        counted += 1
    return Positioned(turns * float(machines([case]).way_per_turn[0]), counted * step)

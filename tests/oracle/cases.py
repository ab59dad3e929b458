"""Axes drawn at random: raw objects of the drive, settings, the machine record, conventions.

All axes are invented. Sizing follows rough rules, so that what an axis has and what it needs are
mostly within a factor of two of each other. About a fifth of the drives are scaled wrongly.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from tests.oracle.drawing.axis import draw_axis


@dataclass(frozen=True, slots=True)
class Case:
    """One axis.

    objects: raw numbers by address, as the drive holds them. settings: quantities as text by the
    name of their role. record: the axis record without its schema. conventions: what makers may
    do differently (`dead_time` in s).
    """

    number: int
    mechanism: str
    objects: dict[str, int]
    settings: dict[str, str]
    record: dict[str, object]
    conventions: dict[str, object]


MECHANISMS = ("ball_screw", "belt", "rack", "rotary_table", "rotary", "linear_motor")


def draw(seed: int, count: int) -> list[Case]:
    """Draw `count` axes, all mechanisms in turn; the same ones for the same seed.

    A case depends on the seed and its number alone, so fewer cases are the first of more.
    """
    return [_case(seed, number) for number in range(count)]


def _case(seed: int, number: int) -> Case:
    mechanism = MECHANISMS[number % len(MECHANISMS)]
    sketch = draw_axis(Random(f"{seed}/{number}"), mechanism)
    return Case(
        number=number,
        mechanism=mechanism,
        objects=sketch.objects,
        settings=sketch.settings,
        record=sketch.record,
        conventions=sketch.conventions,
    )

"""What is added to every command, against worked numbers; all axes and values are invented.

60B0h, 60B2h and 60F2h after CiA 402-2, from memory.
"""

from __future__ import annotations

from math import pi

import pytest
from scipy import constants

from tests.meaning.explainers.sides_of_travel import (
    SCREW,
    SLIDE,
    TABLE,
    Entry,
    between,
    tell,
    told,
    view,
)

SET: dict[str, Entry] = {
    **SCREW,
    "motor_rated_torque": (3200, "mN*m"),
    "max_torque": (3000, "permille_rated_torque"),
}
# Weight of 60 kg on a screw of 20 mm behind 2:1: m g L / (2 pi G) = 0.9365 N m.
HOLDING = 60 * constants.g * 0.020 / (2 * pi * 2)


@pytest.mark.parametrize(
    ("before", "after", "shift"), [((1, "mm"), (3, "mm"), 2), ((3, "mm"), (1, "mm"), -2),
    (None, (3, "mm"), 3)],
)  # fmt: skip
def test_an_offset_moves_every_command_at_once(
    before: Entry | None, after: Entry, shift: int
) -> None:
    found = told("position_offset", before, after, SCREW)
    assert found.figure("shift of every command", shift / 1000)
    assert f"lies {abs(shift)} mm elsewhere" in found.effect
    assert found.consequence == "travel"
    assert tell("position_offset", after, None, SCREW) is None


@pytest.mark.parametrize(
    ("before", "after", "says", "worst"),
    [
        (0, 900, "", "dynamics"),  # nearer to what holds the load
        (900, 800, "the loops must give the other 0.1365 N*m", "dynamics"),
        (800, -100, "the other way than before", "hazard"),
        (-100, 800, "the other way than before", "hazard"),
        (0, 0, "", "dynamics"),
        (None, 900, "", "dynamics"),
    ],
)
def test_an_added_torque_carries_a_hanging_load(
    before: int | None, after: int, says: str, worst: str
) -> None:
    was = None if before is None else (before, "mN*m")
    found = told("torque_offset", was, (after, "mN*m"), SET)
    assert found.figures["torque to hold the load"] == pytest.approx(HOLDING, rel=1e-4)
    assert f"gives {after / 1000:g} N*m of the 0.9365 N*m" in found.effect
    assert says in found.effect
    assert ("loops must give" in found.effect) is ("loops" in says)
    assert found.consequence == worst


def test_an_added_torque_that_the_limits_cannot_make_up_for_is_a_hazard() -> None:
    # 250 permille of 3.2 N m: 0.8 N m are left to make up for 0.9365 N m.
    weak: dict[str, Entry] = {**SET, "max_torque": (250, "permille_rated_torque")}
    assert told("torque_offset", (900, "mN*m"), (0, "mN*m"), weak).consequence == "hazard"
    assert told("torque_offset", (900, "mN*m"), (200, "mN*m"), weak).consequence == "dynamics"
    assert tell("torque_offset", (0, "mN*m"), (900, "mN*m"), SET, SLIDE) is None


OPTION = "positioning_option_code"


@pytest.mark.parametrize(
    ("before", "after", "says", "worst"),
    [
        (0x00, 0x40, "in the negative direction instead of as positions are written", "hazard"),
        (0xC0, 0x80, "in the positive direction instead of the shorter way", "hazard"),
        (0x80, 0xC0, "goes to its target the shorter way instead of", "hazard"),
        (0x40, 0x00, "as positions are written instead of always in the negative", "hazard"),
        (None, 0x80, "goes to its target always in the positive direction.", "hazard"),
        (0x80, 0x81, "when a move counts as done", "travel"),
        (0x3F, 0x00, "when a move counts as done", "travel"),
    ],
)
def test_an_endless_axis_is_told_its_way_to_a_target(
    before: int | None, after: int, says: str, worst: str
) -> None:
    found = told(OPTION, before, after, None, TABLE)
    assert says in found.effect
    assert found.consequence == worst
    assert tell(OPTION, after, None, None, TABLE) is None
    assert tell(OPTION, after, "text", None, TABLE) is None


@pytest.mark.parametrize(
    ("stem", "what"), [("velocity", "speed"), ("acceleration", "ramp"), ("jerk", "jerk")]
)
def test_a_factor_counts_as_its_ratio(stem: str, what: str) -> None:
    over, under = f"{stem}_factor_numerator", f"{stem}_factor_divisor"
    common: dict[str, Entry] = {under: 2}
    much = told(over, 4, 6, common)
    assert much.figure(f"ratio of the {what} factor", 1.5)
    assert f"Every {what} of the set counts 1.5 times" in much.effect
    assert much.consequence == "hazard"
    assert told(over, 100, 104, common).consequence == "dynamics"
    assert told(over, 100, 106, common).consequence == "hazard"
    assert told(over, 100, 94, common).consequence == "hazard"
    assert told(over, 4, 6).figure(f"ratio of the {what} factor", 1.5)  # a divisor of 1
    for before, after in ((None, 6), (6, None), (0, 6)):
        assert tell(over, before, after, common) is None
    assert tell(over, 4, 6, {under: 0}) is None
    same = between(over, view({over: 4, under: 2}), view({over: 6, under: 3}))
    assert same is not None
    assert (same.consequence, same.figures) == ("record", {})

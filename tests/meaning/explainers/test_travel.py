"""How far an axis goes for a command: worked numbers by the factor group of CiA 402-2.

k = (R_set G_set / F_set) / (R_real G_real / L_real). Axes are invented; 607Eh from memory.
"""

from __future__ import annotations

from math import pi

import pint
import pytest

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    RAMPS,
    SCREW,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    Told,
    between,
    tell,
    told,
    view,
)
from vault.meaning.compare import compare
from vault.meaning.reader import reading_in

GEAR, FEED, ENCODER = (
    "gear_ratio_motor_revolutions",
    "feed_constant_feed",
    "position_encoder_increments",
)
UNITS = pint.UnitRegistry()
REVERSED: Entry = (1, None, "Reversed")


def way_of(
    command: float, increments: int, gear: float, feed: float, axis: dict[str, float]
) -> float:
    """Way (mm) that a command of so many mm makes on the machine, by increments and pint."""
    counted = command / feed * gear * increments
    turned = counted / axis["increments"] * UNITS.turn
    return float(
        (turned / axis["gear"] * (axis["lead"] * UNITS.mm / UNITS.turn)).to("mm").magnitude
    )


LIFTED = {"increments": 2**20, "gear": 2.0, "lead": 20.0}


@pytest.mark.parametrize(
    ("role", "after", "set_to"),
    [
        (GEAR, (4, "rev"), (2**20, 4, 20)),
        (GEAR, (3, "rev"), (2**20, 3, 20)),
        (FEED, (16, "mm"), (2**20, 2, 16)),
    ],
)
def test_the_way_of_a_command_is_that_of_the_increments_it_makes(
    role: str, after: Entry, set_to: tuple[int, float, float]
) -> None:
    found = told(role, SCREW[role], after, SCREW, SLIDE)
    way = way_of(150, *set_to, LIFTED)
    assert f"A commanded 150 mm moves {way:.6g} mm instead of 150 mm." in found.effect
    assert found.figure("travel error k after", way / 150)
    assert found.figure("travel error k before", 1)


def test_a_scale_that_fits_again_is_told_as_it_should() -> None:
    found = told(GEAR, (4, "rev"), (2, "rev"), SCREW)
    assert "A commanded 150 mm moves 150 mm, as it should, instead of 300 mm." in found.effect
    assert found.consequence == "travel"


def test_an_encoder_of_24_bits_counted_as_20_moves_a_sixteenth() -> None:
    # The design's lift: 150 mm / 16 = 9.375 mm.
    entries = {**SCREW, "encoder_single_turn_bits": (20, "bit")}
    left = view(entries, SLIDE, {"encoder_single_turn_bits": "20"})
    right = view(
        {**SCREW, "encoder_single_turn_bits": (24, "bit")},
        SLIDE,
        {"encoder_single_turn_bits": "24"},
    )
    found = between("encoder_single_turn_bits", left, right)
    assert found is not None
    assert "moves 9.375 mm instead of 150 mm" in found.effect


def test_a_turning_axis_is_commanded_a_quarter_turn() -> None:
    found = told(GEAR, (40, "rev"), (20, "rev"), TURNS, TABLE)
    assert "A commanded 90 deg moves 45 deg instead of 90 deg." in found.effect


def test_the_reader_gets_the_way_in_his_units() -> None:
    with reading_in("inch"):
        assert "A commanded 6 in moves 12 in" in told(GEAR, (2, "rev"), (4, "rev"), SCREW).effect


def test_a_wrong_scale_is_a_hazard_where_a_load_hangs() -> None:
    parts: tuple[Entry, Entry] = (2, "rev"), (1, "rev")
    assert told(GEAR, *parts, SCREW, LIFT).consequence == "hazard"
    assert told(GEAR, *parts, SCREW, SLIDE).consequence == "travel"
    assert told(GEAR, *reversed(parts), SCREW, LIFT).consequence == "travel"


def test_a_scale_off_by_less_than_a_measured_circumference_is_no_hazard() -> None:
    near = told(ENCODER, (2**20, "increments"), (2**20 + 100, "increments"), SCREW, LIFT)
    assert near.consequence == "travel"


def test_a_software_limit_that_a_wrong_scale_pushes_beyond_the_stop_is_a_hazard() -> None:
    # 600 mm x 2 = 1200 mm, stop at 625 mm; halved it is 300 mm.
    twice = told(GEAR, (2, "rev"), (4, "rev"), RAMPS, SLIDE)
    assert "positive software limit really lies at 1,200 mm, beyond the hard stop at 625 mm" in (
        twice.effect
    )
    assert twice.consequence == "hazard"
    half = told(GEAR, (2, "rev"), (1, "rev"), RAMPS, SLIDE)
    assert "beyond" not in half.effect


def test_the_motor_turns_faster_by_what_the_scale_is_larger() -> None:
    rated: dict[str, Entry] = {**SCREW, "motor_rated_torque": (3200, "mN*m")}
    found = told(GEAR, (2, "rev"), (4, "rev"), rated, SLIDE)
    assert "For the same commanded speed the motor turns 2 times as fast" in found.effect
    # 3000 r/min x 10 mm = 500 mm/s; work of one turn 2 pi x 3.2 N*m x 0.9 over 10 mm.
    assert found.figure("speed at rated motor speed", 0.5)
    assert found.figure("thrust at rated torque", 2 * pi * 3.2 * 0.9 / 0.010)
    assert "500 mm/s at the axis" in found.effect


def test_another_gearbox_as_built_changes_thrust_and_speed_the_opposite_way() -> None:
    other = SLIDE.replace("motor: 2, output", "motor: 4, output")
    left, right = view(SCREW, SLIDE), view({**SCREW, GEAR: (4, "rev")}, other)
    found = between(GEAR, left, right)
    assert found is not None
    assert "runs 0.5 times as fast at the same motor speed" in found.effect
    assert "pushes 2 times as hard at the same motor torque" in found.effect
    assert "moves 150 mm, as it should" in found.effect


def test_without_a_machine_only_the_ratio_is_told() -> None:
    found = told(GEAR, (2, "rev"), (5, "rev"), SCREW, axis=None)
    assert "2.5 times as far" in found.effect
    assert "is not recorded" in found.effect
    assert "pushes 2.5 times as hard" in found.effect
    assert "runs 0.4 times as fast" in found.effect
    assert found.figure("travel ratio", 2.5)
    assert found.consequence == "travel"


def test_what_is_missing_is_named() -> None:
    found = told(FEED, (20, "mm"), None, SCREW, SLIDE)
    assert "cannot be told: the feed constant and the user unit are not known" in found.effect
    assert tell(GEAR, (2, "rev"), (4, "rev"), axis=None) is None


def test_a_scale_is_told_through_a_comparison_too() -> None:
    found = compare(view(SCREW, SLIDE), view({**SCREW, GEAR: (4, "rev")}, SLIDE))
    (change,) = found.changes
    assert "A commanded 150 mm moves 300 mm instead of 150 mm." in change.explanation


# Direction: 607Eh, bit 7 position, bit 6 velocity; from memory.

POLARITY = "polarity"


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        (0x00, 0xC0, "position and velocity commands"),
        (0xC0, 0x00, "position and velocity commands"),
        (0x00, 0x80, "position commands. The other kind"),
        (0x80, 0xC0, "velocity commands. The other kind"),
        (0x40, 0x80, "position and velocity commands"),
    ],
)
@pytest.mark.parametrize("axis", [LIFT, SLIDE])
def test_a_motion_bit_that_differs_reverses_its_commands(
    before: int, after: int, says: str, axis: str
) -> None:
    found = told(POLARITY, before, after, axis=axis)
    assert f"The direction reverses for {says}" in found.effect
    assert found.consequence == "hazard"


def test_only_on_a_hanging_axis_does_lifting_become_lowering() -> None:
    assert "what is to lift lowers" in told(POLARITY, 0, 0x80, axis=LIFT).effect
    assert "lift" not in told(POLARITY, 0, 0x80, axis=SLIDE).effect


def test_other_bits_reverse_nothing() -> None:
    found = told(POLARITY, 0x80, 0x83)
    assert "direction of motion is the same" in found.effect
    assert found.consequence == "record"


def one_sided(role: str, before: Entry | None, after: Entry | None) -> Told | None:
    return tell(role, before, after, axis=SLIDE)


@pytest.mark.parametrize(("role", "turned"), [(POLARITY, 0x80), ("encoder_direction", REVERSED)])
def test_a_turned_direction_of_one_side_alone_is_a_hazard(role: str, turned: Entry) -> None:
    here, there = one_sided(role, None, turned), one_sided(role, turned, None)
    assert here is not None and here.effect.startswith("This set")
    assert there is not None and there.effect.startswith("The other set")
    assert here.consequence == there.consequence == "hazard"


def test_a_plain_direction_of_one_side_alone_is_not_explained() -> None:
    assert one_sided(POLARITY, None, 0x03) is None
    assert one_sided("encoder_direction", None, (0, None, "Positive")) is None
    assert one_sided(POLARITY, "left", "right") is None


def test_an_encoder_that_counts_the_other_way_is_a_hazard() -> None:
    parts: tuple[Entry, Entry] = (0, None, "Positive"), (1, None, "Reversed")
    found = told("encoder_direction", *parts, axis=LIFT)
    assert "runs away" in found.effect
    assert "what is to lift lowers" in found.effect
    assert (
        found.consequence == told("encoder_direction", *parts, axis=SLIDE).consequence == "hazard"
    )


def test_a_reader_of_si_gets_the_way_in_metres() -> None:
    with reading_in("si"):
        assert "A commanded 1 m moves 2 m" in told(GEAR, (2, "rev"), (4, "rev"), SCREW).effect

"""Scaling: the factor group of CiA 402-2 / IEC 61800-7-201 and the unit codes of CiA 303-2.

The unit codes are from memory.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from vault.behaviour.scaling import Scaling, Travel, common_sizes
from vault.behaviour.si_units import read_unit_code
from vault.model.quantities import Physical

LEAD = Physical(Fraction(16, 1000), 0, "length", "m")
# R = 2^20, G = 4, F = 16,000 user units of 0.001 mm per turn of a screw of 16 mm.
CARRIAGE = Scaling(
    encoder=Fraction(2**20),
    encoder_fitted=Fraction(2**20),
    gear=Fraction(4),
    feed=Fraction(16_000),
    unit=read_unit_code(0xFA010000),
    travel=Travel(LEAD, Fraction(4)),
)


def test_one_millimetre_is_262144_increments() -> None:
    """The design's check value: 2^20 x 4 / 16."""
    turns = CARRIAGE.motor_turns
    assert turns is not None
    assert turns * 1000 * 2**20 == 262_144


def test_k_is_one_where_parameters_and_machine_agree() -> None:
    assert CARRIAGE.travel_error == 1


def test_a_24_bit_encoder_counted_as_20_bit_moves_a_sixteenth() -> None:
    swapped = replace(CARRIAGE, encoder_fitted=Fraction(2**24))
    assert swapped.travel_error == Fraction(1, 16)


def test_a_unit_in_revolutions_and_one_in_millimetres_compare_as_travel() -> None:
    turns = replace(CARRIAGE, feed=Fraction(10_000), unit=read_unit_code(0xFCB40000))
    left, right = common_sizes(turns, CARRIAGE)
    assert turns.travel_error == 1
    assert left.physical(93_750, "user_position", None) == right.physical(
        150_000, "user_position", None
    )


def test_without_mechanics_two_sets_compare_by_motor_turns() -> None:
    bare = replace(CARRIAGE, travel=None)
    left, right = common_sizes(bare, replace(bare, gear=Fraction(8)))
    one, other = left.units["user_position"], right.units["user_position"]
    assert other.ratio / one.ratio == 2


@pytest.mark.parametrize(
    ("code", "ratio", "pi_power", "kind"),
    [
        (0xFD010000, Fraction(1, 1000), 0, "length"),
        (0xFA010300, Fraction(1, 10**6), 0, "velocity"),
        (0x00B44700, Fraction(2, 60), 1, "angular_velocity"),
        (0x00410000, Fraction(1, 180), 1, "angle"),
        (0xFA015700, Fraction(1, 10**6), 0, "acceleration"),
    ],
)
def test_unit_codes_give_their_size(code: int, ratio: Fraction, pi_power: int, kind: str) -> None:
    found = read_unit_code(code)
    assert found is not None
    assert (found.size.ratio, found.size.pi_power, found.size.kind) == (ratio, pi_power, kind)


def test_an_unknown_unit_code_is_not_guessed() -> None:
    assert read_unit_code(0x00EE0000) is None

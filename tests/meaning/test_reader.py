"""Sizes in a unit that a reader chose."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from vault.meaning.reader import in_unit
from vault.model.quantities import physical


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "number"),
    [
        ("1", "in", "mm", Fraction("25.4")),  # exactly, by NIST SP 811, appendix B
        ("90", "deg", "rev", Fraction(1, 4)),
        ("140", "degF", "degC", Fraction(60)),  # (t - 32) / 1.8, NIST SP 811, B.8
        ("60", "degC", "degF", Fraction(140)),
    ],
)
def test_a_size_in_another_unit_of_its_kind(
    value: str, unit: str, wanted: str, number: Fraction
) -> None:
    size = physical(Decimal(value), unit)
    assert size is not None
    assert in_unit(size, wanted) == number

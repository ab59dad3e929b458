"""Sizes in a unit that a reader chose."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import inf, pi

import pytest

from vault.behaviour.facts import Bound, Figure
from vault.meaning.findings import digits, in_words, length_or_angle, with_bound
from vault.meaning.reader import SYSTEMS, in_unit, reading_in, system, unit_for
from vault.model.quantities import physical
from vault.model.unit_table import SI_UNIT, UNITS


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


@pytest.mark.parametrize(
    ("number", "count", "text"),
    [
        (1234.56, 4, "1,235"),
        (1234567.0, 4, "1,235,000"),
        (0.00123456, 4, "0.001235"),
        (0.0000123456, 2, "0.00001"),  # at most three places more than digits
        (-2.5, 4, "-2.5"),
        (9.99996, 4, "10"),
        (0.0, 4, "0"),
        (inf, 4, "without end"),
        (-inf, 4, "minus without end"),
    ],
)
def test_a_number_has_so_many_digits_that_tell(number: float, count: int, text: str) -> None:
    assert digits(number, count) == text


@pytest.mark.parametrize(
    ("system", "way", "turn"),
    [("drive", "25.4 mm", "90 deg"), ("si", "0.0254 m", "1.571 rad"), ("inch", "1 in", "90 deg")],
)
def test_a_way_is_told_in_the_reader_s_unit_of_its_axis(system: str, way: str, turn: str) -> None:
    linear, turned = physical(1, "mm/s"), physical(1, "deg")
    assert linear is not None
    assert turned is not None
    with reading_in(system):
        assert length_or_angle(0.0254, linear) == way
        assert length_or_angle(pi / 2, turned) == turn


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (inf, "m", "a way without end"),
        (inf, "rad", "a way without end"),
        (inf, "s", "without end s"),
        (0.02, "m", "20 mm"),
        (3.0, "no unit", "3 no unit"),
    ],
)
def test_a_figure_without_end_is_told_so(value: float, unit: str, text: str) -> None:
    assert in_words(Figure(value, unit, "a basis")) == text


@pytest.mark.parametrize(
    ("bound", "text"),
    [("exact", "20 mm"), ("at_least", "at least 20 mm"), ("up_to", "up to 20 mm")],
)
def test_a_figure_is_told_with_what_bounds_it(bound: Bound, text: str) -> None:
    assert with_bound(Figure(0.02, "m", "a basis", bound)) == text


@pytest.mark.parametrize("reader", SYSTEMS)
def test_every_unit_of_a_reader_is_one_of_its_kind(reader: str) -> None:
    with reading_in(reader):
        found = {kind: unit_for(kind) for kind in SI_UNIT}
    assert all(unit is None or UNITS[unit].kind == kind for kind, unit in found.items())
    with reading_in(reader):
        assert system() == reader
    assert system() == "drive"

"""Scales in the reader's unit, against pint."""

from __future__ import annotations

import pint
import pytest

from vault.meaning.reader_scale import reader_scale, speed_scale, way_scale

UNITS = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("unit", "shown", "spelled"), [("m", "mm", "millimeter"), ("rad", "deg", "degree")]
)
def test_a_way_is_shown_in_the_unit_of_a_way(unit: str, shown: str, spelled: str) -> None:
    scale = way_scale(unit)
    assert scale.unit == shown
    assert scale.number(0.25) == pytest.approx(UNITS.Quantity(0.25, unit).to(spelled).magnitude)


@pytest.mark.parametrize(
    ("unit", "shown", "spelled"), [("m", "mm/s", "mm/s"), ("rad", "r/min", "turn/minute")]
)
def test_a_speed_is_shown_in_the_unit_of_a_speed(unit: str, shown: str, spelled: str) -> None:
    scale = speed_scale(unit)
    assert scale.unit == shown
    wanted = UNITS.Quantity(0.25, f"{unit}/s").to(spelled).magnitude
    assert scale.number(0.25) == pytest.approx(wanted)


def test_a_number_on_a_scale_is_told_with_its_unit() -> None:
    assert way_scale("m").text(0.25) == "250 mm"


def test_a_kind_without_a_unit_of_the_reader_is_shown_in_si() -> None:
    scale = reader_scale("time")
    assert (scale.unit, scale.size) == ("s", 1)

"""What the axis record adds to the numbers of a set. Sets and machines are invented."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from vault.meaning.axis_view import AxisView
from vault.meaning.explainers.following import steady_lag
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import read_axis
from vault.store.files.parameters_text import parameters_text


def view(gain_unit: str | None, written: str | None = None) -> AxisView:
    said = "" if gain_unit is None else f"position_gain_unit: {gain_unit}\n"
    return AxisView(
        "x",
        parameters_text(
            ParameterSet(
                [
                    Parameter("g", "Gain", Decimal("1.2"), 120, "position_gain", written),
                    Parameter("v", "Speed", 500, 500, "profile_velocity", "mm/s"),
                ]
            )
        ),
        axis_text=f"schema: axisvault/axis/1\n{said}".encode(),
        read_axis=lambda text: read_axis(text, "axis.yaml"),
    )


def test_a_gain_without_unit_takes_it_from_the_axis_record() -> None:
    # 1.2 (m/min)/mm = 1.2 x 1000 / 60 = 20 1/s (from the units alone): 500 mm/s lag 25 mm.
    found = view("(m/min)/mm").physical("position_gain")
    assert found is not None
    assert found.ratio == Fraction(20)
    lag = steady_lag(view("(m/min)/mm"), "profile_velocity")
    assert lag is not None
    assert lag[2] == pytest.approx(0.025)


def test_the_unit_of_the_family_comes_first() -> None:
    found = view("(m/min)/mm", "1/s").physical("position_gain")
    assert found is not None
    assert found.ratio == Fraction(12, 10)


def test_without_any_unit_no_lag_is_guessed() -> None:
    assert view(None).physical("position_gain") is None
    assert steady_lag(view(None), "profile_velocity") is None

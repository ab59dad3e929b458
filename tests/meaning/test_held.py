"""The number nearest to a wanted one that a drive can hold; the definitions are invented."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.meaning.held import hold, parameter_of
from vault.model.datatypes import BY_NAME
from vault.model.normalise import Definition


def definition(kind: str | None = "UNSIGNED16", scale: str = "1", **more: Any) -> Definition:
    return Definition(
        "x/1", "Setting", None, BY_NAME[kind] if kind else None, Decimal(scale), "mm", {}, **more
    )


def test_a_number_on_a_step_is_held_exactly() -> None:
    held = hold(Fraction(5, 2), definition(scale="0.01"))
    assert (held.parameter.raw, held.parameter.value) == (250, Decimal("2.5"))
    assert (held.fit, held.error, held.steps) == ("exact", 0, 0)


def test_a_number_between_two_steps_is_rounded_and_says_by_how_much() -> None:
    """2.504 mm in steps of 0.01 mm: 250 steps, 0.004 mm or 0.4 of a step too little."""
    held = hold(Fraction("2.504"), definition(scale="0.01"))
    assert (held.fit, held.parameter.raw) == ("rounded", 250)
    assert (held.error, held.steps) == (Fraction(-4, 1000), Fraction(-2, 5))


@pytest.mark.parametrize(
    ("wanted", "kind", "more", "raw"),
    [
        (70_000, "UNSIGNED16", {}, 65_535),
        (-1, "UNSIGNED16", {}, 0),
        (-40_000, "INTEGER16", {}, -32_768),
        (400, "UNSIGNED16", {"high": Decimal(300)}, 300),
        (5, "UNSIGNED16", {"low": Decimal(10)}, 10),
    ],
)
def test_beyond_the_range_the_nearest_limit_is_held(
    wanted: int, kind: str, more: dict[str, Any], raw: int
) -> None:
    held = hold(Fraction(wanted), definition(kind, **more))
    assert (held.fit, held.parameter.raw) == ("out_of_range", raw)
    assert held.error == raw - wanted


def test_a_limit_between_two_steps_is_not_passed() -> None:
    """At most 0.255 mm in steps of 0.01 mm: 25 steps; at least 0.255 mm: 26."""
    high = hold(Fraction(1), definition(scale="0.01", high=Decimal("0.255")))
    low = hold(Fraction(0), definition(scale="0.01", low=Decimal("0.255")))
    assert (high.parameter.raw, low.parameter.raw) == (25, 26)


@given(st.floats(-1e9, 1e9, width=32))
def test_a_real_number_that_a_drive_holds_is_told_apart_from_its_neighbours(wanted: float) -> None:
    """Against numpy: 9 digits give a 32-bit number back (IEEE 754-2019, 5.12.2, from memory)."""
    held = hold(Fraction(wanted), definition("REAL32"))
    assert np.float32(str(held.parameter.raw)) == np.float32(wanted)


def test_without_a_type_a_number_is_held_as_it_is() -> None:
    held = hold(Fraction(1, 3), definition(None))
    assert abs(held.error) < Fraction(1, 10**29)
    assert hold(Fraction(1, 8), definition(None)).fit == "exact"


@given(
    wanted=st.fractions(-300, 300, max_denominator=10**6),
    scale=st.sampled_from(["1", "0.1", "0.01", "0.25"]),
)
def test_within_the_range_the_error_is_at_most_half_a_step(wanted: Fraction, scale: str) -> None:
    held = hold(wanted, definition("INTEGER32", scale))
    assert abs(held.error) <= Fraction(scale) / 2
    assert Fraction(held.parameter.value) == Fraction(held.parameter.raw) * Fraction(scale)


def test_a_choice_gets_its_label_and_a_text_none() -> None:
    named = Definition("x", "Mode", None, BY_NAME["INTEGER8"], Decimal(1), None, {3: "Hold"})
    assert parameter_of(named, 3).label == "Hold"
    assert parameter_of(named, 4).label is None
    assert parameter_of(definition("VISIBLE_STRING"), "lift").value == "lift"

"""Homing methods and over-travel inputs. Method numbers by CiA 402-2, from memory."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import (
    Settings,
    complaints,
    defined,
    parameter,
    the_complaint,
    view_of,
)

ONE, TWO = "digital_input_function", "digital_input_function.2"
# Numbers of the functions are those of `vault.model.choices`.
NOTHING, ENABLE, POSITIVE, NEGATIVE, HOME = 0, 1, 3, 4, 5


@pytest.mark.parametrize(
    ("method", "needed", "words"),
    [
        (1, NEGATIVE, "negative over-travel"),
        (17, NEGATIVE, "negative over-travel"),
        (2, POSITIVE, "positive over-travel"),
        (18, POSITIVE, "positive over-travel"),
        (3, HOME, "homing switch"),
        (14, HOME, "homing switch"),
        (19, HOME, "homing switch"),
        (30, HOME, "homing switch"),
    ],
)
def test_a_homing_method_needs_the_switch_it_looks_for(
    method: int, needed: int, words: str
) -> None:
    settings: Settings = {"homing_method": method, ONE: ENABLE}
    assert words in the_complaint("homing_inputs", view_of({**settings, TWO: NOTHING})).sentence
    assert not complaints("homing_inputs", view_of({**settings, TWO: needed}))


@pytest.mark.parametrize("method", [0, 15, 16, 31, 32, 33, 34, 35, 37, -1])
def test_other_methods_need_no_switch(method: int) -> None:
    settings: Settings = {"homing_method": method, ONE: ENABLE}
    assert not complaints("homing_inputs", view_of(settings))


def test_inputs_that_the_set_does_not_give_or_name_leave_the_switch_open() -> None:
    assert not complaints("homing_inputs", view_of({"homing_method": 1}))
    unnamed = parameter(TWO, 77, label=None)
    assert not complaints("homing_inputs", view_of({"homing_method": 1, ONE: ENABLE, TWO: unnamed}))


def test_a_family_that_names_the_function_tells_that_it_is_missing() -> None:
    named = defined(ONE, choices={7: "Negative over-travel", 9: "Gripper open"})
    settings: Settings = {"homing_method": 1, ONE: parameter(ONE, 9, label="Gripper open")}
    assert complaints("homing_inputs", view_of(settings, definitions=named))
    other = defined(ONE, choices={7: "Limit switch minus", 9: "Gripper open"})
    assert not complaints("homing_inputs", view_of(settings, definitions=other))


@pytest.mark.parametrize(("method", "count"), [(33, 1), (1, 1), (17, 0), (37, 0)])
def test_the_index_pulse_needs_an_encoder(method: int, count: int) -> None:
    settings: Settings = {"homing_method": method, "encoder_type": 0}
    assert len(complaints("homing_inputs", view_of(settings))) == count
    assert not complaints("homing_inputs", view_of({**settings, "encoder_type": 1}))


@pytest.mark.parametrize(
    ("one", "two", "missing"),
    [
        (POSITIVE, NEGATIVE, None),
        (ENABLE, NOTHING, None),
        (POSITIVE, ENABLE, "negative"),
        (NEGATIVE, ENABLE, "positive"),
    ],
)
def test_both_ends_have_an_over_travel_input_or_neither(
    one: int, two: int, missing: str | None
) -> None:
    found = complaints("overtravel_inputs", view_of({ONE: one, TWO: two}))
    assert len(found) == (missing is not None)
    assert all(f"at its {missing} end" in complaint.sentence for complaint in found)


@pytest.mark.parametrize(("reaction", "count"), [(0, 1), (1, 1), (2, 0), (3, 0), (4, 0)])
def test_an_over_travel_switch_that_is_wired_stops_the_axis(reaction: int, count: int) -> None:
    settings: Settings = {ONE: POSITIVE, TWO: NEGATIVE, "overtravel_reaction": reaction}
    assert len(complaints("overtravel_reaction", view_of(settings))) == count
    idle: Settings = {ONE: ENABLE, "overtravel_reaction": reaction}
    assert not complaints("overtravel_reaction", view_of(idle))

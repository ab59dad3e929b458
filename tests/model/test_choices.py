"""What a choice of a dictionary stands for: by its word, else by the standard's number."""

from __future__ import annotations

from decimal import Decimal

import pytest

from vault.jobs.drafting.column_words import truths
from vault.model.choices import chosen, same_label
from vault.model.datatypes import DECIMAL
from vault.model.export import Entry, Listing
from vault.model.families import Family
from vault.model.normalise import normalise
from vault.model.parameters import Parameter
from vault.store.files.edited_files import read_family

LIMITS = "software_position_limits_used"
DICTIONARY = f"""\
schema: axisvault/family/1
name: hazel
title: Hazel drives (invented, for tests)
export: {{format: delimited, columns: {{code: Code, value: Value}}}}
parameters:
  stop: {{name: Schnellhalt, role: quick_stop_option_code, type: {DECIMAL.name}}}
  lag: {{name: Schleppfehler, role: following_error_window, type: {DECIMAL.name}, unit: mm}}
"""


def flag(raw: int, label: str | None, role: str = LIMITS) -> Parameter:
    """A parameter that is a flag."""
    return Parameter("a", "A", raw, raw, role, None, label)


@pytest.mark.parametrize("pair", truths(), ids=str)
def test_no_and_yes_are_understood_in_all_words_that_a_draft_makes_choices_of(
    pair: tuple[str, str],
) -> None:
    no, yes = pair
    assert chosen(flag(0, no.capitalize())) == 0
    assert chosen(flag(1, yes.upper())) == 1


def test_the_word_decides_and_not_the_number_that_a_maker_gave_it() -> None:
    assert chosen(flag(1, "Nein")) == 0
    assert chosen(flag(0, "Ja")) == 1


def test_a_word_that_nobody_knows_is_not_guessed() -> None:
    assert chosen(flag(1, "Vielleicht")) is None
    assert chosen(flag(2, "Ja", "quick_stop_option_code")) is None


def normalised(**values: Decimal | int) -> dict[str, Parameter]:
    entries = tuple(Entry(code, value, 1) for code, value in values.items())
    family: Family = read_family(DICTIONARY.encode(), "hazel.yaml")
    return dict(normalise(Listing("delimited", entries), family).parameters)


def test_a_choice_of_a_type_that_nobody_knows_is_the_standards_where_it_is_whole() -> None:
    """CiA 402-2, 605Ah: 6 is to slow down on the quick-stop ramp and stay (from memory)."""
    found = normalised(stop=6)["stop"]
    assert (found.raw, type(found.raw)) == (6, int)
    assert found.label == "Stop on the quick-stop ramp, then hold with power on"
    assert chosen(found) == 6
    assert chosen(normalised(stop=Decimal("6.0"))["stop"]) == 6


def test_a_number_that_is_not_whole_is_no_choice() -> None:
    found = normalised(stop=Decimal("2.5"))["stop"]
    assert (found.raw, found.label, chosen(found)) == (Decimal("2.5"), None, None)


def test_a_number_that_is_no_choice_stays_as_it_is() -> None:
    assert type(normalised(lag=5)["lag"].raw) is Decimal


def test_two_families_words_for_yes_are_the_same_for_a_switch_and_for_nothing_else() -> None:
    assert same_label("Ja", "Yes", LIMITS)
    assert same_label("OUI", "on", LIMITS)
    assert not same_label("Ja", "No", LIMITS)
    assert not same_label("Ja", "Always", LIMITS)
    assert same_label("Always", "always", LIMITS)
    assert not same_label("On", "Yes", "quick_stop_option_code")
    assert not same_label("On", "Yes", None)

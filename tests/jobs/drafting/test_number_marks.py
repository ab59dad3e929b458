"""How an export spells its numbers, told by all of them together."""

from __future__ import annotations

import pytest

from vault.jobs.drafting.number_marks import Marks, is_address, marks_of, units_number, with_unit


def marks(*values: str, comma: bool = False, bounds: tuple[str, ...] = ()) -> Marks:
    return marks_of(values, bounds, comma_likely=comma)


@pytest.mark.parametrize(
    ("values", "decimal", "thousands"),
    [
        (("2.5", "1200"), ".", ""),
        (("2,5", "1200"), ",", ""),
        (("1.234,5", "7"), ",", "."),
        (("1,234.5", "7"), ".", ","),
        (("1 234,5", "7"), ",", " "),
        (("1'234.5", "7"), ".", "'"),
        (("1.234.567", "7"), ",", "."),
    ],
)
def test_the_marks_are_those_by_which_all_are_numbers(
    values: tuple[str, ...], decimal: str, thousands: str
) -> None:
    found = marks(*values)
    assert (found.decimal, found.thousands, found.guesses) == (decimal, thousands, ())


@pytest.mark.parametrize("comma", [True, False])
def test_a_number_that_may_be_either_is_a_question(comma: bool) -> None:
    (question,) = marks("1.234", "30", comma=comma).guesses
    assert (question.about, question.confidence) == ("decimal", 0.5)
    assert "1.234" in question.reason


def test_numbers_that_contradict_each_other_are_a_question() -> None:
    (question,) = marks("2.5", "2,5", "30").guesses
    assert (question.about, question.confidence) == ("decimal", 0.5)


def test_whole_numbers_leave_the_decimal_mark_open() -> None:
    (question,) = marks("30", "1200").guesses
    assert (question.about, question.confidence) == ("decimal", 0.6)


def test_another_number_answers_the_question() -> None:
    found = marks("1.234", "2.5")
    assert (found.decimal, found.thousands, found.guesses) == (".", "", ())


def test_bounds_answer_the_question_too() -> None:
    assert not marks("1.234", "30", bounds=("0,5",)).guesses


def test_a_nought_before_the_mark_parts_no_thousands() -> None:
    assert marks("0.500", "30", comma=True).decimal == "."


def test_an_address_says_nothing_of_the_marks() -> None:
    assert is_address("192.168.100.200")
    assert not is_address("192.168.100.256")
    assert marks("192.168.100.200", "2.5").thousands == ""


def test_units_and_bases_are_noticed() -> None:
    found = marks("12.5 mm/s", "0x1F4")
    assert (found.unit_in_value, found.hex_and_binary) == (True, True)
    assert units_number("12.5 mm/s") == "12.5"
    assert units_number("12.5 blorp") == ""


@pytest.mark.parametrize(
    ("text", "parted"),
    [
        ("2.1 1/s", ("2.1", "1/s")), ("2,5 mm", ("2,5", "mm")), ("3000 [rpm]", ("3000", "rpm")),
        ("12mm/s2", ("12", "mm/s2")), ("1 200,5 mm", ("1 200,5", "mm")), ("1F4h", None),
        ("2024-01-05", None), ("GA 4", None),
    ],
)  # fmt: skip
def test_number_and_unit_are_parted_as_the_readers_part_them(
    text: str, parted: tuple[str, str] | None
) -> None:
    assert with_unit(text) == parted

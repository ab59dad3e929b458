"""Numbers as exports write them. Outside reference: Python's own `format`, `int` and `Decimal`."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.model.numerals import marked_number, parse_number, typed_number

whole = st.integers(-(2**64), 2**64)
exact = st.decimals(-(10**12), 10**12, allow_nan=False, places=4)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0", 0),
        ("0012", 12),
        ("+5", 5),
        (" -5 ", -5),
        ("\u22125", -5),  # minus sign
        ("\u20135", -5),  # en dash, as word processors put it
        ("0x1F", 31),
        ("-0x1f", -31),
        ("2.50", Decimal("2.50")),
        ("5.", Decimal(5)),
        (".5", Decimal("0.5")),
        ("1.5E-3", Decimal("0.0015")),
        ("1e3", Decimal(1000)),
    ],
)
def test_a_number_is_whole_without_decimal_mark_and_exponent(
    text: str, number: int | Decimal
) -> None:
    found = parse_number(text)
    assert found == number
    assert type(found) is type(number)


@pytest.mark.parametrize(
    "text", ["", "-", ".", "5 mm", "1,5", "1_000", "0x", "0xG", "1e", "nan", "inf", "1.2.3", "- 5"]
)
def test_what_is_not_wholly_a_number_is_none(text: str) -> None:
    assert parse_number(text) is None


def test_trailing_zeros_are_kept() -> None:
    assert str(parse_number("2,500", ",")) == "2.500"


@pytest.mark.parametrize("text", ["12.34", "1.2345", "1234.567", ".123", "1..234", "123."])
def test_thousands_separators_count_only_between_groups_of_three(text: str) -> None:
    assert parse_number(text, ",", ".") is None


@pytest.mark.parametrize("text", ["1.234", "1.5"])
def test_a_point_is_never_taken_for_a_decimal_comma(text: str) -> None:
    assert parse_number(text, ",") is None


@given(whole, st.sampled_from([".", "'", " ", "\u00a0", "\u202f"]))
def test_whole_numbers_with_any_thousands_separator_are_read(number: int, thousands: str) -> None:
    text = format(number, ",").replace(",", thousands)
    assert parse_number(text, ",", thousands) == number


@given(exact)
def test_decimals_with_comma_and_points_are_read_exactly(number: Decimal) -> None:
    text = format(number, ",f").translate(str.maketrans(",.", ".,"))
    assert str(parse_number(text, ",", ".")) == format(number, "f")


@given(whole)
def test_hexadecimal_numbers_are_read(number: int) -> None:
    assert parse_number(hex(number)) == number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1200", "1200"),
        ("1,200", "1200"),
        ("1,200.5", "1200.5"),
        ("12,345,678", "12345678"),
        ("1 200", "1200"),
        ("1'200.5", "1200.5"),
        ("1\u202f200,5", "1200.5"),
        ("1.200,5", "1200.5"),
        ("0,625", "0.625"),
        ("2,5", "2.5"),
        ("1,2345", "1.2345"),
        ("-1,200", "-1200"),
        ("\u22125", "-5"),
        ("+0.5", "0.5"),
        ("1.200", "1.200"),
        ("2.5e-3", "0.0025"),
    ],
)
def test_a_number_is_read_as_people_type_it(text: str, number: str) -> None:
    assert typed_number(text) == Decimal(number)


@pytest.mark.parametrize(
    ("text", "number"), [("1,200", "1.2"), ("1.200", "1200"), ("1.200,5", "1200.5"), ("1.5", "1.5")]
)
def test_where_the_comma_is_the_decimal_mark_a_point_parts_thousands(
    text: str, number: str
) -> None:
    assert typed_number(text, decimal_comma=True) == Decimal(number)


@pytest.mark.parametrize("text", ["", "1,20,3", "1,2.3,4", "a", "1..2", "12,34,567", "01,200,300"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is no number"):
        typed_number(text)


@given(st.decimals(-(10**9), 10**9, places=3))
def test_what_is_printed_with_thousands_apart_is_read(number: Decimal) -> None:
    assert typed_number(f"{number:,}") == number


@pytest.mark.parametrize("number", [0, 1, 5, 255, 500, 65535])
def test_a_number_marked_by_its_base_is_read_as_python_formats_it(number: int) -> None:
    spelled = (f"16#{number:X}", f"0{number:x}h", f"2#{number:b}", f"0b{number:b}", f"{number:b}b")
    assert [marked_number(text) for text in (*spelled, f"8#{number:o}")] == [number] * 6


def test_underscores_stand_between_digits_as_in_iec_61131_3() -> None:
    # IEC 61131-3 numeric literals, from memory: single underscores between digits have no meaning.
    assert marked_number("2#1111_0000") == 240
    assert marked_number("-16#FF_FF") == -65535
    assert [marked_number(text) for text in ("16#_", "16#F_", "2#_1", "16#F__F")] == [None] * 4


@pytest.mark.parametrize("text", ["500", "0x1F4", "F4h", "12b", "8#9", "16#", "h", ""])
def test_what_has_no_mark_of_a_base_is_no_marked_number(text: str) -> None:
    assert marked_number(text) is None

"""Numbers as an export spells its own. The originals are invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats.rows import read_value
from vault.formats.spelled_like import spelled_like
from vault.model.export_dialect import ExportDialect


def dialect(**changes: Any) -> ExportDialect:
    return ExportDialect(format="keyed", **changes)


@pytest.mark.parametrize(
    ("original", "value", "spelled"),
    [
        ("3000", 2500, "2500"),
        ("12.50", 7, "7.00"),
        ("12.50", Decimal("7.125"), "7.125"),
        ("3000", Decimal("2.5"), "2.5"),
        ("3000", Decimal("7.0"), "7"),
        ("12.", 7, "7."),
        (".5", Decimal("0.25"), ".25"),
        ("+5", 7, "+7"),
        ("+5", -7, "-7"),
        ("\u22125", -7, "\u22127"),
        ("0012", 13, "0013"),
        ("1.5e3", 2500, "2.5e3"),
        ("1.50E+03", Decimal("0.002"), "2.00E-03"),
        ("1.50E+03", 0, "0.00"),
        ("0x01F4", 255, "0x00FF"),
        ("0x1f4", 255, "0x0ff"),
        ("0x01F4", -1, "-1"),
        ("On", 5, "5"),
        ("3000", "Off", "Off"),
    ],
)
def test_a_number_is_spelled_as_the_one_before(original: str, value: Any, spelled: str) -> None:
    assert spelled_like(original, value, dialect()) == spelled


@pytest.mark.parametrize(
    ("original", "value", "spelled"),
    [
        ("1F4h", 240, "0F0h"),
        ("0ffH", 4096, "1000H"),
        ("16#00_FF", 0x1234, "16#12_34"),
        ("0b0101", 3, "0b0011"),
        ("2#0000_0001", 10, "2#0000_1010"),
        ("0101b", 2, "0010b"),
        ("8#17", 8, "8#10"),
        ("16#1F", Decimal("0.5"), "0.5"),
    ],
)
def test_a_base_keeps_its_mark_and_width(original: str, value: Any, spelled: str) -> None:
    assert spelled_like(original, value, dialect(hex_and_binary=True)) == spelled


@pytest.mark.parametrize(
    ("original", "value", "spelled"),
    [
        ("1.234,50", Decimal("98765.4"), "98.765,40"),
        ("999,5", 1200, "1200,0"),
        ("1.000", 12, "12"),
    ],
)
def test_thousands_are_parted_where_the_original_parts_them(
    original: str, value: Any, spelled: str
) -> None:
    assert spelled_like(original, value, dialect(decimal=",", thousands=".")) == spelled


@pytest.mark.parametrize(
    ("original", "value", "spelled"),
    [
        ("3000 rpm", 2500, "2500 rpm"),
        ("12.5mm/s", 7, "7.0mm/s"),
        ("0x1F  rpm", 2, "0x02  rpm"),
        ("3.0 [mm]", 2, "2.0 [mm]"),
    ],
)
def test_the_unit_stays_behind(original: str, value: Any, spelled: str) -> None:
    assert spelled_like(original, value, dialect(unit_in_value=True)) == spelled


@pytest.mark.parametrize("text", ["1F4h", "0x1Frpm", "16#1F", "1F4h rpm"])
def test_the_digits_of_a_base_are_no_unit(text: str) -> None:
    assert read_value(text, dialect(unit_in_value=True)) == (text, "", "")


_ORIGINALS = st.one_of(
    st.from_regex(r"[+-]?[0-9]{1,6}(\.[0-9]{0,4})?([eE][+-]?[0-9]{1,2})?", fullmatch=True),
    st.from_regex(r"0x[0-9a-fA-F]{1,8}|16#[0-9A-F]{1,8}|[0-9][0-9A-F]{0,5}h", fullmatch=True),
    st.from_regex(r"[01]{1,8}b|2#[01]{4}(_[01]{4}){0,2}|0b[01]{1,8}", fullmatch=True),
    st.from_regex(r"-?[1-9][0-9]{0,2}(,[0-9]{3}){1,2}(\.[0-9]{1,3})?", fullmatch=True),
    st.text(max_size=8),
)
_NUMBERS = st.integers(-(2**64), 2**64) | st.decimals(
    allow_nan=False, allow_infinity=False, min_value=-(10**20), max_value=10**20, places=12
)


@given(_ORIGINALS, _NUMBERS, st.sampled_from(["", " rpm", " mm/s", "°"]))
def test_what_is_spelled_reads_as_the_same_number(
    original: str, value: int | Decimal, unit: str
) -> None:
    rules = dialect(unit_in_value=True, hex_and_binary=True, thousands=",")
    original += unit
    spelled = spelled_like(original, value, rules)
    found, _, found_unit = read_value(spelled, rules)
    if isinstance(found, str):  # with a nought before it, as its original has
        assert spelled[0] == "0" and original[0] == "0" and Decimal(found) == value
    else:
        assert found == value
        before, _, unit_before = read_value(original, rules)
        assert found_unit == ("" if isinstance(before, str) else unit_before)


@given(_ORIGINALS)
def test_the_same_number_is_spelled_in_the_same_way(original: str) -> None:
    rules = dialect(unit_in_value=True, hex_and_binary=True, thousands=",")
    value, _, _ = read_value(original, rules)
    if not isinstance(value, str):
        assert spelled_like(original.strip(), value, rules) == original.strip()


@pytest.mark.parametrize("original", ["1h", "24H", "0h"])
def test_where_hours_may_be_meant_a_number_is_spelled_plainly(original: str) -> None:
    rules = dialect(unit_in_value=True, hex_and_binary=True)
    assert spelled_like(original, 16, rules) == "16"

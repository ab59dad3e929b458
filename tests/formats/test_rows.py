"""What a cell says: numbers, marks of their base, and units behind it. All is invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pint
import pytest

from vault.formats import delimited
from vault.formats.rows import Row, channel_number, entry_of, read_value
from vault.model.export import Entry
from vault.model.export_dialect import ExportDialect


def dialect(**changes: Any) -> ExportDialect:
    usual: dict[str, Any] = {"format": "sheet", "columns": {"code": "Code", "value": "Value"}}
    return ExportDialect(**{**usual, **changes})


WITH_UNIT = dialect(unit_in_value=True)


@pytest.mark.parametrize(
    ("cell", "number", "unit"),
    [
        ("12.5 mm/s", Decimal("12.5"), "mm/s"),
        ("3000r/min", 3000, "r/min"),
        ("50%", 50, "%"),
        ("-7 °C", -7, "°C"),
        ("5 1/s", 5, "1/s"),
        ("2.5 mm/s2", Decimal("2.5"), "mm/s2"),
        ("2.5 m/s^2", Decimal("2.5"), "m/s^2"),
        ("1e3 Hz", Decimal(1000), "Hz"),
        ("6.2 A(rms)", Decimal("6.2"), "A(rms)"),
        ("7 UU", 7, "UU"),
        ("3000 [rpm]", 3000, "rpm"),
        ("12.5[mm/s]", Decimal("12.5"), "mm/s"),
        ("5 [1/s]", 5, "1/s"),
    ],
)
def test_a_unit_behind_a_number_is_told_from_it(
    cell: str, number: int | Decimal, unit: str
) -> None:
    value, _, found = read_value(cell, WITH_UNIT)
    assert (value, found) == (number, unit)


@pytest.mark.parametrize("unit", ["mm/s", "m/s^2", "kg*m^2", "N*m", "rad/s", "1/s", "V", "µs"])
def test_units_as_a_reference_library_writes_them_are_read(unit: str) -> None:
    """pint knows each of them, so none is a spelling of our own."""
    assert pint.UnitRegistry().parse_units(unit)
    assert read_value(f"4 {unit}", WITH_UNIT) == (4, "", unit)


@pytest.mark.parametrize(
    "cell",
    [
        "2024-01-05",
        "1.2.3",
        "10-20",
        "1F4h",
        "0b101",
        "16#1F4",
        "11/s",
        "5 of 8 x3",
        "0012",
        "x 5",
        "15O",
        "1OO mm",
        "1.5O mm",
        "7Qx",
        "5 [",
        "5 [mm",
        "5 [0-9]",
        "5 []",
        "5 mm]",
    ],
)
def test_what_is_no_number_with_a_unit_stays_a_text(cell: str) -> None:
    assert read_value(cell, WITH_UNIT) == (cell, "", "")


def test_a_unit_is_looked_for_only_where_the_dictionary_says_so() -> None:
    assert read_value("12.5 mm", dialect()) == ("12.5 mm", "", "")


def test_thousands_that_are_apart_are_one_number_before_its_unit() -> None:
    form = dialect(unit_in_value=True, decimal=",", thousands=" ")
    assert read_value("12 000,5 mm", form) == (Decimal("12000.5"), "", "mm")


def test_marked_numbers_are_read_only_where_the_dictionary_says_so() -> None:
    assert read_value("1F4h", dialect(hex_and_binary=True)) == (500, "1F4h", "")
    assert read_value("1F4h", dialect()) == ("1F4h", "", "")


def test_words_for_what_may_be_written_are_of_one_kind() -> None:
    row = Row({"code": "P1", "value": "1", "access": "Read only"}, 3)
    found = entry_of(row, dialect())
    assert isinstance(found, Entry)
    assert found.access == "ro"


def test_a_section_goes_before_the_code() -> None:
    found = entry_of(Row({"code": "Kp", "value": "1", "section": "Speed"}, 3), dialect())
    assert isinstance(found, Entry)
    assert found.code == "Speed/Kp"


@pytest.mark.parametrize(
    ("cell", "number"), [("Axis 2", 2), ("07", 7), ("none", None), ("1234567890", None)]
)
def test_the_number_of_an_axis_is_the_first_in_its_cell(cell: str, number: int | None) -> None:
    assert channel_number(cell) == number


@pytest.mark.parametrize("kind", ["DECIMAL", "UNSIGNED16", "VISIBLE_STRING", "blorp"])
def test_a_row_says_the_same_whoever_takes_it_apart(kind: str) -> None:
    columns = {"code": "Code", "value": "Value", "type": "Type", "default": "Usual"}
    layout = ExportDialect.model_validate({"format": "delimited", "columns": columns})
    content = f"Code,Value,Type,Usual\nP1,7,{kind},12\n".encode()
    (of_table,) = delimited.read(content, file="a", dialect=layout, channel=None).entries
    cells = {"code": "P1", "value": "7", "type": kind, "default": "12"}
    assert of_table == entry_of(Row(cells, 2), layout)

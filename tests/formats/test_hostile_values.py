"""Values that may be read as another one are refused or told, never taken in silence."""

from __future__ import annotations

from decimal import Decimal

import pytest

from vault.formats import delimited, records
from vault.formats.rows import channel_number, read_value
from vault.model.export_dialect import ExportDialect
from vault.model.numerals import parse_number

TABLE = {"format": "delimited", "columns": {"code": "Code", "value": "Value"}}
XML = {"format": "records", "record": "R/P", "columns": {"code": "@c", "value": "V"}}


def dialect(**keys: object) -> ExportDialect:
    """A dialect of tables."""
    return ExportDialect.model_validate({**TABLE, **keys})


@pytest.mark.parametrize("text", ["24h", "10H", "12Ah", "-5h"])
def test_what_may_be_hours_or_a_hexadecimal_number_is_read_as_neither(text: str) -> None:
    form = dialect(unit_in_value=True, hex_and_binary=True)
    assert read_value(text, form) == (text, "", "")
    content = f"Code,Value\nP1,{text}\n".encode()
    found = delimited.read(content, file="a.csv", dialect=form, channel=None)
    assert [entry.written for entry in found.entries] == [text]


@pytest.mark.parametrize(("text", "number"), [("1F4h", 500), ("0x24", 36), ("2#101", 5)])
def test_a_base_that_no_unit_can_be_is_read_where_units_stand_behind_numbers(
    text: str, number: int
) -> None:
    form = dialect(unit_in_value=True, hex_and_binary=True)
    assert read_value(text, form) == (number, text, "")


@pytest.mark.parametrize("text", ["0.125", "000.125", "-0.500", "00.125,5"])
def test_a_number_that_begins_with_a_nought_has_no_thousands(text: str) -> None:
    assert parse_number(text, ",", ".") is None


def test_a_decimal_point_among_decimal_commas_is_not_a_thousand_times_the_value() -> None:
    form = dialect(delimiter=";", decimal=",", thousands=".", unit_in_value=True)
    assert read_value("0.125 mm", form)[0] == "0.125 mm"
    assert read_value("1.250 mm", form)[0] == 1250
    assert read_value("0,125 mm", form)[0] == Decimal("0.125")


@pytest.mark.parametrize("cell", ["X20 Axis 2", "1-2", "1.5", "Axis 1 of 2"])
def test_of_several_numbers_none_is_that_of_an_axis(cell: str) -> None:
    assert channel_number(cell) is None


def test_a_text_of_xml_that_goes_on_behind_an_element_is_no_value() -> None:
    form = ExportDialect.model_validate(XML)
    content = b"<R><P c='P1'><V>1<sep/>500</V></P><P c='P2'><V>7</V></P></R>"
    found = records.read(content, file="a.xml", dialect=form, channel=None)
    assert [(entry.code, entry.written) for entry in found.entries] == [("P2", 7)]
    assert [bad.reason for bad in found.skipped] == ["the text of V goes on behind <sep>"]


def test_a_table_that_has_a_heading_twice_says_which_column_was_read() -> None:
    content = b"Code,Value,Value\nP1,1,5\n"
    found = delimited.read(content, file="a.csv", dialect=dialect(), channel=None)
    assert [entry.written for entry in found.entries] == [1]
    reason = "the heading 'Value' stands 2 times: what is below the first was read"
    assert [(one.line, one.reason) for one in found.remarks] == [(1, reason)]

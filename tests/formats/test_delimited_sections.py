"""Tables as text with sections, units behind values and numbers with marks. All are invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import delimited
from vault.model.errors import WrongUsage
from vault.model.export import Entry, Listing
from vault.model.export_dialect import ExportDialect

HEADINGS = {"code": "Code", "value": "Value"}
ALL = {**HEADINGS, "unit": "Unit", "low": "Min", "high": "Max", "default": "Factory"}
IN_SECTIONS = {"section": "[{name}]"}


def dialect(**changes: Any) -> ExportDialect:
    usual: dict[str, Any] = {"format": "delimited", "delimiter": ";", "columns": HEADINGS}
    return ExportDialect(**{**usual, **changes})


def read(export: str, axis: int | None = None, **changes: Any) -> Listing:
    form = dialect(**changes)
    return delimited.read(export.encode(), file="a.csv", dialect=form, channel=axis)


def values(listing: Listing) -> dict[str, Any]:
    return {entry.code: entry.written for entry in listing.entries}


def skipped(listing: Listing) -> list[tuple[int, str]]:
    return [(bad.line, bad.reason) for bad in listing.skipped]


def test_a_heading_goes_before_the_codes_below_it() -> None:
    export = "Code;Value\nK0;1\n[Speed];\nKp;2\n[Position]\nKp;3\n"
    assert values(read(export, **IN_SECTIONS)) == {"K0": 1, "Speed/Kp": 2, "Position/Kp": 3}


def test_a_code_that_stands_twice_in_one_section_is_told() -> None:
    listing = read("Code;Value\n[A]\nKp;2\n[B]\nKp;3\n[A]\nKp;4\n", **IN_SECTIONS)
    assert values(listing) == {"A/Kp": 2, "B/Kp": 3}
    assert skipped(listing) == [(7, "A/Kp is given already in line 3")]


def test_a_column_names_the_section() -> None:
    export = "Group;Code;Value\nSpeed;Kp;2\nPosition;Kp;3\n;K0;1\n"
    listing = read(export, columns={**HEADINGS, "section": "Group"})
    assert values(listing) == {"Speed/Kp": 2, "Position/Kp": 3, "K0": 1}


def test_a_heading_is_of_the_rows_whose_column_names_no_section() -> None:
    export = "Group;Code;Value\n[Speed]\nOther;Kp;2\n;Kp;3\n"
    listing = read(export, columns={**HEADINGS, "section": "Group"}, **IN_SECTIONS)
    assert values(listing) == {"Other/Kp": 2, "Speed/Kp": 3}


@pytest.mark.parametrize(
    "heading", ["[Speed", "[Speed;", "[Speed;x;", "[Speed] x", '"[Speed]"', '"[Speed]";']
)
def test_below_a_heading_that_cannot_be_read_nothing_is_guessed(heading: str) -> None:
    listing = read(f"Code;Value\n[A]\nKp;1\n{heading}\nKp;2\n[B]\nKp;3\n", **IN_SECTIONS)
    assert values(listing) == {"A/Kp": 1, "B/Kp": 3}
    assert [bad.line for bad in listing.skipped] == [4, 5]
    assert listing.skipped[1].reason == "the heading above it cannot be read"


def test_sections_stand_within_the_axes() -> None:
    export = "Code;Value\n[S]\nKs;0\n[Axis 1]\n[S]\nKp;1\n[Axis 2]\nKq;4\n[S]\nKp;2\n"
    rules = {**IN_SECTIONS, "channel": {"section": "[Axis {n}]"}}
    assert values(read(export, 2, **rules)) == {"S/Ks": 0, "Kq": 4, "S/Kp": 2}


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("1'234,5 mm", Decimal("1234.5"), "mm"),
        ("1'234,5mm", Decimal("1234.5"), "mm"),
        ("0x1F", 31, ""),
        ("1F4h", 500, ""),
        ("2#101", 5, ""),
        ("101b inc", 5, "inc"),
        ("15O", "15O", ""),
        ("0012", "0012", ""),
        ("0012 mm", 12, "mm"),
    ],
)
def test_numbers_and_units_are_read_exactly_or_stay_texts(text: str, value: Any, unit: str) -> None:
    rules = {"decimal": ",", "thousands": "'", "unit_in_value": True, "hex_and_binary": True}
    (entry,) = read(f"Code;Value\nK1;{text}\n", **rules).entries
    assert (entry.written, entry.unit) == (value, unit)


def test_without_these_keys_a_table_reads_as_ever() -> None:
    listing = read("Code;Value\nK1;12 mm\nK2;1F4h\n[S]\nK3;5\n")
    assert values(listing) == {"K1": "12 mm", "K2": "1F4h", "K3": 5}


def test_units_that_do_not_go_together_are_told() -> None:
    export = (
        "Code;Value;Unit;Min;Max;Factory\nK1;5 m;mm;;;\nK2;5 mm;;0 mm;9 mm;\nK3;5;mm;0 m;;\n"
        "K4;5 1/min;rpm;;9 rpm;\nK5;On;;;;3 mm\nK6;5;;;;3 mm\n"
    )
    listing = read(export, columns=ALL, unit_in_value=True)
    assert [entry.code for entry in listing.entries] == ["K2", "K4", "K5"]
    assert skipped(listing) == [
        (2, "the value is in 'm', and its unit is 'mm'"),
        (4, "its low is in 'm', and the value in 'mm'"),
        (7, "its default is in 'mm', and the value without a unit"),
    ]


# Writing anew

NUMBERS = st.integers(-(2**40), 2**40) | st.decimals(-(10**6), 10**6, places=4)


@given(
    st.dictionaries(
        st.sampled_from(["K1", "A/K1", "A/K2", "B c/K1", "K2"]),
        st.tuples(NUMBERS, st.sampled_from(["", "mm", "1/min", "°C", "N·m"])),
        min_size=1,
    ),
    st.sampled_from([IN_SECTIONS, {"columns": {**HEADINGS, "section": "Group"}}]),
    st.booleans(),
)
def test_what_is_written_reads_as_the_same(
    rows: dict[str, tuple[Any, str]], rules: dict[str, Any], marked: bool
) -> None:
    form = dialect(**rules, unit_in_value=True, hex_and_binary=marked, decimal=",")
    entries = tuple(Entry(code, value, 0, unit=unit) for code, (value, unit) in rows.items())
    content = delimited.write(Listing("delimited", entries, holds="value"), dialect=form)
    after = delimited.read(content, file="a", dialect=form, channel=None)
    assert after.skipped == ()
    assert {e.code: (e.written, e.unit) for e in after.entries} == rows


@pytest.mark.parametrize(
    ("entry", "rules"),
    [
        (Entry("A;x/K1", 5, 0), IN_SECTIONS),
        (Entry("K1", 5, 0, unit="10^-3 m"), {"unit_in_value": True}),
        (Entry("K1", "5 m", 0), {"unit_in_value": True}),
        (Entry("Code", "Value", 0), {"hex_and_binary": True}),
    ],
)
def test_what_would_read_back_as_another_is_refused_by_its_code(
    entry: Entry, rules: dict[str, Any]
) -> None:
    with pytest.raises(WrongUsage, match=entry.code):
        delimited.write(Listing("delimited", (entry,), holds="value"), dialect=dialect(**rules))


def test_a_code_that_begins_as_a_heading_is_quoted() -> None:
    before = Listing("delimited", (Entry("[K", 5, 0), Entry("A/[K]", 6, 0)), holds="value")
    form = dialect(**IN_SECTIONS)
    content = delimited.write(before, dialect=form)
    assert values(delimited.read(content, file="a", dialect=form, channel=None)) == {
        "[K": 5,
        "A/[K]": 6,
    }

"""Workbooks are read exactly: held against openpyxl, which writes them (a reference library)."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from tests.sweeps import part_of
from vault.formats import sheet
from vault.formats.workbook_cells import exact_number
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing
from vault.model.export_dialect import ExportDialect

HEADINGS = ("Code", "Name", "Value", "Unit")
COLUMNS = {"code": "Code", "name": "Name", "value": "Value", "unit": "Unit"}


def dialect(**keys: Any) -> ExportDialect:
    """A dialect of sheets with the headings of these tests."""
    return ExportDialect(**{"format": "sheet", "columns": COLUMNS, **keys})


def saved(book: openpyxl.Workbook) -> bytes:
    """Bytes of a workbook."""
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def workbook(*rows: Sequence[object], title: str = "Parameters") -> openpyxl.Workbook:
    """A workbook of one sheet."""
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    return book


def read(content: bytes, form: ExportDialect | None = None, channel: int | None = None) -> Listing:
    """Read a workbook by a dialect."""
    return sheet.read(content, file="a.xlsx", dialect=form or dialect(), channel=channel)


def values(entries: Iterable[Entry]) -> dict[str, object]:
    """Values by code."""
    return {entry.code: entry.written for entry in entries}


numbers = st.one_of(
    st.integers(-(2**53), 2**53),
    st.floats(-1e300, 1e300),
    st.decimals(-(10**9), 10**9, places=4),
)


@settings(max_examples=part_of(60, 2), deadline=None)
@given(st.lists(numbers, min_size=1, max_size=30))
def test_every_number_is_read_as_openpyxl_reads_it(written: list[float]) -> None:
    rows = [(f"P{n}", "", number, "rpm") for n, number in enumerate(written)]
    content = saved(workbook(HEADINGS, *rows))
    there = openpyxl.load_workbook(BytesIO(content)).active.iter_rows(min_row=2, values_only=True)
    found = read(content)
    assert [entry.written for entry in found.entries] == [Decimal(repr(row[2])) for row in there]
    assert found.skipped == ()


@given(st.decimals(-(10**6), 10**6, places=6))
def test_up_to_15_digits_are_read_as_they_were_typed(written: Decimal) -> None:
    assert exact_number(repr(float(written))) == written
    assert exact_number(f"{float(written):.17g}") == written


printable = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cn"), exclude_characters="_='"), min_size=1
)


@settings(max_examples=part_of(60, 2), deadline=None)
@given(st.lists(printable.filter(str.strip), min_size=1, max_size=12, unique_by=str.strip))
def test_every_text_that_openpyxl_writes_is_read_as_it_was(texts: list[str]) -> None:
    rows = [(f"P{n}", text, 1, "") for n, text in enumerate(texts)]
    content = saved(workbook(HEADINGS, *rows))
    there = [row[1].value for row in openpyxl.load_workbook(BytesIO(content)).active["A2:D99"]]
    found = read(content)
    assert [entry.name for entry in found.entries] == [t.strip() for t in there[: len(texts)]]


def test_a_tenth_written_with_all_digits_of_its_double_is_a_tenth() -> None:
    # 0.10000000000000001 is how some programs write the double 0.1 (17 digits; IEEE 754, 5.12).
    book = workbook(HEADINGS, ("P1", "", Decimal("0.10000000000000001"), ""))
    assert read(saved(book)).entries[0].written == Decimal("0.1")


def test_a_number_is_an_integer_where_it_is_whole_and_truth_values_are_words() -> None:
    found = read(saved(workbook(HEADINGS, ("P1", "", 5.0, ""), ("P2", "", True, ""))))
    assert values(found.entries) == {"P1": 5, "P2": "true"}
    assert isinstance(found.entries[0].written, int)


@pytest.mark.parametrize("epoch", [None, CALENDAR_MAC_1904])
def test_dates_are_text_after_rfc_3339_in_both_date_systems(epoch: Any) -> None:
    book = workbook(
        HEADINGS,
        ("P1", "", datetime.datetime(2026, 11, 29, 8, 30, 5), ""),
        ("P2", "", datetime.date(2024, 2, 29), ""),
        ("P3", "", datetime.time(6, 15), ""),
    )
    if epoch is not None:
        book.epoch = epoch
        book.active.delete_rows(4)  # a time alone: openpyxl writes a day 0 that 1904 has too
    found = values(read(saved(book)).entries)
    assert found["P1"] == "2026-11-29T08:30:05"
    assert found["P2"] == "2024-02-29"
    assert found.get("P3", "06:15:00") == "06:15:00"


def test_a_code_and_a_serial_number_are_read_as_they_are_displayed() -> None:
    book = workbook(("Serial", 12), HEADINGS, (1.1, "", 7, ""))
    book.active["B1"].number_format = "0000"
    book.active["A3"].number_format = "0.00"
    found = read(saved(book), dialect(nameplate={"Serial:": "serial"}))
    assert found.entries[0].code == "1.10"
    assert found.nameplate == {"serial": "0012"}


def test_a_text_of_several_styles_is_one_text() -> None:
    rich = CellRichText("Lag ", TextBlock(InlineFont(b=True), "window"))
    book = workbook(HEADINGS, ("P1", None, 1, ""))
    book.active["B2"] = rich
    assert read(saved(book)).entries[0].name == "Lag window"


def test_the_nameplate_stands_above_the_table_and_the_time_with_it() -> None:
    book = workbook(
        ("Parameter list",),
        ("Drive:", None, "HX-7", "Serial no.: 0017"),
        ("Exported", datetime.datetime(2026, 11, 29, 8, 0)),
        (),
        HEADINGS,
        ("P1", "", 1, ""),
    )
    labels = {"Drive": "drive", "Serial no.": "serial", "exported:": "taken_at"}
    found = read(saved(book), dialect(nameplate=labels))
    assert found.nameplate == {"drive": "HX-7", "serial": "0017"}
    assert found.taken_at == "2026-11-29T08:00:00"


def test_the_nameplate_may_stand_on_a_sheet_of_its_own() -> None:
    book = workbook(HEADINGS, ("P1", "", 1, ""))
    book.create_sheet("About").append(("Serial", "S-9"))
    assert read(saved(book), dialect(nameplate={"Serial": "serial"})).nameplate == {"serial": "S-9"}


def test_a_date_without_a_time_is_no_moment_of_the_export() -> None:
    book = workbook(("Exported", datetime.date(2026, 11, 29)), HEADINGS, ("P1", "", 1, ""))
    found = read(saved(book), dialect(nameplate={"Exported": "taken_at"}))
    assert found.taken_at is None
    assert found.skipped[0].text == "Parameters!B1 2026-11-29"


def two_header_rows(*, merged: bool) -> bytes:
    """A table whose limits stand below a title of their own."""
    book = workbook(
        ("Code", "Value", "Limits", None),
        (None, None, "Min", "Max"),
        ("P1", 5, 0, 10),
    )
    if merged:
        for area in ("A1:A2", "B1:B2", "C1:D1"):
            book.active.merge_cells(area)
    return saved(book)


def test_of_two_header_rows_a_heading_is_the_upper_and_the_lower_text() -> None:
    columns = {"code": "Code", "value": "Value", "low": "Limits Min", "high": "Limits Max"}
    found = read(two_header_rows(merged=True), dialect(columns=columns))
    assert [(e.code, e.low, e.high) for e in found.entries] == [("P1", 0, 10)]
    assert (found.skipped, found.remarks) == ((), ())


def test_of_two_header_rows_without_merged_cells_the_lower_text_may_stand_alone() -> None:
    columns = {"code": "Code", "value": "Value", "low": "Limits Min", "high": "Max"}
    found = read(two_header_rows(merged=False), dialect(columns=columns))
    assert [(e.code, e.low, e.high) for e in found.entries] == [("P1", 0, 10)]


def test_merged_cells_hold_the_value_of_the_first() -> None:
    book = workbook(HEADINGS, ("P1", "a", 5, "mm"), ("P2", "b", None, None))
    book.active.merge_cells("C2:C3")
    book.active.merge_cells("D2:D3")
    found = read(saved(book))
    assert [(e.code, e.written, e.unit) for e in found.entries] == [
        ("P1", 5, "mm"),
        ("P2", 5, "mm"),
    ]


def test_a_title_across_the_table_is_no_parameter() -> None:
    book = workbook(HEADINGS, ("Motor",), ("P1", "", 1, ""))
    book.active.merge_cells("A2:D2")
    found = read(saved(book))
    assert values(found.entries) == {"P1": 1}
    assert found.skipped == ()


def test_a_section_heading_goes_before_the_codes_below_it() -> None:
    rows = (("Group Motor",), ("1", "", 1, ""), ("Group Limits",), ("1", "", 2, ""))
    found = read(saved(workbook(HEADINGS, *rows)), dialect(section="Group {name}"))
    assert values(found.entries) == {"Motor/1": 1, "Limits/1": 2}


def test_a_channel_is_told_by_a_column_or_by_a_heading() -> None:
    by_column = workbook(("Axis", *HEADINGS), (1, "P1", "", 10, ""), (2, "P1", "", 20, ""))
    form = dialect(channel={"column": "Axis"})
    assert values(read(saved(by_column), form, 2).entries) == {"P1": 20}
    by_heading = workbook(
        ("Axis 1",), HEADINGS, ("P1", "", 10, ""), ("Axis 2",), HEADINGS, ("P1", "", 20, "")
    )
    form = dialect(channel={"section": "Axis {n}"})
    assert values(read(saved(by_heading), form, 2).entries) == {"P1": 20}
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        read(saved(by_heading), form)


def test_units_behind_numbers_and_marked_numbers_are_read_in_cells_of_text() -> None:
    book = workbook(HEADINGS, ("P1", "", "12,5 mm/s", ""), ("P2", "", "1F4h", ""))
    form = dialect(unit_in_value=True, hex_and_binary=True, decimal=",")
    found = read(saved(book), form).entries
    assert [(e.written, e.unit) for e in found] == [(Decimal("12.5"), "mm/s"), (500, "")]


def test_an_error_is_a_bad_row_with_its_cell() -> None:
    found = read(saved(workbook(HEADINGS, ("P1", "", "#N/A", ""), ("P2", "", 2, ""))))
    assert values(found.entries) == {"P2": 2}
    assert [(s.line, s.text, s.reason) for s in found.skipped] == [
        (2, "Parameters!C2 P1", "the cell holds the error #N/A")
    ]


def test_a_formula_without_a_kept_value_is_a_bad_row() -> None:
    found = read(saved(workbook(HEADINGS, ("P1", "", "=6*7", ""))))
    assert found.entries == ()
    assert found.skipped[0].text == "Parameters!C2 P1"
    assert found.skipped[0].reason.startswith("a formula without a kept value")


def test_a_code_that_became_a_date_is_a_bad_row() -> None:
    found = read(saved(workbook(HEADINGS, (datetime.date(2026, 1, 2), "", 5, ""))))
    assert found.skipped[0].reason.startswith("the code is a date, 2026-01-02")


def test_a_row_without_a_value_is_left_out_and_a_note_is_told() -> None:
    found = read(saved(workbook(HEADINGS, ("P1", "a", None, ""), (None, "checked by the shift"))))
    assert [(s.line, s.reason) for s in found.skipped] == [(2, "no value")]
    assert [r.reason for r in found.remarks] == [
        "Parameters!B3: neither a code nor a value, not read"
    ]


def test_hidden_rows_and_sheets_are_read_and_told() -> None:
    book = workbook(HEADINGS, ("P1", "", 1, ""), ("P2", "", 2, ""))
    book.active.row_dimensions[3].hidden = True
    book.create_sheet("Front")
    book["Parameters"].sheet_state = "hidden"
    book.active = 1
    found = read(saved(book))
    assert values(found.entries) == {"P1": 1, "P2": 2}
    assert [r.reason for r in found.remarks] == [
        "sheet 'Parameters' is hidden; it was read",
        "1 row is hidden (Parameters!A3); what they hold was read",
    ]


def percent(value: float, unit: str) -> Listing:
    """A value that is displayed as a percentage."""
    book = workbook(HEADINGS, ("P1", "", value, unit))
    book.active["C2"].number_format = "0.0%"
    return read(saved(book))


@pytest.mark.parametrize("unit", ["%", ""])
def test_what_is_displayed_as_50_percent_is_50_where_the_unit_is_percent(unit: str) -> None:
    entry = percent(0.505, unit).entries[0]
    assert (entry.written, entry.unit) == (Decimal("50.5"), "%")


def test_what_is_displayed_as_50_percent_is_a_half_where_the_unit_is_another() -> None:
    found = percent(0.5, "rpm")
    assert found.entries[0].written == Decimal("0.5")
    assert [r.reason for r in found.remarks] == [
        "Parameters!C2 is displayed as a percentage, its unit is rpm: 0.5 was read, as the cell "
        "holds it"
    ]


def test_the_first_sheet_with_the_header_row_is_read_and_others_are_told() -> None:
    book = workbook(("Cover",), title="Cover")
    for name, value in (("Left", 1), ("Right", 2)):
        one = book.create_sheet(name)
        one.append(HEADINGS)
        one.append(("P1", "", value, ""))
    found = read(saved(book))
    assert values(found.entries) == {"P1": 1}
    assert found.remarks[0].reason.startswith("sheet 'Left' was read; 'Right' has such a table too")
    assert values(read(saved(book), dialect(sheet="right")).entries) == {"P1": 2}
    with pytest.raises(Unreadable, match="no sheet 'Middle': it has 'Cover', 'Left', 'Right'"):
        read(saved(book), dialect(sheet="Middle"))


def test_a_header_row_that_comes_again_is_no_parameter() -> None:
    found = read(saved(workbook(HEADINGS, ("P1", "", 1, ""), HEADINGS, ("P2", "", 2, ""))))
    assert values(found.entries) == {"P1": 1, "P2": 2}
    assert found.skipped == ()


def test_a_workbook_is_told_apart_by_its_header_row_and_its_patterns() -> None:
    content = saved(workbook(("Drive", "HX-7"), HEADINGS, ("P1", "", 1, "")))
    form = dialect(nameplate={"Drive": "drive"}, recognise={"drive": "^HX", "text": "Drive HX-7"})
    assert sheet.matches(content, form)
    assert not sheet.matches(content, dialect(recognise={"Drive": "^QX"}))
    assert not sheet.matches(content, dialect(columns={"code": "Id", "value": "Value"}))
    assert not sheet.matches(b"Code;Value\n", form)


def test_a_workbook_is_recognised_by_its_bytes() -> None:
    assert sheet.recognises(saved(workbook(HEADINGS)), "a.bin")
    assert not sheet.recognises(b"PK\x03\x04 nothing", "a.xlsx")
    assert not sheet.recognises(b"Code;Value\n1;2\n3;4\n", "a.xlsx")


def test_all_sheets_are_given_out_as_they_stand() -> None:
    book = workbook(("Title", None), (1, 0.5), ("=1+1",))
    book.active.merge_cells("A1:B1")
    book.create_sheet("Notes").sheet_state = "veryHidden"
    first, second = sheet.sheets(saved(book), "a.xlsx", most_rows=2)
    assert first.rows == (("Title", "Title"), (1, Decimal("0.5")))
    assert (first.merged, first.formulas, first.last_row) == (((1, 1, 1, 2),), 1, 3)
    assert (second.name, second.is_hidden, second.rows) == ("Notes", True, ())


def test_two_tables_side_by_side_are_told_since_one_of_them_is_read() -> None:
    rows = [(*HEADINGS, None, *HEADINGS), ("P1", "", 1, "mm", None, "P2", "", 2, "mm")]
    found = read(saved(workbook(*rows)))
    assert values(found.entries) == {"P1": 1}
    assert any("stands 2 times" in one.reason for one in found.remarks)


def test_a_table_below_with_its_columns_in_another_order_has_headings_of_its_own() -> None:
    first, last = HEADINGS[0], HEADINGS[2]
    rows = [HEADINGS, ("P1", "", 1, ""), (last, HEADINGS[1], first, HEADINGS[3]), (7, "", "P2", "")]
    assert values(read(saved(workbook(*rows))).entries) == {"P1": 1, "P2": 7}

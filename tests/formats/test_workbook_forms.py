"""OpenDocument and the older binary form: held against calamine and xlwt (reference libraries)."""

from __future__ import annotations

import datetime
from decimal import Decimal
from io import BytesIO

import pytest
import xlwt
from hypothesis import given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from tests.formats.test_sheet import HEADINGS, dialect, read, saved, values, workbook
from tests.formats.workbook_files import cell, open_document, packed, row_of
from tests.sweeps import part_of
from vault.formats import sheet
from vault.formats.workbook_cells import column_name, column_number, is_date_format
from vault.model.errors import Unreadable, WrongUsage

HEAD = row_of(*HEADINGS)


def older(*rows: tuple[object, ...], hidden: bool = False) -> bytes:
    """A workbook in the older binary form."""
    book = xlwt.Workbook()
    page = book.add_sheet("Parameters")
    date = xlwt.easyxf(num_format_str="YYYY-MM-DD HH:MM:SS")
    for at, row in enumerate(rows):
        for column, value in enumerate(row):
            style = date if isinstance(value, datetime.datetime) else xlwt.Style.default_style
            page.write(at, column, value, style)
    if hidden:
        page.visibility = 1
        book.add_sheet("Front")
        book.set_active_sheet(1)
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def test_an_open_document_is_read_as_calamine_reads_it() -> None:
    content = open_document(HEAD, row_of("P1", "Lag", 0.1, "mm"), row_of("P2", "Mode", "Off", ""))
    there = CalamineWorkbook.from_filelike(BytesIO(content)).get_sheet_by_index(0).to_python()
    assert there[1:] == [["P1", "Lag", 0.1, "mm"], ["P2", "Mode", "Off", ""]]
    assert values(read(content).entries) == {"P1": Decimal("0.1"), "P2": "Off"}


def test_kinds_of_cells_of_an_open_document() -> None:
    content = open_document(
        HEAD,
        row_of("P1", "") + cell("true", "boolean"),
        row_of("P2", "") + cell("2026-11-29T08:00:00", "date"),
        row_of("P3", "") + cell("PT06H15M00S", "time"),
        row_of("P4", "") + cell("0.125", "percentage", "12.5%"),
        row_of("P5", "") + cell("7", "float", more=' table:formula="of:=6+1"'),
        row_of("P6", "") + cell("0", "float", "#N/A", more=' table:formula="of:=1/0"'),
        cell("1.1", "float", "1.10") + row_of("", 3),
    )
    found = read(content)
    assert values(found.entries) == {
        "P1": "true", "P2": "2026-11-29T08:00:00", "P3": "06:15:00", "P4": Decimal("12.5"),
        "P5": 7, "1.10": 3,
    }  # fmt: skip
    assert [(s.text, s.reason) for s in found.skipped] == [
        ("Parameters!C7 P6", "the cell holds the error #N/A")
    ]
    assert found.remarks[0].reason.startswith("2 cells are formulas (Parameters!C6, Parameters!C7)")


def test_repeated_and_merged_cells_of_an_open_document() -> None:
    content = open_document(
        '<table:table-cell table:number-columns-repeated="3"/>' + HEAD,
        '<table:table-cell table:number-columns-repeated="3"/>'
        + row_of("P1", "")
        + cell("5", "float", more=' table:number-rows-spanned="2"'),
        '<table:table-cell table:number-columns-repeated="3"/>'
        + row_of("P2", "")
        + "<table:covered-table-cell/>",
        '<table:table-cell table:number-columns-repeated="16384"/>',
    )
    assert values(read(content).entries) == {"P1": 5, "P2": 5}


def test_a_comment_in_a_cell_of_an_open_document_is_no_text_of_it() -> None:
    note = "<office:annotation><text:p>checked</text:p></office:annotation>"
    text = '<text:p>Lag <text:s text:c="2"/>window</text:p>'
    name = f'<table:table-cell office:value-type="string">{note}{text}</table:table-cell>'
    content = open_document(HEAD, cell("P1") + name + cell(1, "float"))
    assert read(content).entries[0].name == "Lag   window"


def test_an_encrypted_open_document_is_refused() -> None:
    manifest = '<m xmlns="urn:m"><file-entry><encryption-data/></file-entry></m>'
    content = open_document(HEAD, **{"META-INF/manifest.xml": manifest})
    with pytest.raises(Unreadable, match="the workbook is encrypted"):
        read(content)


def test_macros_of_an_open_document_are_told() -> None:
    content = open_document(HEAD, row_of("P1", "", 1, ""), **{"Basic/Standard/Module1.xml": "<m/>"})
    assert read(content).remarks[0].reason == "the workbook holds macros: they were not run"


@settings(max_examples=part_of(30, 2), deadline=None)
@given(st.lists(st.floats(-1e300, 1e300), min_size=1, max_size=20))
def test_every_number_that_xlwt_writes_is_read_as_it_was(written: list[float]) -> None:
    rows = [(f"P{n}", "", number, "") for n, number in enumerate(written)]
    found = read(older(HEADINGS, *rows))
    assert [entry.written for entry in found.entries] == [Decimal(repr(n)) for n in written]


def test_the_older_form_tells_what_it_does_not_tell() -> None:
    moment = datetime.datetime(2026, 11, 29, 8, 0, 1)
    found = read(older(HEADINGS, ("P1", "", moment, ""), ("P2", "", True, ""), hidden=True))
    assert values(found.entries) == {"P1": "2026-11-29T08:00:01", "P2": "true"}
    assert "which values are formulas is not told" in found.remarks[0].reason
    assert found.remarks[1].reason == "sheet 'Parameters' is hidden; it was read"


def test_other_forms_are_recognised_and_matched_by_their_content() -> None:
    for content in (older(HEADINGS, ("P1", "", 1, "")), open_document(HEAD)):
        assert sheet.recognises(content, "a")
        assert sheet.matches(content, dialect())


@pytest.mark.parametrize("form", ["xls", "ods"])
def test_values_are_put_back_into_xlsx_alone(form: str) -> None:
    row = ("P1", "", 1, "")
    content = older(HEADINGS, row) if form == "xls" else open_document(HEAD, row_of(*row))
    with pytest.raises(WrongUsage, match=rf"in the form of \.{form}.*save it as \.xlsx"):
        sheet.write_back(content, {"P1": 2}, file="a", dialect=dialect(), channel=None)


def test_a_workbook_in_binary_form_is_refused_with_the_way_out() -> None:
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument"
    relation = f'<R><Relationship Id="r" Type="{kind}" Target="xl/workbook.bin"/></R>'
    content = packed({"_rels/.rels": relation, "xl/workbook.bin": b"\0"})
    with pytest.raises(Unreadable, match=r"\(xlsb\) is not read \(save it as \.xlsx\)"):
        read(content)


def test_our_reading_of_xlsx_is_that_of_calamine() -> None:
    moment = datetime.datetime(2026, 11, 29, 8, 30)
    content = saved(workbook(HEADINGS, ("P1", "Lag", 0.25, "mm"), ("P2", "At", moment, "")))
    there = CalamineWorkbook.from_filelike(BytesIO(content)).get_sheet_by_index(0).to_python()
    ours = sheet.sheets(content, "a.xlsx")[0].rows
    assert ours[1] == (there[1][0], there[1][1], Decimal(repr(there[1][2])), there[1][3])
    assert ours[2][2] == there[2][2].isoformat()


@given(st.integers(1, 16_384))
def test_letters_of_columns_go_there_and_back(number: int) -> None:
    assert column_number(column_name(number)) == number


def test_letters_of_columns_are_those_that_sheets_have() -> None:
    # The last column of a sheet is XFD (ECMA-376 part 1, from memory).
    assert [column_name(n) for n in (1, 26, 27, 702, 703, 16_384)] == [
        "A", "Z", "AA", "ZZ", "AAA", "XFD"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "is_date"),
    [
        ("yyyy-mm-dd", True), ("[h]:mm:ss", True), ('0.0 "ms"', False), ("General", False),
        ("#,##0.00", False), ("[Red]0", False), ("0.00E+00", False), (r"0\d", False),
        ("d. mmmm", True), ("_-* #,##0_-", False),
    ],
)  # fmt: skip
def test_a_date_is_told_by_the_letters_of_its_format(code: str, is_date: bool) -> None:
    assert is_date_format(code) == is_date


@pytest.mark.parametrize("display", ["0%", "0.00%", "0.0 %"])
def test_in_the_older_form_it_is_told_that_numbers_are_displayed_as_percentages(
    display: str,
) -> None:
    assert not any("50 %" in one.reason for one in read(older(HEADINGS, ("P1", "", 1, ""))).remarks)
    book = xlwt.Workbook()
    page = book.add_sheet("Parameters")
    for column, text in enumerate(HEADINGS):
        page.write(0, column, text)
        page.write(1, column, 0.5, xlwt.easyxf(num_format_str=display))
    stream = BytesIO()
    book.save(stream)
    assert any("50 % is read as 0.5" in one.reason for one in read(stream.getvalue()).remarks)

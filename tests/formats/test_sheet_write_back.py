"""Values put back into a workbook: read by openpyxl, every other member of the file as it was."""

from __future__ import annotations

import zipfile
from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.formats.test_sheet import HEADINGS, dialect, read, saved, values, workbook
from tests.sweeps import part_of
from vault.formats import sheet
from vault.formats.registry import WritesBack
from vault.model.errors import WrongUsage
from vault.model.export import Scalar

# The smallest picture there is: PNG of one point (ISO/IEC 15948).
PICTURE = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cf"
    "c00000030101004bd7b0f10000000049454e44ae426082"
)
TABLE = (HEADINGS, ("P1", "Speed", 1500, "rpm"), ("P2", "Lag", 0.5, "mm"), ("P3", "Mode", "Off"))


def put(original: bytes, new: dict[str, Scalar], drop: tuple[str, ...] = (), **keys: Any) -> bytes:
    """A workbook with values put back."""
    return sheet.write_back(
        original, new, file="a.xlsx", dialect=dialect(**keys), channel=None, drop=drop
    )


def changed_members(before: bytes, after: bytes) -> list[str]:
    """Members that differ; order, names, dates and attributes of all are held to be the same."""
    with zipfile.ZipFile(BytesIO(before)) as old, zipfile.ZipFile(BytesIO(after)) as new:
        assert new.testzip() is None
        pairs = list(zip(old.infolist(), new.infolist(), strict=True))
        for one, other in pairs:
            for name in ("filename", "date_time", "compress_type", "external_attr", "extra"):
                assert getattr(one, name) == getattr(other, name)
        return [one.filename for one, other in pairs if old.read(one) != new.read(other)]


def column(content: bytes, letter: str = "C") -> list[Any]:
    """A column below the header row, as openpyxl reads it."""
    return [cell.value for cell in openpyxl.load_workbook(BytesIO(content)).active[letter]][1:]


def test_sheets_offer_to_write_values_back() -> None:
    assert isinstance(sheet, WritesBack)


def test_values_are_put_back_and_every_other_member_is_the_same() -> None:
    original = saved(workbook(*TABLE))
    after = put(original, {"P1": 1200, "P2": Decimal("0.25"), "P3": 'On & <"set">\r\n'})
    assert changed_members(original, after) == ["xl/worksheets/sheet1.xml"]
    assert column(after)[:2] == [1200, 0.25]
    found = values(read(after).entries)
    assert found == {"P1": 1200, "P2": Decimal("0.25"), "P3": 'On & <"set">'}


def test_the_same_values_leave_the_file_as_it_is() -> None:
    original = saved(workbook(*TABLE))
    assert put(original, {"P1": 1500, "P2": Decimal("0.5"), "P3": "Off"}) == original


new_values = st.lists(
    st.one_of(
        st.integers(-(2**53), 2**53),
        st.decimals(-(10**9), 10**9, places=5),
        st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cn", "Zs", "Zl", "Zp"))),
    ),
    min_size=1,
    max_size=20,
)


@settings(max_examples=part_of(60, 2), deadline=None)
@given(new_values)
def test_whatever_is_put_back_is_what_openpyxl_reads(new: list[Scalar]) -> None:
    codes = [f"P{n}" for n in range(len(new))]
    rows = [
        (code, "", "text" if isinstance(value, str) else 7, "")
        for code, value in zip(codes, new, strict=True)
    ]
    original = saved(workbook(HEADINGS, *rows))
    after = put(original, dict(zip(codes, new, strict=True)))
    assert set(changed_members(original, after)) <= {"xl/worksheets/sheet1.xml"}
    there = [value if value is not None else "" for value in column(after)]
    assert there == [v if isinstance(v, str) else float(v) for v in new]


def rich_workbook() -> bytes:
    """What an office program keeps beside values, written by xlsxwriter (a reference library)."""
    stream = BytesIO()
    with xlsxwriter.Workbook(stream) as book:
        page = book.add_worksheet("Parameters")
        bold = book.add_format({"bold": True, "num_format": "0.000", "bg_color": "#FFEE00"})
        page.write_row(0, 0, HEADINGS, book.add_format({"bold": True}))
        for row, cells in enumerate(TABLE[1:], 1):
            page.write_row(row, 0, cells)
            page.write(row, 2, cells[2], bold)
        page.write_comment("C2", "set at commissioning")
        page.insert_image("F2", "dot.png", {"image_data": BytesIO(PICTURE)})
        page.conditional_format("C2:C4", {"type": "cell", "criteria": ">", "value": 9,
                                          "format": bold})  # fmt: skip
        page.data_validation("C4", {"validate": "list", "source": ["On", "Off"]})
        page.autofilter("A1:D4")
        page.freeze_panes(1, 0)
        chart = book.add_chart({"type": "line"})
        chart.add_series({"values": "=Parameters!$C$2:$C$3"})
        page.insert_chart("F8", chart)
        book.define_name("Speeds", "=Parameters!$C$2:$C$3")
    return stream.getvalue()


def test_comments_pictures_charts_and_conditional_formats_stay_as_they_are() -> None:
    original = rich_workbook()
    after = put(original, {"P1": 900, "P3": "On"})
    assert changed_members(original, after) == ["xl/worksheets/sheet1.xml"]
    book = openpyxl.load_workbook(BytesIO(after))
    page = book.active
    assert (page["C2"].value, page["C4"].value) == (900, "On")
    assert page["C2"].number_format == "0.000"
    assert page["C2"].font.bold
    assert page["C2"].comment.text == "set at commissioning"
    assert [len(page._charts), len(page.conditional_formatting)] == [1, 1]
    with zipfile.ZipFile(BytesIO(after)) as packed:
        assert packed.read("xl/media/image1.png") == PICTURE
    assert page.auto_filter.ref == "A1:D4"
    assert "Speeds" in book.defined_names


def test_what_is_displayed_as_a_percentage_goes_back_as_its_hundredth() -> None:
    book = workbook(HEADINGS, ("P1", "", 0, "%"))
    book.active["C2"].number_format = "0%"
    after = put(saved(book), {"P1": Decimal("12.5")})
    assert column(after) == [0.125]
    assert read(after).entries[0].written == Decimal("12.5")


def test_a_number_in_a_cell_of_text_keeps_its_decimal_mark_and_its_unit() -> None:
    original = saved(workbook(HEADINGS, ("P1", "", "12,5 mm/s", "")))
    after = put(original, {"P1": Decimal("30.25")}, unit_in_value=True, decimal=",")
    assert column(after) == ["30,25 mm/s"]


def test_a_truth_value_stays_one() -> None:
    original = saved(workbook(HEADINGS, ("P1", "", True, ""), ("P2", "", False, "")))
    assert column(put(original, {"P1": 0, "P2": "true"})) == [False, True]
    with pytest.raises(WrongUsage, match="P1: cell Parameters!C2 is true or false"):
        put(original, {"P1": 5})


def test_what_is_dropped_loses_its_code_and_its_value() -> None:
    original = saved(workbook(*TABLE))
    after = put(original, {"P1": 3}, drop=("P2",))
    assert values(read(after).entries) == {"P1": 3, "P3": "Off"}
    assert read(after).skipped == ()
    assert (column(after, "A"), column(after)) == (["P1", None, "P3"], [3, None, "Off"])


def with_formulas(*, with_array: bool = False) -> bytes:
    """P1 is a number, P2 a formula of it that keeps its value; a chain of calculation names it."""
    stream = BytesIO()
    with xlsxwriter.Workbook(stream) as book:
        page = book.add_worksheet("Parameters")
        page.write_row(0, 0, HEADINGS)
        page.write_row(1, 0, ("P1", "", 10, "rpm"))
        page.write_row(2, 0, ("P2", "", 0, "rpm"))
        if with_array:
            page.write_array_formula("C3:C4", "{=2*C2:C3}", None, 20)
        else:
            page.write_formula("C3", "=2*C2", None, 20)
    return with_calculation_chain(stream.getvalue())


def with_calculation_chain(content: bytes) -> bytes:
    """The workbook with the part that office programs add (ECMA-376 part 1, 12.3.1)."""
    chain = (
        b'<calcChain xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        b'<c r="C3" i="1"/></calcChain>'
    )
    stream = BytesIO()
    with zipfile.ZipFile(BytesIO(content)) as old, zipfile.ZipFile(stream, "w") as new:
        for one in old.infolist():
            text = old.read(one)
            if one.filename == "[Content_Types].xml":
                entry = b'<Override PartName="/xl/calcChain.xml" ContentType="application/vnd.'
                entry += b'openxmlformats-officedocument.spreadsheetml.calcChain+xml"/></Types>'
                text = text.replace(b"</Types>", entry)
            elif one.filename == "xl/_rels/workbook.xml.rels":
                entry = b'<Relationship Id="rId99" Type="http://schemas.openxmlformats.org/'
                entry += b'officeDocument/2006/relationships/calcChain" Target="calcChain.xml"/>'
                text = text.replace(b"</Relationships>", entry + b"</Relationships>")
            new.writestr(one, text)
        new.writestr("xl/calcChain.xml", chain)
    return stream.getvalue()


def test_the_kept_value_of_a_formula_is_read_and_told() -> None:
    found = read(with_formulas())
    assert values(found.entries) == {"P1": 10, "P2": 20}
    assert [r.reason for r in found.remarks] == [
        "1 cell is a formula (Parameters!C3): the values kept in the file were read, nothing was "
        "calculated"
    ]


def test_a_formula_gives_way_to_its_value_and_the_chain_of_calculation_with_it() -> None:
    after = put(with_formulas(), {"P1": 11, "P2": 20})
    with zipfile.ZipFile(BytesIO(after)) as packed:
        assert packed.testzip() is None
        assert "xl/calcChain.xml" not in packed.namelist()
        assert not [name for name in packed.namelist() if b"calcChain" in packed.read(name)]
    assert column(after) == [11, 20]
    assert values(read(after).entries) == {"P1": 11, "P2": 20}


def test_a_formula_that_would_stay_beside_changed_values_is_refused() -> None:
    with pytest.raises(WrongUsage, match="P2 is a formula in Parameters!C3, and may change"):
        put(with_formulas(), {"P1": 11})


def test_a_formula_for_several_cells_is_refused() -> None:
    with pytest.raises(WrongUsage, match=r"Parameters!C3 cannot be replaced.*formula of C3:C4"):
        put(with_formulas(with_array=True), {"P2": 5})


def test_a_code_that_is_not_there_is_refused() -> None:
    original = saved(workbook(*TABLE))
    for call in (lambda: put(original, {"P9": 1}), lambda: put(original, {}, drop=("P9",))):
        with pytest.raises(WrongUsage, match="the workbook has no P9"):
            call()


@pytest.mark.parametrize("value", [Decimal("0.1234567890123456789"), 2**53 + 1])
def test_a_number_that_a_cell_does_not_keep_is_refused(value: Scalar) -> None:
    with pytest.raises(WrongUsage, match="cannot hold"):
        put(saved(workbook(*TABLE)), {"P1": value})


def test_a_merged_value_of_two_codes_is_put_back_only_where_both_agree() -> None:
    book = workbook(HEADINGS, ("P1", "a", 5, ""), ("P2", "b", None, ""))
    book.active.merge_cells("C2:C3")
    original = saved(book)
    assert values(read(put(original, {"P1": 6, "P2": 6})).entries) == {"P1": 6, "P2": 6}
    with pytest.raises(WrongUsage, match="P1 and P2 share the merged cell Parameters!C2"):
        put(original, {"P1": 6, "P2": 7})
    with pytest.raises(WrongUsage, match="P1 and P2 share the merged cell Parameters!C2"):
        put(original, {"P1": 6})
    with pytest.raises(WrongUsage, match="share"):
        put(original, {}, drop=("P1",))


def test_a_signed_workbook_is_refused() -> None:
    stream = BytesIO(saved(workbook(*TABLE)))
    with zipfile.ZipFile(stream, "a") as packed:
        packed.writestr("_xmlsignatures/sig1.xml", b"<Signature/>")
    with pytest.raises(WrongUsage, match="the workbook is signed"):
        put(stream.getvalue(), {"P1": 1})


def test_prefixed_names_of_elements_are_kept() -> None:
    # Some programs write every element with a prefix (Namespaces in XML 1.0, clause 4).
    stream, original = BytesIO(), saved(workbook(HEADINGS, ("P1", "", 5, "")))
    with zipfile.ZipFile(BytesIO(original)) as old, zipfile.ZipFile(stream, "w") as new:
        for one in old.infolist():
            text = old.read(one)
            if one.filename == "xl/worksheets/sheet1.xml":
                text = text.replace(b"<", b"<x:").replace(b"<x:/", b"</x:")
                text = text.replace(b"<x:worksheet xmlns=", b"<x:worksheet xmlns:x=")
            new.writestr(one, text)
    after = put(stream.getvalue(), {"P1": "text"})
    assert values(read(after).entries) == {"P1": "text"}
    assert changed_members(stream.getvalue(), after) == ["xl/worksheets/sheet1.xml"]

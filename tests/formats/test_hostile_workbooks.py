"""Workbooks that are damaged or made to harm are refused with a reason, and change nothing."""

from __future__ import annotations

import random
import warnings
import zipfile
from io import BytesIO
from pathlib import Path

import pytest

from tests.formats.test_sheet import HEADINGS, dialect, read, saved, values, workbook
from tests.formats.test_workbook_forms import HEAD, older
from tests.formats.workbook_files import open_document, packed, repacked, row_of
from tests.sweeps import part_of
from vault.formats import sheet
from vault.formats.sheet import open_workbook
from vault.formats.workbook_safety import CFB_SIGNATURE
from vault.model.errors import Unreadable, VaultError, WrongUsage

SHEET = "xl/worksheets/sheet1.xml"
SPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def good() -> bytes:
    """A workbook that is read."""
    return saved(workbook(HEADINGS, ("P1", "", 1, "rpm"), ("P2", "", 2.5, "mm")))


def with_sheet(xml: str) -> bytes:
    """A workbook with other XML in its only sheet."""
    return repacked(good(), {SHEET: f'<worksheet xmlns="{SPACE}">{xml}</worksheet>'.encode()})


def test_two_cells_a_million_rows_apart_take_no_memory() -> None:
    book = workbook(HEADINGS, ("P1", "", 1, ""))
    book.active["XFD1048576"] = "far away"
    found = read(saved(book))
    assert values(found.entries) == {"P1": 1}
    assert found.remarks[0].line == 1048576


def test_in_the_older_form_cells_too_far_from_each_other_are_refused() -> None:
    row = ("", *[""] * 254, "far")
    with pytest.raises(Unreadable, match="cells too far from each other"):
        read(older(HEADINGS, *[()] * 65_000, row))


@pytest.mark.parametrize("ending", ["os.abort()", "os._exit(2)"])
def test_an_older_workbook_that_ends_its_reader_is_refused_and_ends_nothing_else(
    ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "reader.py").write_text(f"import os\n{ending}\n")
    monkeypatch.setattr("vault.formats.xls_cells._PROGRAM", tmp_path / "reader.py")
    with pytest.raises(Unreadable, match="cut off or damaged"):
        read(older(HEADINGS, ("another", "", 1, "")))


def test_nothing_in_the_folder_of_a_person_is_run_for_an_older_workbook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "python_calamine.py").write_text("raise SystemExit(9)\n")
    monkeypatch.chdir(tmp_path)
    assert values(read(older(HEADINGS, ("mine", "", 1, ""))).entries) == {"mine": 1}


def test_repeats_of_an_open_document_that_hold_nothing_take_no_memory() -> None:
    empty = (
        '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
        '<table:table-row table:number-rows-repeated="1048570">'
        '<table:table-cell table:number-columns-repeated="16384"/>'
    )
    assert values(read(open_document(HEAD, row_of("P1", "", 1), empty)).entries) == {"P1": 1}


def test_repeats_of_an_open_document_that_fill_the_sheet_are_refused() -> None:
    row = '</table:table-row><table:table-row table:number-rows-repeated="1048570">'
    row += '<table:table-cell table:number-columns-repeated="9000"><text:p>x</text:p>'
    row += "</table:table-cell>"
    with pytest.raises(Unreadable, match="Parameters, row 3: sheets of up to"):
        read(open_document(HEAD, row))


def test_what_unpacks_to_hundreds_of_times_its_size_is_refused_before() -> None:
    content = repacked(good(), {SHEET: b" " * 50_000_000})
    with pytest.raises(Unreadable, match=r"47 MiB unpacked, \d+ times its packed size"):
        read(content)


ENTITIES = b'<!DOCTYPE a [<!ENTITY b "cc"><!ENTITY d "&b;&b;">]>'


@pytest.mark.parametrize(
    "part",
    [SHEET, "xl/workbook.xml", "xl/styles.xml", "_rels/.rels", "xl/_rels/workbook.xml.rels"],
)
def test_a_part_with_entities_of_its_own_is_refused(part: str) -> None:
    with zipfile.ZipFile(BytesIO(good())) as archive:
        text = archive.read(part)
    start = text.index(b"?>") + 2 if text.startswith(b"<?xml") else 0
    content = repacked(good(), {part: text[:start] + ENTITIES + text[start:]})
    with pytest.raises(Unreadable, match=f"part {part}: it declares a document type"):
        read(content)


def test_an_open_document_with_entities_is_refused() -> None:
    content = repacked(open_document(HEAD), {"content.xml": ENTITIES + b"<a>&d;</a>"})
    with pytest.raises(Unreadable, match=r"part content\.xml: it declares a document type"):
        read(content)


def test_rows_over_the_limit_are_refused_with_their_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("vault.formats.xlsx_parts.MOST_ROWS", 10)
    rows = [(f"P{n}", "", n, "") for n in range(12)]
    with pytest.raises(Unreadable, match="Parameters!A11: sheets of up to 10 rows are read"):
        read(saved(workbook(HEADINGS, *rows)))


def test_every_cut_of_a_workbook_is_refused() -> None:
    content = good()
    for end in range(1, len(content), 97):
        with pytest.raises((Unreadable, WrongUsage)):
            read(content[:end])
        assert not sheet.matches(content[:end], dialect())


@pytest.mark.parametrize("make", [good, lambda: older(HEADINGS, ("P1", "", 1, ""))])
def test_bytes_changed_by_chance_are_read_or_refused(make: object) -> None:
    content = make()  # type: ignore[operator]
    chance = random.Random(7)
    for _ in range(part_of(300)):
        changed = bytearray(content)
        for _ in range(chance.choice((1, 4, 30))):
            changed[chance.randrange(len(changed))] = chance.randrange(256)
        try:
            read(bytes(changed))
        except VaultError as error:
            assert str(error)


def test_a_workbook_with_a_password_is_refused() -> None:
    content = CFB_SIGNATURE + b"\0" * 504 + "EncryptedPackage".encode("utf-16-le") + b"\0" * 600
    assert sheet.recognises(content, "a.xlsx")
    with pytest.raises(Unreadable, match=r"the workbook is encrypted \(save it without"):
        read(content)


def test_macros_and_other_files_are_told_and_left_alone() -> None:
    relation = '<Relationship Id="rId9{}" Type="http://t/{}" Target="{}"{}/></Relationships>'
    path = "xl/_rels/workbook.xml.rels"
    with zipfile.ZipFile(BytesIO(good())) as archive:
        text = archive.read(path).decode()
    for number, (kind, target, mode) in enumerate(
        (("vbaProject", "vbaProject.bin", ""),
         ("externalLink", "http://127.0.0.1:9/plan.xlsx", ' TargetMode="External"'))
    ):  # fmt: skip
        text = text.replace("</Relationships>", relation.format(number, kind, target, mode))
    found = read(repacked(good(), {path: text.encode(), "xl/vbaProject.bin": b"\xcc\x61"}))
    assert values(found.entries).keys() == {"P1", "P2"}
    assert [r.reason for r in found.remarks] == [
        "the workbook holds macros: they were not run",
        "the workbook refers to other files: they were not opened, and what it kept of them was "
        "read",
    ]


def test_two_members_of_one_name_are_refused() -> None:
    stream = BytesIO(good())
    with zipfile.ZipFile(stream, "a") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        archive.writestr(SHEET, b"<worksheet/>")
    with pytest.raises(Unreadable, match="two members of one name"):
        read(stream.getvalue())


@pytest.mark.parametrize(
    ("xml", "reason"),
    [
        ('<sheetData><row r="0"/></sheetData>', "'0' is no number of a row"),
        ('<sheetData><row r="9999999"/></sheetData>', "no number that a sheet has"),
        ('<sheetData><row r="1"><c r="1A"/></row></sheetData>', "'1A' is no place of a cell"),
        ('<sheetData><row><c t="s"><v>99</v></c></row></sheetData>', "refers to a text"),
        ('<sheetData><row><c t="s"><v>-1</v></c></row></sheetData>', "refers to a text"),
        ('<mergeCells><mergeCell ref="A1:"/></mergeCells><mergeCell ref="x"/>', "no merged cells"),
        ("<a>" * 200 + "</a>" * 200, "nested more than 100 deep"),
        ("<sheetData>", "no well-formed XML"),
    ],
)
def test_a_sheet_that_is_no_sheet_is_refused(xml: str, reason: str) -> None:
    with pytest.raises(Unreadable, match=reason):
        read(with_sheet(xml))


def test_too_many_merged_cells_are_refused() -> None:
    merged = "".join(f'<mergeCell ref="A{n}:XFD{n + 100}"/>' for n in range(1, 9))
    row = '<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>Code</t></is></c></row></sheetData>'
    with pytest.raises(Unreadable, match="too many merged cells"):
        read(with_sheet(f"{row}<mergeCells>{merged}</mergeCells>"))


def test_a_number_of_a_cell_that_is_none_is_a_bad_row() -> None:
    cells = "".join(
        f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in ("Code", "x", "Value")
    )
    row = '<c t="inlineStr"><is><t>P1</t></is></c><c/><c><v>NaN</v></c>'
    found = read(with_sheet(f"<sheetData><row>{cells}</row><row>{row}</row></sheetData>"))
    assert [(s.text, s.reason) for s in found.skipped] == [
        ("Parameters!C2 P1", "'NaN' is no number of a cell")
    ]


def test_a_member_that_is_missing_is_named() -> None:
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument"
    relation = f'<R><Relationship Id="r" Type="{kind}" Target="xl/workbook.xml"/></R>'
    content = packed({"_rels/.rels": relation, "xl/workbook.xmlx": b"", "xl/workbook.": b""})
    with pytest.raises(Unreadable, match=r"lacks its part xl/workbook\.xml"):
        read(content)


def test_hidden_rows_of_an_open_document_that_hold_nothing_take_no_memory() -> None:
    hidden = '</table:table-row><table:table-row table:visibility="collapse" '
    hidden += 'table:number-rows-repeated="9000000"><table:table-cell/>'
    found = open_workbook(open_document(HEAD, row_of("P1", "", 1), hidden * 50), "a.ods")
    assert found.sheets[0].hidden_rows == set()


def test_notes_readings_and_frames_in_a_cell_are_none_of_its_text() -> None:
    beside = "<text:note><text:p>see below</text:p></text:note>"
    ruby = "<text:ruby><text:ruby-base>5</text:ruby-base><text:ruby-text>6</text:ruby-text>"
    rows = [
        row_of(code, "").replace("</table:table-row>", "")
        + f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'
        for code, text in (("P1", f"5{beside}"), ("P2", f"{ruby}</text:ruby>"))
    ]
    assert values(read(open_document(HEAD, *rows)).entries) == {"P1": 5, "P2": 5}


def test_a_display_of_a_number_that_would_take_hours_to_understand_is_refused() -> None:
    styles = f'<styleSheet xmlns="{SPACE}"><numFmts><numFmt numFmtId="200" '
    styles += f'formatCode="{"[" * 20_000}"/></numFmts></styleSheet>'
    with pytest.raises(Unreadable, match="a display of a number is too long"):
        read(repacked(good(), {"xl/styles.xml": styles.encode()}))

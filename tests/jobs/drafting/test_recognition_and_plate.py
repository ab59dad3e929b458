"""What stands above a table, records as tables, and by what a family is known."""

from __future__ import annotations

import io
import json

import pytest
from openpyxl import Workbook

from vault.formats import delimited
from vault.formats.registry import format_named
from vault.jobs.drafting.column_words import columns_meant, field_meant, writes_comma
from vault.jobs.drafting.draft import ExportFile, draft
from vault.jobs.drafting.draft_text import draft_text
from vault.jobs.drafting.plate import find_plate
from vault.jobs.drafting.record_tables import heading_of, record_tables
from vault.model.export_dialect import ExportDialect
from vault.store.files.edited_files import read_family


def test_labels_stand_beside_their_texts_or_in_one_cell() -> None:
    beside = find_plate([("Drive", "X1"), ("Serial number", "7")], ";")
    assert dict(beside.texts) == {"drive": "X1", "serial": "7"}
    within = find_plate([("Drive: X1",), ("Serial number: 7",)], ";")
    assert (dict(within.texts), within.separator) == ({"drive": "X1", "serial": "7"}, ":")


def test_a_time_that_may_be_either_is_a_question() -> None:
    plate = find_plate([("Date", "03/04/2026 09:30")], ";")
    (question,) = plate.guesses
    assert (question.chosen, question.confidence) == ("%d/%m/%Y %H:%M", 0.6)
    assert "%m/%d/%Y %H:%M" in question.others
    assert not find_plate([("Date", "14/03/2026 09:30")], ";").guesses


def test_a_time_that_nobody_can_read_is_left_out() -> None:
    assert "taken_at" not in find_plate([("Date", "Tuesday"), ("Drive", "X1")], ";").texts


@pytest.mark.parametrize(
    ("label", "field"),
    [
        ("Serial No.", "serial"),
        ("Seriennummer:", "serial"),
        ("Export/Device/SerialNumber", "serial"),
        ("Blorp", None),
    ],
)
def test_labels_mean_fields_of_the_nameplate(label: str, field: str | None) -> None:
    assert field_meant(label) == field


def test_headings_mean_columns_surely_or_nearly() -> None:
    assert columns_meant("VALUE [mm]") == {"value": 1.0}
    assert columns_meant("Bezeichnng")["name"] < 1.0
    assert not columns_meant("")


@pytest.mark.parametrize(
    ("path", "record", "heading"),
    [
        ("@id", "e/p", "id"),
        ("~key", "p{}", "code"),
        (".", "e/p", "value"),
        ("Value/@unit", "e/p", "unit"),
        ("../@name", "e/Group/p", "section"),
        ("../@number", "e/Axis/p", "Axis"),
        ("setPoint", "p[]", "set Point"),
    ],
)
def test_a_path_says_what_its_field_is(path: str, record: str, heading: str) -> None:
    assert heading_of(path, record) == heading


def test_what_stands_in_a_record_is_of_no_nameplate() -> None:
    records = {"P1": {"name": "A", "value": 1}, "P2": {"name": "B", "value": 2}}
    text = json.dumps({"device": {"model": "X1"}, "p": records})
    tables = record_tables(text.encode(), "a.json", ("utf-8",))
    table = next(one for one in tables if one.keys["record"] == "p{}")
    assert table.plate == [("device/model", "X1")]


def test_a_family_is_known_by_what_begins_its_nameplates_alike() -> None:
    def export(drive: str) -> ExportFile:
        text = f"Drive: {drive}\n\nCode;Name;Value\nP1;Lag;2\nP2;Way;3\n"
        return ExportFile(text.encode(), f"{drive}.txt")

    found = draft([export("Oak 5-A"), export("Oak 7-B")], "oak")
    assert found.export["recognise"] == {"drive": "^Oak([^0-9A-Za-z]|$)"}
    dialect = ExportDialect.model_validate(found.export)
    form = format_named("delimited")
    assert form.matches(export("Oak 9").content, dialect)  # type: ignore[attr-defined]
    assert not form.matches(export("Elm 9").content, dialect)  # type: ignore[attr-defined]


def plain_table(drive: str) -> bytes:
    return f"Drive;{drive};;\n\nCode;Name;Value;Unit\nP1;Lag limit;2.5;mm\nP2;Gain;3;\n".encode()


@pytest.mark.parametrize(
    ("drive", "fits"),
    [("OAK-1", True), ("OAK-1 rev B", True), ("OAK-10", False), ("OAK-1x", False)],
)
def test_a_drive_whose_name_goes_on_is_another_one(drive: str, fits: bool) -> None:
    drafted = draft([ExportFile(plain_table("OAK-1"), "a.csv")], "oak")
    dialect = ExportDialect.model_validate(drafted.export)
    assert delimited.matches(plain_table(drive), dialect) is fits


def test_headings_of_columns_tell_no_family() -> None:
    content = b"Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\nP2;Gain;3;\n"
    assert "recognise" not in draft([ExportFile(content, "a.csv")], "oak").export


def test_a_unit_that_is_not_known_by_its_own_symbol_is_kept_as_text() -> None:
    content = b"Code;Name;Value;Unit\nP1;Way;2.5;furlong\nP2;Gain;3;\n"
    drafted = draft([ExportFile(content, "a.csv")], "oak")
    family = read_family(draft_text(drafted), "oak.yaml")
    assert family.parameters["P1"].unit is None
    assert "furlong" in drafted.parameters[0].remark


@pytest.mark.parametrize(
    ("headings", "values", "comma"),
    [
        (["Code", "Value", "Name"], ["Yes", "2"], False),
        (["Code", "Wert"], [], True),
        (["Code", "Name"], ["Nein"], True),
        (["Code", "Größe"], [], True),
        (["Code", "Name"], ["Off", "no"], False),
        (["Code", "Name"], ["Oui"], True),
    ],
)
def test_the_words_of_a_file_tell_whether_it_writes_a_comma(
    headings: list[str], values: list[str], comma: bool
) -> None:
    assert writes_comma(headings, values) is comma


def test_a_date_under_a_label_that_nobody_knows_is_asked_about() -> None:
    rows = [("Drive", "X1"), ("Blorp", "04.03.2026"), ("Version of it", "7")]
    plate = find_plate(rows, ";")
    assert "taken_at" not in plate.texts
    (asked,) = plate.guesses
    assert (asked.about, asked.others) == ("nameplate.Blorp", ("taken_at",))
    assert "04.03.2026" in asked.reason
    told = find_plate(rows, ";", {"Blorp": "taken_at"})
    assert (told.texts["taken_at"], told.time_format) == ("04.03.2026", "%d.%m.%Y")
    assert not find_plate(rows, ";", {"Blorp": ""}).guesses
    assert not find_plate([*rows, ("Date", "05.03.2026")], ";").guesses


def test_a_date_that_a_person_says_is_the_time_of_the_export() -> None:
    text = "Blorp;04.03.2026\nCode;Value\nP1;3\nP2;5\n"
    export = ExportFile(text.encode(), "a.csv")
    assert "nameplate" not in draft([export], "oak").export
    assert any(one.about == "nameplate.Blorp" for one in draft([export], "oak").questions)
    (read,) = draft([export], "oak", answers={"nameplate.Blorp": "taken_at"}).reads
    assert read.nameplate["taken_at"].startswith("2026-03-04")


def test_a_nameplate_on_a_cover_sheet_is_drafted() -> None:
    book = Workbook()
    for row in (("Drive", "X1"), ("Serial number", "7"), ("Saved", "2026-03-04 10:20")):
        book.worksheets[0].append(row)
    for row in (("Code", "Name", "Value"), ("P1", "Lag", 2), ("P2", "Way", 3)):
        (book.worksheets[1:] or [book.create_sheet("List")])[0].append(row)
    book.save(stream := io.BytesIO())
    found = draft([ExportFile(stream.getvalue(), "a.xlsx")], "oak")
    assert found.reads[0].nameplate == {
        "drive": "X1", "serial": "7", "taken_at": "2026-03-04T10:20:00",
    }  # fmt: skip
    assert found.export["recognise"] == {"drive": "^X1([^0-9A-Za-z]|$)"}
    assert found.export["sheet"] == "List"


def test_a_station_that_has_a_name_is_no_node() -> None:
    assert find_plate([("Drive", "X1"), ("Station", "mast")], ";").labels == {"Drive": "drive"}
    assert find_plate([("Station", "7")], ";").labels == {"Station": "node_id"}

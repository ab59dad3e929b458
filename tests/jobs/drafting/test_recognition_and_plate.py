"""What stands above a table, records as tables, and by what a family is known."""

from __future__ import annotations

import json

import pytest

from vault.formats.registry import format_named
from vault.jobs.drafting.column_words import columns_meant, field_meant
from vault.jobs.drafting.draft import ExportFile, draft
from vault.jobs.drafting.plate import find_plate
from vault.jobs.drafting.record_tables import heading_of, record_tables
from vault.model.export_dialect import ExportDialect


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
    assert found.export["recognise"] == {"drive": "^Oak"}
    dialect = ExportDialect.model_validate(found.export)
    form = format_named("delimited")
    assert form.matches(export("Oak 9").content, dialect)  # type: ignore[attr-defined]
    assert not form.matches(export("Elm 9").content, dialect)  # type: ignore[attr-defined]

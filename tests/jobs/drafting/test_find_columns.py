"""Which column of a table is what."""

from __future__ import annotations

import pytest

from vault.jobs.drafting.columns import ColumnsFound, find_columns, is_sub_index
from vault.jobs.drafting.raw_table import RawTable


def found(*lines: str, **answers: str) -> ColumnsFound | None:
    rows = [tuple(line.split(";")) for line in lines]
    table = RawTable({"format": "delimited"}, rows, range(1, len(rows) + 1))
    return find_columns(table, {key.replace("_", "."): said for key, said in answers.items()})


def headings(*lines: str, **answers: str) -> dict[str, str]:
    columns = found(*lines, **answers)
    return dict(columns.headings) if columns is not None else {}


ROWS = ("P1;Lag;2.5;mm", "P2;Speed;30;rpm", "P3;Gain;7;")


def test_headings_tell_the_columns() -> None:
    assert headings("Code;Name;Value;Unit", *ROWS) == {
        "code": "Code", "name": "Name", "value": "Value", "unit": "Unit",
    }  # fmt: skip


def test_content_tells_a_column_whose_heading_nobody_knows() -> None:
    assert headings("Xyzzy;Name;Value;Blorp", *ROWS)["code"] == "Xyzzy"
    more = ("P4;Way;8;mm", "P5;Window;9;mm")
    assert headings("Xyzzy;Name;Value;Blorp", *ROWS, *more)["unit"] == "Blorp"


def test_the_one_column_of_numbers_that_is_left_holds_the_values() -> None:
    assert headings("Code;Name;Blorp;Unit", *ROWS)["value"] == "Blorp"
    assert not headings("Code;Name;Blorp;Plugh", "P1;Lag;2;3", "P2;Speed;4;5", "P3;Gain;6;7")


def test_a_person_knows_better() -> None:
    lines = ("Code;Value;Setting", "P1;1;2", "P2;3;4")
    assert headings(*lines)["value"] == "Value"
    assert headings(*lines, columns_value="Setting")["value"] == "Setting"


def test_two_columns_that_may_hold_the_values_are_a_question() -> None:
    columns = found("Code;Old value;New value", "P1;1;2", "P2;3;4")
    assert columns is not None
    (guess,) = [one for one in columns.guesses if one.about == "columns.value"]
    assert guess.confidence <= 0.5
    assert guess.others == ("New value",)


@pytest.mark.parametrize("heading", ["Value (hex)", "Raw value", "Rohwert"])
def test_what_the_drive_holds_is_not_taken_for_the_value(heading: str) -> None:
    assert not headings(f"Code;Name;{heading}", "P1;Lag;100", "P2;Way;200")
    both = headings(f"Code;Name;{heading};Value", "P1;Lag;100;1", "P2;Way;200;2")
    assert both["value"] == "Value"


def test_hexadecimal_values_with_their_marks_are_values() -> None:
    assert headings("Code;Name;Value (hex)", "P1;Lag;0x10", "P2;Way;0x20")


def test_a_row_of_data_is_no_header() -> None:
    columns = found("Code;Name;Value", "P1;Number;2.5", "P2;Value;30")
    assert columns is not None
    assert columns.header == 0


def test_sub_indices_have_their_index_before_them() -> None:
    lines = ("Index;Sub;Name;Value", "6099;1;Fast;10", "6099;2;Slow;5", "6065;0;Lag;3")
    columns = headings(*lines)
    assert (columns["section"], columns["code"]) == ("Index", "Sub")
    assert is_sub_index("Sub-Index")
    assert not is_sub_index("Index")


def test_a_section_that_is_always_the_same_is_none() -> None:
    lines = ("Group;Code;Value", "A;P1;1", "A;P2;2")
    assert "section" not in headings(*lines)

"""What keeps equal codes apart: columns and headings of axes and sections."""

from __future__ import annotations

import pytest

from vault.jobs.drafting.apart import axis_template, section_template
from vault.jobs.drafting.draft import Draft, ExportFile, draft


@pytest.mark.parametrize(
    ("heads", "template"),
    [
        (["[Axis 1]", "[Axis 2]"], "[Axis {n}]"),
        (["Achse 1:", "Achse 2:", "End of list"], "Achse {n}:"),
        (["[General]", "[Axis 1]", "[Axis 2]"], "[Axis {n}]"),
        (["[Axis 1]"], ""),
        (["[Motor 1]", "[Motor 2]"], ""),
        (["[Motor]", "[Brake]"], ""),
    ],
)
def test_headings_that_differ_in_the_number_of_an_axis_are_of_axes(
    heads: list[str], template: str
) -> None:
    assert axis_template(heads) == template


@pytest.mark.parametrize(
    ("heads", "template"),
    [
        (["[Motor]", "[Brake]"], "[{name}]"),
        (["[Motor]"], "[{name}]"),
        (["Menu: Motor", "Menu: Brake"], "Menu: {name}"),
        (["--- Motor ---", "--- Brake ---"], "--- {name} ---"),
        (["Motor", "Brake"], "{name}"),
        (["Motor"], ""),
    ],
)
def test_headings_have_the_name_where_they_differ(heads: list[str], template: str) -> None:
    assert section_template(heads) == template


def drafted(text: str) -> Draft:
    return draft([ExportFile(text.encode(), "export.txt")], "oak")


def test_a_column_of_sections_is_left_out_where_codes_need_none() -> None:
    found = drafted("Group;Code;Value\nA;P1;1\nA;P2;2\nB;P3;3\nB;P4;4\n")
    assert "section" not in found.export["columns"]


def test_a_line_below_the_table_is_passed_over() -> None:
    found = drafted("Code;Name;Value\nP1;Lag;1\nP2;Way;2\nEnd of list\n")
    assert found.export["comment"] == "End of list"
    assert not found.reads[0].problems


def test_axes_are_told_by_the_draft() -> None:
    found = drafted("Axis;Code;Value\n1;P1;1\n1;P2;2\n2;P1;3\n2;P2;4\n")
    assert found.export["channel"] == {"column": "Axis"}
    assert found.reads[0].channels == (1, 2)


def test_the_heading_of_the_first_axis_may_stand_above_its_columns() -> None:
    table = "Code;Name;Value;Unit\nP1;Lag limit;{};mm\nP2;Top speed;{};mm/s\n"
    text = f"[Axis 1]\n{table.format('2,5', 100)}[Axis 2]\n{table.format('3,5', 200)}"
    drafted = draft([ExportFile(text.encode(), "two.csv")], "oak")
    assert drafted.export["channel"] == {"section": "[Axis {n}]"}
    assert "section" not in drafted.export
    assert drafted.reads[0].channels == (1, 2)
    assert [parameter.code for parameter in drafted.parameters] == ["P1", "P2"]

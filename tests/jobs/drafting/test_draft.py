"""Whole drafts: several exports, what a person says, what is asked, what is refused."""

from __future__ import annotations

import json

import pytest

from tests.description_texts import CIP, ESI, XDC, XDD
from vault.formats.registry import format_named
from vault.jobs.drafting.draft import Draft, ExportFile, draft
from vault.jobs.drafting.draft_files import answer
from vault.jobs.drafting.draft_text import draft_text, scalar
from vault.jobs.drafting.parameters import DraftParameter
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.store.files.edited_files import family_problems, read_family

HEAD = "Drive: X1\n\nCode;Name;Value;Unit\n"


def drafted(*texts: str, **answers: str) -> Draft:
    said = {key.replace("_", "."): text for key, text in answers.items()}
    files = [ExportFile(text.encode(), f"{n}.txt") for n, text in enumerate(texts)]
    return draft(files, "oak", answers=said)


def parameters(*texts: str) -> dict[str, DraftParameter]:
    return {one.code: one for one in drafted(*texts).parameters}


def test_parameters_of_all_exports_are_drafted() -> None:
    found = parameters(HEAD + "P1;Lag;2;mm\nP2;Way;3;mm\n", HEAD + "P2;Way;3.5;mm\nP3;Speed;3;\n")
    assert list(found) == ["P1", "P2", "P3"]


def test_bounds_in_which_exports_differ_are_left_out() -> None:
    head = "Code;Name;Value;Max\n"
    found = parameters(head + "P1;Lag;2;9\nP2;Way;3;9\n", head + "P1;Lag;2;8\nP2;Way;3;9\n")
    assert (found["P1"].high, found["P2"].high) == (None, 9)


def test_an_export_that_reads_otherwise_is_told() -> None:
    found = drafted(HEAD + "P1;Lag;2;mm\nP2;Way;3;mm\n", "a,b\nnothing of it\n")
    assert [one.entries for one in found.reads] == [2, 0]
    assert "does not read as the first" in found.reads[1].problems[0].reason


def test_what_a_person_says_counts() -> None:
    text = "Code;Name;Value\nP1;Lag;1,234\nP2;Way;30\n"
    assert drafted(text).questions[0].about == "decimal"
    assert drafted(text, decimal=".").export.get("decimal", ".") == "."


def test_a_said_key_is_one_that_there_is() -> None:
    assert answer("columns.value=Setting") == ("columns.value", "Setting")
    for text in ("decimal", "decimla=,"):
        with pytest.raises(WrongUsage):
            answer(text)


def test_the_nameplate_tells_the_family() -> None:
    found = drafted(HEAD + "P1;Lag;2;mm\nP2;Way;3;mm\n")
    assert found.export["recognise"] == {"drive": "^X1([^0-9A-Za-z]|$)"}


def test_a_heading_of_ini_text_tells_no_family() -> None:
    assert "recognise" not in drafted("[General]\nP1=2\nP2=3\nP3=4\n").export


def test_a_role_whose_change_can_be_a_hazard_waits_for_a_person() -> None:
    found = parameters(HEAD + "P1;Following error window;2;mm\nP2;Serial number;IV-1;\n")
    assert (found["P1"].role, found["P1"].confirm) == (None, True)
    assert found["P1"].suggested[0].role == "following_error_window"
    assert found["P2"].role == "serial_number"


def test_an_unknown_unit_a_mixed_value_and_an_odd_number_are_remarked() -> None:
    found = parameters(
        HEAD + "P1;Lag;2;blorp\nP2;Way;3,5;mm\nP3;Speed;2.5;\nP4;Gain;0.75;\n",
        HEAD + "P1;Lag;off;\n",
    )
    assert "'off' is refused" in found["P1"].remark
    assert "blorp" in found["P1"].remark
    assert "no number as the others" in found["P2"].remark


def test_a_range_that_runs_backwards_is_left_out() -> None:
    found = parameters("Code;Value;Min;Max\nP1;2;9;0\nP2;3;0;9\n")
    assert (found["P1"].low, found["P2"].high) == (None, 9)


@pytest.mark.parametrize("text", [XDD, CIP, ESI])
def test_a_description_is_refused_and_told_where_it_goes(text: str) -> None:
    with pytest.raises(Unreadable, match="what a drive has, not what it holds") as refused:
        drafted(text)
    assert "--describe" in (refused.value.hint or "")


def test_what_describes_itself_needs_no_dictionary() -> None:
    with pytest.raises(WrongUsage, match="XDC"):
        drafted(XDC)


def test_a_dictionary_is_no_export() -> None:
    with pytest.raises(Unreadable, match="a dictionary of a drive family"):
        drafted("schema: axisvault/family/1\nname: oak\ntitle: Oak\n")


def test_what_is_mostly_refused_is_refused_whole_with_all_its_lines() -> None:
    with pytest.raises(VaultError, match="most of it cannot be read") as refused:
        drafted("Code,Name,Value,Unit\nP1,Lag,2,5,mm\nP2,Top,12,0,rpm\nP3,Gain,0,75,\n")
    assert [line.line for line in refused.value.problems] == [2, 3]


@pytest.mark.parametrize(
    "name",
    ["a: b", "yes", "# no", '"quoted"', "{x}", "- item", "1.0", "ä\tb", "back\\slash", "it's", "~"],
)
def test_any_name_is_read_back_from_the_text_of_a_draft(name: str) -> None:
    text = json.dumps({"P1": {"name": name, "value": 2}, "P2": {"name": "x", "value": 3}})
    found = drafted(text)
    content = draft_text(found)
    family = read_family(content, "oak.yaml")
    assert family.parameters["P1"].name == " ".join(name.split()) or name
    assert not family_problems(family, content)
    assert scalar("no") == '"no"'


def roles_of(*rows: str, head: str = "Code;Name;Value;Unit") -> list[tuple[str | None, bool]]:
    lines = [f"P{number};{row}" for number, row in enumerate(rows, 1)]
    content = "\n".join([head, *lines, ""]).encode()
    found = draft([ExportFile(content, "a.csv")], "oak").parameters
    return [(parameter.role, parameter.confirm) for parameter in found]


def test_a_live_role_is_given_only_where_nothing_writes_the_value() -> None:
    # As a live value, a trip level would never be compared: raised to 900 %, nobody would see it.
    trips = (
        "Motor overload trip level;300;%",
        "Set actual position;5;mm",
        "Speed setpoint;9;r/min",
    )
    assert roles_of(*trips) == [(None, True)] * 3
    head = "Code;Name;Value;Unit;Access"
    assert roles_of("Actual speed;5;r/min;ro", "Torque;1;%;rw", head=head)[0] == (
        "velocity_actual_value", False,
    )  # fmt: skip
    assert roles_of("Actual speed;5;r/min;rw", "Torque;1;%;rw", head=head)[0] == (None, True)


def test_what_trips_and_other_ratings_are_taken_for_waits_for_a_person() -> None:
    rows = (
        "Overspeed trip level;3300;r/min", "Brake resistor peak power;900;W",
        "Load inertia;12;kg*cm^2", "Rated power;4;kW", "Rated speed of machine;90;r/min",
    )  # fmt: skip
    assert [role for role, _ in roles_of(*rows)] == [None] * 5


@pytest.mark.parametrize(
    "name", ["Speed reference", "Reference speed", "Velocity reference", "Drehzahl Referenz"]
)
def test_a_reference_of_speed_is_no_homing(name: str) -> None:
    content = f"Code;Name;Value;Unit\nP1;{name};100;r/min\nP2;Gain;2;\n".encode()
    (first, _) = draft([ExportFile(content, "a.csv")], "oak").parameters
    assert [one.role for one in first.suggested if "homing" in one.role] == []


def test_a_column_for_each_axis_is_drafted_as_such() -> None:
    text = "Code;Name;Unit;Axis 1;Axis 2\nP1;Lag;mm;1,5;2,25\nP2;Way;mm;3;4\n"
    found = drafted(text)
    assert found.export["channel"] == {"values": {1: "Axis 1", 2: "Axis 2"}}
    assert "value" not in found.export["columns"]
    assert found.reads[0].channels == (1, 2)
    assert family_problems(read_family(draft_text(found), "a"), draft_text(found)) == ()


def test_axes_with_columns_of_several_things_are_refused() -> None:
    head = "Code;Axis 1 value;Axis 1 unit;Axis 2 value;Axis 2 unit\n"
    with pytest.raises(Unreadable):
        drafted(head + "P1;3;mm;4;m\nP2;5;mm;6;m\n")


@pytest.mark.parametrize(
    "text",
    [
        "[Axis 1]\nCode;Value\nP1;3\nP2;5\n[Axis 2]\nCode;Value\nP1;4\nP2;6\n",
        "[Axis 1]\nP1=3\nP2=5\n[Axis 2]\nP1=4\nP2=6\n",
        "[Axis 1]\nCode  Name    Value\nP1    Way     3\nP2    Lag     5\n"
        "[Axis 2]\nCode  Name    Value\nP1    Way     4\nP2    Lag     6\n",
    ],
)
def test_an_axis_with_headings_anew_keeps_its_own_values(text: str) -> None:
    found = drafted(text)
    family = read_family(draft_text(found), "a")
    form = format_named(family.export.format)
    values = [
        {
            entry.code: entry.written
            for entry in form.read(
                text.encode(), file="a", dialect=family.export, channel=axis
            ).entries
        }
        for axis in (1, 2)
    ]
    assert values == [{"P1": 3, "P2": 5}, {"P1": 4, "P2": 6}]


def test_a_flat_mapping_of_json_is_drafted() -> None:
    found = parameters('{"P1.05": 3000, "P1.06": 1.5, "P1.07": "on"}')
    assert [one.code for one in found.values()] == ["P1.05", "P1.06", "P1.07"]


def test_records_with_short_keys_are_drafted_and_asked_about() -> None:
    rows = [{"id": f"P{n}", "label": f"Speed {n}", "v": n * 1.5, "u": "rpm"} for n in range(1, 4)]
    numbered = [{**row, "id": n} for n, row in enumerate(rows, 1)]
    for text in map(json.dumps, (rows, {"device": "X1", "list": numbered})):
        found = drafted(text)
        assert found.export["columns"] == {"code": "id", "name": "label", "value": "v", "unit": "u"}
        assert {"columns.value", "columns.unit"} <= {one.about for one in found.questions}
        assert [one.unit for one in found.parameters] == ["r/min"] * 3


def test_three_phases_of_records_are_no_value_with_its_unit() -> None:
    rows = [{"id": f"P{n}", "u": n, "v": n + 1, "w": n + 2} for n in range(1, 6)]
    assert "unit" not in drafted(json.dumps(rows)).export["columns"]


def test_a_colon_in_a_code_is_no_mark_behind_it() -> None:
    text = "Drive: X1\n6065:00 : 12 mm\n6081:00 : 100 mm/s\n6083:00 : on\n"
    found = drafted(text)
    assert found.export["assign"] == " : "
    assert [(one.code, one.unit) for one in found.parameters] == [
        ("6065:00", "mm"), ("6081:00", "mm/s"), ("6083:00", None),
    ]  # fmt: skip
    assert found.reads[0].nameplate["drive"] == "X1"
    assert found.reads[0].problems == ()


@pytest.mark.parametrize(
    "names",
    [
        ("Maximum speed", "Following error windo", "Acceleration", "Deceleration", "Jerk"),
        ("Maximum speed", "Following_error_windo", "Acceleration", "Deceleration", "Jerk"),
    ],
)
def test_a_name_that_runs_into_its_value_is_refused_with_its_line(names: tuple[str, ...]) -> None:
    rows = [f"P0{n}    {name:21}{n * 10:<6}mm" for n, name in enumerate(names, 1)]
    glued = "\n".join(["Code   Name                 Value Unit", *rows, ""])
    found = drafted(glued)
    assert [one.code for one in found.parameters] == ["P01", "P03", "P04", "P05"]
    assert {one.type for one in found.parameters} == {"DECIMAL"}
    assert [line.line for line in found.reads[0].problems] == [3]


def test_a_unit_that_nobody_knows_is_left_as_stated_and_asked_about() -> None:
    rows = "P1;Following error window;2;furlong\nP2;Serial number;3;blorps\n"
    found = drafted(f"{HEAD}{rows}P3;Way;3;mm\n")
    assert [one.unit for one in found.parameters] == [None, None, "mm"]
    assert not any(one.role for one in found.parameters[:2])
    reasons = [one.reason for one in found.questions if one.about == "unit"]
    assert [("P1" in one, "furlong" in one) for one in reasons] == [(True, True), (False, False)]
    content = draft_text(found)
    assert family_problems(read_family(content, "a"), content) == ()
    assert content.decode().count("nobody knows the unit") == 2


def test_whether_percent_are_of_a_rating_is_asked_and_not_guessed() -> None:
    rows = "P1;Torque limit;150;%\nP2;Torque limit negative;150;%\nP3;Current limit;9;A\n"
    found = drafted(HEAD + rows)
    assert [one.unit for one in found.parameters] == ["percent", "percent", "A"]
    (asked,) = [one for one in found.questions if one.about == "unit"]
    assert asked.reason.startswith("P1, P2: percent may be of the rated torque")

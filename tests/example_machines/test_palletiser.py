"""The palletiser's workbooks hold what their story says; their dictionary is what a draft makes.

Workbooks are read here with `openpyxl`, not with our own reader.
"""

from __future__ import annotations

import io
import math
import zipfile
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from scipy.constants import g

from example_machines import EXPORTS, FOLDER, MACHINES, hazel_catalogue, hazel_export
from example_machines.visits import State
from example_machines.write_exports import DRAFTED_AXES, export_path
from tests.drafted_dictionary import DICTIONARY, drafted, said, settled
from vault.jobs.demo.unknown_drive import PERSON
from vault.jobs.families.hazard_roles import needs_confirmation
from vault.store.files.edited_files import read_axis, read_family

STATES = {export_path(state): state for story in DRAFTED_AXES for state in story.states()}
LAST_HEADING_ROW = 8
ROWS = {
    row.partition(";")[0]: row.split(";")
    for rows in hazel_catalogue.SECTIONS.values()
    for row in rows.splitlines()
}


def table(path: str) -> Any:
    """The sheet of parameters of a committed export, as openpyxl reads it."""
    return openpyxl.load_workbook(FOLDER / path)["Parameterliste"]


def content(path: str) -> dict[str, Any]:
    """Values by code."""
    rows = table(path).iter_rows(min_row=LAST_HEADING_ROW + 1, values_only=True)
    return {code: value for code, _, value, *_ in rows if code in ROWS}


@pytest.mark.parametrize("path", STATES)
def test_a_workbook_holds_what_was_set_at_the_visit(path: str) -> None:
    held, state = content(path), STATES[path]
    assert held.keys() == ROWS.keys()
    assert len(held) >= 60
    for code, setting in state.settings.items():
        if ROWS[code][1]:
            assert Decimal(str(held[code])) == Decimal(setting), code
        else:
            assert held[code] == setting, code


@pytest.mark.parametrize("path", STATES)
def test_a_workbook_has_a_cover_a_plate_and_two_rows_of_headings_with_merged_cells(
    path: str,
) -> None:
    state = STATES[path]
    book = openpyxl.load_workbook(FOLDER / path)
    assert book.sheetnames == ["Deckblatt", "Parameterliste"]
    sheet = book["Parameterliste"]
    plate = dict(sheet.iter_rows(min_row=2, max_row=5, max_col=2, values_only=True))
    day = f"{state.visit.taken_at[8:10]}.{state.visit.taken_at[5:7]}.{state.visit.taken_at[:4]}"
    assert plate == state.fitted | {"Ausgelesen am": f"{day} {state.visit.taken_at[11:16]}"}
    merged = {str(area) for area in sheet.merged_cells.ranges}
    assert {"A7:A8", "E7:F7", "A9:H9"} <= merged
    assert [sheet["E8"].value, sheet["F8"].value] == ["Min", "Max"]


def test_a_workbook_is_the_same_bytes_at_every_run_and_carries_no_time_of_its_making() -> None:
    state = next(iter(STATES.values()))
    first = hazel_export.text(state)
    assert first == hazel_export.text(state)
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert archive.testzip() is None
        assert {one.date_time[0] for one in archive.infolist()} == {1980}


def test_a_number_is_shown_with_the_places_of_its_parameter() -> None:
    path = next(iter(STATES))
    cells = {row[0].value: row[2] for row in table(path).iter_rows(min_row=9)}
    assert cells["ueb.ziel"].number_format == "0.000"
    assert cells["anh.rampe"].number_format == "0"
    assert cells["grz.aktiv"].value in ("Ja", "Nein")


@pytest.mark.parametrize(
    ("changes", "told"),
    [({"bre.zu": "80.5"}, "more than 0 places"), ({"bre.zu": "Ja"}, "is no number"),
     ({"bre.weg": 1}, "no such parameters")],
)  # fmt: skip
def test_the_writer_refuses_what_no_drive_holds(changes: dict[str, Any], told: str) -> None:
    state = next(iter(STATES.values()))
    wrong = State(state.story, state.visit, 0, {**state.settings, **changes}, state.fitted)
    with pytest.raises(ValueError, match=told):
        hazel_export.text(wrong)


def test_nothing_else_lies_among_its_exports() -> None:
    folder = EXPORTS / "palletiser"
    there = {p.relative_to(FOLDER).as_posix() for p in folder.rglob("*") if p.is_file()}
    assert there == STATES.keys()


# The dictionary


def test_the_dictionary_is_the_draft_with_the_roles_that_a_person_settled() -> None:
    """`python -m tests.drafted_dictionary` writes it anew."""
    assert settled() == DICTIONARY.read_bytes()


def test_the_draft_gives_no_role_whose_change_can_be_a_hazard() -> None:
    parameters = read_family(drafted(), "hazel.yaml").parameters.values()
    given = [one.role for one in parameters if one.role]
    assert len(given) > 15
    assert [role for role in given if needs_confirmation(role)] == []


def test_every_role_whose_change_can_be_a_hazard_was_confirmed_by_name() -> None:
    roles, who = said()
    parameters = read_family(DICTIONARY.read_bytes(), "hazel.yaml").parameters
    hazards = {c for c, one in parameters.items() if one.role and needs_confirmation(one.role)}
    assert hazards
    assert hazards <= roles.keys()
    assert who.partition(",")[0] == PERSON.partition(" <")[0]
    assert [code for code, one in parameters.items() if one.suggest] == []


def test_what_only_sounds_like_the_motors_was_denied() -> None:
    roles, _ = said()
    assert {code for code, role in roles.items() if role is None} == {
        "anw.pumpe", "anw.dauer", "anw.neu",
    }  # fmt: skip


# The machine


@pytest.mark.parametrize("axis", ["mast", "slide"])
def test_an_axis_record_says_of_the_transmission_what_the_set_says(axis: str) -> None:
    path = MACHINES / f"palletiser/{axis}.yaml"
    record = read_axis(path.read_bytes(), str(path))
    held = content(next(path for path in STATES if f"/{axis}/" in path))
    assert record.mechanics is not None
    length = record.mechanics.pulley_circumference or record.mechanics.pinion_circumference
    assert length is not None
    assert length.value == held["gtr.vorschub"]
    assert record.mechanics.gearbox is not None
    assert record.mechanics.gearbox.motor == held["gtr.motor"]
    assert record.motor is not None
    assert record.motor.rated_torque is not None
    assert record.motor.rated_torque.value == Decimal(str(held["mot.moment"]))


def test_the_weight_compensation_of_the_mast_carries_its_weight() -> None:
    """m g r / i of a belt behind a gearbox, against the rated torque (textbook mechanics)."""
    held = content(next(path for path in STATES if "/mast/" in path))
    torque = 90 * g * held["gtr.vorschub"] / 1000 / (2 * math.pi * held["gtr.motor"])
    assert held["reg.gewicht"] == pytest.approx(100 * torque / held["mot.moment"], abs=0.1)

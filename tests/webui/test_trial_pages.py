"""The pages of trials: who may add one, what is typed, what is shown and linked."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from tests.conftest import BY
from tests.webui.visiting import Visit
from vault.jobs.records.edit import set_site
from vault.jobs.trials.kept import latest_result, trial_names
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

LIFT = Address("glaze-line-1", "lift")
PAGE = f"/axis/{LIFT}/trial"


@pytest.fixture
def app(plant_folder: Path) -> Iterator[Flask]:
    made = create_app(plant_folder)
    yield made
    made.extensions["work_queue"].wait(60)


@pytest.fixture
def technician(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("technician")
    return visit


def kept(folder: Path) -> list[str]:
    with Vault.open(folder) as vault:
        return trial_names(vault, LIFT)


def test_a_reader_sees_the_questions_and_keeps_none(app: Flask, plant_folder: Path) -> None:
    visit = Visit(app)
    visit.log_in("reader")
    page = visit.get(PAGE).text
    assert "Press the emergency stop while the axis stands" in page
    assert "takes the role technician" in page
    answer = visit.client.post(PAGE, data={"jog.stops": "ok", "csrf_token": visit.csrf("/account")})
    assert answer.status_code == 403
    assert kept(plant_folder) == []


def test_a_form_that_is_not_ours_keeps_nothing(technician: Visit, plant_folder: Path) -> None:
    assert technician.client.post(PAGE, data={"jog.stops": "ok"}).status_code == 400
    assert kept(plant_folder) == []


def test_numbers_have_the_unit_of_their_field(technician: Visit, plant_folder: Path) -> None:
    sent = {
        "moves.0.commanded": "300", "moves.0.measured": "30 cm", "stops.0.from": "100",
        "stops.0.way": "2.5", "drop": "0", "brake.torque": "60 %", "brake.holds": "ok",
        "remark.brake.holds": "a creak", "emergency_stop.time": "80",
        "emergency_stop.reacts": "ok",
    }  # fmt: skip
    answer = technician.client.post(
        PAGE, data={**sent, "csrf_token": technician.csrf(PAGE)}, follow_redirects=True
    )
    assert answer.status_code == 200
    with Vault.open(plant_folder) as vault:
        result = latest_result(vault, LIFT)
    assert result is not None
    record = result.trial.record
    assert [str(m.measured) for m in record.moves] == ["30 cm"]
    assert str(record.stops[0].speed) == "100 mm/s"
    assert str(record.drop) == "0 mm"
    assert str(record.emergency_stop.time) == "80 ms"
    assert "a creak" in answer.text
    assert "within" not in answer.text or "in 80 ms" in answer.text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"jog.stops": "perhaps"}, "jog stops: &#39;perhaps&#39; is none of"),
        ({"moves.0.commanded": "5 kg", "moves.0.measured": "5"}, "Move 1, commanded"),
        ({"moves.0.measured": "5"}, "Move 1: what was commanded?"),
        ({"stops.1.from": "100", "stops.1.way": "12 Zoll"}, "Stop 2, way: unknown unit"),
        ({"home.0": "1 mm", "home.2": "x"}, "After homing 3: "),
        ({"drop": "-3"}, "drop: "),
        ({"stops.1.way": "5"}, "Stop 2: from which speed?"),
        ({"drop": "far"}, "drop: &#39;far&#39; is no number with a unit"),
        ({"taken_at": "2199-01-01", "jog.stops": "ok"}, "lies in the future"),
        ({}, "nothing is answered yet"),
    ],
)
def test_what_cannot_be_is_told_and_what_was_typed_stays(
    technician: Visit, plant_folder: Path, typed: dict[str, str], said: str
) -> None:
    sent = {**typed, "note": "keep this", "csrf_token": technician.csrf(PAGE)}
    answer = technician.client.post(PAGE, data=sent)
    assert answer.status_code in (400, 403)
    assert said in answer.text
    assert 'value="keep this"' in answer.text
    assert kept(plant_folder) == []


def test_a_trial_has_a_page_and_the_axis_leads_to_it(technician: Visit, plant_folder: Path) -> None:
    technician.send(PAGE, **{"jog.stops": "failed", "remark.jog.stops": "<b>late</b>"})
    (name,) = kept(plant_folder)
    page = technician.get(f"{PAGE}/{name}").text
    assert "The axis does not stop when the jog button is let go." in page
    assert "&lt;b&gt;late" in page
    assert "no acceptance of safety functions" in page
    assert f'href="{PAGE}/{name}"' in technician.get(f"/axis/{LIFT}").text
    assert f'href="{PAGE}/{name}"' in technician.get(PAGE).text
    assert technician.get(f"{PAGE}/2020-01-01T000000Z").status_code == 404


def test_where_a_site_wants_a_trial_that_is_what_is_next(
    technician: Visit, plant_folder: Path, tmp_path: Path
) -> None:
    pump = "glaze-line-1/slurry-pump"  # nothing is approved of it
    assert f'href="/axis/{pump}/golden">approve' in technician.get(f"/axis/{pump}").text
    (tmp_path / "site.yaml").write_text(
        "schema: axisvault/vault/1\nsite: Works\napproval: {trial: true}\n"
    )
    with Vault.open(plant_folder) as vault:
        set_site(vault, tmp_path / "site.yaml", BY)
    page = technician.get(f"/axis/{pump}").text
    assert f'<b>Next:</b> <a href="/axis/{pump}/trial">try it' in page
    approver = Visit(technician.client.application)
    approver.log_in("approver")
    golden = approver.get(f"/axis/{pump}/golden").text
    assert "has no trial, and the site wants one" in golden
    assert "Approve it all the same, because" in golden

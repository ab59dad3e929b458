"""Pages of renamed and retired axes: old names lead to the present one, retired ones are marked."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from tests.conftest import BY
from tests.webui.visiting import Visit, add_people
from vault.jobs.records.notes import add_note
from vault.jobs.records.rename import rename_axis, rename_machine
from vault.jobs.records.retire import retire_axis
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

LIFT, PUMP = Address("glaze-line-1", "lift"), Address("glaze-line-1", "slurry-pump")
NOW = "line-1/hoist"


@pytest.fixture(scope="module")
def folder(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The works: the lift of glaze line 1 is renamed with its machine, the slurry pump retired."""
    folder = tmp_path_factory.mktemp("names") / "plant"
    shutil.copytree(works, folder)
    with Vault.open(folder) as vault:
        rename_axis(vault, LIFT, "hoist", BY, "as on the drawing")
        rename_machine(vault, "glaze-line-1", "line-1", BY)
        retire_axis(vault, PUMP, BY, "slurry comes by gravity now")
        add_note(vault, f"{NOW}@latest", "the work order was WO-25-0670", BY)
    add_people(folder)
    return folder


@pytest.fixture(scope="module")
def client(folder: Path) -> FlaskClient:
    return create_app(folder, is_local=True).test_client()


@pytest.mark.parametrize(
    ("old", "now"),
    [
        ("/axis/glaze-line-1/lift", f"/axis/{NOW}"),
        ("/axis/line-1/lift", f"/axis/{NOW}"),
        ("/axis/glaze-line-1/lift/margins?units=si", f"/axis/{NOW}/margins?units=si"),
        ("/axis/glaze-line-1/lift/at/latest", f"/axis/{NOW}/at/latest"),
        ("/restore/glaze-line-1/lift", f"/restore/{NOW}"),
        ("/machine/glaze-line-1", "/machine/line-1"),
    ],
)
def test_an_old_address_leads_to_the_present_one(client: FlaskClient, old: str, now: str) -> None:
    answer = client.get(old)
    assert (answer.status_code, answer.headers["Location"]) == (302, now)
    assert client.get(now).status_code == 200


def test_data_is_given_under_either_name(client: FlaskClient) -> None:
    told = [client.get(f"/api/v1/axis/{name}").json for name in ("glaze-line-1/lift", NOW)]
    assert told[0] == told[1]
    assert told[0]["axis"] == NOW


def test_a_name_that_nothing_has_is_refused_as_before(client: FlaskClient) -> None:
    assert client.get("/axis/line-1/nothing").status_code == 404
    assert client.get("/machine/nothing").status_code == 404


def test_a_form_that_was_opened_under_the_old_name_is_taken(folder: Path) -> None:
    person = Visit(create_app(folder, is_local=True))
    person.log_in("technician")
    old = "/axis/glaze-line-1/lift"
    sent = person.send(old, form=f"/axis/{NOW}", code="8611h", at="2026-02-03T04:05:06Z")
    assert (sent.status_code, sent.headers["Location"]) == (303, f"/axis/{NOW}")


def test_the_pages_speak_of_the_present_name(client: FlaskClient) -> None:
    page = client.get(f"/axis/{NOW}").text
    assert f"<h1>{NOW}: Lift of glaze line 1</h1>" in page
    assert "Called before: line-1/lift, glaze-line-1/hoist, glaze-line-1/lift" in page
    assert "as on the drawing" in page
    assert f'"/axis/{NOW}"' in client.get("/").text
    for address in ("/", "/machine/line-1", f"/axis/{NOW}/golden", f"/audit?place={LIFT.place}"):
        assert 'href="/axis/glaze-line-1' not in client.get(address).text, address


def test_a_retired_axis_is_folded_away_last_and_marked_on_its_page(client: FlaskClient) -> None:
    for address in ("/", "/machine/line-1"):
        page = client.get(address).text
        before, _, after = page.partition("<details><summary>1 retired axis</summary>")
        assert "/axis/line-1/slurry-pump" not in before, address
        assert "/axis/line-1/slurry-pump" in after, address
    page = client.get("/axis/line-1/slurry-pump").text
    assert "<b>Retired</b> since" in page
    assert "slurry comes by gravity now" in page


def test_an_addendum_stands_beside_its_snapshot(client: FlaskClient) -> None:
    for address in (
        f"/axis/{NOW}",
        f"/axis/{NOW}/at/latest",
        f"/audit?place={NOW}&from=2025-01-01",
    ):
        assert "by Mira Okafor: the work order was WO-25-0670" in client.get(address).text, address

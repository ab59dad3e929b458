"""Setting up without a terminal: who may do what on each page, and what it leads to."""

from __future__ import annotations

import re
import shutil
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask

from tests.conftest import BY
from tests.webui.hostile import HOSTILE, came_through
from tests.webui.visiting import Visit, token_for
from vault.jobs.backup.backup import back_up
from vault.jobs.baseline import golden
from vault.jobs.records.edit import set_site
from vault.jobs.watch.watcher import Watcher
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault
from webui import static_files
from webui.app import create_app

LIFT = Address("m1", "lift")
RECORD = "/axis/m1/lift/record"
_SITE = """\
schema: axisvault/vault/1
site: Tile works (invented)
approval: {second_person: true, clean_check: true}
export_every: 30 days
written: {decimal: comma, dates: day.month.year}
alerts:
  - name: hall
    kind: webhook
    url: "https://alerts.tileworks.example/in"
    token: {env: HALL_TOKEN}
"""


@pytest.fixture
def visit(app: Flask) -> Visit:
    found = Visit(app)
    found.log_in("technician")
    return found


def record_of(folder: Path, axis: Address = LIFT) -> str:
    with Vault.open(folder) as vault:
        return (vault.read(layout.axis_file(axis)) or b"").decode()


def test_a_reader_sees_the_record_and_may_not_change_it(app: Flask) -> None:
    reader = Visit(app)
    reader.log_in("reader")
    page = reader.get(RECORD).text
    assert "takes the role technician" in page
    assert "Store the record" not in page
    assert reader.send(RECORD, form="/account", do="store", title="x").status_code == 403


def test_a_technician_stores_a_record_and_an_approver_what_it_is_held_to(
    app: Flask, folder: Path, visit: Visit
) -> None:
    sent = visit.send(RECORD, do="store", version="", **{"mechanics.kind": "belt"})
    assert sent.status_code == 303
    assert "kind: belt" in record_of(folder)
    page = visit.get(RECORD).text
    version = page.split('name="version" value="')[1].split('"')[0]
    refused = visit.send(RECORD, do="store", version=version, export_every="30 days")
    assert refused.status_code == 403
    assert "takes the role approver" in refused.text
    approver = Visit(app)
    approver.log_in("approver")
    approver.send(RECORD, do="store", version=version, export_every="30 days")
    assert "export_every: 30 d\n" in record_of(folder)


def test_what_is_wrong_stands_beside_the_field_and_what_was_typed_stays(
    folder: Path, visit: Visit
) -> None:
    answer = visit.send(RECORD, do="store", version="", **{"mechanics.lead": "far"})
    assert answer.status_code == 400
    assert 'value="far"' in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert record_of(folder) == ""


def test_what_follows_is_answered_to_scripts_and_nothing_is_stored(
    app: Flask, folder: Path
) -> None:
    fields = {"mechanics.kind": "ball_screw", "mechanics.lead": "20 mm"}
    header = token_for(folder, "technician")
    answer = app.test_client().post(
        f"/api/v1{RECORD}", data={"do": "look", **fields}, headers=header
    )
    assert answer.json["facts"][0]["size"] == "20 mm"  # type: ignore[index]
    assert record_of(folder) == ""


def test_a_record_goes_out_as_a_file_and_comes_back(folder: Path, visit: Visit) -> None:
    form = visit.get(f"{RECORD}/file")
    assert b"# mechanics:" in form.data
    file = (BytesIO(b"# mine\nschema: axisvault/axis/1\ntitle: Lift\n"), "lift.yaml")
    assert visit.send(RECORD, do="file", record=file).status_code == 303
    assert record_of(folder).startswith("# mine\n")
    assert visit.get(f"{RECORD}/file").data.startswith(b"# mine\n")


def test_hostile_text_in_a_record_stays_text(visit: Visit) -> None:
    fields = {"title": HOSTILE, "mechanics.lead": HOSTILE, "cabinet+0.name": HOSTILE[:80],
              "cabinet+0.value": HOSTILE, "margins.0.name": HOSTILE,
              "margins.0.floor": HOSTILE}  # fmt: skip
    page = visit.send(RECORD, do="look", version="", **fields).text
    # The script of this page is ours, and the only one in its content.
    own = f'<script src="{static_files.address("record.js")}" defer></script>'
    assert own in page
    assert came_through(page.replace(own, "")) == []


def test_a_new_axis_leads_to_its_record_and_that_to_its_first_export(
    folder: Path, visit: Visit
) -> None:
    made = visit.send("/new-axis", machine="m2", axis="swing", title="Swing", family="hazel")
    assert made.headers["Location"] == "/axis/m2/swing/record?family=hazel"
    page = visit.get(made.headers["Location"]).text
    assert 'name="family" value="hazel"' in page
    version = page.split('name="version" value="')[1].split('"')[0]
    stored = visit.send(
        "/axis/m2/swing/record", do="store", version=version, family="hazel",
        **{"mechanics.kind": "rotary"},
    )  # fmt: skip
    assert stored.headers["Location"] == "/take-in?axis=m2/swing&family=hazel"
    assert 'value="m2/swing"' in visit.get(stored.headers["Location"]).text
    assert visit.send("/new-axis", machine="m2", axis="swing").status_code == 400
    assert visit.send("/new-axis", machine="m 2", axis="swing").status_code == 400


def test_an_axis_that_is_not_set_up_says_what_is_next(app: Flask, folder: Path) -> None:
    visit = Visit(app)
    visit.log_in("approver")
    assert "enter its record" in visit.get("/axis/m1/lift").text
    visit.send(RECORD, do="store", version="", **{"mechanics.kind": "belt"})
    assert "approve its latest state" in visit.get("/axis/m1/lift").text
    visit.send("/axis/m1/lift/golden", do="approve", when="latest", reason="right", accept="")
    visit.send("/new-axis", machine="m2", axis="swing")
    page = visit.get("/axis/m2/swing").text
    assert "All parameters" not in page, "there are none yet"


def test_a_vault_without_an_axis_names_the_steps(tmp_path: Path, with_hazel: Path) -> None:
    shutil.copytree(with_hazel / "plant", tmp_path / "empty")
    page = create_app(tmp_path / "empty", is_local=True).test_client().get("/").text
    assert all(address in page for address in ('href="/new-axis"', 'href="/take-in"'))


def test_what_a_watched_folder_refused_stands_on_its_page(
    folder: Path, tmp_path: Path, visit: Visit
) -> None:
    assert "No folder is watched" in visit.get("/refused").text
    place = tmp_path / "drop"
    place.mkdir()
    (place / "stray.csv").write_text("x")
    Watcher(folder, place, BY, settle=0).once()
    page = visit.get("/refused").text
    assert "stray.csv" in page
    assert "its place tells no axis" in page
    assert 'href="/refused"' in visit.get("/take-in").text


def test_settings_are_told_in_words_and_hold_no_secret(
    app: Flask, folder: Path, tmp_path: Path, visit: Visit
) -> None:
    (tmp_path / "site.yaml").write_text(_SITE)
    with Vault.open(folder) as vault:
        set_site(vault, tmp_path / "site.yaml", BY)
        back_up(vault, tmp_path / "one.axisbackup")
    page = visit.get("/settings").text
    assert "Somebody else than who took the snapshot must approve it" in page
    assert "1.234,5 mm" in page
    assert "hall" in page
    assert "confirmed" in page
    for hidden in ("HALL_TOKEN", "alerts.tileworks.example", "ivo@tileworks.example", "one.axis"):
        assert hidden not in page, hidden
    admin = Visit(app)
    admin.log_in("admin")
    page = admin.get("/settings").text
    assert "ivo@tileworks.example" in page
    assert "one.axisbackup" in page


def test_an_axis_is_renamed_and_retired_by_an_approver_and_added_to_by_a_technician(
    app: Flask, folder: Path, visit: Visit
) -> None:
    place = "/axis/m1/lift/standing"
    assert visit.send(place, do="rename", name="hoist").status_code == 403
    assert visit.send(place, do="retire", reason="scrapped").status_code == 403
    added = visit.send(place, do="note", when="latest", text="The order is 4711.")
    assert added.status_code == 303
    assert "The order is 4711." in visit.get("/axis/m1/lift").text
    approver = Visit(app)
    approver.log_in("approver")
    renamed = approver.send(place, do="rename", name="hoist", reason="as the crew says")
    assert renamed.headers["Location"] == "/axis/m1/hoist"
    place = "/axis/m1/hoist/standing"
    assert approver.send(place, do="retire").status_code == 400, "a reason is needed"
    approver.send(place, do="retire", reason="scrapped")
    page = approver.get(place).text
    assert "scrapped" in page
    assert "Put it back in use" in page
    approver.send(place, do="reinstate")
    assert "Retire it" in approver.get(place).text


def test_the_record_of_a_machine_is_typed_and_its_comments_stay(
    app: Flask, folder: Path, visit: Visit
) -> None:
    place = "/machine/m1/record"

    def version() -> str:
        return visit.get(place).text.split('name="version" value="')[1].split('"')[0]

    form = {"title": "Line", "tags": "glaze, hall 2", "location": "Hall 2", "note": "", "twin": ""}
    assert visit.send(place, do="record", version="old", **form).status_code == 403
    assert visit.send(place, do="record", version=version(), **form).status_code == 303
    path = layout.machine_file("m1")
    with Vault.open(folder) as vault:
        text = (vault.read(path) or b"").decode()
        assert "title: Line\n" in text
        with vault.writing():
            vault.write_files({path: f"# by hand\n{text}".encode()}, "by hand\n", BY)
    visit.send(place, do="record", version=version(), **{**form, "title": "Line 1"})
    with Vault.open(folder) as vault:
        text = (vault.read(path) or b"").decode()
    assert text.startswith("# by hand\n")
    assert "title: Line 1\n" in text
    assert visit.send(place, do="retire", reason="sold").status_code == 403


def test_the_end_of_a_waiver_is_offered_in_the_form_of_the_site(app: Flask, folder: Path) -> None:
    with Vault.open(folder) as vault:
        golden.approve(vault, str(LIFT), "Mira <m@x>", "accepted")
        vault.write_files({"vault.yaml": _SITE.encode()}, "a site", "Mira <m@x>")
    approver = Visit(app)
    approver.log_in("approver")
    page = approver.get("/baselines").text + approver.get("/axis/m1/lift/golden").text
    offered = re.findall(r'name="until"[^>]*value="([^"]+)"', page)
    assert offered
    assert all(re.fullmatch(r"\d\d\.\d\d\.\d{4}", one) for one in offered)

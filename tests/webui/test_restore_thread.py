"""A restore as one thread in the viewer: one form, and the plan on a page of its own."""

from __future__ import annotations

import re
import shutil
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from tests.webui.hostile import Export
from tests.webui.visiting import PEOPLE, Visit, add_people, token_for
from vault.jobs.restore.kept_plan import KeptPlan, last_plan
from vault.model.names import Address
from vault.model.restore import RestoreRecord
from vault.store.vault import Vault
from webui.app import create_app

LIFT = Address("m1", "lift")
START = "/restore/m1/lift"


@pytest.fixture
def person(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("technician")
    return visit


@pytest.fixture
def planned_at(person: Visit) -> str:
    """The address of a plan that was made."""
    made = person.send(START, do="make", boxes="1")
    assert made.status_code == 303, made.text
    return made.headers["Location"]


def record(folder: Path) -> RestoreRecord:
    with Vault.open(folder) as vault:
        found: KeptPlan | None = last_plan(vault, LIFT)
        assert found is not None
        return found.record


def open_steps(page: str) -> list[str]:
    """Steps of a plan's page that are unfolded."""
    return re.findall(r'<details class="step" id="([\w-]+)" open>', page)


def left(text: str) -> tuple[BytesIO, str]:
    return BytesIO(text.encode()), "left.csv"


# Planning: what is typed counts for both buttons, and corrections are decided on one by one.


@pytest.fixture
def works_person(works: Path, tmp_path: Path) -> Visit:
    shutil.copytree(works, tmp_path / "works")
    add_people(tmp_path / "works")
    visit = Visit(create_app(tmp_path / "works", is_local=True))
    visit.log_in("technician")
    return visit


LINE = "/restore/glaze-line-1/lift"
MOTOR = {"rated_torque": "9.55", "boxes": "1"}


def boxes(page: str) -> dict[str, bool]:
    """Corrections with a box: whether each is ticked."""
    found = re.findall(r'name="correct" value="([^"]+)"( checked)?', page)
    return {code: bool(ticked) for code, ticked in found}


def test_corrections_that_nobody_has_seen_are_shown_before_a_plan_is_made(
    works_person: Visit,
) -> None:
    asked = works_person.send(LINE, do="make", **MOTOR)
    assert asked.status_code == 303
    assert "/plan/" not in asked.headers["Location"]
    page = works_person.get(asked.headers["Location"]).text
    assert "Decide on each, then make the plan" in page
    assert 'name="rated_torque" type="text" autocomplete="off" value="9.55"' in page
    assert len(boxes(page)) > 3
    assert all(boxes(page).values())


def test_what_is_unticked_is_not_made_and_the_plan_says_so(works_person: Visit) -> None:
    looked = works_person.send(LINE, do="look", **MOTOR).headers["Location"]
    offered = list(boxes(works_person.get(looked).text))
    wanted = [code for code in offered if code != "0x6072:00"]
    again = works_person.send(LINE, do="look", offered=offered, correct=wanted, **MOTOR)
    kept = boxes(works_person.get(again.headers["Location"]).text)
    assert [code for code, ticked in kept.items() if not ticked] == ["0x6072:00"]
    made = works_person.send(LINE, do="make", offered=offered, correct=wanted, **MOTOR)
    page = works_person.get(made.headers["Location"]).text
    assert f"{len(wanted)} corrections made, 1 not made" in page
    assert re.search(r'Not made: Maximum torque <span class="code">0x6072:00</span>', page)


def test_another_plan_begins_with_what_was_typed_for_this_one(works_person: Visit) -> None:
    typed = {**MOTOR, "drive": "ALD-5A", "encoder_bits": "20+12"}
    offered = list(
        boxes(works_person.get(works_person.send(LINE, do="look", **typed).location or "").text)
    )
    made = works_person.send(LINE, do="make", offered=offered, **typed)
    page = works_person.get(made.headers["Location"]).text
    again = re.search(r'href="([^"]+)">Another plan', page)
    assert again is not None
    form = works_person.get(again[1].replace("&amp;", "&")).text
    for name, text in (
        ("drive", "ALD-5A"),
        ("encoder_bits", "20+12"),
        ("rated_torque", "9.55 N*m"),
    ):
        assert f'name="{name}" type="text" autocomplete="off" value="{text}"' in form


def test_a_script_that_sends_no_boxes_gets_all_corrections_or_none(works_person: Visit) -> None:
    client = works_person.client
    for query, made in (({}, False), ({"adapt": "1"}, True)):
        data: Any = client.get(
            f"/api/v1{LINE}", query_string={"rated_torque": "9.55", **query}
        ).json
        assert {one["made"] for one in data["proposed"]} == {made}


# The plan on its page.


def test_a_made_plan_shows_what_is_done_and_opens_what_is_next(
    person: Visit, planned_at: str, folder: Path, export_text: Export
) -> None:
    page = person.get(planned_at).text
    assert "✓ What is fitted" in page
    assert open_steps(page) == ["file", "sheet", "export"]
    done = person.send(planned_at, do="check", export=left(export_text("9", place="1")))
    assert done.headers["Location"] == f"{planned_at}#verdict"
    page = person.get(planned_at).text
    assert "is NOT restored" in page
    assert open_steps(page) == ["export", "verdict"]
    person.send(planned_at, do="check", export=left(export_text("3", place="2")))
    page = person.get(planned_at).text
    assert open_steps(page) == ["verdict", "sign-off"]
    snapshot = re.findall(r'name="snapshot" value="([0-9a-f]{40})"', page)[0]
    signed = person.send(planned_at, do="sign-off", snapshot=snapshot, unticked="1")
    assert signed.status_code == 303
    assert record(folder).signed_off is not None
    page = person.get(planned_at).text
    assert "Signed off by Tomas Quillfeather" in page
    assert "Store and check it" not in page


def test_the_load_file_is_downloaded_by_itself_with_its_checksum(
    person: Visit, planned_at: str, folder: Path
) -> None:
    page = person.get(planned_at).text
    plan = record(folder)
    assert plan.load_file_sha256 is not None
    assert f'SHA-256 <span class="hash">{plan.load_file_sha256}</span>' in page
    answer = person.get(f"{planned_at}/file/{plan.load_file}")
    assert answer.headers["Content-Disposition"] == f"attachment; filename={plan.load_file}"
    assert person.get(f"{planned_at}/file/nothing").status_code == 404
    packed = person.get(f"{planned_at}/folder")
    assert plan.number in packed.headers["Content-Disposition"]


def test_the_sheet_that_prints_is_the_kept_one(
    person: Visit, planned_at: str, folder: Path
) -> None:
    kept = person.get(f"{planned_at}/file/sheet.html")
    assert record(folder).number in kept.text
    assert person.get(f"{START}/sheet").data == kept.data
    assert "default-src 'none'" in kept.headers["Content-Security-Policy"]


def test_a_sheet_of_what_is_only_worked_out_has_no_number(
    person: Visit, planned_at: str, folder: Path
) -> None:
    for query in ("when=first", "boxes=1"):
        text = person.get(f"{START}/sheet?{query}").text
        assert record(folder).number not in text
        assert "not made yet: worked out" in text


def test_ticks_are_shown_with_who_made_them(person: Visit, planned_at: str, folder: Path) -> None:
    form = {"do": "tick", "tick": ["hardware.0", "restart.0"], "text:move.1": "10 mm"}
    assert person.send(planned_at, **form).headers["Location"] == f"{planned_at}#sheet"
    page = person.get(planned_at).text
    assert re.search(r'value="hardware.0" checked>\s*<span>[^<]+ <span class="when">Tomas Q', page)
    assert 'name="commanded" type="text" autocomplete="off" value="10 mm"' in page
    assert {one.by for one in record(folder).marks} == {PEOPLE["technician"]}
    other = Visit(person.client.application)
    other.log_in("admin")
    other.send(planned_at, do="tick", tick=["hardware.0"], shown=["hardware.0", "restart.0"])
    marks = {one.step: one.by for one in record(folder).marks}
    assert marks == {"hardware.0": PEOPLE["technician"], "move.1": PEOPLE["technician"]}


def test_ticks_are_kept_with_the_export_and_its_move_need_not_be_typed_twice(
    person: Visit, planned_at: str, folder: Path, export_text: Export
) -> None:
    form = {"tick": ["load.0"], "text:move.1": "10 mm", "text:move.2": "10.01 mm"}
    person.send(planned_at, do="check", export=left(export_text("3", place="1")), **form)
    with Vault.open(folder) as vault:
        latest = vault.latest(LIFT)
    assert latest is not None
    assert latest.record.moved == "10 mm=10.01 mm"
    assert [one.step for one in record(folder).marks] == ["load.0", "move.1", "move.2"]


def test_a_refused_export_waits_on_the_page_of_the_plan(person: Visit, planned_at: str) -> None:
    refused = person.send(planned_at, do="check", export=left("no export"))
    assert refused.status_code >= 400
    assert "<b>left.csv</b> waits here" in refused.text
    assert "export" in open_steps(refused.text)


def test_a_plan_that_was_superseded_says_so_and_takes_nothing(
    person: Visit, planned_at: str, folder: Path, export_text: Export
) -> None:
    person.send(START, do="make", boxes="1")
    newer = record(folder).number
    page = person.get(planned_at).text
    assert "Holds no more" in page
    assert f'href="{START}/plan/{newer}"' in page
    assert "Store and check it" not in page
    token = person.csrf(START)
    sent = {"csrf_token": token, "do": "check", "export": left(export_text("3"))}
    answer = person.client.post(planned_at, data=sent)
    assert answer.status_code == 403
    assert f"plan {newer} took its place" in answer.text


def test_the_old_address_of_the_check_leads_to_the_plan(person: Visit, planned_at: str) -> None:
    assert person.get(f"{START}/check").headers["Location"] == f"{planned_at}#export"
    data: Any = person.get(f"/api/v1{START}/check").json
    assert planned_at.endswith(data["number"])


def test_open_plans_stand_on_the_page_of_the_site_and_of_the_axis(
    person: Visit, planned_at: str
) -> None:
    for address in ("/", "/axis/m1/lift"):
        text = person.get(address).text
        assert f'<a href="{planned_at}">m1/lift, plan' in text
        assert "by Tomas Quillfeather. Next: load the file by the sheet" in text
    assert "Go on with plan" in person.get(START).text
    assert "Open restores" not in person.get("/axis/m1/belt").text


def test_a_reader_sees_the_plan_and_cannot_mark_it(
    app: Flask, person: Visit, planned_at: str, folder: Path
) -> None:
    reader = Visit(app)
    reader.log_in("reader")
    page = reader.get(planned_at).text
    assert 'value="hardware.0" disabled' in page
    assert "takes the role technician" in page
    assert "Keep the ticks" not in page
    data: Any = reader.get(f"/api/v1{planned_at}").json
    assert (data["number"], data["newer"], data["sheet_marks"]) == (record(folder).number, None, [])
    answer = app.test_client().post(
        f"/api/v1{planned_at}", data={"do": "tick"}, headers=token_for(folder, "reader")
    )
    assert answer.status_code == 403


def test_a_plan_whose_files_were_changed_is_still_checked(
    person: Visit, planned_at: str, folder: Path
) -> None:
    with Vault.open(folder) as vault, vault.writing():
        path = "machines/m1/lift/restore/plan.json"
        vault.write_files({path: b"{}"}, "somebody\n", PEOPLE["admin"])
    page = person.get(planned_at).text
    assert "Not as it was made" in page
    assert "Download" not in page
    assert "Store and check it" in page


# The sheet and the signature.


@pytest.fixture
def checked_at(person: Visit, planned_at: str, export_text: Export) -> str:
    """The address of a plan whose as-left export is as it should be."""
    person.send(planned_at, do="check", export=left(export_text("3", place="1")))
    return planned_at


def ticks_of_sheet(page: str) -> list[str]:
    return re.findall(r'name="tick" value="([^"]+)"', page)


def test_what_is_not_ticked_stands_before_the_signature_and_wants_a_word(
    person: Visit, checked_at: str, folder: Path
) -> None:
    page = person.get(checked_at).text
    counted = re.search(r"The sheet, 0 of (\d+) ticked", page)
    assert counted is not None
    remark = f"{counted[1]} of {counted[1]} steps of the sheet are not ticked"
    assert page.index(remark) < page.index("Sign as Tomas")
    refused = person.send(checked_at, do="sign-off")
    assert refused.status_code == 403
    assert remark in refused.text
    assert record(folder).signed_off is None


@pytest.mark.parametrize(
    ("said", "begin"), [({"unticked": "1"}, ""), ({"even_so": "on paper"}, "on paper; ")]
)
def test_a_signature_without_ticks_records_that_they_are_missing(
    person: Visit, checked_at: str, folder: Path, said: dict[str, str], begin: str
) -> None:
    person.send(checked_at, do="tick", tick=["hardware.0"])
    assert person.send(checked_at, do="sign-off", **said).status_code == 303
    signed = record(folder).signed_off
    assert signed is not None
    assert signed.override_reason is not None
    text = re.escape(begin) + r"(\d+) of (\d+) steps of the sheet are not ticked"
    found = re.fullmatch(text, signed.override_reason)
    assert found is not None
    assert int(found[1]) == int(found[2]) - 1


def test_a_sheet_that_is_ticked_is_signed_without_a_reason(
    person: Visit, checked_at: str, folder: Path
) -> None:
    person.send(checked_at, do="tick", tick=ticks_of_sheet(person.get(checked_at).text))
    page = person.get(checked_at).text
    assert "not ticked" not in page
    assert person.send(checked_at, do="sign-off").status_code == 303
    signed = record(folder).signed_off
    assert signed is not None
    assert signed.override_reason is None


def test_what_is_ticked_when_one_signs_is_kept_and_counts(
    person: Visit, checked_at: str, folder: Path
) -> None:
    person.send(checked_at, do="tick", tick=["hardware.0"])
    page = person.get(checked_at).text
    form = page[page.index('class="whole"') : page.index("Sign as Tomas")]
    assert "</form>" not in form  # one form has both, so that a browser sends both
    every = ticks_of_sheet(page)
    sent = person.send(
        checked_at, do="sign-off", tick=every, shown=["hardware.0"], signed_even_so="",
        even_so="typed for the export", **{"text:move.1": "10 mm"},
    )  # fmt: skip
    assert sent.status_code == 303
    kept = record(folder)
    assert [mark.step for mark in kept.marks if mark.step in every] == every
    assert {mark.step: mark.text for mark in kept.marks}["move.1"] == "10 mm"
    assert kept.signed_off is not None
    assert kept.signed_off.override_reason is None  # neither needed nor taken from another field


def test_a_refused_signature_keeps_the_ticks_that_came_with_it(
    person: Visit, checked_at: str, folder: Path
) -> None:
    refused = person.send(checked_at, do="sign-off", tick=["hardware.0"], signed_even_so="")
    assert refused.status_code == 403
    assert "not ticked" in refused.text
    assert [mark.step for mark in record(folder).marks] == ["hardware.0"]
    assert record(folder).signed_off is None


def test_the_page_of_a_verdict_asks_for_the_ticks_too(
    person: Visit, checked_at: str, folder: Path
) -> None:
    with Vault.open(folder) as vault:
        latest = vault.latest(LIFT)
    assert latest is not None
    page = person.get(f"{START}/checked/{latest.id}").text
    assert page.index("steps of the sheet are not ticked") < page.index("Sign as Tomas")

"""Forms of the restore over HTTP: what is fitted, and an as-left export that was refused first."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from tests.conftest import every_snapshot
from tests.webui.hostile import Export, uploads
from tests.webui.visiting import Visit, token_for
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.store.vault import Vault
from webui.app import create_app

CHECK = "/restore/m1/lift/check"


@pytest.fixture
def person(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("technician")
    return visit


def count(folder: Path) -> int:
    with Vault.open(folder) as vault:
        return len(every_snapshot(vault))


def left(text: str, name: str = "left.csv") -> tuple[BytesIO, str]:
    return BytesIO(text.encode()), name


def waiting(page: str) -> str:
    found = re.search(r'name="waiting" value="([^"]+)"', page)
    assert found is not None, page
    return found[1]


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ({"commanded": "10 furlongs", "measured": "10 mm"}, {"commanded": "10 mm"}),
        ({"commanded": "10 mm"}, {"measured": "10 mm"}),
        ({"node_id": "900"}, {"node_id": "9"}),
        ({"taken_at": "soon"}, {"taken_at": "now"}),
    ],
)
def test_after_a_refusal_the_file_need_not_be_chosen_again(
    wrong: dict[str, Any],
    right: dict[str, Any],
    folder: Path,
    person: Visit,
    export_text: Export,
) -> None:
    before = count(folder)
    refused = person.send(CHECK, export=left(export_text("3", place="1")), note="a", **wrong)
    assert refused.status_code == 400
    assert "<b>left.csv</b> waits here" in refused.text
    assert 'name="note" type="text" autocomplete="off" value="a"' in refused.text
    assert "required" not in re.findall('<input type="file"[^>]*>', refused.text)[0]
    assert count(folder) == before
    form = {**wrong, **right, "waiting": waiting(refused.text)}
    done = person.send(CHECK, export=(BytesIO(), ""), **form)
    assert done.status_code == 303, done.text
    assert count(folder) == before + 1
    assert uploads(folder) == []


def test_lines_that_cannot_be_read_are_left_out_by_a_tick(
    folder: Path, person: Visit, export_text: Export
) -> None:
    broken = left(export_text("3") + "what is this\r\n")
    refused = person.send(CHECK, export=broken)
    assert refused.status_code == 422
    form = {"waiting": waiting(refused.text), "partial": "1"}
    assert person.send(CHECK, **form).status_code == 303


def test_a_guard_is_answered_with_a_reason_alone(
    folder: Path, person: Visit, export_text: Export
) -> None:
    other = export_text("9", speed="70")  # the values of the belt
    cut = other.replace("lim/lag;", "lim/gone;")
    refused = person.send(CHECK, export=left(cut))
    if refused.status_code != 303:
        again = person.send(CHECK, waiting=waiting(refused.text), even_so="so it is")
        assert again.status_code == 303, again.text
    assert uploads(folder) == []


def test_another_file_takes_the_place_of_the_one_that_waits(
    folder: Path, person: Visit, export_text: Export
) -> None:
    refused = person.send(CHECK, export=left("no export", "holiday.csv"))
    assert "<b>holiday.csv</b> waits here" in refused.text
    form = {
        "waiting": waiting(refused.text),
        "export": left(export_text("3", place="1"), "right.csv"),
    }
    assert person.send(CHECK, **form).status_code == 303
    with Vault.open(folder) as vault:
        newest = max(every_snapshot(vault), key=lambda one: one.record.taken_at)
        assert newest.record.export_name == "right.csv"


def test_what_waits_is_the_sender_s_alone(app: Flask, person: Visit, folder: Path) -> None:
    refused = person.send(CHECK, export=left("no export"))
    other = Visit(app)
    other.log_in("admin")
    answer = other.send(CHECK, waiting=waiting(refused.text))
    assert answer.status_code == 400
    assert "nothing here that waits" in answer.text
    assert len(uploads(folder)) == 2  # the file and its notes are still there


def test_stored_once_however_often_it_is_sent(
    folder: Path, person: Visit, export_text: Export
) -> None:
    refused = person.send(CHECK, export=left(export_text("3", place="1")), taken_at="soon")
    form = {"waiting": waiting(refused.text), "taken_at": "now"}
    before = count(folder)
    answers = [person.send(CHECK, **form).status_code for _ in range(2)]
    assert (answers, count(folder)) == ([303, 400], before + 1)


def test_a_script_leaves_nothing_behind(app: Flask, folder: Path) -> None:
    script = app.test_client()
    answer = script.post(
        f"/api/v1{CHECK}",
        data={"export": left("no export")},
        headers=token_for(folder, "technician"),
    )
    assert answer.status_code in (400, 422)
    assert uploads(folder) == []


# What is fitted, as it is typed into the form.


@pytest.fixture
def works_app(works: Path) -> Flask:
    return create_app(works, is_local=True)


@pytest.mark.parametrize(
    ("typed", "bits", "turns"),
    [("24+12", "24", "12"), (" 24 + 12 ", "24", "12"), ("20", "20", None), ("24+0", "24", "0")],
)
def test_encoder_bits_are_read_as_people_write_them(
    typed: str, bits: str, turns: str | None, works_app: Flask
) -> None:
    client = works_app.test_client()
    query = {"encoder_bits": typed, "drive": "ALD-5A"}
    page = client.get("/restore/glaze-line-2/lift", query_string=query)
    assert page.status_code == 200
    data = client.get("/api/v1/restore/glaze-line-2/lift", query_string=query).json
    assert data is not None
    lines = {line["item"]: line["fitted"] for line in data["hardware"]["lines"]}
    assert lines["encoder, bits of one turn"] == bits
    assert lines["encoder, bits of turns"] == turns


def test_typed_bits_come_back_into_the_form_as_they_were(person: Visit) -> None:
    done = person.send("/restore/m1/lift", do="look", encoder_bits="24+12", when="latest")
    assert done.status_code == 303
    page = person.get(done.headers["Location"]).text
    assert 'name="encoder_bits" type="text" autocomplete="off" value="24+12"' in page


@pytest.mark.parametrize("typed", ["24/12", "24+x", "99", "-3", "24+12+1"])
def test_bits_that_are_none_are_refused_with_how_to_write_them(typed: str, person: Visit) -> None:
    done = person.send("/restore/m1/lift", do="make", encoder_bits=typed, when="latest")
    assert done.status_code == 400
    assert "24+12, or 20" in done.text


# What waits, on its page: every problem is there, in the words of a form.


def test_every_problem_of_a_file_that_waits_is_on_its_page(
    person: Visit, export_text: Export
) -> None:
    broken = export_text("3") + "".join(f"nonsense number {n}\r\n" for n in range(1, 6))
    sent = person.send("/take-in", axis="m1/lift", export=[left(broken)])
    page = person.get(sent.headers["Location"]).text
    assert "All 5 problems" in page
    assert page.count("<li>Line ") == 5
    assert "a tick at &#39;leave out lines that cannot be read&#39; takes the rest" in page
    assert "--" not in re.findall(r"It cannot be stored</b>(.*?)</p>", page)[0]


def test_only_what_leaves_nothing_to_be_said_counts_as_ready(
    person: Visit, export_text: Export
) -> None:
    fewer = "\r\n".join(line for line in export_text("3").split("\r\n") if "lim/lag" not in line)
    sent = person.send("/take-in", axis="m1/lift", export=[left(fewer)]).headers["Location"]
    page = person.get(sent).text
    assert "Is this the whole set?" in page
    assert "0 exports of 1 can be stored" in page
    form = {"axis-0": "m1/lift", "do": "look"}
    person.send(sent, **form, **{"even_so-0": "the window went with the new firmware"})
    assert "1 export of 1 can be stored" in person.get(sent).text


def test_a_refusal_says_what_to_do_in_the_words_of_the_form(
    person: Visit, export_text: Export
) -> None:
    answer = person.send(CHECK, export=left(export_text("3") + "what is this\r\n"))
    alert = re.findall(r'role="alert">(.*?)</p>', answer.text)[0]
    assert "a tick at" in alert
    assert "--" not in alert


OLD_DCF = (
    "[FileInfo]\nModificationDate=04-02-2020\nModificationTime=03:20PM\n[6065]\n"
    "ParameterName=Following error window\nDataType=0x0007\nAccessType=rw\n"
    "DefaultValue=1000\nParameterValue={}\n"
)


def test_an_old_head_is_no_proof_on_a_page_and_a_reason_is_told_beside_the_verdict(
    folder: Path, tmp_path: Path
) -> None:
    with Vault.open(folder) as vault:
        kept = tmp_path / "kept.dcf"
        kept.write_text(OLD_DCF.format(6))
        visit = parse_visit("Yara <y@x>", taken_at="2021-01-01")
        ingest(vault, kept, vault.address("m1/feed"), visit)
    person = Visit(create_app(folder))
    person.log_in("technician")
    assert person.send("/restore/m1/feed", do="plan").status_code == 303
    page = person.client.get("/restore/m1/feed/check").location
    here = page.partition("#")[0]
    before = count(folder)
    sent = left(OLD_DCF.format(6) + "\n", "left.dcf")
    refused = person.send(here, do="check", export=sent)
    assert refused.status_code == 403
    assert "before the plan was made" in refused.text
    assert "put a time under Taken" in refused.text
    assert "--taken-at" not in refused.text
    assert "--even-so" not in refused.text
    assert count(folder) == before
    form = {"waiting": waiting(refused.text), "even_so": "head of a template"}
    done = person.send(here, do="check", export=(BytesIO(), ""), **form)
    assert done.status_code == 303, done.text
    told = person.client.get(here).text
    assert "taken in although its head says" in told

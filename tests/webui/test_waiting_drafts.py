"""Drafts that wait: a technician leaves one to an approver, who puts it in or sends it back.

Exports and people are invented.
"""

from __future__ import annotations

import os
import subprocess
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from flask import Flask

from tests.webui.hostile import uploads
from tests.webui.test_draft_pages import (
    TABLE,
    dictionary,
    drafted,
    families,
    fields_of,
    sent,
    visit,
)
from tests.webui.visiting import PEOPLE, Visit
from vault.store.clock import now
from webui import drafted as drafted_module
from webui.kept_drafts import KeptDrafts


@pytest.fixture
def technician(app: Flask) -> Visit:
    return visit(app, "technician")


@pytest.fixture
def approver(app: Flask) -> Visit:
    return visit(app, "approver")


def left(technician: Visit, **more: Any) -> str:
    """The address of a draft that was left to an approver."""
    place = drafted(technician)
    form = {**fields_of(technician.get(place).text), **more, "name": "oak", "do": "ask"}
    answer = technician.send(place, **form)
    assert answer.headers["Location"] == "/families", answer.text
    return place


def age(folder: Path, **span: float) -> None:
    """Make what was sent so much older."""
    then = (now() - timedelta(**span)).timestamp()
    for path in (folder / "axisvault/uploads").iterdir():
        os.utime(path, (then, then))


def test_an_approver_finds_a_draft_that_was_left_to_one_with_all_that_was_said(
    technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician, more_code="z1", more_role="following_error_window")
    listed = approver.get("/families").text
    assert "Drafts that wait" in listed
    assert f'<a href="{place}">oak</a>' in listed
    assert "Tomas Quillfeather" in listed
    assert "drive.csv" in listed
    assert f"{now() + timedelta(days=14):%Y-%m-%d}" in listed
    page = approver.get(place).text
    assert "Tomas Quillfeather left it to an approver" in page
    assert "Put into the vault" in page
    assert families(folder) == ["hazel"]
    approver.send(place, **{**fields_of(page), "do": "store"})
    assert dictionary(folder, "oak")["parameters"]["z1"]["role"] == "following_error_window"


def test_the_commit_names_who_put_it_in_and_who_drafted_it(
    technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician)
    answer = approver.send(place, **{**fields_of(approver.get(place).text), "do": "store"})
    assert answer.headers["Location"] == "/families/oak"
    told = subprocess.run(
        ["git", "-C", folder, "log", "-1", "--format=%an <%ae>%n%B", "--", "families/oak.yaml"],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    assert told.split("\n")[0] == PEOPLE["approver"]
    assert f"Drafted by {PEOPLE['technician']}" in told


def test_whoever_made_it_takes_the_exports_in_afterwards(
    technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician)
    approver.send(place, **{**fields_of(approver.get(place).text), "do": "store"})
    waiting = place.replace("/draft/", "/take-in/")
    listed = technician.get("/families").text
    assert f'<a href="{waiting}">oak</a>' in listed
    assert "Abena Lorn put oak into the vault: take the exports in" in listed
    assert "<option selected>oak</option>" in technician.get(waiting).text
    assert approver.get(waiting).status_code == 404
    assert waiting not in approver.get("/families").text
    assert uploads(folder) != []


def test_a_draft_that_is_sent_back_is_its_makers_again_with_the_word_why(
    technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician)
    approver.send(place, do="send-back", why="we have one\nof these")
    assert families(folder) == ["hazel"]
    assert approver.get(place).status_code == 404
    said = "Abena Lorn did not put oak into the vault: we have one of these"
    assert said in technician.get("/families").text
    page = technician.get(place).text
    assert said in page
    technician.send(place, **{**fields_of(page), "do": "ask"})
    assert said not in approver.get(place).text


def test_while_it_waits_it_is_changed_by_approvers_alone_and_can_be_taken_back(
    technician: Visit, approver: Visit
) -> None:
    place = left(technician)
    page = technician.get(place).text
    assert "Look again" not in page
    assert technician.send(place, do="look", title="Ash").status_code == 403
    assert technician.send(place, do="take-back").headers["Location"] == place
    assert approver.get(place).status_code == 404
    assert technician.send(place, do="look", title="Ash").status_code == 303


def test_a_draft_is_stored_only_as_the_approver_saw_it(
    app: Flask, technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician)
    form = fields_of(approver.get(place).text)
    visit(app, "admin").send(place, do="look", more_code="z2", more_role="max_profile_velocity")
    answer = approver.send(place, **{**form, "do": "store"})
    assert answer.headers["Location"] == place
    assert "Somebody changed it meanwhile" in approver.get(place).text
    assert families(folder) == ["hazel"]
    approver.send(place, **{**fields_of(approver.get(place).text), "do": "store"})
    assert families(folder) == ["hazel", "oak"]


def test_only_who_made_it_may_forget_it_and_only_others_send_it_back(
    technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician)
    approver.send(place, do="forget")
    assert uploads(folder) != []
    technician.send(place, do="send-back")
    assert place in approver.get("/families").text
    technician.send(place, do="forget")
    assert uploads(folder) == []


def test_what_cannot_be_stored_is_not_left_to_anybody(technician: Visit, approver: Visit) -> None:
    place = drafted(technician)
    form = {**fields_of(technician.get(place).text), "name": "hazel", "do": "ask"}
    assert technician.send(place, **form).status_code == 400
    assert "Drafts that wait" not in approver.get("/families").text


def test_other_people_see_no_drafts(app: Flask, technician: Visit) -> None:
    place = left(technician)
    for who in (Visit(app), visit(app, "reader")):
        assert "Drafts that wait" not in who.get("/families").text
        assert who.get(place).status_code in (303, 404)


def test_an_unfinished_draft_is_found_again_by_who_made_it_alone(
    technician: Visit, approver: Visit
) -> None:
    place = drafted(technician)
    assert f'<a href="{place}">' in technician.get("/families").text
    assert place not in approver.get("/families").text
    assert f"{now() + timedelta(days=1):%Y-%m-%d}" in technician.get(place).text


@pytest.mark.parametrize(("days", "is_there"), [(1.1, True), (13.9, True), (14.1, False)])
def test_a_draft_waits_for_two_weeks(
    days: float, is_there: bool, technician: Visit, approver: Visit, folder: Path
) -> None:
    place = left(technician)
    age(folder, days=days)
    assert (approver.get(place).status_code == 200) is is_there
    technician.send("/draft", export=sent(("b.csv", TABLE.encode())))  # clears out
    assert any(path.name == "drive.csv" for path in uploads(folder)) is is_there


def test_a_draft_of_nobody_but_its_maker_is_gone_after_a_day(
    technician: Visit, folder: Path
) -> None:
    place = drafted(technician)
    age(folder, days=1.1)
    assert technician.get(place).status_code == 404
    technician.send("/draft", export=sent(("b.csv", TABLE.encode())))
    assert not any(path.name == "drive.csv" for path in uploads(folder))


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of families that are drafted, each time that one is."""
    names: list[str] = []
    draft = drafted_module.draft

    def counted(exports: Any, name: str, **more: Any) -> Any:
        names.append(name)
        return draft(exports, name, **more)

    monkeypatch.setattr(drafted_module, "draft", counted)
    monkeypatch.setattr(drafted_module, "_KEPT", KeptDrafts())
    return names


def test_a_draft_that_is_looked_at_again_is_not_drafted_again(
    approver: Visit, made: list[str]
) -> None:
    place = drafted(approver)
    approver.get(place)
    before = len(made)
    for address in (place, f"{place}/file", place):
        assert approver.get(address).status_code == 200
    approver.send(place, do="look", more_code="z1", more_role="following_error_window")
    assert "following_error_window" in approver.get(place).text
    assert len(made) == before


def test_an_answer_and_a_new_family_of_the_vault_draft_anew(
    approver: Visit, made: list[str]
) -> None:
    place = drafted(approver)
    page = approver.get(place).text
    before = len(made)
    approver.send(place, **{**fields_of(page), "title": "Oak drives", "do": "look"})
    assert "Oak drives" in approver.get(place).text
    assert len(made) == before + 1
    other = drafted(approver, TABLE.replace("ZK 40", "ZK 50").encode(), "b.csv")
    form = {**fields_of(approver.get(other).text), "name": "ash", "do": "store"}
    approver.send(other, **form)
    before = len(made)
    approver.get(place)
    assert len(made) == before + 1


def test_no_more_drafts_are_kept_than_have_so_many_parameters_together() -> None:
    made = SimpleNamespace(draft=SimpleNamespace(parameters=range(40)))
    kept = KeptDrafts(most_parameters=100)
    calls: list[str] = []

    def draft_of(key: str) -> Any:
        return kept.of(key, lambda: (calls.append(key), made)[1])  # type: ignore[func-returns-value, arg-type, return-value]

    for key in ("a", "b", "a", "c", "a", "b"):
        draft_of(key)
    assert calls == ["a", "b", "c", "b"]

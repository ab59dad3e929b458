"""The controller's side of an axis in the viewer: beside its drive's, and on pages of its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from tests.conftest import BY, Take
from tests.controller_exports import LINDEN, controller_export
from tests.webui.visiting import Visit, add_people, token_for
from vault.jobs.baseline.golden import approve
from vault.jobs.records.edit import add_family
from vault.jobs.records.retire import retire_axis
from vault.jobs.restore import controller_side
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app
from webui.page_words import OF_THE_COMMAND_LINE

LIFT = Address("m1", "lift")
SIDE = "/axis/m1/lift:controller"


@pytest.fixture
def folder(vault: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path) -> Path:
    (tmp_path / "linden.yaml").write_text(LINDEN)
    add_family(vault, tmp_path / "linden.yaml", BY)
    take(export_text(), "2026-03-01T08:00:00+00:00")
    take(export_text(), "2026-03-01T08:00:00+00:00", "m1/belt")
    for day, interval in ((1, "2.000"), (5, "4.000")):
        taken = f"2026-03-0{day}T08:00:00+00:00"
        take(controller_export(interval), taken, "m1/lift:controller", "c.csv")
    approve(vault, "m1/lift:controller@first", BY, "as built")
    add_people(vault.repository.path)
    return vault.repository.path


@pytest.fixture
def app(folder: Path) -> Iterator[Flask]:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)


@pytest.fixture
def technician(app: Flask) -> Visit:
    made = Visit(app)
    made.log_in("technician")
    return made


def links(page: str) -> set[str]:
    return {unescape(found) for found in re.findall(r'href="([^"#]*)', page)}


def own_links(page: str) -> set[str]:
    """Where a page leads that is about the controller's side."""
    return {one for one in links(page) if one.startswith("/") and "lift:controller" in one}


def test_the_page_of_an_axis_shows_the_controllers_set_beside_the_drives(
    technician: Visit,
) -> None:
    page = technician.get("/axis/m1/lift").text
    part = page[page.index('id="controllers-side"') : page.index('id="logbook"')]
    assert "1 setting not as approved" in part
    assert "Interval of the motion task" in part
    assert {
        SIDE, f"{SIDE}/at/latest", f"{SIDE}/golden",
        "/compare?left=m1/lift:controller@golden&right=m1/lift:controller",
        "/take-in?axis=m1/lift&side=controller",
    } <= links(part)  # fmt: skip


def test_an_axis_without_one_says_how_to_take_it_in(technician: Visit) -> None:
    page = technician.get("/axis/m1/belt").text
    assert "No set of it was taken in yet" in page
    assert "/take-in?axis=m1/belt&side=controller" in links(page)


def test_sets_of_controllers_are_counted_beside_axes_not_as_axes(technician: Visit) -> None:
    site = technician.get("/").text
    assert "1 machine, 2 axes and 1 controller&#39;s set" in site, "the picture's title"
    assert '<span class="when">2 axes and 1 controller&#39;s set</span>' in site
    drifted = technician.get("/?state=drifted").text
    assert "1 controller&#39;s set of 2 axes and 1 controller&#39;s set" in drifted
    machine = technician.get("/machine/m1?state=no_golden").text
    assert "<p>2 axes of 2 axes and 1 controller&#39;s set</p>" in machine


def test_a_retired_axis_is_counted_apart_from_its_controllers_set(
    technician: Visit, vault: Vault
) -> None:
    retire_axis(vault, LIFT, BY, "nobody lifts here now")
    for address in ("/", "/machine/m1"):
        page = technician.get(address).text
        assert "<summary>1 retired axis and 1 retired controller&#39;s set</summary>" in page


def test_figures_tell_sets_of_controllers_apart_from_axes(folder: Path) -> None:
    """Against the parser of OpenMetrics 1.0.0 in the library prometheus-client."""
    answer = create_app(folder, is_local=True).test_client().get("/metrics")
    told = {
        (sample.name, sample.labels.get("status")): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }
    assert told["axisvault_axes", "no_golden"] == 2
    assert told["axisvault_axes", "drifted"] == 0
    assert told["axisvault_controller_sets", "drifted"] == 1
    assert told["axisvault_controller_sets", "no_golden"] == 0


def test_every_page_of_the_side_that_its_own_links_to_is_there(technician: Visit) -> None:
    page = technician.get(SIDE)
    assert page.status_code == 200
    assert "/axis/m1/lift" in links(page.text)
    own = own_links(page.text)
    assert len(own) > 8
    every = own.union(*(own_links(technician.get(one).text) for one in own))
    for address in every:
        assert technician.get(address).status_code == 200, address
    assert not any("/margins" in address or "/restore" in address for address in every), every


def test_the_logbook_leads_each_entry_to_its_own_side(technician: Visit) -> None:
    page = technician.get("/axis/m1/lift").text
    book = page[page.index('id="logbook"') :]
    assert book.count("controller&#39;s side: routine") == 2
    assert len({found for found in links(book) if found.startswith(f"{SIDE}/at/")}) == 2
    assert any(found.startswith("/axis/m1/lift/at/") for found in links(book))
    own = technician.get(SIDE).text
    assert "controller&#39;s side: routine" not in own


def test_the_form_takes_the_controllers_side_in(technician: Visit, folder: Path) -> None:
    form = technician.get("/take-in?axis=m1/belt&side=controller").text
    assert "<option selected>controller</option>" in form
    sent = technician.send(
        "/take-in", export=(BytesIO(controller_export().encode()), "c.csv"), axis="m1/belt",
        side="controller",
    )  # fmt: skip
    assert sent.status_code == 303, sent.text
    waiting = technician.get(sent.headers["Location"]).text
    assert 'value="m1/belt:controller"' in waiting
    assert "It cannot be stored" not in waiting


def test_the_controllers_side_of_no_axis_is_asked_for(technician: Visit) -> None:
    content = BytesIO(controller_export().encode())
    sent = technician.send("/take-in", export=(content, "c.csv"), side="controller")
    assert sent.status_code == 400 or "controller&#39;s side of which axis" in sent.text


def test_a_script_takes_it_in_by_the_field_or_the_address(app: Flask, folder: Path) -> None:
    client: Any = app.test_client()
    header = token_for(folder, "technician")
    for number, fields in enumerate(
        ({"axis": "m1/belt", "side": "controller"}, {"axis": "m1/belt:controller"}), 1
    ):
        content = BytesIO(controller_export(retry=str(number)).encode())
        done = client.post(
            "/api/v1/take-in", headers=header,
            data={**fields, "export": (content, "c.csv"), "taken_at": f"2026-04-0{number}"},
        )  # fmt: skip
        assert done.status_code in (200, 201), done.text
        assert done.json["axis"] == "m1/belt:controller"
    with Vault.open(folder) as vault:
        assert vault.index.count(Address("m1", "belt", "controller")) == 2
        assert vault.index.count(Address("m1", "belt")) == 1


def test_the_drives_export_for_the_controllers_side_is_questioned(
    technician: Visit, export_text: Callable[..., str]
) -> None:
    sent = technician.send(
        "/take-in", export=(BytesIO(export_text().encode()), "l.csv"), axis="m1/lift",
        side="controller",
    )  # fmt: skip
    waiting = technician.get(sent.headers["Location"]).text
    assert "Whose set is this" in waiting
    assert "is what the drive&#39;s set of this axis is of" in waiting


def test_the_lists_of_the_site_show_the_side_as_a_row_of_its_own(technician: Visit) -> None:
    for place in ("/", "/machine/m1"):
        page = technician.get(place).text
        assert SIDE in links(page), place


def test_an_approver_approves_the_controllers_side(app: Flask, folder: Path) -> None:
    approver = Visit(app)
    approver.log_in("approver")
    done = approver.send(f"{SIDE}/golden", do="approve", when="latest", reason="agreed")
    assert done.status_code == 303, done.text
    with Vault.open(folder) as vault:
        approval = vault.golden(LIFT.controller).approval
        assert approval is not None
        assert approval.reason == "agreed"
        assert vault.golden(LIFT).approval is None


EVERY = "/baselines?pattern=*/*:controller"


def test_baselines_show_and_approve_the_sets_of_controllers_by_a_pattern(
    app: Flask, folder: Path, take: Take
) -> None:
    take(controller_export(), "2026-03-01T08:00:00+00:00", "m1/belt:controller", "c.csv")
    approver = Visit(app)
    approver.log_in("approver")
    assert "m1/lift:controller" not in approver.get("/baselines").text
    page = approver.get(EVERY).text
    offered = re.findall(r'name="axis" value="([^"@]+)@[0-9a-f]+" checked>', page)
    assert set(offered) == {"m1/belt:controller", "m1/lift:controller"}
    assert "m1/lift@" not in page and "m1/belt@" not in page
    sent = re.findall(r'name="axis" value="([^"]+)"', page)
    done = approver.send(EVERY, do="approve", axis=sent, reason="the program as accepted")
    assert done.status_code == 303, done.text
    app.extensions["work_queue"].wait(60)
    told = unescape(approver.get(done.headers["Location"]).text)
    assert "Approve 2 controllers' sets" in told
    assert "2 controllers' sets approved." in told
    assert "2 controllers' sets are golden already" in unescape(approver.get(EVERY).text)
    with Vault.open(folder) as vault:
        for address in (LIFT, Address("m1", "belt")):
            assert vault.golden(address.controller).approval == approval_of_latest(vault, address)
            assert vault.golden(address).approval is None


def approval_of_latest(vault: Vault, address: Address) -> Any:
    """The approval of the controller's set, if it is of the latest one with the reason given."""
    approval, latest = vault.golden(address.controller).approval, vault.latest(address.controller)
    assert approval is not None and latest is not None
    assert (approval.snapshot, approval.reason) == (latest.id, "the program as accepted")
    return approval


def test_who_waives_on_many_axes_from_a_controllers_set_is_offered_those_of_controllers(
    app: Flask,
) -> None:
    approver = Visit(app)
    approver.log_in("approver")
    for page in (SIDE, "/axis/m1/lift", f"{SIDE}/golden"):
        (many,) = (one for one in links(approver.get(page).text) if "act=waive" in one)
        there = approver.get(many).text
        assert 'name="axis" value="m1/lift:controller"' in there, page
        assert 'value="task/motion/interval"' in there, page


def test_the_page_of_a_plan_tells_the_controllers_side_in_the_words_of_a_page(
    technician: Visit, take: Take, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(controller_side, "_MOST", 1)
    take(controller_export("4.000", jog="60.0"), "2026-03-09T08:00:00Z", f"{LIFT}:controller", "c")
    made = technician.send("/restore/m1/lift", do="make")
    assert made.status_code == 303, made.text
    page = unescape(technician.get(made.headers["Location"]).text)
    sheet = page[page.index('id="sheet"') : page.index('id="export"')]
    parts = re.split(r'(?=<details class="sheet-part)', sheet)
    (told,) = (part for part in parts if "Controller's side</h3>" in part)
    assert "<p>And 1 more change</p>" in told
    on_screen = [
        part for part in parts if not part.startswith('<details class="sheet-part on-paper')
    ]
    assert 1 < len(on_screen) < len(parts)
    assert not any(OF_THE_COMMAND_LINE.search(part) for part in on_screen)
    assert "axisvault restore check m1/lift EXPORT" in sheet, "who prints it may have no page"

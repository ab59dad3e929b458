"""The logbook on the page of an axis, lists of the whole site, and where to go on after an act."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from tests.webui.visiting import Visit, add_people
from vault.jobs.baseline.golden import approve, waive
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.records.notes import add_note
from vault.model.alert_channels import FileChannel
from vault.model.alerts import Alert
from vault.model.names import Address
from vault.store.clock import now
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault
from webui.app import create_app

BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
_LINK = re.compile(r'<a [^>]*href="([^"]*)"[^>]*>(.*?)</a>', re.DOTALL)


@pytest.fixture
def folder(vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]) -> Path:
    for day, lag in enumerate(("2,5", "3", "9"), 1):
        take(export_text(lag), f"2026-03-0{day}T08:00:00+00:00")
    approve(vault, f"{LIFT}@first", BY, "as delivered")
    asked = parse_waiver_request(
        "mov/speed", allow="any", until=f"{now() + timedelta(days=9):%Y-%m-%d}", reason="trial <b>"
    )
    waive(vault, LIFT, asked, BY)
    add_fault(vault, LIFT, parse_fault("8611h", BY, at="2026-03-02T10:00:00Z", note="<i>loud</i>"))
    add_note(vault, f"{LIFT}@first", "the clock was off", BY)
    add_people(vault.repository.path)
    return vault.repository.path


@pytest.fixture
def app(folder: Path) -> Any:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)


def visit(app: Flask, name: str) -> Visit:
    made = Visit(app)
    made.log_in(name)
    return made


def links(page: str) -> dict[str, str]:
    """Addresses by the text of their links."""
    return {text.strip(): unescape(address) for address, text in _LINK.findall(page)}


def entries(page: str) -> list[str]:
    return page.split('<article class="entry')[1:]


def test_kinds_are_counted_and_picked(app: Flask) -> None:
    reader = visit(app, "reader")
    page = reader.get(f"/axis/{LIFT}").text
    picks = links(page)
    assert picks["snapshots 3"] == f"/axis/{LIFT}?kind=snapshot#logbook"
    assert len(entries(page)) == 7
    faults = entries(reader.get(f"/axis/{LIFT}?kind=fault").text)
    assert len(faults) == 1
    assert "fault" in faults[0]
    assert reader.get(f"/axis/{LIFT}?kind=gossip").status_code == 404
    assert reader.get(f"/axis/{LIFT}?skip=-1").status_code == 404


def test_older_entries_are_a_page_further(app: Flask, vault: Vault) -> None:
    for number in range(50):
        fault = parse_fault(f"F-{number}", BY, at="2025-01-01T08:00:00Z")
        add_fault(vault, LIFT, fault)
    reader = visit(app, "reader")
    first = reader.get(f"/axis/{LIFT}").text
    assert len(entries(first)) == 50
    older = links(first)["Older: 7 more entries"]
    second = reader.get(older).text
    assert len(entries(second)) == 7
    assert links(second)["Newer"] == f"/axis/{LIFT}?skip=0#logbook"


def test_what_is_named_in_it_is_a_link_and_data_is_no_markup(app: Flask) -> None:
    page = visit(app, "reader").get(f"/axis/{LIFT}").text
    found = links(page)
    assert found["Following error window"] == f"/axis/{LIFT}/parameter/lim/lag"
    assert found["Mira Okafor"] == "/find?text=Mira%20Okafor"
    assert found["golden baseline"] == f"/axis/{LIFT}/golden"
    assert found["What explains it"].startswith(f"/audit?place={LIFT}&fault=8611h&at=2026-03-02T")
    assert "&lt;i&gt;loud" in page
    assert "<i>loud" not in page
    assert "trial <b>" not in page


def test_every_link_of_the_logbook_leads_somewhere(app: Flask) -> None:
    reader = visit(app, "reader")
    page = reader.get(f"/axis/{LIFT}").text
    addresses = {unescape(a) for entry in entries(page) for a, _ in _LINK.findall(entry)}
    assert len(addresses) > 5
    for address in addresses:
        assert reader.get(address.partition("#")[0]).status_code == 200, address


def test_addenda_stand_beside_their_snapshot(app: Flask) -> None:
    last = entries(visit(app, "reader").get(f"/axis/{LIFT}?kind=snapshot").text)[-1]
    assert "the clock was off" in last


def test_drift_offers_what_the_visitor_may_do(app: Flask) -> None:
    for address in (f"/axis/{LIFT}", f"/axis/{LIFT}/golden",
                    f"/compare?left={LIFT}@golden&right={LIFT}"):  # fmt: skip
        read = links(visit(app, "reader").get(address).text)
        assert read["Over time"].endswith("/parameter/lim/lag")
        assert not {"Waive", "Waive on many axes", "Approve this state"} & read.keys()
        may = links(visit(app, "approver").get(address).text)
        assert may["Waive"] == f"/axis/{LIFT}/golden?code=lim/lag#waive"
        assert may["Waive on many axes"] == "/baselines?act=waive&code=lim/lag"
        assert may["Approve this state"] == f"/axis/{LIFT}/golden#approve"


def test_a_difference_that_is_no_drift_offers_nothing(app: Flask) -> None:
    approver = visit(app, "approver")
    for address in (f"/compare?left={LIFT}@first&right={LIFT}",
                    f"/compare?left={LIFT}@golden&right={LIFT}@previous"):  # fmt: skip
        assert "Waive" not in links(approver.get(address).text)


def test_a_row_of_a_drifted_axis_leads_to_what_differs(app: Flask) -> None:
    found = links(visit(app, "reader").get("/machine/m1").text)
    assert found["drifted, 1 parameter"] == f"/compare?left={LIFT}@golden&right={LIFT}"


def test_after_an_act_a_message_says_where_to_go_on(app: Flask) -> None:
    approver = visit(app, "approver")
    here = f"/axis/{LIFT}"
    approver.send(here, code="3210h", at="2026-03-04T10:00:00Z")
    page = approver.get(here).text
    message = page[page.index('<p class="message" role="status"') :].partition("</p>")[0]
    assert "The fault is noted." in message
    assert links(message)["What explains it"].startswith(f"/audit?place={LIFT}&fault=3210h")
    approver.send(f"{here}/golden", do="approve", when="latest", reason="accepted")
    page = approver.get(f"{here}/golden").text
    message = page[page.index('<p class="message" role="status"') :].partition("</p>")[0]
    assert links(message) == {"Axes with nothing approved": "/?state=no_golden"}
    assert '<p class="message" role="status"' not in approver.get(here).text


def test_the_faults_of_all_axes_lead_to_their_audit(
    app: Flask, vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    take(export_text(serial="9"), to="m2/lift")
    add_fault(vault, Address("m2", "lift"), parse_fault("3210h", BY, at="2026-03-05T10:00:00Z"))
    reader = visit(app, "reader")
    page = reader.get("/faults").text
    assert page.index("m2/lift") < page.index("m1/lift")
    assert links(page)["8611h 1"] == "/faults?code=8611h"
    only = reader.get("/faults?code=8611h").text
    assert "m2/lift" not in only
    assert "&lt;i&gt;loud" in only


def test_waivers_that_end_can_be_renewed_by_who_may(app: Flask) -> None:
    renew = links(visit(app, "approver").get("/waivers").text)["Renew"]
    assert renew.startswith(f"/axis/{LIFT}/golden?code=mov/speed&allow=any&reason=trial")
    page = visit(app, "approver").get(renew.partition("#")[0]).text
    assert 'name="code" type="text" autocomplete="off" value="mov/speed"' in page
    assert "Renew" not in links(visit(app, "reader").get("/waivers").text)
    assert "mov/speed" not in visit(app, "reader").get("/waivers?days=3").text
    assert visit(app, "reader").get("/waivers?days=many").status_code == 404


def test_what_a_channel_answered_is_for_the_admin_alone(app: Flask, vault: Vault) -> None:
    alert = Alert("a1", "m1/lift", "drifted", now(), "hazard", "m1/lift: 1 parameter drifted", ())
    channel = FileChannel(name="log", kind="file", path="/nowhere/log")
    with Outbox(vault.state) as outbox:
        outbox.announce("m1/lift", "{}", [alert], [channel])
        outbox.mark_failed(outbox.due()[0], "no folder /nowhere", now() + timedelta(hours=1))
    reader, admin = visit(app, "reader"), visit(app, "admin")
    for address in ("/alerts", "/api/v1/alerts"):
        assert "1 parameter drifted" in reader.get(address).text
        assert "/nowhere" not in reader.get(address).text
        assert "/nowhere" in admin.get(address).text


def test_site_and_find_lead_to_the_lists(app: Flask) -> None:
    for address in ("/", "/find"):
        assert {"/faults", "/waivers", "/alerts"} <= set(
            links(visit(app, "reader").get(address).text).values()
        )

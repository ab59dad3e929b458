"""Approving and waiving on many axes by the page, and what it keeps. The family is invented."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tests.webui.visiting import PEOPLE, Visit, add_people, token_for
from vault.jobs.baseline.golden import approve
from vault.jobs.records.edit import set_site
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app
from webui.pages import baselines

BY = "Mira Okafor <mira@tileworks.example>"
AXES = ("m1/belt", "m1/lift", "m2/lift")
_TICK = re.compile(r'<input type="checkbox" form="look" name="axis" value="([^"]+)"( checked)?>')


@pytest.fixture
def folder(vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]) -> Path:
    for axis in AXES:
        take(export_text(serial=axis), to=axis)
    add_people(vault.repository.path)
    return vault.repository.path


@pytest.fixture
def app(folder: Path) -> Any:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)


@pytest.fixture
def approver(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("approver")
    return visit


@pytest.fixture
def site(vault: Vault, tmp_path: Path, folder: Path) -> Callable[[str], None]:
    def set_policy(approval: str) -> None:
        path = tmp_path / "site.yaml"
        head = "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        path.write_text(f"{head}approval: {approval}\n")
        set_site(vault, path, BY)

    return set_policy


def ticks(page: TestResponse) -> dict[str, bool]:
    """Whether each axis that would go is ticked."""
    return {sent.partition("@")[0]: bool(on) for sent, on in _TICK.findall(page.text)}


def sent(page: TestResponse, *axes: str) -> list[str]:
    """What the ticks of axes send, or of all."""
    found = [value for value, _ in _TICK.findall(page.text)]
    return [value for value in found if not axes or value.partition("@")[0] in axes]


def result(visit: Visit, answer: TestResponse) -> TestResponse:
    """The page of the work that was begun, once it is over."""
    assert answer.status_code == 303, answer.text
    visit.client.application.extensions["work_queue"].wait(60)
    return visit.get(answer.headers["Location"])


def goldens(folder: Path) -> list[str]:
    with Vault.open(folder) as vault:
        return [axis for axis in AXES if vault.golden(Address.parse(axis)).approval is not None]


def test_all_that_would_go_are_ticked_and_are_approved_by_who_is_logged_in(
    approver: Visit, folder: Path
) -> None:
    page = approver.get("/baselines")
    assert ticks(page) == dict.fromkeys(AXES, True)
    done = result(
        approver, approver.send("/baselines", do="approve", axis=sent(page), reason="as set up")
    )
    assert "3 axes approved." in done.text
    for axis in AXES:
        assert f'href="/axis/{axis}/golden"' in done.text
    with Vault.open(folder) as vault:
        approvals = [vault.golden(Address.parse(axis)).approval for axis in AXES]
    assert {(a.by, a.reason) for a in approvals if a} == {(PEOPLE["approver"], "as set up")}
    assert "3 axes are golden already" in approver.get("/baselines").text


def test_only_those_that_are_ticked_are_approved(approver: Visit, folder: Path) -> None:
    page = approver.get("/baselines")
    answer = approver.send(
        "/baselines", do="approve", axis=sent(page, "m1/lift"), reason="as set up"
    )
    result(approver, answer)
    assert goldens(folder) == ["m1/lift"]


def test_who_is_refused_comes_first_with_why(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str],
    site: Callable[[str], None], folder: Path,
) -> None:  # fmt: skip
    site("{second_person: true}")
    take(export_text(), "2026-03-02", to="m2/lift", by=PEOPLE["approver"])
    page = approver.get("/baselines")
    assert set(ticks(page)) == {"m1/belt", "m1/lift"}
    refused, going = (
        page.text.index("Refused as it stands: 1"),
        page.text.index("Would be approved"),
    )
    assert refused < page.text.index("took this snapshot and cannot approve it") < going
    everything = [*sent(page), "m2/lift"]  # as if it had been ticked
    done = result(approver, approver.send("/baselines", do="approve", axis=everything, reason="x"))
    assert done.text.index("Refused: 1") < done.text.index("Approved: 2")
    assert "cannot approve it" in done.text
    assert goldens(folder) == ["m1/belt", "m1/lift"]


def saw(page: Any) -> list[str]:
    """Findings that a page shows, as its form sends them."""
    return re.findall(r'name="saw" value="([^"]+)"', page.text)


def test_a_finding_that_came_up_after_the_look_is_accepted_by_nobody(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str],
    site: Callable[[str], None], folder: Path,
) -> None:  # fmt: skip
    site("{clean_check: true}")
    take(export_text("0"), "2026-03-02", to="m1/lift", override_reason="supervision off")
    page = approver.get("/baselines")
    rules = re.findall(r'name="accept" value="([^"]+)"', page.text)
    seen = [one for one in saw(page) if not one.startswith("m1/lift ")]
    everything = sent(approver.send("/baselines", do="look", accept=rules))
    answer = approver.send(
        "/baselines", do="approve", axis=everything, accept=rules, saw=seen, reason="x"
    )
    done = result(approver, answer)
    assert "Refused: 1" in done.text
    assert "m1/lift" not in goldens(folder)


def test_a_finding_is_accepted_by_name_after_looking_again(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str],
    site: Callable[[str], None], folder: Path,
) -> None:  # fmt: skip
    site("{clean_check: true}")
    take(export_text("0"), "2026-03-02", to="m1/lift", override_reason="supervision off")
    page = approver.get("/baselines")
    assert set(ticks(page)) == {"m1/belt", "m2/lift"}
    rules = re.findall(r'name="accept" value="([^"]+)"', page.text)
    assert rules
    offered = sent(page)
    again = approver.send(
        "/baselines", do="look", accept=rules, offered=offered, axis=offered[:1], reason="known"
    )
    assert again.status_code == 200
    assert ticks(again) == {"m1/belt": True, "m1/lift": True, "m2/lift": False}
    assert 'value="known"' in again.text, "what was typed stays"
    for rule in rules:
        assert f'name="accept" value="{rule}" checked>' in again.text
    assert goldens(folder) == [], "nothing is written"
    answer = approver.send(
        "/baselines", do="approve", axis=sent(again), accept=rules, saw=saw(again), reason="known"
    )
    result(approver, answer)
    with Vault.open(folder) as vault:
        approval = vault.golden(Address("m1", "lift")).approval
    assert approval is not None
    assert set(approval.accepted) == set(rules)


def test_ticks_stay_as_they_were_where_the_reason_is_missing(approver: Visit, folder: Path) -> None:
    page = approver.get("/baselines?machine=m1")
    offered = sent(page)
    answer = approver.send(
        "/baselines?machine=m1", do="approve", axis=offered[1:], offered=offered, reason=" "
    )
    assert answer.status_code == 403
    assert "an approval needs a reason here" in answer.text
    assert ticks(answer) == {"m1/belt": False, "m1/lift": True}, "the filter holds too"
    assert goldens(folder) == []


def test_without_a_tick_nothing_begins(approver: Visit, folder: Path) -> None:
    offered = sent(approver.get("/baselines"))
    answer = approver.send("/baselines", do="approve", offered=offered, reason="x")
    assert answer.status_code == 400
    assert "no axis is ticked" in answer.text
    assert not any(ticks(answer).values())


def test_the_state_that_was_seen_is_approved_though_a_newer_came_in(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str], folder: Path
) -> None:
    page = approver.get("/baselines")
    take(export_text("3"), "2026-03-09", to="m1/lift")
    result(approver, approver.send("/baselines", do="approve", axis=sent(page), reason="seen"))
    with Vault.open(folder) as vault:
        approval = vault.golden(Address("m1", "lift")).approval
        first = vault.index.first(Address("m1", "lift"))
    assert approval is not None
    assert first is not None
    assert approval.snapshot == first.id


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        ("machine=m1", ["m1/belt", "m1/lift"]),
        ("pattern=*/lift", ["m1/lift", "m2/lift"]),
        ("machine=m1&pattern=*/lift", ["m1/lift"]),
        ("family=hazel", list(AXES)),
        ("family=none", []),
        ("stands=no_golden", ["m1/lift", "m2/lift"]),
    ],
)
def test_axes_are_picked_by_filters(
    approver: Visit, folder: Path, query: str, shown: list[str]
) -> None:
    with Vault.open(folder) as vault:
        approve(vault, "m1/belt@first", BY, "x")
    page = approver.get(f"/baselines?{query}")
    there = [*ticks(page), *re.findall(r'href="/axis/(m1/belt)/golden"', page.text)]
    assert sorted(there) == shown


def test_too_many_axes_are_not_judged_until_some_are_picked(
    approver: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(baselines, "_UNASKED", 2)
    page = approver.get("/baselines")
    assert "3 axes fit, too many to judge at once" in page.text
    assert ticks(page) == {}
    assert set(ticks(approver.get("/baselines?pattern=*"))) == set(AXES)


def test_a_file_of_the_server_cannot_be_named(approver: Visit, folder: Path) -> None:
    answer = approver.send("/baselines", do="approve", axis="file:/etc/hostname", reason="x")
    assert answer.status_code == 400
    assert "a file cannot be named here" in answer.text


@pytest.mark.parametrize("role", ["reader", "technician"])
def test_only_an_approver_may(app: Flask, folder: Path, role: str) -> None:
    visit = Visit(app)
    visit.log_in(role)
    page = visit.get("/baselines")
    assert "takes the role approver" in page.text
    assert ticks(page) == {}
    form = {"do": "approve", "axis": "m1/lift", "reason": "x"}
    assert visit.send("/baselines", form="/account", **form).status_code == 403
    sent_by_script = visit.client.post(
        "/api/v1/baselines", data=form, headers=token_for(folder, role)
    )
    assert sent_by_script.status_code == 403
    assert goldens(folder) == []


def test_a_waiver_is_made_on_those_that_have_a_baseline(approver: Visit, folder: Path) -> None:
    with Vault.open(folder) as vault:
        for axis in AXES[:2]:
            approve(vault, axis, BY, "x")
    page = approver.get("/baselines?act=waive")
    assert ticks(page) == {}, "first it is said which parameter"
    fields = {"code": "lim/lag", "allow": "..6 mm", "until": "2099-12-31"}
    looked = approver.send("/baselines?act=waive", do="look", **fields)
    assert ticks(looked) == {"m1/belt": True, "m1/lift": True}
    assert "m2/lift has no golden baseline to be excepted from" in looked.text
    answer = approver.send(
        "/baselines?act=waive", do="waive", axis=sent(looked), reason="worn screw", **fields
    )
    done = result(approver, answer)
    assert "2 axes waived." in done.text
    with Vault.open(folder) as vault:
        kept = [vault.golden(Address.parse(axis)).waivers for axis in AXES]
    assert [len(waivers) for waivers in kept] == [1, 1, 0]


def test_what_is_wrong_with_a_waiver_keeps_what_was_typed(approver: Visit) -> None:
    fields = {"code": "lim/lag", "allow": "6..4 mm", "until": "2099-12-31", "reason": "worn"}
    answer = approver.send("/baselines?act=waive", do="look", **fields)
    assert answer.status_code == 400
    assert "its bounds are the wrong way round" in answer.text
    assert 'value="6..4 mm"' in answer.text


def test_a_script_asks_and_approves_at_the_same_address(app: Flask, folder: Path) -> None:
    client, head = app.test_client(), token_for(folder, "approver")
    looked = client.get("/api/v1/baselines?pattern=*/lift", headers=head).json
    assert looked["looked_only"]
    assert [axis["axis"] for axis in looked["approved"]] == ["m1/lift", "m2/lift"]
    sent_axes = [f"{axis['axis']}@{axis['snapshot']}" for axis in looked["approved"]]
    begun = client.post(
        "/api/v1/baselines", headers=head, data={"do": "approve", "axis": sent_axes, "reason": "x"}
    ).json
    app.extensions["work_queue"].wait(60)
    work = client.get(f"/api/v1/work/{begun['work']}", headers=head).json
    assert [axis["axis"] for axis in work["data"]["approval"]["approved"]] == ["m1/lift", "m2/lift"]
    assert work["total"] == 2


def test_an_interval_is_set_on_those_that_are_ticked(approver: Visit, folder: Path) -> None:
    looked = approver.send("/baselines?act=interval", do="look", every="30 days")
    assert ticks(looked) == dict.fromkeys(AXES, True)
    assert "as the site, then 30 d" in looked.text
    chosen = sent(looked, "m1/belt", "m2/lift")
    answer = approver.send(
        "/baselines?act=interval", do="interval", axis=chosen, every="30 days", offered=sent(looked)
    )
    assert "2 axes due every 30 d." in result(approver, answer).text
    with Vault.open(folder) as vault:
        records = [vault.axis_record(Address.parse(axis)) for axis in AXES]
    assert [record is not None for record in records] == [True, False, True]


def test_what_is_no_interval_is_told_with_what_was_typed(approver: Visit) -> None:
    answer = approver.send("/baselines?act=interval", do="look", every="soon")
    assert answer.status_code == 400
    assert "is no interval" in answer.text
    assert 'value="soon"' in answer.text


def test_waive_on_many_axes_begins_with_the_parameter_of_a_row_and_the_usual_day(
    approver: Visit, folder: Path
) -> None:
    with Vault.open(folder) as vault:
        approve(vault, "m1/lift", BY, "x")
    page = approver.get("/baselines?act=waive&code=lim/lag")
    assert page.status_code == 200
    assert ticks(page) == {"m1/lift": True}
    assert 'name="code" value="lim/lag"' in page.text
    shown = re.search(r'name="until" value="(\d{4}-\d{2}-\d{2})"', page.text)
    assert shown is not None
    golden = approver.get("/axis/m1/lift/golden").text
    assert f'value="{shown[1]}"' in golden, "the day that the page of one axis proposes"


@pytest.mark.parametrize("query", ["", "?act=approve&machine=m1"])
def test_go_on_after_many_leads_back_to_the_same_list(approver: Visit, query: str) -> None:
    page = approver.get(f"/baselines{query}")
    done = result(
        approver, approver.send(f"/baselines{query}", do="approve", axis=sent(page), reason="x")
    )
    link = re.search(r'<a href="([^"]+)">Go on</a>', done.text)
    assert link is not None
    assert html.unescape(link[1]) == f"/baselines{query}"
    assert approver.get(html.unescape(link[1])).status_code == 200


def test_times_of_work_are_those_of_the_site(
    approver: Visit, vault: Vault, tmp_path: Path, folder: Path
) -> None:
    page = approver.get("/baselines")
    answer = approver.send("/baselines", do="approve", axis=sent(page), reason="x")
    result(approver, answer)
    kept = folder / "axisvault" / answer.headers["Location"].strip("/") / "work.json"
    work = json.loads(kept.read_text())
    times = {"begun": "2026-11-29T13:35:00+00:00", "ended": "2026-11-29T14:36:00+01:00"}
    kept.write_text(json.dumps({**work, **times}))
    path = tmp_path / "site.yaml"
    path.write_text(
        "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        "written: {zone: Asia/Kolkata, dates: day.month.year}\n"
    )
    set_site(vault, path, BY)
    text = approver.get(answer.headers["Location"]).text
    assert "Begun 29.11.2026 19:05 by" in text
    assert "Done 29.11.2026 19:06." in text
    assert "29.11.2026 19:05" in approver.get("/work").text


def test_an_axis_whose_drift_has_a_hazard_begins_without_a_tick(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str], folder: Path
) -> None:
    with Vault.open(folder) as vault:
        approve(vault, "m1/belt", BY, "x")
        approve(vault, "m1/lift", BY, "x")
    take(export_text("9"), "2026-03-02", to="m1/belt")  # the window of the following error, wider
    page = approver.get("/baselines")
    assert ticks(page) == {"m1/belt": False, "m2/lift": True}
    assert "Not ticked by itself: a hazard drifted." in page.text
    assert "Would be approved: 1 of 2" in page.text


def test_an_axis_whose_check_finds_a_hazard_begins_without_a_tick_until_it_is_accepted(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    take(export_text("0"), "2026-03-02", to="m1/lift", override_reason="supervision off")
    page = approver.get("/baselines")
    assert ticks(page) == {"m1/belt": True, "m1/lift": False, "m2/lift": True}
    assert "Not ticked by itself: the check finds a hazard." in page.text
    rules = re.findall(r'name="accept" value="([^"]+)"', page.text)
    again = approver.send("/baselines", do="look", accept=rules)
    assert ticks(again) == dict.fromkeys(AXES, True)


def test_looking_again_counts_those_that_are_ticked(approver: Visit) -> None:
    page = approver.get("/baselines")
    assert "Would be approved: 3</h2>" in page.text
    offered = sent(page)
    again = approver.send("/baselines", do="look", offered=offered, axis=offered[:2])
    assert "Would be approved: 2 of 3</h2>" in again.text


def test_a_finding_is_named_in_words_beside_its_code(
    approver: Visit, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    take(export_text("0"), "2026-03-02", to="m1/lift", override_reason="supervision off")
    named = 'window off <span class="code">window_off</span>'
    assert approver.get("/baselines").text.count(named) == 2, "above the list, and in it"
    assert "Window off (window_off) is known" in approver.get("/axis/m1/lift/golden").text

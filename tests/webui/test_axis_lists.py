"""Lists of axes on the pages of site and machine: folded, filtered, sorted, worst first.

The family hazel and the plant are invented.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.conftest import BY
from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.golden import approve, waive
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.records.machines import set_machine
from vault.store.clock import now, time_text
from vault.store.files import layout
from vault.store.vault import Vault
from webui.app import create_app
from webui.axis_filter import SORTS, AxisFilter, by_machine

Take = Callable[..., Any]
Export = Callable[..., str]


class Rows(HTMLParser):
    """The axes that tables of a page link to, in order, and the machines that are folded."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.axes: list[str] = []
        self.machines: list[tuple[str, bool]] = []
        self.links: list[str] = []
        self._is_head = False
        self.feed(text)

    def handle_endtag(self, tag: str) -> None:
        self._is_head &= tag != "th"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "details" and told.get("class") == "machine":
            self.machines.append((told["id"] or "", "open" in told))
        if tag == "th":
            self._is_head = told.get("scope") == "row"
        if tag == "a":
            self.links.append(told.get("href") or "")
            if self._is_head:
                self.axes.append((told.get("href") or "").removeprefix("/axis/"))


@pytest.fixture
def client(vault: Vault, take: Take, export_text: Export) -> FlaskClient:
    """m1/lift drifted by its speed, m1/belt in line, m2/hoist drifted by its window (and long not
    seen), m3/arm new and without a baseline."""
    old, fresh = time_text(now() - timedelta(days=90)), time_text(now() - timedelta(days=1))
    for place, before, after, last in (
        ("m1/lift", ("2", "100"), ("2", "200"), fresh),
        ("m1/belt", ("3", "100"), ("3", "100"), fresh),
        ("m2/hoist", ("4", "100"), ("9", "100"), old),
    ):
        first = time_text(now() - timedelta(days=100))
        take(export_text(*before), first, to=place, override_reason="a twin")
        approve(vault, place, BY, "as delivered", override_reason="for a test")
        take(export_text(*after), last, to=place, override_reason="a twin")
    take(export_text("7"), fresh, to="m3/arm", override_reason="a twin")
    with vault.writing():
        site = vault.read_required(layout.VAULT, vault.tip)
        vault.write_files({layout.VAULT: site + b"export_every: 30 d\n"}, "due\n", BY)
    return create_app(vault.repository.path, is_local=True).test_client()


def listed(client: FlaskClient, address: str) -> list[str]:
    answer = client.get(f"/api/v1{address}")
    assert answer.status_code == 200
    return sorted(axis["axis"] for axis in answer.json["axes"])  # type: ignore[index]


@pytest.mark.parametrize(
    ("query", "axes"),
    [
        ("", ["m1/belt", "m1/lift", "m2/hoist", "m3/arm"]),
        ("state=needs", ["m1/lift", "m2/hoist"]),
        ("state=drifted", ["m1/lift", "m2/hoist"]),
        ("state=no_golden", ["m3/arm"]),
        ("state=in_line", ["m1/belt"]),
        ("state=floor", []),
        ("overdue=1", ["m2/hoist"]),
        ("state=drifted&overdue=1", ["m2/hoist"]),
        ("family=hazel", ["m1/belt", "m1/lift", "m2/hoist", "m3/arm"]),
        ("family=oak", []),
        ("consequence=link", []),
    ],
)
def test_a_filter_leaves_those_that_are_so_on_the_page_and_in_its_data(
    query: str, axes: list[str], client: FlaskClient
) -> None:
    assert listed(client, f"/?{query}") == axes
    page = Rows(client.get(f"/?{query}").text)
    assert set(page.axes) == set(axes)
    of_machine = listed(client, f"/machine/m1?{query}")
    assert of_machine == [axis for axis in axes if axis.startswith("m1/")]


def test_the_classes_of_consequence_part_those_that_drifted(client: FlaskClient) -> None:
    worst = {a["axis"]: a["worst"] for a in client.get("/api/v1/").json["axes"]}  # type: ignore[index]
    for axis in ("m1/lift", "m2/hoist"):
        alike = sorted(one for one, of in worst.items() if of == worst[axis])
        assert listed(client, f"/?consequence={worst[axis]}") == alike


@pytest.mark.parametrize("query", ["state=odd", "sort=odd", "consequence=odd"])
def test_what_there_is_not_is_refused_with_what_there_is(query: str, client: FlaskClient) -> None:
    answer = client.get(f"/?{query}")
    assert answer.status_code == 404
    assert "there is no" in answer.text


def test_filters_stay_when_a_machine_is_opened_and_back_on_the_site(client: FlaskClient) -> None:
    site = Rows(client.get("/?state=drifted&sort=name").text)
    assert "/machine/m1?state=drifted&sort=name" in site.links
    machine = Rows(client.get("/machine/m1?state=drifted&sort=name").text)
    assert machine.axes == ["m1/lift"]
    assert "/?state=drifted&sort=name" in machine.links


def test_the_form_shows_what_was_asked(client: FlaskClient) -> None:
    text = client.get("/?state=drifted&family=hazel&overdue=1&sort=seen").text
    assert re.findall(r"<option(?: value=\"(\w+)\")? selected>([^<]+)", text) == [
        ("drifted", "drifted"), ("", "hazel"), ("seen", "longest not seen first"),
    ]  # fmt: skip
    assert re.search(r'name="overdue" value="1" checked', text)
    assert '<details class="filter" open>' in text
    assert '<details class="filter">' in client.get("/").text


def test_the_worst_machine_comes_first_and_a_filter_opens_them(client: FlaskClient) -> None:
    machines = Rows(client.get("/").text).machines
    assert {name for name, _ in machines[:2]} == {"m1", "m2"}
    assert machines[2] == ("m3", False)
    assert [name for name, _ in Rows(client.get("/?sort=name").text).machines] == ["m1", "m2", "m3"]
    assert Rows(client.get("/?sort=seen").text).machines[0] == ("m2", False)
    opened = Rows(client.get("/?state=drifted&sort=name").text).machines
    assert opened == [("m1", True), ("m2", True)]


class AtOnce(HTMLParser):
    """Axes that a page names, but in pictures, before anything is opened."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.axes: list[str] = []
        self._closed: list[bool] = []
        self.feed(text)

    def handle_endtag(self, tag: str) -> None:
        if tag in ("details", "svg"):
            self._closed.pop()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag in ("details", "svg"):
            self._closed.append(tag == "svg" or "open" not in told)
        if tag == "a" and (told.get("href") or "").startswith("/axis/") and not any(self._closed):
            self.axes.append((told["href"] or "").removeprefix("/axis/"))


def test_an_axis_is_said_once_before_anything_is_opened(client: FlaskClient) -> None:
    page = client.get("/").text
    seen = AtOnce(page).axes
    assert sorted(seen) == ["m1/belt", "m1/lift", "m2/hoist", "m3/arm"]
    assert seen[:2] == ["m2/hoist", "m1/lift"] or seen[:2] == ["m1/lift", "m2/hoist"]
    assert "1 more axis with a new export or a fault" in page  # the lift, which stands above
    for folded in ("m1/lift", "m3/arm"):
        assert page.count(f'href="/axis/{folded}"') > seen.count(folded)


def test_machines_are_open_where_no_axis_is_told_otherwise(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    axes = [stands(f"m/axis-{n}", days=20) for n in range(3)]
    monkeypatch.setattr("webui.pages.site.drift", lambda *_, **__: list(axes))
    page = create_app(vault.repository.path, is_local=True).test_client().get("/").text
    assert Rows(page).machines == [("m", True)]
    assert AtOnce(page).axes == ["m/axis-0", "m/axis-1", "m/axis-2"]
    assert "No export came in during the last seven days" in page


def test_waivers_that_end_soonest_stand_on_the_site_page(vault: Vault, client: FlaskClient) -> None:
    for axis, days in (("m1/lift", 3), ("m1/belt", 9), ("m2/hoist", 12), ("m1/lift", 25)):
        until = (now() + timedelta(days=days)).strftime("%Y-%m-%d")
        code = "mov/speed" if days == 25 else "lim/lag"
        request = parse_waiver_request(code, allow="any", until=until, reason="so")
        waive(vault, vault.address(axis), request, BY)
    line = re.search(r"Waivers that end soon:(.*)</p>", client.get("/").text)
    assert line is not None
    assert re.findall(r'href="([^"]+)"', line[1]) == [
        "/axis/m1/lift/golden", "/axis/m1/belt/golden", "/axis/m2/hoist/golden", "/waivers",
    ]  # fmt: skip
    assert "1 more" in line[1]


def test_a_machine_tells_how_many_axes_stand_how(client: FlaskClient) -> None:
    text = " ".join(re.sub(r"<[^>]+>", " ", client.get("/").text).split())
    assert re.search(r"m1 2 axes \S \w+ 1 drifted Machine m1", text)
    assert "m3 1 axis 1 nothing approved Machine m3" in text


def stands(axis: str, status: Any = "in_line", days: int = 0) -> AxisDrift:
    return AxisDrift(axis, status, taken_at=now() - timedelta(days=days))


def test_axes_and_machines_are_sorted_worst_first_by_name_or_by_when_they_were_seen() -> None:
    axes = [
        stands("b/two", days=3),
        stands("a/one", "no_golden", days=1),
        stands("c/six", "overdue", days=9),
        stands("b/ten", "overdue", days=5),
    ]
    ordered = {sort: [a.axis for a in AxisFilter(sort=sort).in_order(axes)] for sort in SORTS}
    assert ordered == {
        "worst": ["b/ten", "c/six", "a/one", "b/two"],
        "name": ["a/one", "b/ten", "b/two", "c/six"],
        "seen": ["c/six", "b/ten", "b/two", "a/one"],
    }
    names = {s: [m.name for m in by_machine(axes, AxisFilter(sort=s))] for s in SORTS}
    assert names == {"worst": ["b", "c", "a"], "name": ["a", "b", "c"], "seen": ["c", "b", "a"]}


def test_a_machine_of_a_large_site_is_folded_and_of_many_machines_a_dozen_is_seen(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    axes = [stands(f"machine-{n:02d}/axis-{k}") for n in range(20) for k in range(5)]
    axes[50] = stands("machine-10/axis-0", "overdue", 400)
    monkeypatch.setattr("webui.pages.site.drift", lambda *_, **__: list(axes))
    page = create_app(vault.repository.path, is_local=True).test_client().get("/").text
    found = Rows(page)
    assert found.machines[0] == ("machine-10", False)
    assert len(found.machines) == 20
    assert [is_open for _, is_open in found.machines] == [False] * 20
    before, after = page.split("8 more machines")
    assert (before.count('class="machine"'), after.count('class="machine"')) == (12, 8)


def test_axes_that_need_somebody_are_bounded_and_the_rest_is_a_link(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    axes = [stands(f"m/axis-{n:02d}", "overdue", 400) for n in range(9)]
    monkeypatch.setattr("webui.pages.site.drift", lambda *_, **__: list(axes))
    page = create_app(vault.repository.path, is_local=True).test_client().get("/").text
    urgent = page[page.index("Needs somebody") : page.index("All axes")]
    assert urgent.count("<tr>") == 1 + 5
    assert '<a href="/?state=needs">4 more axes need somebody</a>' in urgent


def test_a_name_in_a_filter_is_no_markup(client: FlaskClient) -> None:
    page = client.get("/?family=%3Cb%3E%22")
    assert page.status_code == 200
    assert "<b>&" not in page.text.partition("machines")[0].partition("filter")[2]
    assert "/machine/" not in Rows(page.text).links


def test_the_viewer_still_answers_where_a_dictionary_was_taken_away(
    vault: Vault, client: FlaskClient, tmp_path: Path
) -> None:
    assert listed(client, "/?family=hazel")
    with vault.writing():
        vault.write_files({}, "no dictionary\n", BY, removed=[layout.family_file("hazel")])
    assert listed(client, "/?family=hazel")


def test_axes_are_filtered_by_a_tag_of_their_machine_where_one_has_tags(
    client: FlaskClient, vault: Vault
) -> None:
    assert "Tag of machine" not in client.get("/").text
    record = b"schema: axisvault/machine/1\ntags: [line-b, spare]\n"
    for machine in ("m1", "m2"):
        set_machine(vault, machine, record, "machine.yaml", BY)
    page = client.get("/?tag=line-b").text
    assert "<option selected>line-b</option>" in page
    assert set(Rows(page).axes) == {"m1/belt", "m1/lift", "m2/hoist"}
    assert "/machine/m1?tag=line-b" in Rows(page).links
    assert listed(client, "/?tag=spare&state=drifted") == ["m1/lift", "m2/hoist"]
    assert listed(client, "/?tag=other") == []

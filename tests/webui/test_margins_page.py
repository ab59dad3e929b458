"""The page of an axis's margins: every margin a row, what is missing below, without scripts."""

from __future__ import annotations

import re
import shutil
from html import unescape
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from tests.conftest import BY
from vault.jobs.baseline.golden import approve
from vault.jobs.records.edit import set_axis
from vault.meaning.margin_text import ratio_text
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

HOIST = "kiln-loader/hoist"
FLOOR = 9
"""More than there is."""


@pytest.fixture(scope="module")
def client(works: Path, tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    """The works with a hoist that is approved as it was first, and that has a floor."""
    folder = tmp_path_factory.mktemp("margins") / "plant"
    shutil.copytree(works, folder)
    with Vault.open(folder) as vault:
        text = (vault.axis_text(Address.parse(HOIST)) or b"").decode()
        path = folder.parent / "hoist.yaml"
        path.write_text(f"{text}margins: {{stop_room: {FLOOR}}}\n")
        set_axis(vault, Address.parse(HOIST), path, BY)
        approve(vault, f"{HOIST}@first", BY, "as delivered")
    return create_app(folder, is_local=True).test_client()


def at_rest(client: FlaskClient, name: str, when: str = "") -> str:
    """The ratio of a margin as the page has to tell it."""
    found = client.get(f"/api/v1/axis/{HOIST}{when}/margins").json["margins"]
    (one,) = (one for one in found if one["name"] == name)
    return ratio_text(float(one["ratio"]), one["bound"])


def rows(text: str) -> list[str]:
    """Rows of the page's tables as plain words, without what opens on request."""
    found = re.findall(r"<tr>(<th scope=\"row\">.*?)</tr>", text, re.DOTALL)
    closed = [
        re.sub(r"<details>.*?</details>|<svg.*?</svg>", "", row, flags=re.DOTALL) for row in found
    ]
    return [" ".join(unescape(re.sub(r"<[^>]+>", " ", row)).split()) for row in closed]


def test_every_margin_is_a_row_worst_first(client: FlaskClient) -> None:
    told = rows(client.get(f"/axis/{HOIST}/margins").text)
    found = client.get(f"/api/v1/axis/{HOIST}/margins").json["margins"]
    names = [one["name"] for one in found if one["ratio"] is not None]
    assert [name for row, name in zip(told, names, strict=False) if f" {name} " not in row] == []
    waiting = f" {' '.join(told[len(names) :])} "
    assert all(f" {one['name']} " in waiting for one in found if one["ratio"] is None)


def test_a_row_says_how_it_stands_and_what_is_held_against_what(client: FlaskClient) -> None:
    """90 ms against 70 ms, both as they are written: the drive's delay, and the brake's plate."""
    told = rows(client.get(f"/axis/{HOIST}/margins").text)
    assert (
        "The delay that the motor holds against the brake's closing brake_apply △ holds , 1.29 "
        "90 ms against 70 ms"
    ) in told
    (room,) = (row for row in told if " stop_room " in row)
    assert f"▼ below its floor , {at_rest(client, 'stop_room')} " in room
    assert f"; floor {FLOOR} [" in room
    assert "from 906.7 mm/s" in room
    assert told[0] == room
    inches = rows(client.get(f"/axis/{HOIST}/margins?units=inch").text)
    assert any("31.5 in/s against 31.5 in/s" in row for row in inches)


def test_the_page_begins_with_the_answer(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/margins").text
    (told,) = re.findall(r'<p class="verdict">(.*?)</p>', text)
    assert told.endswith(
        "margins: 0 short of 1, 1 below its floor, 5 cannot be told. "
        f"The least is machine_speed: {at_rest(client, 'machine_speed')}."
    )
    assert text.index("verdict") < text.index("<table")


def test_a_bar_shows_floor_and_how_it_stands(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/margins").text
    (told,) = re.findall(r"<desc id=\"margin-stop_room-d\">(.*?)</desc>", text)
    assert told.startswith(f"ratio {at_rest(client, 'stop_room')}: below its floor; ")
    assert f"; floor {FLOOR}" in told


def test_the_baseline_is_marked_where_it_was_another(client: FlaskClient) -> None:
    address = f"/api/v1/axis/{HOIST}/margins"
    rows_ = client.get(address).json["margins"]
    other = [r["name"] for r in rows_ if r["golden"] not in (None, r["ratio"])]
    text = client.get(f"/axis/{HOIST}/margins").text
    assert text.count("≠</span> golden</span>") == len(other) > 0
    told = re.findall(r"<desc id=\"margin-(\w+)-d\">[^<]*golden", text)
    assert sorted(told) == sorted(other)


def test_the_scale_stands_once_for_a_table(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/margins").text
    assert text.count("¼") == text.count('<table class="stack margins even">') == 2


def test_an_axis_without_twin_leads_to_none(client: FlaskClient) -> None:
    for page in ("", "/margins"):
        assert "twins" not in client.get(f"/axis/{HOIST}{page}").text
        twins = client.get(f"/axis/glaze-line-1/lift{page}").text
        (address,) = re.findall(r'href="([^"]+)">(?:Its|Those of its) twins', twins)
        assert client.get(unescape(address)).status_code == 200


def test_what_cannot_be_told_stands_below_with_what_to_enter(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/margins").text
    below = text[text.index("What cannot be told") :]
    assert "duty (what the axis does over and over" in below
    assert f"axisvault axis set {HOIST} FILE" in below
    assert f'href="/axis/{HOIST}/record"' in below
    assert "<svg" not in below


def test_the_axis_page_shows_what_is_recorded_of_it(client: FlaskClient) -> None:
    """The keys that margins rest on, with their values, and the floors."""
    text = client.get(f"/axis/{HOIST}").text
    record = text[text.index('id="as-built"') :]
    for shown in (
        "<dt>pulley circumference</dt><dd>320 mm</dd>", "<dt>orientation</dt><dd>vertical</dd>",
        "<dt>gearbox</dt><dd>motor 10, output 1</dd>", f"<dt>stop room</dt><dd>{FLOOR}</dd>",
    ):  # fmt: skip
        assert shown in record
    headings = re.findall(r"<h3>(.*?)</h3>", record)
    assert {"Mechanics", "Motor", "Brake", "Supply", "Cabinet", "Controller link"} <= {*headings}
    assert f'href="/axis/{HOIST}/margins"' in record


def test_notes_are_told_once_and_every_number_leads_to_one(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/margins").text
    led_to = set(re.findall(r'href="#(note-\d+)"', text))
    assert led_to == set(re.findall(r'id="(note-\d+)"', text)) != set()
    assert text.count("Torque is taken in proportion to current") == 1


def test_what_it_rests_on_leads_to_the_parameters(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/margins").text
    links = set(re.findall(rf'href="(/axis/{HOIST}/parameter/[^"]+)"', text))
    assert len(links) > 20
    assert client.get(min(links)).status_code == 200


def test_an_earlier_state_has_its_own_page(client: FlaskClient) -> None:
    first = client.get(f"/axis/{HOIST}/at/first/margins").text
    assert f"<b>{at_rest(client, 'stop_room', '/at/first')}</b>" in first
    assert first.count("</script>") == 2  # our own


def test_a_broken_floor_stands_on_the_site_the_axis_and_its_baseline(client: FlaskClient) -> None:
    site = client.get("/").text
    urgent = site[site.index("Needs somebody") : site.index("All axes")]
    assert f'href="/axis/{HOIST}"' in urgent
    assert "▼ 1 margin below its floor" in urgent
    assert 'aria-label="hoist: drifted, 1 parameter, 1 margin below its floor"' in re.sub(
        r"drifted, \d+ parameters?", "drifted, 1 parameter", site
    )
    ratio = at_rest(client, "stop_room")
    told = f"Room behind the software limits against a quick stop: {ratio}, and the floor is 9."
    for page in ("", "/golden"):
        assert told in client.get(f"/axis/{HOIST}{page}").text


def test_monitoring_counts_axes_with_a_broken_floor(client: FlaskClient) -> None:
    families = text_string_to_metric_families(client.get("/metrics").text)
    figures = {sample.name: sample.value for one in families for sample in one.samples}
    assert figures["axisvault_axes_below_floor"] == 1


@pytest.mark.parametrize("page", ["", "/at/latest", "/at/latest/check"])
def test_other_pages_of_the_axis_lead_there(page: str, client: FlaskClient) -> None:
    assert '/margins">How much is left</a>' in client.get(f"/axis/{HOIST}{page}").text

"""Machine against machine, and the spread, as pages. The example machines are invented."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from vault.jobs.state.compare_machines import compare_machines
from vault.store.vault import Vault
from webui.app import create_app

TWINS = "/compare?left=glaze-line-1&right=glaze-line-2"


@pytest.fixture(scope="module")
def client(works: Path) -> Iterator[FlaskClient]:
    app = create_app(works, is_local=True)
    yield app.test_client()
    app.extensions["work_queue"].wait(60)


def main_of(client: FlaskClient, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    return unescape(answer.text.partition("<main")[2].partition("</main>")[0])


def test_cards_stand_worst_first_and_lead_to_the_differences_of_their_pairs(
    client: FlaskClient, works: Path
) -> None:
    text = main_of(client, TWINS)
    cards = re.findall(r'<article class="card (\w+)">.*?<a href="([^"]+)">([^<]+)</a>', text, re.S)
    with Vault.open(works) as vault:
        pairs = compare_machines(vault, "glaze-line-1", "glaze-line-2").told
    assert cards == [(pair.worst, pair.address, pair.name) for pair in pairs]
    for _, address, _ in cards:
        assert client.get(address).status_code == 200


def test_what_must_differ_is_folded_and_counted(client: FlaskClient) -> None:
    folded = re.search(
        r"<details><summary>50 things differ and must.*?</details>", main_of(client, TWINS), re.S
    )
    assert folded is not None
    assert "Home offset: 118.4 mm on glaze-line-1, 121.05 mm on glaze-line-2" in folded[0]


def test_units_that_were_chosen_go_along_to_the_pair(client: FlaskClient) -> None:
    text = main_of(client, f"{TWINS}&units=inch")
    assert "right=glaze-line-2/lift&units=inch" in text


def test_axes_of_two_names_are_paired_by_the_form(client: FlaskClient) -> None:
    text = main_of(client, "/compare?left=glaze-line-1&right=kiln-loader")
    assert "No axis of one has a partner on the other" in text
    text = main_of(client, "/compare?left=glaze-line-1&right=kiln-loader&pair=lift=hoist")
    assert ">lift and hoist</a>" in text
    assert 'value="lift=hoist"' in text


def test_the_form_proposes_the_two_machines_that_are_most_alike(client: FlaskClient) -> None:
    chosen = re.findall(r"<option selected>([^<]+)</option>", main_of(client, "/compare"))
    assert chosen == ["glaze-line-1", "glaze-line-2"]


def test_the_page_of_a_machine_proposes_its_twin_first(client: FlaskClient) -> None:
    text = main_of(client, "/machine/glaze-line-2")
    assert re.findall(r"<option>([^<]+)</option>", text)[0] == "glaze-line-1"


def test_the_difference_of_two_axes_folds_what_each_has_for_itself(client: FlaskClient) -> None:
    address = "/compare?left=glaze-line-1/lift&right=glaze-line-2/lift"
    text = main_of(client, address)
    before, _, folded = text.partition("<details><summary>Each axis has its own")
    assert "Home offset: " not in before
    assert "Home offset: 118.4 mm on glaze-line-1" in folded
    assert "Home offset: " in main_of(client, f"{address}&all=1").partition("<details")[0]


def test_a_spread_says_who_is_odd_before_its_table(client: FlaskClient) -> None:
    text = main_of(client, "/spread?pattern=glaze*")
    answer, table = text.index("glaze-line-1/turntable: Input 4 function"), text.index("<table")
    assert answer < table
    assert "hazard" in text[:answer]


def test_one_value_over_all_axes_is_a_picture_and_a_list_by_value(client: FlaskClient) -> None:
    text = main_of(client, "/spread?pattern=*&parameter=following_error_time_out")
    assert "<svg" in text
    rows = re.findall(
        r'<th scope="row"[^>]*>([^<]+?) ?<.*?<td data-head="axes">(\d+)</td>', text, re.S
    )
    assert rows[:2] == [("10 ms", "12"), ("15 ms", "2")]


def test_one_choice_over_all_axes_is_a_list_by_value(client: FlaskClient) -> None:
    text = main_of(client, "/spread?pattern=glaze*&parameter=software_position_limits_used")
    assert "<svg" not in text
    assert re.search(r"Yes \(1\).*?>8<.*?No \(0\).*?>2<", text, re.S)

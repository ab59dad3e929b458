"""Pages of snapshots whose dictionary changed since; drives and values are invented."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from tests.conftest import BY, Take
from vault.jobs.records.edit import add_family
from vault.store.vault import Vault
from webui.app import create_app


@pytest.fixture
def site(
    vault: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path
) -> Iterator[FlaskClient]:
    """The viewer of a vault with two snapshots, of which only the second is by today's."""
    take(export_text())
    path = tmp_path / "hazel.yaml"
    path.write_text(path.read_text().replace("name: Setting 1,", "name: Setting one,"))
    add_family(vault, path, BY)
    take(export_text("3,1"), "2026-03-02T08:00:00+00:00")
    app = create_app(tmp_path / "plant", is_local=True)
    with app.test_client() as client:
        yield client


def text_of(site: FlaskClient, address: str) -> str:
    answer = site.get(address)
    assert answer.status_code == 200, answer.text
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def test_an_older_snapshot_has_a_link_to_its_reading_by_todays_dictionary(
    site: FlaskClient,
) -> None:
    page = site.get("/axis/m1/lift/at/first").text
    assert 'href="/axis/m1/lift/at/first?reread=1">By today' in page
    assert "Setting one" not in page
    assert "The dictionary changed since." not in site.get("/axis/m1/lift/at/latest").text


def test_the_reading_says_what_it_is_and_leads_back(site: FlaskClient) -> None:
    text = text_of(site, "/axis/m1/lift/at/first?reread=1")
    assert "Read by today's dictionary hazel" in text
    assert "Setting one" in text
    assert "As it was recorded" in text
    page = site.get("/axis/m1/lift/at/first?reread=1&units=si").text
    assert 'href="?reread=1&amp;units=inch"' in page or 'href="?reread=1&units=inch"' in page
    assert site.get("/api/v1/axis/m1/lift/at/first?reread=1").json["reread"] is True


def test_a_comparison_says_that_a_side_was_read_again(site: FlaskClient) -> None:
    address = "/compare?left=m1/lift@first&right=m1/lift"
    assert "the left side is read again by today's" in text_of(site, address)
    assert site.get(f"/api/v1{address}").json["reread"]["left"] is True

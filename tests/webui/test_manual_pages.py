"""The manual's pages: contents, topics, a search; without scripts and without a network."""

from __future__ import annotations

from pathlib import Path

import pytest
from flask.testing import FlaskClient

from webui.app import create_app


@pytest.fixture(scope="module")
def client(works: Path) -> FlaskClient:
    return create_app(works, is_local=True).test_client()


def test_every_page_leads_to_the_manual(client: FlaskClient) -> None:
    assert '<a href="/manual">Manual</a>' in client.get("/").text


def test_the_contents_lead_to_topics_and_topics_to_each_other(client: FlaskClient) -> None:
    assert '<a href="/manual/glossary">glossary</a>' in client.get("/manual").text
    assert '<a href="/manual/margins">' in client.get("/manual/glossary").text


def test_a_topic_has_one_heading_of_the_first_order(client: FlaskClient) -> None:
    page = client.get("/manual/trust").text
    assert page.count("<h1>") == 1
    assert '<h2 id="the-witness">The witness</h2>' in page


def test_a_search_leads_to_the_sections_that_have_the_words(client: FlaskClient) -> None:
    page = client.get("/manual?text=witness").text
    assert '<a href="/manual/trust#the-witness">' in page
    assert "sections with these words" in page


def test_a_search_in_vain_says_so_and_shows_what_was_typed_as_text(client: FlaskClient) -> None:
    page = client.get("/manual?text=%3Cxyzzy%3E").text
    assert "says nothing of that" in page
    assert 'value="&lt;xyzzy&gt;"' in page


def test_a_topic_that_is_not_there_is_not_found(client: FlaskClient) -> None:
    answer = client.get("/manual/goldn")
    assert answer.status_code == 404
    assert "did you mean golden" in answer.text


def test_the_data_of_a_topic_is_its_markdown(client: FlaskClient) -> None:
    told = client.get("/api/v1/manual/names").json
    assert told is not None
    assert told["text"].startswith("# Names and marks")

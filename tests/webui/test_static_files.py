"""The look and the scripts: asked for once, and anew when they changed."""

from __future__ import annotations

import re

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.webui.visiting import Visit
from webui import static_files

FILES = ("style.css", "search.js", "forms.js", "work.js", "record.js", "trial.js")


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def test_a_page_names_its_files_so_that_a_browser_need_not_ask_again(client: FlaskClient) -> None:
    found = re.findall(r'(?:href|src)="(/[a-z]+\.(?:css|js)[^"]*)"', client.get("/log-in").text)
    assert [name.partition("?")[0] for name in found] == ["/style.css", "/search.js", "/forms.js"]
    for address in found:
        answer = client.get(address)
        assert answer.status_code == 200
        assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"  # RFC 8246


@pytest.mark.parametrize("name", FILES)
def test_without_its_mark_a_file_is_asked_for_each_time_and_sent_if_it_changed(
    name: str, client: FlaskClient
) -> None:
    for address in (f"/{name}", f"/{name}?v=anotherrelease"):
        first = client.get(address)
        assert first.headers["Cache-Control"] == "no-cache"
        assert len(first.data) > 100
        again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
        assert (again.status_code, again.data) == (304, b"")
        other = client.get(address, headers={"If-None-Match": '"other"'})
        assert other.data == first.data


def test_a_mark_tells_files_apart() -> None:
    assert len({static_files.address(name).partition("?")[2] for name in FILES}) == len(FILES)


def test_who_is_logged_in_keeps_files_too_and_no_page(app: Flask) -> None:
    visit = Visit(app)
    visit.log_in("technician")
    assert visit.get("/").headers["Cache-Control"] == "no-store"
    style = visit.get(static_files.address("style.css"))
    assert "immutable" in style.headers["Cache-Control"]


def test_over_tls_they_say_so_as_pages_do(client: FlaskClient) -> None:
    style = client.get(static_files.address("style.css"), base_url="https://works.example")
    assert "max-age" in style.headers["Strict-Transport-Security"]


def test_there_are_no_other_scripts(client: FlaskClient) -> None:
    answer = client.get("/nothing.js")
    assert answer.status_code == 404
    assert "there is no script" in answer.text

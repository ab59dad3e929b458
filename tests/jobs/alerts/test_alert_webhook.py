"""Webhooks against a real HTTP server; the events are read by the reference library cloudevents."""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from cloudevents.core.bindings.http import HTTPMessage, from_structured_event

from tests.receivers import (
    PATIENCE,
    SITE,
    WebServer,
    a_channel,
    an_alert,
    free_port,
    secrets,
    web_server,
)
from vault.jobs.alerts.channels import NotSent, send

TOKEN = "s3cr3t/token+invented"


@pytest.fixture
def server() -> Iterator[WebServer]:
    with web_server() as running:
        yield running


def test_an_alert_arrives_as_a_cloud_event(server: WebServer, tmp_path: Path) -> None:
    # Source: CloudEvents 1.0, checked by its own Python library, which refuses missing or
    # malformed context attributes.
    alert = an_alert()
    assert send(a_channel(kind="webhook", url=server.url), alert, secrets(tmp_path), SITE) is None
    [(headers, body)] = server.requests
    event = from_structured_event(HTTPMessage(headers, body))
    assert json.loads(body)["specversion"] == "1.0"  # the library would fill it in
    assert event.get_specversion() == "1.0"
    assert event.get_id() == alert.id
    assert event.get_type() == "axisvault.drift"
    assert event.get_source() == "/axisvault/Tile%20works%2C%20hall%202%20%28invented%29"
    assert event.get_subject() == "glaze-line-1/lift"
    assert event.get_time() == alert.time
    assert event.get_datacontenttype() == "application/json"
    data = event.get_data()
    assert isinstance(data, dict)
    assert data == {"site": SITE, **alert.as_mapping()}


def test_the_content_type_is_that_of_structured_mode(server: WebServer, tmp_path: Path) -> None:
    # Source: CloudEvents HTTP protocol binding 1.0, structured content mode (from memory).
    send(a_channel(kind="webhook", url=server.url), an_alert(), secrets(tmp_path), SITE)
    assert server.requests[0][0]["Content-Type"].startswith("application/cloudevents+json")


@pytest.mark.parametrize("status", ["overdue", "test"])
def test_the_type_says_what_happened(server: WebServer, tmp_path: Path, status: str) -> None:
    alert = an_alert(status=status, worst=None, golden=None)
    send(a_channel(kind="webhook", url=server.url), alert, secrets(tmp_path), SITE)
    assert json.loads(server.requests[0][1])["type"] == f"axisvault.{status}"


def test_the_token_goes_along_as_bearer(server: WebServer, tmp_path: Path) -> None:
    channel = a_channel(kind="webhook", url=server.url, token={"env": "HOOK"})
    send(channel, an_alert(), secrets(tmp_path, HOOK=TOKEN + "\n"), SITE)
    assert server.requests[0][0]["Authorization"] == f"Bearer {TOKEN}"


@pytest.mark.parametrize(("answer", "said"), [(500, "500 Internal"), (404, "404"), (429, "429")])
def test_another_answer_than_2xx_is_not_sent(
    server: WebServer, tmp_path: Path, answer: int, said: str
) -> None:
    server.answer = answer
    with pytest.raises(NotSent, match=said):
        send(a_channel(kind="webhook", url=server.url), an_alert(), secrets(tmp_path), SITE)


@pytest.mark.parametrize("answer", [201, 202, 204])
def test_every_2xx_is_sent(server: WebServer, tmp_path: Path, answer: int) -> None:
    server.answer = answer
    send(a_channel(kind="webhook", url=server.url), an_alert(), secrets(tmp_path), SITE)


@pytest.mark.parametrize("answer", [301, 302, 303, 307, 308])
def test_a_redirect_is_not_followed_and_carries_no_token_off(
    server: WebServer, tmp_path: Path, answer: int
) -> None:
    channel = a_channel(kind="webhook", url=server.url, token={"env": "HOOK"})
    with web_server() as elsewhere:
        server.answer = answer
        server.headers = {"Location": f"{elsewhere.url}?t={TOKEN}"}
        with pytest.raises(NotSent, match=r"go to 127\.0\.0\.1") as error:
            send(channel, an_alert(), secrets(tmp_path, HOOK=TOKEN), SITE)
        assert not elsewhere.requests
    assert TOKEN not in str(error.value)


def test_nobody_there_is_said(tmp_path: Path) -> None:
    channel = a_channel(kind="webhook", url=f"http://127.0.0.1:{free_port()}/")
    with pytest.raises(NotSent, match="refused"):
        send(channel, an_alert(), secrets(tmp_path), SITE)


def test_no_answer_in_time_is_said(server: WebServer, tmp_path: Path) -> None:
    server.answer = "hang"
    channel = a_channel(kind="webhook", url=server.url, timeout=0.1)
    with pytest.raises(NotSent, match=r"no answer within 0\.1 s"):
        send(channel, an_alert(), secrets(tmp_path), SITE)


def test_a_host_that_speaks_something_else_is_said(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def answer() -> None:
            connection, _ = listener.accept()
            with connection:
                connection.recv(65536)
                connection.sendall(b"220 relay.example ESMTP\r\n")

        thread = threading.Thread(target=answer, daemon=True)
        thread.start()
        url = f"http://127.0.0.1:{listener.getsockname()[1]}/"
        with pytest.raises(NotSent, match="speaks no HTTP"):
            send(a_channel(kind="webhook", url=url), an_alert(), secrets(tmp_path), SITE)
        thread.join(PATIENCE)


def test_a_token_that_is_missing_is_named_and_nothing_is_sent(
    server: WebServer, tmp_path: Path
) -> None:
    channel = a_channel(kind="webhook", url=server.url, token={"env": "HOOK"})
    with pytest.raises(NotSent, match="environment variable HOOK is not set"):
        send(channel, an_alert(), secrets(tmp_path), SITE)
    assert not server.requests

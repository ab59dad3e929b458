"""The commands `alerts list`, `alerts send` and `alerts test`, each in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.receivers import Clock, WebServer, a_channel, an_alert, announce, web_server
from vault.store.local.outbox import FILE
from vault.store.vault import Vault

ROOT = Path(__file__).parents[2]
BY = "Mira Okafor <mira@tileworks.example>"
WORD = "w0rd-of-nobody"
Cli = Callable[..., Any]


@pytest.fixture
def server() -> Iterator[WebServer]:
    with web_server() as running:
        yield running


@pytest.fixture
def plant(vault: Vault, server: WebServer) -> Vault:
    """A vault with a webhook that wants a token, and an alert that waits for it."""
    entry = f"alerts:\n- {{name: hook, kind: webhook, url: '{server.url}', token: {{env: HOOK}}}}\n"
    with vault.writing():
        content = (vault.read("vault.yaml") or b"") + entry.encode()
        vault.write_files({"vault.yaml": content}, "Alerts\n", BY)
    channel = a_channel(kind="webhook", name="hook", url=server.url, token={"env": "HOOK"})
    announce(vault.state, [channel], an_alert(), clock=Clock())
    return vault


def test_what_waits_is_listed_with_what_kept_it(plant: Vault, cli: Cli) -> None:
    assert "waits: not tried yet" in cli("alerts", "list").stdout
    assert cli("alerts", "send").code == 1
    listed = cli("alerts", "list")
    assert listed.code == 0
    assert f"hook  {an_alert().subject}\n" in listed.stdout
    assert "since 2026-03-01 08:00, waits: tried 1 time in vain, again " in listed.stdout
    assert "the environment variable HOOK is not set where alerts are sent" in listed.stdout
    [found] = cli("alerts", "list", "--json").json["alerts"]
    assert (found["id"], found["channel"], found["attempts"]) == (an_alert().id, "hook", 1)
    assert found["next_try"] is not None
    assert found["sent"] is None


def test_send_sends_what_is_due_and_list_shows_it_with_all(
    plant: Vault, cli: Cli, server: WebServer
) -> None:
    cli("alerts", "send")
    waits = cli("alerts", "send", "--json", environment={"HOOK": WORD})
    assert waits.code == 0
    assert waits.json == {"sent": [], "failed": [], "busy": False, "waiting": 1}
    done = cli("alerts", "send", "--now", environment={"HOOK": WORD})
    assert done.code == 0
    assert done.stdout == f"Sent by hook: {an_alert().subject}\nNo message waits.\n"
    assert len(server.requests) == 1
    assert cli("alerts", "list").stdout == "No message waits.\n"
    assert "went out" in cli("alerts", "list", "--all").stdout
    assert cli("alerts", "list", "--all", "--json").json["alerts"][0]["sent"]


def test_the_secret_is_in_nothing_that_is_shown_or_kept(
    plant: Vault, cli: Cli, server: WebServer
) -> None:
    server.answer = 307
    server.headers = {"Location": f"http://{WORD}/"}
    shown = [
        cli("alerts", *words, environment={"HOOK": WORD})
        for words in (["send"], ["send", "--now", "--json"], ["test", "hook"], ["list", "--json"])
    ]
    assert server.requests[0][0]["Authorization"] == f"Bearer {WORD}"
    assert all(WORD not in run.stdout + run.stderr for run in shown)
    kept = [path for path in plant.repository.path.rglob("*") if path.is_file()]
    assert all(WORD.encode() not in path.read_bytes() for path in kept)


def test_a_channel_can_be_tried(plant: Vault, cli: Cli, server: WebServer) -> None:
    tried = cli("alerts", "test", "hook", environment={"HOOK": WORD})
    assert (tried.code, tried.stdout) == (0, "A test message went out by hook.\n")
    event = json.loads(server.requests[0][1])
    assert event["type"] == "axisvault.test"
    assert event["id"] != an_alert().id
    failed = cli("alerts", "test", "hook")
    assert failed.code == 1
    assert "HOOK is not set" in failed.stdout
    as_json = cli("alerts", "test", "hook", "--json")
    assert as_json.code == 1
    assert as_json.json["sent"] is False
    assert "HOOK is not set" in as_json.json["error"]


def test_an_unknown_channel_is_answered_with_those_there_are(plant: Vault, cli: Cli) -> None:
    tried = cli("alerts", "test", "hok")
    assert tried.code == 2
    assert "no channel 'hok' (it has: hook)" in tried.stderr


def test_a_damaged_outbox_is_said_where_people_look(plant: Vault, cli: Cli) -> None:
    for path in plant.state.glob(f"{FILE}-*"):
        path.unlink()
    (plant.state / FILE).write_bytes(b"no database" * 500)
    listed = cli("alerts", "list")
    assert listed.code == 0
    assert f"put aside, with what waited in it: {plant.state}/{FILE}.damaged-" in listed.stdout
    assert len(cli("alerts", "list", "--json").json["set_aside"]) == 1


def test_a_message_whose_channel_is_gone_is_shown_as_such(plant: Vault, cli: Cli) -> None:
    with plant.writing():
        content = (plant.read("vault.yaml") or b"").replace(b"name: hook", b"name: other")
        plant.write_files({"vault.yaml": content}, "Alerts\n", BY)
    assert cli("alerts", "send").code == 0
    assert "vault.yaml has no such channel any more" in cli("alerts", "list").stdout
    assert cli("alerts", "list", "--json").json["alerts"][0]["channel_gone"] is True


@pytest.mark.parametrize("command", ["list", "send", "test"])
def test_help_shows_one_example(cli: Cli, command: str) -> None:
    text = cli("alerts", command, "--help").stdout
    assert text.count(f"Example: axisvault alerts {command}") == 1
    assert "--json" in text


def test_the_help_of_axisvault_loads_nothing_of_alerts() -> None:
    code = (
        "import sys; from vault.cli import run; run(['--help'])\n"
        "wrong = {'apprise', 'requests', 'smtplib', 'urllib.request', 'vault.jobs', 'sqlite3',"
        " 'vault.cli.alerts'} & set(sys.modules)\n"
        "sys.exit(' '.join(wrong) or 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "alerts" in done.stdout

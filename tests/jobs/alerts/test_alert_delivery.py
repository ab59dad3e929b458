"""Delivery: nothing is lost, nothing goes out twice, a dead channel holds up no other."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.receivers import (
    PATIENCE,
    SITE,
    Clock,
    WebServer,
    a_channel,
    an_alert,
    announce,
    free_port,
    web_server,
)
from vault.jobs.alerts.deliver import (
    KEPT,
    Delivered,
    _Sender,
    channels_of,
    deliver,
    keep_delivering,
    pause,
    start_delivery,
    waiting,
)
from vault.model.errors import Unreadable
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

ROOT = Path(__file__).parents[3]
BY = "Mira Okafor <mira@tileworks.example>"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def state(tmp_path: Path) -> Path:
    folder = tmp_path / "plant" / "axisvault"
    folder.mkdir(parents=True)
    return folder


@pytest.fixture
def server() -> Iterator[WebServer]:
    with web_server() as running:
        yield running


def hook(server: WebServer, **more: Any) -> Any:
    return a_channel(kind="webhook", name="hook", url=server.url, **more)


def log(folder: Path, name: str = "log") -> Any:
    return a_channel(kind="file", name=name, path=str(folder / f"{name}.jsonl"))


def logged(folder: Path, name: str = "log") -> list[str]:
    path = folder / f"{name}.jsonl"
    return [json.loads(line)["id"] for line in path.read_text().splitlines()]


def arrived(server: WebServer) -> list[str]:
    return [json.loads(body)["id"] for _, body in server.requests]


def test_what_waits_goes_out_once(state: Path, clock: Clock, server: WebServer) -> None:
    alerts = [an_alert(n) for n in range(5)]
    announce(state, [hook(server)], *alerts, clock=clock)
    done = deliver(state, [hook(server)], SITE, moment=clock)
    assert [message.alert for message in done.sent] == alerts
    assert deliver(state, [hook(server)], SITE, moment=clock) == Delivered()
    assert arrived(server) == [alert.id for alert in alerts]
    assert not waiting(state, [hook(server)], moment=clock)


def test_what_was_sent_is_kept_for_a_year(state: Path, clock: Clock, server: WebServer) -> None:
    def kept() -> list[str]:
        with Outbox(state, clock) as outbox:
            return [message.alert.id for message in outbox.all_since(clock() - 2 * KEPT)]

    announce(state, [hook(server)], an_alert(1), clock=clock)
    deliver(state, [hook(server)], SITE, moment=clock)
    clock.go_on(days=365)
    deliver(state, [hook(server)], SITE, moment=clock)
    assert kept() == [an_alert(1).id]
    clock.go_on(seconds=1)
    deliver(state, [hook(server)], SITE, moment=clock)
    assert kept() == []


def test_without_an_outbox_nothing_is_done_nor_made(state: Path, clock: Clock) -> None:
    assert deliver(state, [], SITE, moment=clock) == Delivered()
    assert waiting(state, []) == []
    assert not list(state.iterdir())


def test_the_pause_doubles_from_a_minute_to_six_hours() -> None:
    minutes = [pause(n) / timedelta(minutes=1) for n in range(1, 12)]
    assert minutes == [1, 2, 4, 8, 16, 32, 64, 128, 256, 360, 360]
    assert pause(10**6) == timedelta(hours=6)


def test_a_channel_that_comes_back_gets_everything_in_order(
    state: Path, clock: Clock, server: WebServer
) -> None:
    channel = hook(server)
    server.answer = 500
    announce(state, [channel], an_alert(1), clock=clock)
    for attempt in range(1, 5):
        assert len(deliver(state, [channel], SITE, moment=clock).failed) == 1
        assert deliver(state, [channel], SITE, moment=clock) == Delivered()  # not before its time
        [found] = waiting(state, [channel], moment=clock)
        assert found.message.attempts == attempt
        assert found.message.error == "answered 500 Internal Server Error"
        assert found.message.next_try == clock() + pause(attempt)
        clock.moment = found.message.next_try
    server.answer = 204
    clock.go_on(seconds=1)
    announce(state, [channel], an_alert(2), clock=clock)
    deliver(state, [channel], SITE, moment=clock)
    assert arrived(server) == [an_alert(1).id] * 5 + [an_alert(2).id]
    assert not waiting(state, [channel], moment=clock)


def test_early_delivery_does_not_wait_for_the_next_try(
    state: Path, clock: Clock, server: WebServer
) -> None:
    server.answer = 500
    announce(state, [hook(server)], an_alert(), clock=clock)
    deliver(state, [hook(server)], SITE, moment=clock)
    server.answer = 200
    assert deliver(state, [hook(server)], SITE, moment=clock, early=True).sent


def test_a_dead_channel_is_tried_three_times_a_call_and_keeps_everything(
    state: Path, clock: Clock, server: WebServer
) -> None:
    server.answer = 503
    announce(state, [hook(server)], *(an_alert(n) for n in range(10)), clock=clock)
    assert len(deliver(state, [hook(server)], SITE, moment=clock).failed) == 3
    assert len(waiting(state, [hook(server)], moment=clock)) == 10
    server.answer = 200
    assert len(deliver(state, [hook(server)], SITE, moment=clock).sent) == 7
    clock.go_on(minutes=1)
    assert len(deliver(state, [hook(server)], SITE, moment=clock).sent) == 3
    assert len(set(arrived(server))) == 10


def test_a_message_left_to_the_sender_at_work_in_its_last_moment_goes_out(
    state: Path, clock: Clock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    announce(state, [log(tmp_path)], an_alert(1), clock=clock)
    run, late = _Sender.run, iter([an_alert(2)])

    def run_then_announce(sender: _Sender) -> None:
        run(sender)
        for alert in late:
            announce(state, [log(tmp_path)], alert, clock=clock)
            assert deliver(state, [log(tmp_path)], SITE, moment=clock).is_busy

    monkeypatch.setattr(_Sender, "run", run_then_announce)
    deliver(state, [log(tmp_path)], SITE, moment=clock)
    assert logged(tmp_path) == [an_alert(1).id, an_alert(2).id]


def test_a_hanging_channel_holds_up_no_other_nor_what_is_announced_meanwhile(
    state: Path, clock: Clock, server: WebServer, tmp_path: Path
) -> None:
    server.answer = "hang"
    channels = [hook(server, timeout=PATIENCE * 4), log(tmp_path)]
    announce(state, channels, an_alert(1), clock=clock)
    done: list[Delivered] = []
    sender = threading.Thread(
        target=lambda: done.append(deliver(state, channels, SITE, moment=clock)), daemon=True
    )
    sender.start()
    assert server.reached.wait(PATIENCE)
    announce(state, channels, an_alert(2), clock=clock)
    assert deliver(state, channels, SITE, moment=clock).is_busy  # left to the one at work
    tick = threading.Event()
    for _ in range(int(PATIENCE / 0.05)):
        if (tmp_path / "log.jsonl").exists() and len(logged(tmp_path)) == 2:
            break
        tick.wait(0.05)
    assert logged(tmp_path) == [an_alert(1).id, an_alert(2).id]
    assert sender.is_alive()  # the hook hangs still
    server.answer = 200
    server.release.set()
    sender.join(PATIENCE)
    assert not sender.is_alive()
    # The one that hung was answered with nothing: it waits; the other went out.
    [left] = waiting(state, channels, moment=clock)
    assert left.message.key == (an_alert(1).id, "hook")
    assert len(done[0].sent) == 3


def test_a_channel_that_never_ends_is_let_go(state: Path, clock: Clock, server: WebServer) -> None:
    server.answer = "drip"  # every byte comes in time, the answer never
    channel = hook(server, timeout=0.1)
    announce(state, [channel], an_alert(), clock=clock)
    assert len(deliver(state, [channel], SITE, moment=clock).failed) == 1
    [left] = waiting(state, [channel], moment=clock)
    assert left.message.error == "it was still not done long after its timeout"


def test_a_message_to_a_channel_that_is_gone_stays_and_is_shown_as_such(
    state: Path, clock: Clock, server: WebServer, tmp_path: Path
) -> None:
    announce(state, [hook(server), log(tmp_path)], an_alert(), clock=clock)
    deliver(state, [log(tmp_path)], SITE, moment=clock)
    [left] = waiting(state, [log(tmp_path)], moment=clock)
    assert left.is_gone
    assert left.message.channel == "hook"
    deliver(state, [hook(server)], SITE, moment=clock)
    assert arrived(server) == [an_alert().id]


def test_a_message_that_a_receiver_does_not_take_holds_up_no_other(
    state: Path, clock: Clock, tmp_path: Path, server: WebServer
) -> None:
    channel = hook(server, token={"env": "NOT_SET_FOR_TESTS"})
    announce(state, [channel, log(tmp_path)], an_alert(1), clock=clock)
    deliver(state, [channel, log(tmp_path)], SITE, moment=clock)
    assert logged(tmp_path) == [an_alert(1).id]
    [left] = waiting(state, [channel, log(tmp_path)], moment=clock)
    assert "NOT_SET_FOR_TESTS is not set" in (left.message.error or "")


def test_secrets_are_nowhere_in_the_outbox(
    state: Path, clock: Clock, server: WebServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOOK", "w0rd-of-nobody")
    server.answer = 307
    server.headers = {"Location": "http://w0rd-of-nobody/"}  # a receiver that gives it back
    channel = hook(server, token={"env": "HOOK"})
    announce(state, [channel], an_alert(), clock=clock)
    deliver(state, [channel], SITE, moment=clock)
    assert server.requests[0][0]["Authorization"] == "Bearer w0rd-of-nobody"
    [left] = waiting(state, [channel], moment=clock)
    assert "go to ***" in (left.message.error or "")
    assert all(b"w0rd-of-nobody" not in path.read_bytes() for path in state.iterdir())


SENDER = """
import sys
from pathlib import Path
from tests.receivers import SITE, a_channel
from vault.jobs.alerts.deliver import deliver
url, log = sys.argv[2:]
channels = [a_channel(kind="webhook", name="hook", url=url),
            a_channel(kind="file", name="log", path=log)]
deliver(Path(sys.argv[1]), channels, SITE)
"""


def test_a_sender_killed_in_the_middle_loses_nothing_and_repeats_only_what_was_open(
    state: Path, clock: Clock, server: WebServer, tmp_path: Path
) -> None:
    channels = [hook(server), log(tmp_path)]
    alerts = [an_alert(n) for n in range(6)]
    announce(state, channels, *alerts, clock=clock)
    answers = iter([200, 200, "hang"])

    class Answers(list[Any]):
        def append(self, request: Any) -> None:
            super().append(request)
            server.answer = next(answers, "hang")

    server.requests = Answers()
    place = [str(state), server.url, str(tmp_path / "log.jsonl")]
    with subprocess.Popen([sys.executable, "-c", SENDER, *place], cwd=ROOT) as process:
        tick = threading.Event()
        for _ in range(int(PATIENCE / 0.05)):
            if len(server.requests) == 4 and len(logged(tmp_path)) == 6:
                break
            tick.wait(0.05)
        process.send_signal(signal.SIGKILL)
    assert arrived(server) == [alert.id for alert in alerts[:4]]
    answers = iter([])
    server.requests = list(server.requests)
    server.answer = 200
    server.release.set()
    deliver(state, channels, SITE, moment=clock)
    open_then = alerts[3].id  # sent, not answered: nobody can know whether it was taken
    assert arrived(server) == [a.id for a in alerts[:4]] + [open_then, alerts[4].id, alerts[5].id]
    assert logged(tmp_path) == [alert.id for alert in alerts]
    assert not waiting(state, channels, moment=clock)


def with_channels(vault: Vault, text: str) -> Path:
    with vault.writing():
        content = vault.read("vault.yaml") or b""
        vault.write_files({"vault.yaml": content + text.encode()}, "Alerts\n", BY)
    return vault.repository.path


def test_channels_come_from_vault_yaml(vault: Vault) -> None:
    assert channels_of(vault) == ()
    with_channels(vault, "alerts:\n- {name: log, kind: file, path: /var/log/axes.jsonl}\n")
    assert [channel.name for channel in channels_of(vault)] == ["log"]


def test_a_wrong_channel_is_named_by_file_line_and_key(vault: Vault) -> None:
    with_channels(vault, "alerts:\n- name: log\n  kind: file\n  path: axes.jsonl\n")
    with pytest.raises(Unreadable) as error:
        channels_of(vault)
    assert str(error.value).startswith("vault.yaml, line 7: alerts.0.path: ")


def test_the_one_who_stays_tries_again_until_all_is_out(
    vault: Vault, clock: Clock, server: WebServer
) -> None:
    folder = with_channels(
        vault, f"alerts:\n- {{name: hook, kind: webhook, url: '{server.url}'}}\n"
    )
    server.answer = 500
    announce(vault.state, [hook(server)], an_alert(), clock=clock)
    slept: list[float] = []

    def sleep(seconds: float) -> None:
        slept.append(seconds)
        clock.go_on(seconds=seconds)
        server.answer = 200 if len(server.requests) == 3 else 500

    done = keep_delivering(folder, Delivered(), moment=clock, wait=sleep)
    assert len(server.requests) == 4
    assert len(done.sent) == 1
    assert sum(slept) == pytest.approx((1 + 2 + 4) * 60, abs=2)
    assert max(slept) <= 60


def test_the_one_who_stays_gives_up_after_a_day_and_keeps_the_message(
    vault: Vault, clock: Clock
) -> None:
    dead = f"http://127.0.0.1:{free_port()}/"
    folder = with_channels(vault, f"alerts:\n- {{name: hook, kind: webhook, url: '{dead}'}}\n")
    channel = a_channel(kind="webhook", name="hook", url=dead)
    announce(vault.state, [channel], an_alert(), clock=clock)
    start = clock()
    longest = timedelta(hours=1)
    keep_delivering(
        folder, Delivered(), moment=clock, wait=lambda s: clock.go_on(seconds=s), longest=longest
    )
    assert longest <= clock() - start <= longest + timedelta(minutes=1)
    assert len(waiting(vault.state, [channel], moment=clock)) == 1


def test_nobody_waits_for_a_delivery_that_was_started(
    vault: Vault, server: WebServer, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    (tmp_path / "queue.py").write_text("raise SystemExit('a module beside the exports')")
    monkeypatch.chdir(tmp_path)
    folder = with_channels(
        vault, f"alerts:\n- {{name: hook, kind: webhook, url: '{server.url}'}}\n"
    )
    server.answer = "hang"
    announce(vault.state, [hook(server)], an_alert(), clock=Clock())
    process = start_delivery(folder)
    assert process is not None
    try:
        assert os.getsid(process.pid) != os.getsid(0)  # it outlives the terminal
        assert server.reached.wait(PATIENCE)
        assert process.poll() is None
    finally:
        process.kill()
        process.wait()
    with Outbox(vault.state) as outbox:
        assert len(outbox.due()) == 1
    server.answer = 200
    server.release.set()
    again = start_delivery(folder)
    assert again is not None
    assert again.wait(PATIENCE) == 0
    assert not waiting(vault.state, [hook(server)])

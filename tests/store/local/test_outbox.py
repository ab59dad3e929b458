"""The outbox: queued once, never lost, kept apart from what can be rebuilt."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.receivers import PATIENCE, Clock, a_channel, an_alert
from vault.model.alerts import Alert
from vault.model.errors import Unavailable
from vault.store.local import outbox as module
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

ROOT = Path(__file__).parents[3]
LIFT = "glaze-line-1/lift"
MAIL = a_channel(kind="syslog", name="mail", host="127.0.0.1")
LOG = a_channel(kind="file", name="log", path="/tmp/log", from_class="travel")


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def outbox(tmp_path: Path, clock: Clock) -> Iterator[Outbox]:
    with Outbox(tmp_path, clock) as opened:
        yield opened


def keys(outbox: Outbox, **how: bool) -> list[tuple[str, str]]:
    return [message.key for message in outbox.due(**how)]


def test_an_alert_is_queued_once_for_each_channel(outbox: Outbox) -> None:
    alert = an_alert()
    assert outbox.announce(LIFT, "{}", [alert], [MAIL, LOG]) == 2
    assert outbox.announce(LIFT, "{}", [alert], [MAIL, LOG]) == 0
    assert keys(outbox) == [(alert.id, "mail"), (alert.id, "log")]
    assert outbox.due()[0].alert == alert


def test_what_went_out_is_not_queued_again(outbox: Outbox) -> None:
    outbox.announce(LIFT, "{}", [an_alert()], [MAIL])
    outbox.mark_sent(outbox.due()[0])
    assert outbox.announce(LIFT, "{}", [an_alert()], [MAIL]) == 0
    assert not outbox.due(early=True)


def test_a_channel_gets_only_what_is_bad_enough_for_it(outbox: Outbox) -> None:
    alerts = [
        an_alert("bad", worst="hazard"),
        an_alert("as bad as it must be", worst="travel"),
        an_alert("mild", worst="dynamics"),
        an_alert("of no class", worst=None, status="overdue"),
    ]
    outbox.announce(LIFT, "{}", alerts, [LOG])
    assert [m.alert.id.rpartition(".")[2] for m in outbox.due()] == [
        "bad", "as bad as it must be", "of no class",
    ]  # fmt: skip


def test_what_was_told_is_kept_with_the_messages_or_not_at_all(outbox: Outbox) -> None:
    def breaks_off() -> Iterator[Alert]:
        yield an_alert(2)
        raise KeyError("in the middle")

    assert outbox.last_announced(LIFT) is None
    outbox.announce(LIFT, '{"n": 1}', [an_alert(1)], [MAIL])
    with pytest.raises(KeyError):
        outbox.announce(LIFT, '{"n": 2}', breaks_off(), [MAIL])
    assert outbox.last_announced(LIFT) == '{"n": 1}'
    assert keys(outbox) == [(an_alert(1).id, "mail")]
    outbox.announce(LIFT, None, [], [MAIL])
    assert outbox.last_announced(LIFT) is None


def test_a_failed_message_is_due_again_at_its_time(outbox: Outbox, clock: Clock) -> None:
    outbox.announce(LIFT, "{}", [an_alert()], [MAIL])
    outbox.mark_failed(outbox.due()[0], "nobody there", clock() + timedelta(minutes=1))
    assert not outbox.due()
    assert keys(outbox, early=True)
    clock.go_on(seconds=59.999999)
    assert not outbox.due()
    clock.go_on(seconds=0.000001)
    [message] = outbox.due()
    assert (message.attempts, message.error) == (1, "nobody there")
    assert message.next_try == clock()


def test_everything_survives_closing_and_a_deleted_index(
    vault: Vault, clock: Clock, tmp_path: Path
) -> None:
    with Outbox(vault.state, clock) as outbox:
        outbox.announce(LIFT, '{"n": 1}', [an_alert()], [MAIL])
    for path in vault.state.glob("index.sqlite*"):
        path.unlink()
    with Vault.open(vault.repository.path) as again:
        again.reindex()
    with Outbox(vault.state, clock) as outbox:
        assert outbox.last_announced(LIFT) == '{"n": 1}'
        assert keys(outbox)


def test_lists_show_what_waits_and_what_went_out_of_late(outbox: Outbox, clock: Clock) -> None:
    outbox.announce(LIFT, "{}", [an_alert(n) for n in "abc"], [MAIL])
    outbox.mark_sent(outbox.due()[0])
    outbox.mark_sent(outbox.due()[0], "one recipient refused")
    assert [m.alert.id[-1] for m in outbox.waiting()] == ["b", "c"]
    assert [m.alert.id[-1] for m in outbox.all_since(clock())] == ["a", "b", "c"]
    clock.go_on(days=8)
    assert [m.alert.id[-1] for m in outbox.waiting()] == ["c"]
    assert [m.alert.id[-1] for m in outbox.all_since(clock())] == ["c"]


def test_what_went_out_long_ago_is_forgotten_and_what_waits_never(
    outbox: Outbox, clock: Clock
) -> None:
    outbox.announce(LIFT, "{}", [an_alert(1), an_alert(2)], [MAIL])
    outbox.mark_sent(outbox.due()[0])
    sent = clock()
    outbox.forget_sent(sent)
    assert len(outbox.all_since(sent)) == 2
    clock.go_on(days=4000)
    outbox.forget_sent(clock())
    assert [m.alert.id for m in outbox.all_since(sent)] == [an_alert(2).id]


def filled(state: Path, clock: Clock) -> bytes:
    with Outbox(state, clock) as outbox:
        alerts = [an_alert(n, sentences=("x" * 2000,)) for n in range(20)]
        outbox.announce(LIFT, '{"n": 1}', alerts, [MAIL])
    return (state / module.FILE).read_bytes()


@pytest.mark.parametrize("damage", ["no database", "head", "middle", "cut"])
def test_a_damaged_file_is_set_aside_and_shown(tmp_path: Path, clock: Clock, damage: str) -> None:
    content = filled(tmp_path, clock)
    half = len(content) // 2
    bad = {
        "no database": b"this is no database" * 400,
        "head": b"\0" * 16 + content[16:],
        "middle": content[:4096] + b"\xff" * (len(content) - 4096),
        "cut": content[:half],
    }[damage]
    (tmp_path / module.FILE).write_bytes(bad)
    with Outbox(tmp_path, clock) as outbox:
        assert outbox.last_announced(LIFT) is None
        assert outbox.announce(LIFT, '{"n": 1}', [an_alert()], [MAIL]) == 1
    [aside] = Outbox.set_aside(tmp_path)
    assert aside.read_bytes() == bad
    with Outbox(tmp_path, clock) as outbox:  # and never again
        assert keys(outbox) == [(an_alert().id, "mail")]
    assert Outbox.set_aside(tmp_path) == [aside]


def test_a_whole_file_is_never_set_aside(tmp_path: Path, clock: Clock) -> None:
    filled(tmp_path, clock)
    with Outbox(tmp_path, clock), Outbox(tmp_path, clock) as second:
        assert len(second.due()) == 20
    assert not Outbox.set_aside(tmp_path)


def test_a_place_that_cannot_be_written_is_an_error_and_no_loss(
    tmp_path: Path, clock: Clock
) -> None:
    (tmp_path / "file").touch()
    for place in (tmp_path / "file", tmp_path / "no/such/folder"):
        with pytest.raises(Unavailable, match="outbox of alerts cannot be used"):
            Outbox(place, clock)


def test_a_full_disk_is_an_error_and_nothing_half_is_kept(outbox: Outbox) -> None:
    # SQLite's own limit stands for the disk's: the error is the same (SQLITE_FULL).
    outbox.announce(LIFT, '{"n": 1}', [an_alert(1)], [MAIL])
    outbox._database.execute("PRAGMA max_page_count = 8")
    many = [an_alert(n, sentences=("x" * 4000,)) for n in range(100)]
    with pytest.raises(Unavailable, match="full"):
        outbox.announce(LIFT, '{"n": 2}', many, [MAIL])
    assert outbox.last_announced(LIFT) == '{"n": 1}'
    assert len(outbox.due()) == 1


def test_a_newer_program_s_outbox_is_left_alone(tmp_path: Path, clock: Clock) -> None:
    filled(tmp_path, clock)
    with closing(sqlite3.connect(tmp_path / module.FILE)) as database:
        database.execute("PRAGMA user_version = 99")
    with pytest.raises(Unavailable, match="newer axisvault"):
        Outbox(tmp_path, clock)
    assert not Outbox.set_aside(tmp_path)


def test_a_message_of_a_newer_program_is_said_and_kept(tmp_path: Path, clock: Clock) -> None:
    filled(tmp_path, clock)
    with closing(sqlite3.connect(tmp_path / module.FILE)) as database, database:
        database.execute("UPDATE messages SET alert = replace(alert, 'drifted\"', 'later\"')")
    with Outbox(tmp_path, clock) as outbox, pytest.raises(Unavailable, match="cannot be read"):
        outbox.due()
    assert not Outbox.set_aside(tmp_path)


ANNOUNCER = """
import sys
from pathlib import Path
from tests.receivers import a_channel, an_alert
from vault.store.local.outbox import Outbox
mail = a_channel(kind="syslog", name="mail", host="127.0.0.1")
print("ready", flush=True)
sys.stdin.readline()
for number in range(40):
    with Outbox(Path(sys.argv[1])) as outbox:
        outbox.announce("m1/lift", str(number), [an_alert(number)], [mail])
        print(number, flush=True)
"""


def announcer(state: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", ANNOUNCER, str(state)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def lines(process: subprocess.Popen[str]) -> Any:
    assert process.stdout is not None
    return process.stdout


def go(process: subprocess.Popen[str]) -> None:
    assert lines(process).readline() == "ready\n"
    assert process.stdin is not None
    process.stdin.write("go\n")
    process.stdin.flush()


def test_several_processes_that_announce_the_same_queue_it_once(tmp_path: Path) -> None:
    processes = [announcer(tmp_path) for _ in range(3)]
    for process in processes:
        go(process)
    for process in processes:
        process.communicate(timeout=PATIENCE)
        assert process.returncode == 0
    with Outbox(tmp_path) as outbox:
        assert len(outbox.due()) == 40


def test_what_was_announced_before_a_kill_is_there_after_it(tmp_path: Path) -> None:
    with announcer(tmp_path) as process:
        go(process)
        for _ in range(15):
            last = int(lines(process).readline())
        process.send_signal(signal.SIGKILL)
    with Outbox(tmp_path) as outbox:
        found = {message.alert.id for message in outbox.due()}
        assert {an_alert(n).id for n in range(last + 1)} <= found
        told = outbox.last_announced("m1/lift")
        assert told is not None
        assert len(found) == int(told) + 1

"""Which drift is news: one alert for a change of state. The family hazel, exports and people are
invented; CloudEvents are read by the reference library `cloudevents`.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
from cloudevents.core.bindings.http import HTTPMessage, from_structured_event

from tests.receivers import PATIENCE, WebServer, web_server
from vault.jobs.alerts import raise_alerts as module
from vault.jobs.alerts.confirm import channels_of
from vault.jobs.alerts.deliver import waiting
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.jobs.baseline import golden
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.records.edit import set_axis, set_site
from vault.jobs.watch.watcher import Watcher
from vault.model.alerts import Alert
from vault.model.errors import Damaged, Unavailable
from vault.model.names import Address
from vault.store.clock import now
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

ROOT = Path(__file__).parents[3]
BY = "Mira Okafor <mira@tileworks.example>"
PAVO = "Pavo Drostmaa <pavo@tileworks.example>"
LIFT, CRANE = Address("m1", "lift"), Address("m1", "crane")
Take = Callable[..., Any]
Export = Callable[..., str]
Cli = Callable[..., Any]


def with_channel(vault: Vault, folder: Path, *lines: str, channel: str = "") -> None:
    entry = channel or f"{{kind: file, name: log, path: {folder / 'log.jsonl'}}}"
    path = folder / "vault.yaml"
    path.write_text(
        "\n".join(
            (
                "schema: axisvault/vault/1",
                "site: Tile works (invented)",
                f"alerts: [{entry}]",
                "viewer: http://vault.tileworks.example/",
                *lines,
                "",
            )
        )
    )
    set_site(vault, path, BY)


@pytest.fixture
def guarded(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Vault:
    """A lift whose approved window is 2.5 mm, on a site with a channel."""
    take(export_text("2,5"), "2026-03-01")
    golden.approve(vault, "m1/lift", PAVO, "accepted")
    with_channel(vault, tmp_path)
    return vault


def queued(vault: Vault) -> list[Alert]:
    """All alerts that were raised so far, in order."""
    if not Outbox.exists(vault.state):
        return []
    with Outbox(vault.state) as outbox:
        return [message.alert for message in outbox.due()]


def test_new_drift_is_told_once_with_sentences_and_a_link(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    found = take(export_text("5"), "2026-03-02")
    [alert] = queued(guarded)
    assert (alert.axis, alert.status, alert.worst) == ("m1/lift", "drifted", "hazard")
    assert alert.subject == ("m1/lift: 1 parameter drifted from the golden baseline, worst hazard")
    assert "[hazard] Following error window: 2.5 mm became 5 mm" in alert.sentences[0]
    assert alert.links == ("http://vault.tileworks.example/axis/m1/lift",)
    assert alert.snapshot == found.snapshot.id
    assert raise_alerts(guarded) == []
    take(export_text("5"), "2026-03-03")  # the same drift, in a further export
    assert queued(guarded) == [alert]


def test_an_axis_in_line_or_without_a_baseline_is_no_news(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-02")
    take(export_text("9"), "2026-03-02", "m1/crane", override_reason="a twin")
    take(export_text("99"), "2026-03-03", "m1/crane")
    assert raise_alerts(guarded) == []
    assert queued(guarded) == []


def test_without_a_channel_nothing_is_looked_at_or_kept(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text("2,5"), "2026-03-01")
    golden.approve(vault, "m1/lift", PAVO, "accepted")
    monkeypatch.setattr(module, "drift", lambda *_, **__: pytest.fail("looked"))
    take(export_text("5"), "2026-03-02")
    assert not Outbox.exists(vault.state)


def test_a_channel_that_is_added_later_is_told_of_drift_that_was_there(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("2,5"), "2026-03-01")
    golden.approve(vault, "m1/lift", PAVO, "accepted")
    take(export_text("5"), "2026-03-02")
    with_channel(vault, tmp_path)
    assert [alert.axis for alert in raise_alerts(vault)] == ["m1/lift"]


def test_an_axis_that_is_not_asked_about_is_not_told_of(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    for axis in ("m1/lift", "m1/crane", "m2/lift"):
        take(export_text("2,5"), "2026-03-01", axis, override_reason="a twin")
        golden.approve(vault, axis, PAVO, "accepted")
        take(export_text("5"), "2026-03-02", axis, override_reason="a twin")
    with_channel(vault, tmp_path)
    told = raise_alerts(vault, [LIFT, Address("m2", "lift")])
    assert [alert.axis for alert in told] == ["m1/lift", "m2/lift"]


def test_a_further_parameter_is_told_of_beside_what_was_told(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("5"), "2026-03-02")
    take(export_text("5", "120"), "2026-03-03")
    alert = queued(guarded)[-1]
    assert len(queued(guarded)) == 2
    assert "2 parameters drifted" in alert.subject
    assert "Profile velocity" in alert.sentences[0]
    assert alert.worst == "dynamics", "that of what is new, not of what was told"
    assert not any("Following error" in sentence for sentence in alert.sentences)
    assert "Beside that, 1 parameter drifted as before." in alert.sentences


def test_the_same_parameter_somewhere_else_is_news(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    for day, lag in enumerate(("5", "8"), 2):
        take(export_text(lag), f"2026-03-0{day}")
    assert "2.5 mm became 8 mm" in queued(guarded)[1].sentences[0]


def test_better_is_no_news_and_drift_after_it_is(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("5", "120"), "2026-03-02")
    take(export_text("5"), "2026-03-03")
    assert len(queued(guarded)) == 1
    take(export_text("2,5"), "2026-03-04")
    assert len(queued(guarded)) == 1
    take(export_text("5"), "2026-03-05")
    assert len({alert.id for alert in queued(guarded)}) == 2
    take(export_text("5", "120"), "2026-03-06")  # as it was at first
    assert len({alert.id for alert in queued(guarded)}) == 3


def test_what_got_worse_is_told_again(guarded: Vault, take: Take, export_text: Export) -> None:
    take(export_text("5"), "2026-03-02")
    with Outbox(guarded.state) as outbox:
        told = json.loads(outbox.last_announced("m1/lift") or "")
        for milder in ("dynamics", "hazard"):
            told["changes"]["lim/lag"][0] = milder
            outbox.announce("m1/lift", json.dumps(told), (), ())
            assert len(raise_alerts(guarded)) == (milder == "dynamics")


def test_a_waiver_keeps_quiet_and_its_end_is_told(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    until = (now() + timedelta(days=3)).date().isoformat()
    golden.waive(
        guarded,
        LIFT,
        parse_waiver_request("lim/lag", allow="..6 mm", until=until, reason="worn screw"),
        PAVO,
    )
    take(export_text("5"), "2026-03-02")
    assert queued(guarded) == []
    [alert] = raise_alerts(guarded, moment=now() + timedelta(days=5))
    assert f"Its waiver ended on {until}." in alert.sentences[0]


def test_a_waiver_that_ended_unseen_is_told_although_the_value_was(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("5"), "2026-03-02")
    until = (now() + timedelta(days=3)).date().isoformat()
    golden.waive(
        guarded,
        LIFT,
        parse_waiver_request("lim/lag", allow="..6 mm", until=until, reason="worn screw"),
        PAVO,
    )
    later = now() + timedelta(days=5)  # nobody looked while it held
    assert len(raise_alerts(guarded, moment=later)) == 1
    assert raise_alerts(guarded, moment=later) == []


def test_an_export_that_is_overdue_is_told_once(guarded: Vault, tmp_path: Path) -> None:
    with_channel(guarded, tmp_path, "export_every: 30 d")
    [alert] = raise_alerts(guarded)
    assert (alert.status, alert.subject) == ("overdue", "m1/lift: an export is overdue")
    assert alert.sentences == ("An export was due on 2026-03-31.",)
    assert raise_alerts(guarded, moment=now() + timedelta(days=30)) == []


def test_an_axis_that_was_never_exported_is_told_of(guarded: Vault, tmp_path: Path) -> None:
    path = tmp_path / "axis.yaml"
    path.write_text("schema: axisvault/axis/1\nexport_every: 1 d\n")
    set_axis(guarded, CRANE, path, BY)
    [alert] = raise_alerts(guarded)
    assert alert.sentences == ("The axis was never exported.",)


def test_many_new_parameters_are_told_in_short(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("5", settings=8), "2026-03-02")  # the window and twenty settings
    [alert] = queued(guarded)
    assert "21 parameters drifted" in alert.subject
    assert sum(sentence.startswith("[") for sentence in alert.sentences) == 10
    assert "11 more parameters drifted as well." in alert.sentences


def test_only_the_axes_asked_for_are_told_of(
    guarded: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("vault.jobs.intake.ingest.alert", lambda *_: [])
    take(export_text("2,5"), "2026-03-01", "m1/crane", override_reason="a twin")
    golden.approve(guarded, "m1/crane", PAVO, "accepted")
    for place in ("m1/lift", "m1/crane"):
        take(export_text("5"), "2026-03-02", place)
    assert raise_alerts(guarded, []) == []
    assert [alert.axis for alert in raise_alerts(guarded, [CRANE])] == ["m1/crane"]
    assert [alert.axis for alert in raise_alerts(guarded, [CRANE, LIFT])] == ["m1/lift"]


def test_a_broken_baseline_holds_up_no_other_axis(
    guarded: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    with guarded.writing():
        path = "machines/m1/crane/golden.yaml"
        guarded.write_files({path: b"schema: axisvault/golden/1\nbaseline: 5\n"}, "x\n", BY)
    take(export_text("2"), "2026-03-01", "m1/crane", override_reason="a twin")
    take(export_text("5"), "2026-03-02")
    assert [alert.axis for alert in queued(guarded)] == ["m1/lift"]
    for _ in range(2):  # the second look answers from what was found before
        found = cli("drift", "--json")
        assert found.code == Damaged.exit_code
        assert [axis["axis"] for axis in found.json["axes"]] == ["m1/lift"]
        [failure] = found.json["failures"]
        assert (failure["axis"], failure["file"]) == ("m1/crane", path)
        assert "the drift of m1/crane cannot be told" in found.stderr


def test_an_outbox_that_holds_something_else_is_an_error_not_a_flood(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("5"), "2026-03-02")
    with Outbox(guarded.state) as outbox:
        outbox.announce("m1/lift", '{"changes": [5]}', (), ())
    with pytest.raises(Unavailable, match="something else about m1/lift"):
        raise_alerts(guarded)


def test_an_export_is_in_even_where_its_alert_is_not(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    for path in guarded.state.glob("alerts.sqlite*"):
        path.unlink()
    (guarded.state / "alerts.sqlite").mkdir()
    found = take(export_text("5"), "2026-03-02")
    assert "an alert about drift may be missing" in found.warnings[-1]
    latest = guarded.latest(LIFT)
    assert latest is not None
    assert latest.id == found.snapshot.id


def test_a_reader_that_opened_the_vault_long_ago_tells_nothing_old(
    guarded: Vault, take: Take, export_text: Export
) -> None:
    with Vault.open(guarded.repository.path) as early:
        take(export_text("5"), "2026-03-02")
        take(export_text("2,5"), "2026-03-03")
        assert raise_alerts(early) == []
    assert len(queued(guarded)) == 1


AT_ONCE = """
import sys
from pathlib import Path
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.store.vault import Vault

with Vault.open(Path(sys.argv[1])) as vault:
    sys.stdin.readline()
    print(len(raise_alerts(vault)))
"""


def test_of_several_processes_that_look_at_once_one_tells(
    guarded: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("vault.jobs.intake.ingest.alert", lambda *_: [])
    take(export_text("5"), "2026-03-02")
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", AT_ONCE, guarded.repository.path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(5)
    ]
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    told = sorted(int(process.communicate(timeout=PATIENCE)[0]) for process in processes)
    assert told == [0, 0, 0, 0, 1]
    assert len(queued(guarded)) == 1


@pytest.fixture
def server() -> Iterator[WebServer]:
    with web_server() as running:
        yield running


@pytest.fixture
def hooked(guarded: Vault, server: WebServer, tmp_path: Path) -> Vault:
    """The guarded lift, with a webhook."""
    with_channel(guarded, tmp_path, channel=f"{{kind: webhook, name: hook, url: '{server.url}'}}")
    return guarded


def event(server: WebServer) -> Any:
    """The one CloudEvent that came in."""
    assert server.reached.wait(PATIENCE)
    [(headers, body)] = server.requests
    return from_structured_event(HTTPMessage(headers, body))


def test_ingest_sends_an_alert_and_does_not_wait_for_it(
    hooked: Vault, server: WebServer, program: Cli, export_text: Export, tmp_path: Path
) -> None:
    server.answer = "late"
    (tmp_path / "lift.csv").write_text(export_text("5"))
    done = program("ingest", "lift.csv", "--to", "m1/lift", "--json")
    assert (done.code, done.stderr) == (0, "")
    assert event(server).get_subject() == "m1/lift"
    [waits] = waiting(hooked.state, channels_of(hooked))
    assert waits.message.sent is None
    server.release.set()
    end = monotonic() + PATIENCE
    while waiting(hooked.state, channels_of(hooked)):  # until the sender has nothing to do
        assert monotonic() < end
        sleep(0.05)


def test_a_tree_sends_one_alert_for_an_axis_and_not_one_for_an_export(
    hooked: Vault, server: WebServer, program: Cli, export_text: Export, tmp_path: Path
) -> None:
    folder = tmp_path / "exports/m1/lift"
    folder.mkdir(parents=True)
    for number, lag in enumerate(("3", "4", "5")):
        text = export_text(lag, saved=f"2026-03-0{number + 2}T08:00:00+00:00")
        (folder / f"{number}.csv").write_text(text)
    assert program("ingest-tree", "exports").code == 0
    assert "2.5 mm became 5 mm" in json.dumps(event(server).get_data())


def test_drift_with_alert_sends_what_nobody_was_told(
    vault: Vault, take: Take, export_text: Export, server: WebServer, program: Cli, tmp_path: Path
) -> None:
    take(export_text("2,5"), "2026-03-01")
    golden.approve(vault, "m1/lift", PAVO, "accepted")
    take(export_text("5"), "2026-03-02")
    no_channel = program("drift", "--alert")
    assert no_channel.code == 1
    assert "vault.yaml has no channel" in no_channel.stderr
    with_channel(vault, tmp_path, channel=f"{{kind: webhook, name: hook, url: '{server.url}'}}")
    assert program("drift").code == 1
    assert server.requests == []
    for _ in range(2):
        assert program("drift", "--alert").code == 1
    assert event(server).get_type() == "axisvault.drift"


def test_drift_says_that_an_alert_has_not_gone_out(
    guarded: Vault, take: Take, export_text: Export, cli: Cli, tmp_path: Path
) -> None:
    with_channel(guarded, tmp_path, channel="{kind: file, name: log, path: /nowhere/log.jsonl}")
    take(export_text("5"), "2026-03-02")
    assert "gone out" not in cli("drift").stderr
    assert cli("alerts", "send").code == 1
    assert "1 alert has not gone out: axisvault alerts list" in cli("drift").stderr


def test_a_watched_folder_raises_alerts(
    guarded: Vault, export_text: Export, tmp_path: Path
) -> None:
    folder = tmp_path / "drop"
    (folder / "m1/lift").mkdir(parents=True)
    (folder / "m1/lift/a.csv").write_text(export_text("5"))
    watcher = Watcher(guarded.repository.path, folder, BY, settle=0)
    watcher.once()
    assert [alert.axis for alert in queued(guarded)] == ["m1/lift"]

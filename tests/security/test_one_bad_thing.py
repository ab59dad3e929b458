"""One bad file, axis, dictionary, row or channel is told by its name and holds up nothing else.

Faults of the program are put in by hand where it has none; families and axes are invented.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from tests.webui.visiting import Visit, add_people
from vault import cli as vault_cli
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.jobs.baseline import drift as drifting
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.golden import approve
from vault.jobs.intake import take_in_once as taking
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_family, list_families, set_site
from vault.jobs.sync.sync import look
from vault.jobs.watch.watcher import Dropped, Watcher
from vault.model.errors import Damaged, InternalError, Unavailable, Unreadable, VaultError
from vault.model.internal_errors import LOG, internal_error, told_apart
from vault.model.names import Address
from vault.model.patterns import is_found
from vault.store.files import layout
from vault.store.local import error_log
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault
from webui.app import create_app
from webui.pages import site as site_page
from webui.pages import take_in as page

Cli = Callable[..., Outcome]
Export = Callable[..., str]
Take = Callable[..., Any]
NUMBER = re.compile(r"internal error ([0-9a-f]{8})")


class Ours(Exception):
    """A fault of the program."""


@pytest.fixture(autouse=True)
def no_log_of_others() -> Any:
    before = list(LOG.handlers), LOG.propagate
    LOG.handlers, LOG.propagate = [], True
    yield
    LOG.handlers, LOG.propagate = before


@pytest.fixture
def three(vault: Vault, take: Take, export_text: Export) -> Vault:
    for name in ("a", "b", "c"):
        take(export_text("1", serial=name), to=f"m1/{name}", name=f"{name}.csv")
    return vault


def failing_at(name: str, real: Callable[..., Any], place: int = 0) -> Callable[..., Any]:
    def fails(*arguments: Any, **more: Any) -> Any:
        if name in str(arguments[place]):
            raise Ours(f"something at {name}")
        return real(*arguments, **more)

    return fails


def test_an_error_of_ours_has_a_number_and_a_line_in_the_log(
    caplog: pytest.LogCaptureFixture, tmp_path: Path
) -> None:
    told: list[VaultError] = []
    with caplog.at_level(logging.ERROR), told_apart(told.append, "m1/lift"):
        raise Ours("two\nlines")
    (error,) = told
    assert isinstance(error, InternalError)
    found = NUMBER.search(str(error))
    assert found is not None
    assert "m1/lift" in str(error)
    assert "Ours" not in str(error)
    assert found[1] in caplog.text
    assert "Ours: two?lines" in caplog.text
    assert internal_error(error, "again") is error


def test_the_log_lies_beside_the_vault_for_its_owner_alone(tmp_path: Path) -> None:
    error_log.log_errors_in(tmp_path)
    internal_error(Ours("it"), "here")
    internal_error(Ours("a secret word"), "there", is_secret=True)
    text = (tmp_path / error_log.FILE).read_text()
    assert len(text.splitlines()) == 2
    assert "secret word" not in text
    assert (tmp_path / error_log.FILE).stat().st_mode & 0o077 == 0


def test_a_log_that_cannot_be_written_goes_to_stderr(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    error_log.log_errors_in(tmp_path / "no such folder")
    error = internal_error(Ours("it"), "here")
    assert NUMBER.search(str(error))[1] in capsys.readouterr().err  # type: ignore[index]


def test_what_concerns_all_is_raised() -> None:
    with pytest.raises(Unavailable), told_apart(lambda _: None, "x", Unavailable):
        raise Unavailable("the disk is full")
    with pytest.raises(KeyboardInterrupt), told_apart(lambda _: None, "x"):
        raise KeyboardInterrupt


def test_no_traceback_reaches_who_types_a_command(
    vault: Vault, cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise Ours("nobody thought of it")

    monkeypatch.setattr(Vault, "axes", fails)
    outcome = cli("axis", "list")
    assert outcome.code == 70
    assert "Traceback" not in outcome.stderr
    assert "nobody thought" not in outcome.stderr
    number = NUMBER.search(outcome.stderr)
    assert number is not None
    assert number[1] in (vault.state / error_log.FILE).read_text()
    assert cli("axis", "list", "--json").json["error"]["code"] == 70
    assert vault_cli.run(["--version"]) == 0


def test_a_page_says_the_number_and_no_more(three: Vault, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise Ours("nobody thought of it")

    monkeypatch.setattr("webui.pages.site.drift", fails)
    app = create_app(three.repository.path, is_local=True)
    answer = app.test_client().get("/")
    assert answer.status_code == 500
    assert NUMBER.search(answer.text)
    assert "Ours" not in answer.text


def tree(folder: Path, export_text: Export, names: str) -> Path:
    for number, name in enumerate(names):
        place = folder / "m1" / name
        place.mkdir(parents=True)
        (place / f"2026-03-{number + 1:02}.csv").write_text(export_text("1", serial=name))
    return folder


@pytest.mark.parametrize("bad", ["a", "d", "g"])
def test_a_tree_is_taken_in_without_the_file_that_we_fail_at(
    bad: str,
    vault: Vault,
    export_text: Export,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = tree(tmp_path / "tree", export_text, "abcdefg")
    monkeypatch.setattr(taking, "take_in", failing_at(f"m1/{bad}", taking.take_in, 2))
    seen: list[tuple[int, int]] = []
    outcome = ingest_tree(vault, folder, BY, progress=lambda *step: seen.append(step))
    assert outcome.taken == 6
    (failure,) = outcome.failures
    assert isinstance(failure, InternalError)
    assert f"m1/{bad}/" in str(failure)
    assert seen[-1] == (7, 7)
    vault.refresh()
    assert {one.axis for one in vault.index.axes()} == set("abcdefg") - {bad}


def test_a_watched_folder_refuses_the_file_that_we_fail_at_and_takes_the_rest(
    vault: Vault, export_text: Export, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tree(tmp_path / "drop", export_text, "abcde")
    monkeypatch.setattr(taking, "take_in", failing_at("m1/c", taking.take_in, 2))
    told: list[Dropped] = []
    watcher = Watcher(vault.repository.path, folder, BY, settle=0, tell=told.append)
    watcher.once()
    outcomes = {one.file.split("/")[1]: one.outcome for one in told}
    assert outcomes == {"a": "taken", "b": "taken", "c": "refused", "d": "taken", "e": "taken"}
    (reason,) = (folder / "refused").rglob("*.reason.txt")
    assert NUMBER.search(reason.read_text())


def test_an_axis_that_drift_fails_at_is_named_on_every_page(
    three: Vault, cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drifting, "assess", failing_at("m1/b", drifting.assess, 2))
    failed: dict[Address, VaultError] = {}
    assert [one.axis for one in drift(three, failed=failed.__setitem__)] == ["m1/a", "m1/c"]
    assert list(map(str, failed)) == ["m1/b"]
    client = create_app(three.repository.path, is_local=True).test_client()
    for address in ("/", "/machine/m1"):
        answer = client.get(address)
        assert answer.status_code == 200
        assert "⚠ m1/b" in answer.text
        assert "m1/c" in answer.text
    text = client.get("/metrics").text
    assert 'axisvault_axes{status="unknown"} 1.0' in text
    outcome = cli("drift")
    assert "m1/b" in outcome.stderr
    assert "2 axes" in outcome.stdout


def test_a_row_of_the_week_that_we_fail_at_is_named(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in "ab":
        for lag in ("1", "2"):
            take(export_text(lag, serial=name), None, f"m1/{name}", f"{lag}.csv")
    monkeypatch.setattr(
        site_page, "told_changes", failing_at("axis='a'", site_page.told_changes, 1)
    )
    text = create_app(vault.repository.path, is_local=True).test_client().get("/").text
    assert "What changed cannot be told: internal error" in text
    assert "Following error window" in text


def test_each_figure_of_metrics_and_health_stands_for_itself(three: Vault) -> None:
    with three.writing():
        three.write_files(
            {layout.VAULT: b"schema: axisvault/vault/1\nalerts: [nonsense\n"}, "x", BY
        )
    three.close()
    client = create_app(three.repository.path, is_local=True).test_client()
    text = client.get("/metrics").text
    assert 'axisvault_unknown_figures{figure="messages"} 1.0' in text
    assert 'axisvault_unknown_figures{figure="snapshots"} 0.0' in text
    assert "axisvault_snapshots 3.0" in text
    health = client.get("/api/v1/health").json
    assert health["messages_waiting"] is None
    assert health["snapshots"] == 3
    assert any("vault.yaml" in problem for problem in health["problems"])
    assert client.get("/health").status_code == 200


def test_a_broken_record_of_one_axis_is_named_in_the_list(three: Vault, cli: Cli) -> None:
    place = layout.axis_file(Address("m1", "b"))
    with three.writing():
        three.write_files({place: b"schema: axisvault/axis/1\nmotor: [\n"}, "by hand\n", BY)
    outcome = cli("axis", "list")
    assert outcome.code == Unreadable.exit_code
    assert "m1/a" in outcome.stdout
    assert "m1/c" in outcome.stdout
    assert place in outcome.stderr
    listed = cli("axis", "list", "--json").json
    assert [one["axis"] for one in listed["axes"]] == ["m1/a", "m1/c"]
    assert place in listed["failures"][0]


def test_a_broken_dictionary_is_named_and_the_others_read(
    vault: Vault, cli: Cli, take: Take, export_text: Export
) -> None:
    place = layout.family_file("broken")
    with vault.writing():
        vault.write_files({place: b"schema: axisvault/family/1\nname: [\n"}, "by hand\n", BY)
    take(export_text("1"))
    told: list[VaultError] = []
    assert [file.name for file in list_families(vault, told.append)] == ["hazel"]
    assert place in str(told[0])
    outcome = cli("family", "list")
    assert "hazel" in outcome.stdout
    assert place in outcome.stderr
    shown = create_app(vault.repository.path, is_local=True).test_client().get("/families")
    assert shown.status_code == 200
    assert place in shown.text


def test_an_alert_about_one_axis_that_fails_leaves_the_others(
    three: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    (tmp_path / "site.yaml").write_text(
        "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        f"alerts: [{{kind: file, name: log, path: {tmp_path / 'log.jsonl'}}}]\n"
    )
    set_site(three, tmp_path / "site.yaml", BY)
    for name in "abc":
        approve(three, f"m1/{name}", BY, "as built")
    with Outbox(three.state) as outbox:
        outbox.announce("m1/a", "no JSON", [], [])
    for name in "abc":
        taken = take(
            export_text("2", serial=name), "2026-03-05T08:00:00+00:00", f"m1/{name}", "x.csv"
        )
        assert any("m1/a" in one for one in taken.warnings) == (name == "a")
    with pytest.raises(Unavailable, match="m1/a"):
        raise_alerts(three)
    with Outbox(three.state) as outbox:
        assert {m.alert.axis for m in outbox.waiting()} == {"m1/b", "m1/c"}


def test_one_sent_export_that_we_fail_at_is_one_row(
    vault: Vault, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_people(vault.repository.path)
    visit = Visit(create_app(vault.repository.path))
    visit.log_in("technician")
    files = [(BytesIO(export_text("1", serial=n).encode()), f"{n}.csv") for n in "ab"]
    monkeypatch.setattr(page, "_visit", failing_at("a.csv", page._visit, 1))
    sent = visit.send("/take-in", export=files)
    answer = visit.get(sent.headers["Location"])
    assert answer.status_code == 200
    assert NUMBER.search(answer.text)
    assert "b.csv" in answer.text


def test_a_look_at_another_copy_names_the_file_that_cannot_be_read(
    three: Vault, cli: Cli, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    assert cli("create", other, "--copy", three.repository.path).code == 0
    bad, good = (Address("m1", name) for name in "ab")
    with Vault.open(other) as copy, copy.writing():
        files = {
            layout.golden_file(bad): b"schema: [\n",
            layout.axis_file(good): b"schema: axisvault/axis/1\ntitle: B\n",
        }
        copy.write_files(files, "by hand\n", BY)
    looked = look(three, str(other), BY)
    assert [(one.path, one.kind) for one in looked.changes] == [
        (layout.golden_file(bad), "cannot be read"), (layout.axis_file(good), "axis"),
    ]  # fmt: skip
    assert cli("sync", "take", other).code == Damaged.exit_code


# A dictionary is tried when it is added.

CHANGES = [
    ('delimiter: ";"', 'delimiter: ";"\n  quote: "ab"', "export.quote"),
    ('delimiter: ";"', 'delimiter: ";"\n  quote: ";"', "export.quote"),
    ('delimiter: ";"', 'delimiter: ";"\n  encoding: [rot13]', "export.encoding.0"),
    ('delimiter: ";"', 'delimiter: ";"\n  encoding: [utf-8, zlib]', "export.encoding.1"),
    ('delimiter: ";"', 'delimiter: ";"\n  encoding: []', "export.encoding"),
    ('delimiter: ";"', 'delimiter: ";"\n  time_format: "%Q"', "export.time_format"),
    ("format: delimited", "format: telepathy", "export.format"),
    ("{drive: ^HZ-}", '{drive: "(?=HZ)HZ"}', "export.recognise.drive"),
    ("{drive: ^HZ-}", r'{drive: "(H)\\1"}', "export.recognise.drive"),
    ("{drive: ^HZ-}", f"{{drive: {'H' * 301}}}", "export.recognise.drive"),
    ("scale: 0.01", "scale: 1.0e-31", "parameters.lim/lag.scale"),
    ("scale: 0.01", "range: [0, 1.0e+31]", "parameters.lim/lag.range"),
]


@pytest.mark.parametrize(("old", "new", "key"), CHANGES, ids=[new[-40:] for _, new, _ in CHANGES])
def test_a_dictionary_that_cannot_work_is_refused(
    old: str, new: str, key: str, vault: Vault, family_text: str, tmp_path: Path
) -> None:
    text = family_text.replace("name: hazel", "name: other", 1).replace(old, new, 1)
    assert text.count(new) >= 1
    (tmp_path / "other.yaml").write_text(text)
    with pytest.raises(Unreadable, match=re.escape(key)):
        add_family(vault, tmp_path / "other.yaml", BY)
    assert vault.family_names() == ["hazel"]


def test_one_that_lies_in_the_vault_with_such_a_pattern_goes_on(
    vault: Vault, family_text: str, take: Take, export_text: Export, cli: Cli
) -> None:
    text = family_text.replace("{drive: ^HZ-}", '{drive: "(?=HZ)HZ-"}')
    with vault.writing():
        vault.write_files({layout.family_file("hazel"): text.encode()}, "older\n", BY)
    assert take(export_text("1")).snapshot.record.family == "hazel"
    assert "RE2" in cli("family", "list").stdout


def test_no_pattern_takes_longer_than_its_text() -> None:
    assert not is_found("(a+)+$", "a" * 4000 + "b")  # exponential for one that goes back
    assert is_found("^HZ-[0-9]+$", "HZ-04")
    assert not is_found("(?=x)(a|aa)*x$", "a" * 19 + "b" * 10_000_000)

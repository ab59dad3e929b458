"""Which fault an audit is about: the one nearest to a time, in a period of whole days. Invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.audit.audit import FaultSeen, audit
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.question import parse_question
from vault.jobs.faults.log import add_fault
from vault.model.fault_log import FaultEntry
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
Export = Callable[..., str]
LIFT = Address("m1", "lift")
# Local times, as people type them.
LOG = (
    ("2026-03-02T03:40", "8611h"),
    ("2026-03-05T00:00", "8611h"),
    ("2026-03-05T23:59", "3210h"),
    ("2026-03-10T12:00", "8611h"),
)


@pytest.fixture
def logged(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text(), "2026-03-01T08:00:00+00:00")
    for at, code in LOG:
        add_fault(vault, LIFT, FaultEntry(datetime.fromisoformat(at).astimezone(), code, BY))
    return vault


@pytest.mark.parametrize(
    ("code", "at", "found", "distance"),
    [
        ("8611h", "2026-03-02 03:30", 0, "10 minutes after"),
        ("8611h", "2026-03-02 03:40", 0, None),
        ("8611h", "2026-03-02 03:41", 0, "60 seconds before"),
        ("8611h", "2026-03-03 13:00", 0, "33 hours before"),  # 2 Mar is nearer than 5 Mar
        ("8611h", "2026-03-03 14:00", 1, "34 hours after"),
        ("8611h", "2026-03-05 23:59", 1, "23 hours before"),  # 3210h is another code
        (None, "2026-03-05 20:00", 2, "3 hours after"),
        ("8611h", "2026-03-09 10:00", 3, "26 hours after"),
        ("8611h", "2026-04-10 12:00", 3, "31 days before"),
        ("8611h", "2026-03-10", 3, None),  # a day is all of it
        ("8611h", "2026-03-05", 1, None),
        ("8611h", "2026-03-12", 3, "36 hours before"),
        ("8611h", "2026-03-01", 0, "3 hours after"),
        (None, "2026-03-05", 2, None),  # two of that day: the last
    ],
)
def test_the_fault_nearest_to_a_time_counts_and_how_far_it_is(
    code: str | None, at: str, found: int, distance: str | None, logged: Vault
) -> None:
    fault = audit(logged, parse_question("m1/lift", fault=code, at=at)).fault
    assert fault is not None
    assert fault.at == datetime.fromisoformat(LOG[found][0]).astimezone()
    told = f"the nearest in the fault log, {distance} the time asked"
    assert fault.distance == (told if distance else None)


def test_a_fault_that_no_log_has_is_of_the_time_that_was_asked(logged: Vault) -> None:
    question = parse_question("m1/lift", fault="4210h", at="2026-03-03 14:00")
    fault = audit(logged, question).fault
    assert fault is not None
    assert (fault.at, fault.distance) == (question.at, None)


def test_beyond_the_period_nothing_is_near(logged: Vault) -> None:
    question = parse_question(
        "m1/lift", start="2026-03-03", end="2026-03-04", fault="8611h", at="2026-03-04 20:00"
    )
    fault = audit(logged, question).fault
    assert fault is not None
    assert (fault.at, fault.away) == (question.at, None)


@pytest.mark.parametrize(
    ("start", "end", "days"),
    [
        ("2026-03-05", "2026-03-05", [5, 5]),
        ("2026-03-02", "2026-03-05", [2, 5, 5]),
        ("2026-03-03", "2026-03-04", []),
        ("2026-03-10", "2026-03-10", [10]),
    ],
)
def test_a_period_of_days_has_the_first_and_the_last_of_them(
    start: str, end: str, days: list[int], logged: Vault
) -> None:
    entries = audit(logged, parse_question("m1/lift", start=start, end=end)).entries
    assert [e.at.astimezone().day for e in entries if isinstance(e, FaultSeen)] == days


def test_it_is_said_on_the_terminal_in_json_on_the_page_and_in_the_evidence(
    logged: Vault, cli: Cli, tmp_path: Path
) -> None:
    words = "nearest in the fault log, 10 minutes after the time asked"
    asked = ("audit", "m1/lift", "--fault", "8611h", "--at", "2026-03-02 03:30")
    assert words in " ".join(cli(*asked).stdout.split())
    fault = cli(*asked, "--json").json["fault"]
    assert words in fault["distance"]
    assert fault["asked"].startswith("2026-03-02T03:30")
    client = create_app(tmp_path / "plant", is_local=True).test_client()
    page = client.get("/audit?place=m1/lift&fault=8611h&at=2026-03-02+03:30").text
    assert words in page.lower()
    question = parse_question("m1/lift", fault="8611h", at="2026-03-02 03:30")
    write_evidence(logged, audit(logged, question), tmp_path / "evidence")
    assert words in (tmp_path / "evidence/report.html").read_text()
    exact = client.get("/audit?place=m1/lift&fault=8611h&at=2026-03-02+03:40").text
    assert "the time asked" not in exact


def test_the_form_of_the_viewer_takes_days_as_the_command_does(
    logged: Vault, cli: Cli, tmp_path: Path
) -> None:
    client = create_app(tmp_path / "plant", is_local=True).test_client()
    query = {"place": "m1/lift", "from": "2026-03-05", "to": "2026-03-05"}
    told = client.get("/api/v1/audit", query_string=query).json
    assert told is not None
    assert told == cli("audit", "m1/lift", "--from", query["from"], "--to", query["to"],
                       "--json").json  # fmt: skip
    assert [entry["kind"] for entry in told["entries"]] == ["fault", "fault"]
    assert told["period"]["from"].startswith("2026-03-05T00:00:00")

"""A partial export from the door to the evidence: what it is, and why it was used, goes with it.

A drive was exported with a line that nobody can read. It is taken in as a part, approved because
somebody says why, restored because somebody says why, and years later the audit tells all of it.
The objects are invented.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome
from tests.dcf_texts import TUNING, UNREADABLE_TUNING, WINDOW, dcf
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
LEFT_OUT = "ParameterValue=six"
EXPORT = dcf(WINDOW, UNREADABLE_TUNING)
APPROVED, RESTORED = "the tuning is set by hand here", "the old drive burnt, nothing else is left"
PART = "Not the whole set: A part of the set: 1 line was left out."


def seen(html: str) -> str:
    """Text of a page as people read it."""
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


@pytest.fixture
def approved(vault: Vault, cli: Cli, tmp_path: Path) -> None:
    """The part, taken in and approved all the same."""
    path = tmp_path / "lift.dcf"
    path.write_text(EXPORT)
    taken = ("ingest", path, "--to", "m1/lift", "--taken-at", "2026-03-01T08:00:00Z")
    assert cli(*taken).code == 4
    assert cli(*taken, "--partial").code == 0
    approve = ("golden", "approve", "m1/lift", "--reason", "as set up")
    assert cli(*approve).code == 3
    done = cli(*approve, "--even-so", APPROVED)
    assert done.code == 0, done.stderr


@pytest.fixture
def planned(approved: None, cli: Cli, tmp_path: Path) -> Path:
    """The folder of the restore plan from that baseline."""
    out = tmp_path / "plan"
    refused = cli("restore", "plan", "m1/lift", "--out", out)
    assert (refused.code, out.exists()) == (3, False)
    assert "m1/lift@golden is no restore target: A part of the set" in refused.stderr
    done = cli("restore", "plan", "m1/lift", "--out", out, "--even-so", RESTORED)
    assert done.code == 0, done.stderr
    assert f"!! {PART} Restored all the same: {RESTORED}." in " ".join(done.stdout.split())
    return out


def test_the_sheet_begins_with_what_it_is_and_both_reasons(planned: Path) -> None:
    body = (planned / "sheet.html").read_text().partition("<body>")[2]
    first = seen(body.partition("<h1>")[0])
    assert first.startswith("⚠ Not the whole set A part of the set: 1 line was left out.")
    assert f"Restored all the same: {RESTORED}." in first
    assert f"Approved as golden all the same: {APPROVED}." in first


def test_the_plan_has_coverage_and_both_reasons(planned: Path) -> None:
    found = json.loads((planned / "plan.json").read_text())
    assert found["coverage"]["kind"] == "partial"
    assert [line["text"] for line in found["coverage"]["left_out"]] == [LEFT_OUT]
    assert found["override_reason"] == RESTORED
    assert found["golden_override_reason"] == APPROVED


@pytest.fixture
def evidence(planned: Path, cli: Cli, tmp_path: Path) -> Path:
    """The package of an audit of all of it, with a fault of the day after."""
    fault = ("--code", "8611h", "--at", "2026-03-02T08:00:00Z")
    assert cli("fault", "add", "m1/lift", *fault).code == 0
    out = tmp_path / "evidence"
    done = cli(
        "audit", "m1/lift", "--from", "2026-01-01", "--fault", "8611h", "--at",
        "2026-03-02T08:00:00Z", "--out", out,
    )  # fmt: skip
    assert done.code == 0, done.stderr
    told = " ".join(done.stdout.split())
    assert f"!! {PART}" in told
    assert f"!! Held against: {PART}" in told
    assert f"Approved all the same: {APPROVED}" in told
    assert f"Restored all the same: {RESTORED}" in told
    return out


def test_the_report_tells_it_to_people(evidence: Path) -> None:
    told = seen((evidence / "report.html").read_text())
    held, _, happened = told.partition("What happened")
    assert f"⚠ {PART}" in held
    assert told.count(PART) == 4  # held against, the export, its approval, its restore
    assert "Reason: as set up" in happened
    assert f"Approved all the same: {APPROVED}" in happened
    assert f"Restored all the same: {RESTORED}" in happened


def test_the_report_tells_it_to_programs(evidence: Path) -> None:
    found: dict[str, Any] = json.loads((evidence / "report.json").read_text())
    (snapshot,) = (entry for entry in found["entries"] if entry["kind"] == "snapshot")
    (held,) = found["held_against"]
    for place in (snapshot, held):
        assert place["coverage"]["kind"] == "partial"
        assert [line["text"] for line in place["coverage"]["left_out"]] == [LEFT_OUT]
    said = [s for entry in found["entries"] if entry["kind"] == "act" for s in entry["sentences"]]
    assert f"Approved all the same: {APPROVED}" in said
    assert f"Restored all the same: {RESTORED}" in said


def test_each_reason_is_told_once_where_the_file_changes_again(approved: None, cli: Cli) -> None:
    waived = cli(
        "golden", "waive", "m1/lift", "0x6065:00", "--allow", "1..9", "--until", "2099-01-01",
        "--reason", "worn",
    )  # fmt: skip
    assert waived.code == 0, waived.stderr
    entries = cli("audit", "m1/lift", "--from", "2026-01-01", "--json").json["entries"]
    acts = [entry["sentences"] for entry in entries if entry["kind"] == "act" and entry["axis"]]
    assert [f"Approved all the same: {APPROVED}" in said for said in acts] == [True, False]


def test_defaults_that_protect_nothing_need_no_reason_and_stand_on_the_sheet(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    path, out = tmp_path / "lift.dcf", tmp_path / "plan"
    path.write_text(dcf(WINDOW, TUNING.replace("ParameterValue=6\n", "")))
    assert cli("ingest", path, "--to", "m1/lift").code == 0
    done = cli("restore", "plan", "m1/lift", "--out", out)
    assert done.code == 0, done.stderr
    said = "1 value is the file's default, and not stated of the drive."
    assert f"!! Not the whole set: {said}" in " ".join(done.stdout.split())
    body = (out / "sheet.html").read_text().partition("<body>")[2]
    assert seen(body.partition("<h1>")[0]).startswith(
        f"⚠ Not the whole set {said.replace(chr(39), '&#39;')}"
    )
    found = json.loads((out / "plan.json").read_text())
    assert found["coverage"]["kind"] == "mixed"
    assert (found["not_whole"], found["golden_override_reason"]) == (None, None)


def test_a_whole_target_says_nothing_of_it(vault: Vault, cli: Cli, tmp_path: Path) -> None:
    path, out = tmp_path / "lift.dcf", tmp_path / "plan"
    path.write_text(dcf(WINDOW, TUNING))
    assert cli("ingest", path, "--to", "m1/lift").code == 0
    done = cli("restore", "plan", "m1/lift", "--out", out)
    assert "whole set" not in done.stdout + (out / "sheet.html").read_text()

"""What an as-left export proves, and what it does not. Invented data."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.baseline import golden
from vault.store.vault import Vault

LIFT = "m1/lift"
Cli = Callable[..., Outcome]
Export = Callable[..., str]
SAVED = "2026-03-01T08:00:00Z"
OBJECT = (
    "[{}]\nParameterName={}\nDataType=0x0007\nAccessType=rw\nDefaultValue=1000\nParameterValue=6\n"
)
WINDOW = OBJECT.format("6065", "Following error window")
TUNING = OBJECT.format("2010", "Tuning")
SPEED = OBJECT.format("6081", "Profile velocity")


def default(text: str) -> str:
    return text.replace("ParameterValue=6\n", "")


@pytest.fixture
def planned(vault: Vault, take: Take, export_text: Export, cli: Cli, tmp_path: Path) -> Cli:
    """Checks m1/lift against a plan of its only snapshot, by a file of some text."""
    take(export_text(saved=SAVED))
    golden.approve(vault, LIFT, BY, "accepted")
    vault.close()
    assert cli("restore", "plan", LIFT, "--out", "plan").code == 0

    def check(text: str, *options: str) -> Outcome:
        (tmp_path / "left.csv").write_text(text)
        return cli("restore", "check", LIFT, "left.csv", *options)

    return check


def snapshots(cli: Cli) -> int:
    return len(cli("history", LIFT, "--json").json["snapshots"])


def test_the_kept_export_itself_is_no_proof(planned: Cli, cli: Cli, export_text: Export) -> None:
    done = planned(export_text(saved=SAVED))
    assert done.code == 3
    assert "left.csv: this is the export that is restored, byte for byte" in done.stderr
    assert "export again" in done.stderr
    assert snapshots(cli) == 1


def test_an_export_that_states_an_older_time_than_the_plan_is_no_proof(
    planned: Cli, cli: Cli, export_text: Export
) -> None:
    done = planned(export_text(saved="2020-01-01T08:00:00Z"), "--json")
    assert done.code == 3
    assert "this was taken 2020-01-01" in done.json["error"]["message"]
    assert "before the plan was made" in done.json["error"]["message"]
    assert snapshots(cli) == 1


def test_a_reason_takes_it_in_and_the_verdict_says_so(
    planned: Cli, cli: Cli, export_text: Export
) -> None:
    done = planned(export_text(saved=SAVED), "--even-so", "clock of the drive is dead", "--json")
    assert done.code == 0, done.stderr
    assert done.json["even_so"] == "clock of the drive is dead"
    assert done.json["doubt"].startswith("this is the export that is restored, byte for byte")
    told = planned(export_text(saved=SAVED), "--even-so", "again").stdout
    assert "It proves nothing: this is the export that is restored" in told
    assert "A guard objected; taken in all the same: again." in " ".join(told.split())


def test_the_load_file_is_no_proof_either(
    vault: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    take(export_text().replace("Homing method;1", "Homing method;x"), partial=True)
    vault.close()
    plan = cli("restore", "plan", LIFT, "--out", "plan", "--even-so", "all there is", "--json")
    assert plan.code == 0, plan.stderr
    done = cli("restore", "check", LIFT, f"plan/{plan.json['load_file']['name']}")
    assert done.code == 3
    assert "this is the load file, byte for byte" in done.stderr


def test_a_time_that_a_person_gives_is_believed_and_told(planned: Cli, export_text: Export) -> None:
    done = planned(export_text("2,6"), "--taken-at", "2026-03-02", "--json")
    assert done.code == 1, done.stderr
    assert done.json["doubt"].startswith("this was taken 2026-03-02")
    assert done.json["even_so"] is None
    assert any("before the plan was made" in one for one in done.json["warnings"])


def test_a_fresh_export_is_a_proof(planned: Cli, export_text: Export) -> None:
    done = planned(export_text(), "--json")
    assert (done.code, done.json["doubt"], done.json["unproven"]) == (0, None, [])
    assert done.json["coverage"]["kind"] == "complete"


@pytest.fixture
def mixed(vault: Vault, cli: Cli, tmp_path: Path) -> Any:
    """A plan for an axis whose tuning is a default of the file; its plan.json."""
    (tmp_path / "lift.dcf").write_text(WINDOW + default(TUNING) + SPEED)
    assert cli("ingest", "lift.dcf", "--to", LIFT).code == 0
    done = cli("restore", "plan", LIFT, "--out", "plan", "--json")
    assert done.code == 0, done.stderr
    return done.json


HEAD = "[FileInfo]\nModificationDate=04-02-2020\nModificationTime=03:20PM\n"


@pytest.mark.parametrize("options", [(), ("--taken-at", "now"), ("--taken-at", "file")])
def test_a_head_of_before_the_plan_is_no_proof(
    mixed: Any, cli: Cli, tmp_path: Path, options: tuple[str, ...]
) -> None:
    (tmp_path / "left.dcf").write_text(f"{HEAD}{WINDOW}{TUNING}{SPEED}")
    done = cli("restore", "check", LIFT, "left.dcf", *options)
    assert done.code == 3
    assert "2020-04-02 15:20, before the plan was made" in done.stderr
    assert snapshots(cli) == 1


@pytest.mark.parametrize(
    "options", [("--even-so", "the head is of the template"), ("--taken-at", "{now}")]
)
def test_an_old_head_is_answered_by_a_reason_or_by_a_time(
    mixed: Any, cli: Cli, tmp_path: Path, options: tuple[str, str]
) -> None:
    (tmp_path / "left.dcf").write_text(f"{HEAD}{WINDOW}{TUNING}{SPEED}")
    moment = datetime.now().astimezone().isoformat()
    said = [one.format(now=moment) for one in options]
    done = cli("restore", "check", LIFT, "left.dcf", *said, "--json")
    assert (done.code, done.json["doubt"]) == (0, None), done.stderr


def test_a_default_of_the_file_is_not_loaded_but_decided(mixed: Any, tmp_path: Path) -> None:
    load = (tmp_path / "plan" / mixed["load_file"]["name"]).read_text()
    assert "[6065]" in load
    assert "[2010]" not in load
    row = next(one for one in mixed["parameters"] if one["code"] == "0x2010:00")
    assert (row["status"], row["loaded"]) == ("decision", None)
    sheet = (tmp_path / "plan/sheet.html").read_text()
    to_decide = sheet[sheet.index("Not in the load file: to be decided") :]
    assert "0x2010:00" in to_decide


@pytest.mark.parametrize("tuning", ["ParameterValue=7\n", "ParameterValue=1000\n", None])
def test_a_default_of_the_file_is_not_demanded(
    mixed: Any, cli: Cli, tmp_path: Path, tuning: str | None
) -> None:
    of_drive = TUNING.replace("ParameterValue=6\n", tuning) if tuning else ""
    (tmp_path / "left.dcf").write_text(f"{WINDOW}{of_drive}{SPEED}\n")
    done = cli("restore", "check", LIFT, "left.dcf", "--json")
    assert (done.code, done.json["differences"]) == (0, [])
    assert [one["code"] for one in done.json["unproven"]] == ["0x2010:00"]
    told = cli("restore", "check", LIFT, "left.dcf").stdout
    assert "1 parameter is not proven by it" in told


def test_a_default_in_the_as_left_export_proves_nothing_of_the_drive(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    stated = TUNING.replace("ParameterValue=6\n", "ParameterValue=1000\n")
    (tmp_path / "lift.dcf").write_text(WINDOW + stated)
    assert cli("ingest", "lift.dcf", "--to", LIFT).code == 0
    assert cli("restore", "plan", LIFT, "--out", "plan").code == 0
    (tmp_path / "left.dcf").write_text(WINDOW + default(TUNING))
    done = cli("restore", "check", LIFT, "left.dcf", "--json")
    assert [one["code"] for one in done.json["unproven"]] == ["0x2010:00"]
    assert done.json["coverage"]["kind"] == "mixed"


def test_a_set_of_defaults_alone_gives_no_load_file(vault: Vault, cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "lift.dcf").write_text(default(WINDOW + TUNING))
    assert cli("ingest", "lift.dcf", "--to", LIFT, "--even-so", "to look at").code == 0
    done = cli("restore", "plan", LIFT, "--out", "plan", "--even-so", "nothing else", "--json")
    assert (done.code, done.json["load_file"]) == (0, None)
    assert len([p for p in done.json["parameters"] if p["status"] == "decision"]) == 2


def test_a_line_of_an_export_that_describes_itself_is_named_by_its_code(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    bad = SPEED.replace("ParameterValue=6", "ParameterValue=six")
    (tmp_path / "lift.dcf").write_text(WINDOW + bad)
    even_so = ("--even-so", "all there is")
    assert cli("ingest", "lift.dcf", "--to", LIFT, "--partial", *even_so).code == 0
    assert cli("restore", "plan", LIFT, "--out", "plan", *even_so).code == 0
    (tmp_path / "left.dcf").write_text(WINDOW + SPEED)
    done = cli("restore", "check", LIFT, "left.dcf", "--json")
    assert (done.code, done.json["differences"]) == (0, [])
    assert [(one["code"], one["name"]) for one in done.json["unproven"]] == [
        ("0x6081:00", "Profile velocity")
    ]


@pytest.fixture
def part(vault: Vault, take: Take, export_text: Export, cli: Cli) -> Any:
    """A plan for a set of which the line of the homing method was left out."""
    take(export_text(way="abc"), partial=True)
    vault.close()
    done = cli("restore", "plan", LIFT, "--out", "plan", "--even-so", "all there is", "--json")
    assert done.code == 0, done.stderr
    return done.json


def test_a_line_that_was_left_out_is_not_in_the_load_file(part: Any, tmp_path: Path) -> None:
    load = (tmp_path / "plan" / part["load_file"]["name"]).read_text()
    assert "ref/way" not in load
    assert "abc" not in load
    assert not part["load_file"]["is_kept_export"]


def test_the_sheet_names_its_parameter_to_be_set_by_hand(part: Any, tmp_path: Path) -> None:
    sheet = (tmp_path / "plan/sheet.html").read_text()
    by_hand = sheet[sheet.index("Left out of the target: to be set by hand") :]
    table = by_hand[: by_hand.index("</table>")]
    assert "Homing method" in table
    assert "ref/way" in table
    assert "abc" in table


@pytest.mark.parametrize("way", ["", "35"])
def test_what_was_to_be_set_by_hand_is_told_as_unproven(
    part: Any, cli: Cli, export_text: Export, tmp_path: Path, way: str
) -> None:
    text = (
        export_text(way=way) if way else export_text().replace("ref/way;Homing method;1;\r\n", "")
    )
    (tmp_path / "left.csv").write_text(text)
    done = cli("restore", "check", LIFT, "left.csv", "--json")
    assert (done.code, done.json["differences"]) == (0, [])
    (one,) = done.json["unproven"]
    assert (one["code"], one["name"]) == ("ref/way", "Homing method")
    assert one["reason"].endswith(
        "compare it with what was decided" if way else "the as-left export does not have it"
    )
    told = cli("restore", "check", LIFT, "left.csv").stdout
    assert "Not proven, 1 parameter:" in told
    assert json.loads((tmp_path / "plan/plan.json").read_text())["coverage"]["kind"] == "partial"

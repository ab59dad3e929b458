"""What came in in part, or as a description, is known as that wherever it is used."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome
from vault.model.coverage import Coverage
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
OBJECT = (
    "[{}]\nParameterName={}\nDataType=0x0007\nAccessType=rw\nDefaultValue=5\nParameterValue=6\n"
)
WINDOW = OBJECT.format("6065", "Following error window")
TUNING = OBJECT.format("2010", "Tuning")


def default(text: str) -> str:
    """The same object with nothing but its default."""
    return text.replace("ParameterValue=6\n", "")


@pytest.fixture
def send(vault: Vault, cli: Cli, tmp_path: Path) -> Callable[..., Outcome]:
    """Takes a text in as an export of m1/lift, dated by a counter."""
    days = iter(range(1, 28))

    def run(text: str, *options: str, name: str = "lift.dcf") -> Outcome:
        path = tmp_path / name
        path.write_text(text)
        when = f"2026-03-{next(days):02}T08:00:00Z"
        return cli("ingest", path, "--to", "m1/lift", "--taken-at", when, "--json", *options)

    return run


def coverage(cli: Cli, selector: str = "m1/lift") -> dict[str, Any]:
    found: dict[str, Any] = cli("show", selector, "--json").json["coverage"]
    return found


def test_a_whole_set_is_complete(send: Callable[..., Outcome], cli: Cli) -> None:
    done = send(WINDOW + TUNING)
    assert done.code == 0, done.stderr
    assert done.json["coverage"]["kind"] == "complete"
    assert coverage(cli) == done.json["coverage"]


def test_a_set_with_defaults_is_mixed_and_names_them(
    send: Callable[..., Outcome], cli: Cli
) -> None:
    done = send(WINDOW + default(TUNING))
    assert done.json["coverage"]["kind"] == "mixed"
    assert done.json["coverage"]["defaults"] == ["0x2010:00"]
    shown = {p["code"]: p["stated"] for p in cli("show", "m1/lift", "--json").json["parameters"]}
    assert shown["0x2010:00"] == "default"
    assert shown["0x6065:00"] != "default"


def test_a_description_is_refused_and_says_what_it_is_good_for(
    send: Callable[..., Outcome],
) -> None:
    done = send(default(WINDOW) + default(TUNING))
    assert done.code == 3
    assert "holds no drive's values" in done.stderr
    assert "good for names, ranges and defaults" in done.stderr


def test_a_description_that_somebody_insists_on_is_known_as_one(
    send: Callable[..., Outcome], cli: Cli
) -> None:
    done = send(default(WINDOW), "--even-so", "the drive was never set up")
    assert done.code == 0, done.stderr
    assert coverage(cli)["kind"] == "defaults_only"
    assert "everything is the file's default" in done.stderr


def test_a_part_is_partial_and_names_the_lines(send: Callable[..., Outcome], cli: Cli) -> None:
    bad = TUNING.replace("ParameterValue=6", "ParameterValue=six")
    done = send(WINDOW + default(OBJECT.format("2011", "Other")) + bad, "--partial")
    assert done.code == 0, done.stderr
    found = coverage(cli)
    assert found["kind"] == "partial"
    assert [line["text"] for line in found["left_out"]] == ["ParameterValue=six"]
    assert found["defaults"] == ["0x2011:00"]


def test_the_sides_of_a_comparison_say_what_they_have(
    send: Callable[..., Outcome], cli: Cli, tmp_path: Path
) -> None:
    send(WINDOW + TUNING)
    part = tmp_path / "part.dcf"
    part.write_text(WINDOW + default(TUNING))
    found = cli("compare", "m1/lift", f"file:{part}", "--json").json
    assert found["left"]["coverage"]["kind"] == "complete"
    assert found["right"]["coverage"]["kind"] == "mixed"


def test_every_problem_is_told_on_request_and_three_in_the_text(
    send: Callable[..., Outcome],
) -> None:
    bad = "".join(
        OBJECT.format(f"20{n:02}", "x").replace("ParameterValue=6", "ParameterValue=six")
        for n in range(5)
    )
    done = send(WINDOW + bad)
    assert done.code == 4
    assert [p["line"] for p in done.json["error"]["problems"]] == [12, 18, 24, 30, 36]
    assert "line 18: " in done.stderr
    assert "line 30: " not in done.stderr
    assert "2 more lines (" in done.stderr
    assert "--all shows every line" in done.stderr
    assert "line 36: " in send(WINDOW + bad, "--all").stderr


# The guard against a part that passes for the whole.


def many(count: int) -> str:
    return "".join(OBJECT.format(f"2{n:03}", f"Setting {n}") for n in range(count))


def test_a_missing_parameter_that_protects_is_refused(send: Callable[..., Outcome]) -> None:
    send(WINDOW + many(30))
    done = send(many(30))
    assert done.code == 3
    assert (
        "1 parameter that protects of the snapshot before is not in this export: 0x6065:00"
        in done.stderr
    )


def test_a_refusal_names_all_that_is_missing_and_not_only_what_protects(
    send: Callable[..., Outcome],
) -> None:
    send(WINDOW + many(30))
    done = send(many(20))
    assert done.code == 3
    said = done.json["error"]["message"]
    assert "11 parameters of the snapshot before, 1 of them protects, are not in this" in said
    assert said.endswith(": 0x6065:00, 0x2020:00, 0x2021:00 and 8 more")
    problems = done.json["error"]["problems"]
    assert [one["text"] for one in problems] == [
        "0x6065:00", *(f"0x20{n}:00" for n in range(20, 30))
    ]  # fmt: skip


def test_all_shows_a_line_for_each_that_is_missing(send: Callable[..., Outcome]) -> None:
    send(many(30))
    told = send(many(20), "--all").stderr.splitlines()
    assert "it is not here: 0x2029:00" in told


@pytest.mark.parametrize("way", ["even-so", "partial"])
def test_what_was_let_through_once_is_missed_again(send: Callable[..., Outcome], way: str) -> None:
    send(WINDOW + many(30))
    if way == "even-so":
        assert send(many(30), "--even-so", "a try").code == 0
    else:
        bad = many(29) + OBJECT.format("2029", "Setting 29").replace("Value=6", "Value=x")
        assert send(WINDOW + bad, "--partial").code == 0
    done = send(many(30) if way == "even-so" else WINDOW + many(24))
    assert done.code == 3
    assert "of the last whole snapshot (2026-03-01)" in done.json["error"]["message"]


def test_approving_what_was_let_through_says_that_it_is_the_whole_set(
    send: Callable[..., Outcome], cli: Cli
) -> None:
    send(WINDOW + many(30))
    send(many(30), "--even-so", "the window went with the new firmware")
    done = cli("golden", "approve", "m1/lift", "--reason", "as it is now", "--json")
    assert done.code == 0, done.stderr
    assert done.json["warnings"] == [
        "a guard objected when this set was taken in; it was taken in all the same: "
        "the window went with the new firmware"
    ]
    assert "note: a guard objected" in done.stderr
    assert "it was taken in all the same" in " ".join(
        cli("golden", "show", "m1/lift").stdout.split()
    )
    assert send(many(30)).code == 0


def test_a_target_that_was_let_through_says_so_on_its_sheet(
    send: Callable[..., Outcome], cli: Cli, tmp_path: Path
) -> None:
    send(WINDOW + many(30))
    send(many(30), "--even-so", "a try")
    done = cli("restore", "plan", "m1/lift", "--out", "plan", "--json")
    assert any("taken in all the same: a try" in one for one in done.json["warnings"])
    sheet = " ".join((tmp_path / "plan/sheet.html").read_text().split())
    assert "a guard objected when this set was taken in" in sheet.replace("A guard", "a guard")


@pytest.mark.parametrize(("left", "code"), [(27, 0), (26, 3)])
def test_more_than_a_tenth_missing_is_refused(
    send: Callable[..., Outcome], left: int, code: int
) -> None:
    send(many(30))
    assert send(many(left)).code == code


def test_a_reason_takes_in_what_lacks_something_and_stays(
    send: Callable[..., Outcome], cli: Cli, vault: Vault
) -> None:
    send(WINDOW + many(30))
    done = send(many(30), "--even-so", "the window went with the new firmware")
    assert done.code == 0, done.stderr
    vault.refresh()
    newest = vault.latest(vault.axes()[0])
    assert newest is not None
    assert newest.record.override_reason == "the window went with the new firmware"
    assert cli("verify").code == 0


def test_what_the_dictionary_wants_always_is_missed_at_the_first_export(
    cli: Cli, vault: Vault, tmp_path: Path, export_text: Callable[..., str], family_text: str
) -> None:
    family = tmp_path / "always.yaml"
    family.write_text(family_text.replace("\nparameters:", "\nalways: [set/1]\nparameters:"))
    assert cli("family", "add", family).code == 0
    path = tmp_path / "lift.csv"
    lines = export_text().split("\r\n")
    path.write_text("\r\n".join(line for line in lines if not line.startswith("set/1;")))
    done = cli("ingest", path, "--to", "m1/lift")
    assert done.code == 3
    assert "1 parameter of dictionary hazel is not in this export: set/1" in done.stderr


def test_a_table_without_the_end_that_the_one_before_had_is_refused(
    cli: Cli, vault: Vault, tmp_path: Path, export_text: Callable[..., str]
) -> None:
    path = tmp_path / "lift.csv"
    path.write_text(export_text())
    assert cli("ingest", path, "--to", "m1/lift").code == 0
    path.write_text(export_text(lag="3").rstrip())
    done = cli("ingest", path, "--to", "m1/lift")
    assert done.code == 3
    assert "the export before had an end of the last line" in done.stderr


# Node ids.

NODE = "[1400]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nDefaultValue=$NODEID+0x200\n"


def value_of(cli: Cli, code: str) -> str:
    shown = cli("show", "m1/lift", "--json").json["parameters"]
    return next(str(p["raw"]) for p in shown if p["code"] == code)


def test_the_node_id_is_given_on_the_command_line_and_verified_with(
    send: Callable[..., Outcome], cli: Cli
) -> None:
    done = send(WINDOW + NODE, "--node-id", "5")
    assert done.code == 0, done.stderr
    assert value_of(cli, "0x1400:00") == str(0x205)
    assert cli("verify").code == 0


def test_the_axis_record_knows_the_node_id(
    send: Callable[..., Outcome], cli: Cli, tmp_path: Path
) -> None:
    record = tmp_path / "axis.yaml"
    record.write_text("schema: axisvault/axis/1\ncontroller_link: {node_address: 7}\n")
    assert cli("axis", "set", "m1/lift", record).code == 0
    assert send(WINDOW + "[DeviceComissioning]\nNodeID=3\n" + NODE).code == 0
    assert value_of(cli, "0x1400:00") == str(0x207)


def test_without_a_node_id_the_value_that_needs_it_is_left_to_the_reader(
    send: Callable[..., Outcome],
) -> None:
    done = send(WINDOW + NODE)
    assert done.code == 4
    assert "needs the node id" in done.stderr


@pytest.mark.parametrize("wrong", ["0", "128", "x"])
def test_a_node_id_that_is_none_is_refused(send: Callable[..., Outcome], wrong: str) -> None:
    assert send(WINDOW + NODE, "--node-id", wrong).code == 2


def test_files_of_other_kinds_are_named_with_the_next_step(
    send: Callable[..., Outcome],
) -> None:
    done = send("<EtherCATInfo><Vendor/></EtherCATInfo>", name="drive.xml")
    assert done.code == 4
    assert "this is a device description for EtherCAT" in done.stderr
    assert "says what a drive has, not what it holds" in done.stderr


def test_verify_names_a_coverage_that_is_not_what_the_export_gives(
    send: Callable[..., Outcome], cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr("vault.jobs.export.parameter_set.coverage_of", lambda *_: Coverage())
        assert send(WINDOW + default(TUNING)).code == 0
    done = cli("verify")
    assert done.code == 5
    assert "coverage: m1/lift@" in done.stdout
    assert "recorded as complete, and it is: 1 value is the file's default" in done.stdout


# Baselines and restores.


def test_a_part_is_no_baseline_and_no_target_without_a_reason_that_stays(
    send: Callable[..., Outcome], cli: Cli, tmp_path: Path
) -> None:
    bad = TUNING.replace("ParameterValue=6", "ParameterValue=six")
    send(WINDOW + bad, "--partial")
    refused = cli("golden", "approve", "m1/lift", "--reason", "as set up")
    assert (refused.code, "A part of the set: 1 line was left out" in refused.stderr) == (3, True)
    reason = "the tuning is set by hand"
    approved = cli(
        "golden", "approve", "m1/lift", "--reason", "as set up", "--even-so", reason, "--json"
    )
    assert approved.json["baseline"]["override_reason"] == reason
    assert approved.json["coverage"]["kind"] == "partial"
    assert reason in cli("golden", "show", "m1/lift").stdout
    out = tmp_path / "plan"
    assert cli("restore", "plan", "m1/lift", "--out", out).code == 3
    assert not out.exists()
    planned = cli("restore", "plan", "m1/lift", "--out", out, "--even-so", reason)
    assert planned.code == 0, planned.stderr
    sheet = (out / "sheet.html").read_text()
    head = sheet[sheet.index('<header class="head">') :]
    assert head.index(reason) < head.index("<h1>")
    assert json.loads((out / "plan.json").read_text())["override_reason"] == reason
    assert cli("verify").code == 0


@pytest.mark.parametrize(("protects", "code"), [(True, 3), (False, 0)])
def test_a_default_that_protects_makes_no_baseline(
    send: Callable[..., Outcome], cli: Cli, protects: bool, code: int
) -> None:
    send(default(WINDOW) + TUNING if protects else WINDOW + default(TUNING))
    assert cli("golden", "approve", "m1/lift", "--reason", "as set up").code == code


def test_at_a_restore_check_what_is_missing_is_a_difference_and_no_refusal(
    send: Callable[..., Outcome], cli: Cli, tmp_path: Path
) -> None:
    send(WINDOW + TUNING)
    part = tmp_path / "left.dcf"
    part.write_text(TUNING)
    done = cli("restore", "check", "m1/lift", part, "--json")
    assert done.code == 1, done.stderr
    assert [change["code"] for change in done.json["differences"]] == ["0x6065:00"]

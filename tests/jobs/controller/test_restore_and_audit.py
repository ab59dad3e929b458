"""A drive is restored, its controller's program changed meanwhile; audits tell both sides."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take
from tests.jobs.controller.conftest import APRIL, MAY
from vault.jobs.intake.report import Ingested
from vault.jobs.restore import controller_side
from vault.jobs.state import selectors
from vault.store.vault import Vault

TakeController = Callable[..., Ingested]
Cli = Callable[..., Outcome]


def _section(cli: Cli, name: str, out: str = "out") -> dict[str, object] | None:
    made = cli("restore", "plan", "m1/lift", "--out", out, "--json")
    assert made.code == 0, made.stderr
    return next((one for one in made.json["sheet"] if one["name"] == name), None)


def _texts(section: dict[str, object] | None) -> list[str]:
    assert section is not None
    return [line["text"] for line in section["lines"]]  # type: ignore[attr-defined]


def test_a_restored_drive_is_told_that_the_controllers_task_changed_since_golden(
    both: Vault, cli: Cli, take_controller: TakeController, tmp_path: Path
) -> None:
    cli("golden", "approve", "m1/lift", "--reason", "As built")
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(interval="4.000")
    made = cli("restore", "plan", "m1/lift", "--out", "plan")
    assert "the controller's program changed since the baseline: 1 setting" in made.stdout.replace(
        "\n", " "
    ).replace("  ", " ")
    texts = _texts(_section(cli, "controller"))
    assert any(
        text.startswith("The controller's program changed since the baseline: 1 setting")
        for text in texts
    )
    assert any("Interval of the motion task" in text and "4 ms" in text for text in texts)
    assert "start the controller anew too" in " ".join(_texts(_section(cli, "restart", "third")))
    sheet = next((tmp_path / "plan").rglob("sheet.html")).read_text()
    assert "Controller's side" in sheet or "Controller&#39;s side" in sheet
    loaded = next((tmp_path / "plan").rglob("load-file*"), None)
    files = [path.name for path in (tmp_path / "plan").rglob("*")]
    assert not any("lift-controller" in name for name in files), files
    assert loaded is None or b"task/motion" not in loaded.read_bytes()


def test_a_program_that_is_as_approved_is_told_so(both: Vault, cli: Cli) -> None:
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    texts = _texts(_section(cli, "controller"))
    assert "Its program is what it was since the baseline." in texts
    assert not any("changed" in text for text in texts)


def test_what_a_waiver_allows_is_no_change_of_the_program(
    both: Vault, cli: Cli, take_controller: TakeController
) -> None:
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(jog="60.0")
    assert any("changed since" in text for text in _texts(_section(cli, "controller")))
    cli(
        "golden", "waive", "m1/lift:controller", "axis/jog", "--allow", "40..80 mm/s",
        "--until", "2099-12-24", "--reason", "Setting up",
    )  # fmt: skip
    assert not any("changed since" in text for text in _texts(_section(cli, "controller", "two")))


def test_without_a_baseline_the_program_is_held_against_that_of_the_restored_state(
    both: Vault, cli: Cli, take_controller: TakeController
) -> None:
    take_controller(interval="4.000")
    texts = _texts(_section(cli, "controller"))
    assert any("No set of the controller's side is approved" in text for text in texts)
    assert any("changed since the state that is restored was taken" in text for text in texts)


@pytest.mark.parametrize("is_approved", [False, True])
def test_the_sheet_names_a_command_that_tells_the_rest_of_what_changed(
    both: Vault,
    cli: Cli,
    take_controller: TakeController,
    monkeypatch: pytest.MonkeyPatch,
    is_approved: bool,
) -> None:
    monkeypatch.setattr(controller_side, "_MOST", 1)
    if is_approved:
        cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(interval="4.000", jog="60.0", retry="5")
    (rest,) = (text for text in _texts(_section(cli, "controller")) if text.startswith("And "))
    found = re.fullmatch(r"And 2 more changes: axisvault (.+) tells them\.", rest)
    assert found is not None, rest
    told = " ".join(cli(*found[1].split()).stdout.split())
    for changed in ("Interval of the motion task", "Jog speed", "Retries of the bus"):
        assert changed in told, (rest, told)


def test_startup_parameters_stand_beside_what_is_restored(both: Vault, cli: Cli) -> None:
    section = _section(cli, "controller")
    assert section is not None
    rows = {row[0]: row[1:] for row in section["rows"]}  # type: ignore[attr-defined]
    window = rows["Following error window (lim/lag)"]
    assert window[2] == "differs"
    assert "3 mm" in window[0]
    assert "2.5 mm" in window[1]
    assert any("over what was loaded" in text for text in _texts(section))


def test_what_the_drives_file_has_as_a_default_only_is_not_told_as_written_over(
    both: Vault, cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither by the sheet nor by the check: nothing says what the drive itself has of it."""

    def told(out: str) -> tuple[list[str], list[str]]:
        section = _section(cli, "controller", out)
        assert section is not None
        found = cli("check", "m1/lift", "--json").json["findings"]
        across = [one["look_at"][0] for one in found if one["rule"] == "controller_start_up"]
        return [row[0] for row in section["rows"]], across  # type: ignore[attr-defined]

    window = "Following error window (lim/lag)"
    rows, complaints = told("before")
    assert window in rows and "lim/lag" in complaints
    monkeypatch.setattr(
        selectors,
        "defaults_of",
        lambda state: () if state.address.is_controller else ("lim/lag",),
    )
    fewer, complaints = told("after")
    assert fewer == [row for row in rows if row != window]
    assert "lim/lag" not in complaints


def test_a_sheet_without_a_controllers_set_says_nothing_of_one(
    vault: Vault, take: Take, export_text: Callable[..., str], cli: Cli
) -> None:
    take(export_text())
    assert _section(cli, "controller") is None
    assert "controller anew" not in " ".join(_texts(_section(cli, "restart", "two")))


def test_an_audit_tells_both_sides_in_the_order_of_time(
    both: Vault, cli: Cli, take_controller: TakeController, take: Take,
    export_text: Callable[..., str],
) -> None:  # fmt: skip
    take_controller(APRIL, lag="1.00")
    take(export_text(speed="120"), MAY)
    cli("golden", "approve", "m1/lift:controller@first", "--reason", "As built")
    cli("fault", "add", "m1/lift", "--code", "8611h", "--at", "2026-04-20T08:00:00+00:00")
    told = cli("audit", "m1/lift", "--from", "2026-01-01", "--fault", "8611h", "--json").json
    assert told["axes"] == ["m1/lift", "m1/lift:controller"]
    seen = [(one.get("snapshot") is not None, one["axis"]) for one in told["entries"]]
    snapshots = [axis for is_snapshot, axis in seen if is_snapshot]
    assert snapshots == ["m1/lift", "m1/lift:controller", "m1/lift:controller", "m1/lift"]
    assert sum(one.get("code") == "8611h" for one in told["entries"]) <= 1
    assert told["fault"]["axis"] == "m1/lift"
    assert any(
        suspect["axis"] == "m1/lift:controller" and suspect["code"] == "axis/lag_limit"
        for suspect in told["suspects"]
    )
    assert told["chain"]["verified"] is True


def test_the_evidence_holds_the_exports_of_both_sides_and_checks_itself(
    both: Vault, cli: Cli, take_controller: TakeController, tmp_path: Path
) -> None:
    take_controller(APRIL, interval="4.000")
    assert cli("audit", "m1/lift", "--from", "2026-01-01", "--out", "evidence").code == 0
    folder = tmp_path / "evidence"
    exports = [path.relative_to(folder).as_posix() for path in folder.rglob("export/*.csv")]
    assert sum("/controller/" in path for path in exports) == 2
    assert sum("/controller/" not in path for path in exports) == 1
    assert not any(":" in path for path in exports)
    how = (folder / "HOW-TO-CHECK.txt").read_text()
    commands = [line[2:] for line in how.splitlines() if line.startswith("$ ")]
    assert any("previous:" in command and "controller" in command for command in commands)
    for command in commands:
        done = subprocess.run(["bash", "-c", command], cwd=folder, capture_output=True, text=True)
        assert done.returncode == 0, (command, done.stderr)


def test_a_restored_drive_is_proven_and_the_changed_program_is_told_all_the_same(
    both: Vault, cli: Cli, take_controller: TakeController, export_text: Callable[..., str],
    tmp_path: Path,
) -> None:  # fmt: skip
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(interval="4.000")
    cli("restore", "plan", "m1/lift", "--out", "plan")
    (tmp_path / "left.csv").write_text(export_text(place="7"))
    told = cli("restore", "check", "m1/lift", "left.csv", "--json")
    assert told.json["restored"] is True, told.stdout
    assert any(
        "the controller's program changed since the baseline" in warning
        for warning in told.json["warnings"]
    )

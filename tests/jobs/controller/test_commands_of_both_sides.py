"""Golden, waivers, drift, spread, find, notes, tables, search: each on the side that is named."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from tests.jobs.controller.conftest import APRIL, MAY
from vault.jobs.baseline.drift import drift, wrongly_kept
from vault.jobs.inspect.margins import axis_margins
from vault.jobs.intake.report import Ingested
from vault.jobs.records.rename import rename_axis
from vault.jobs.state.selectors import resolve
from vault.jobs.state.sides import controller_golden, controller_state
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
SUMMER = datetime(2026, 6, 1, tzinfo=UTC)
TakeController = Callable[..., Ingested]
Cli = Callable[..., Outcome]


def test_each_side_has_its_own_golden_and_drift(
    both: Vault, cli: Cli, take_controller: TakeController
) -> None:
    assert cli("golden", "approve", "m1/lift", "--reason", "As built").code == 0
    assert cli("golden", "approve", "m1/lift:controller", "--reason", "As built").code == 0
    take_controller(interval="4.000")
    told = cli("drift", "m1/lift", "--json")
    assert told.code == 1
    rows = {row["axis"]: row for row in told.json["axes"]}
    assert {axis: row["status"] for axis, row in rows.items()} == {
        "m1/lift": "in_line", "m1/lift:controller": "drifted",
    }  # fmt: skip
    assert [change["code"] for change in rows["m1/lift:controller"]["changes"]] == [
        "task/motion/interval"
    ]
    text = cli("drift").stdout
    assert "m1/lift:controller: drifted, 1 parameter since" in text
    assert "1 axis and 1 controller's set: 1 drifted, 1 in line." in text
    alone = cli("drift", "m1/lift:controller", "--json").json["axes"]
    assert [row["axis"] for row in alone] == ["m1/lift:controller"]


def test_a_waiver_of_the_controllers_side_covers_that_side_alone(
    both: Vault, cli: Cli, take_controller: TakeController
) -> None:
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(jog="60.0")
    waived = cli(
        "golden", "waive", "m1/lift:controller", "axis/jog", "--allow", "40..80 mm/s",
        "--until", "2099-12-24", "--reason", "Setting up",
    )  # fmt: skip
    assert waived.code == 0, waived.stderr
    both.refresh()
    assert [one.status for one in drift(both, "m1/lift:controller")] == ["in_line"]
    shown = cli("golden", "show", "m1/lift:controller", "--json").json
    assert [waiver["code"] for waiver in shown["waivers"]] == ["axis/jog"]
    assert cli("golden", "show", "m1/lift", "--json").json["baseline"] is None
    ending = cli("golden", "waivers", "--days", "36000").stdout
    assert "m1/lift:controller" in ending
    assert cli("golden", "withdraw", "m1/lift:controller").code == 0
    both.refresh()
    assert controller_golden(both, LIFT) is None


def test_only_a_side_that_was_ever_taken_in_can_be_overdue(
    both: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path, cli: Cli
) -> None:
    take(export_text(), to="m1/feed")
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\nexport_every: 30 d\n")
    for axis in ("m1/feed", "m1/lift"):
        assert cli("axis", "set", axis, "axis.yaml").code == 0
    both.refresh()
    overdue = {one.axis: one.overdue for one in drift(both, moment=SUMMER)}
    assert overdue == {"m1/feed": True, "m1/lift": True, "m1/lift:controller": True}


def test_what_the_index_keeps_of_drift_is_of_both_sides(
    both: Vault, take_controller: TakeController, cli: Cli
) -> None:
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    both.refresh()
    assert [one.status for one in drift(both)] == ["no_golden", "in_line"]
    take_controller(interval="4.000")
    assert [(one.axis, one.status) for one in drift(both)] == [
        ("m1/lift:controller", "drifted"), ("m1/lift", "no_golden"),
    ]  # fmt: skip
    assert wrongly_kept(both) == []
    kept, _ = both.index.assessments()
    assert LIFT.controller in kept


def test_the_states_of_the_controllers_side_are_offered_to_other_jobs(
    both: Vault, take_controller: TakeController, cli: Cli
) -> None:
    assert controller_state(both, Address("m9", "none")) is None
    assert controller_golden(both, LIFT) is None
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(interval="4.000")
    latest, golden = controller_state(both, LIFT), controller_golden(both, LIFT)
    assert latest is not None
    assert golden is not None
    assert latest.is_latest
    assert [str(one.parameters["task/motion/interval"].value) for one in (golden, latest)] == [
        "2", "4",
    ]  # fmt: skip


def test_spread_sets_controllers_beside_controllers(
    both: Vault, take_controller: TakeController, take: Take, export_text: Callable[..., str],
    cli: Cli,
) -> None:  # fmt: skip
    take_controller(to="m2/lift:controller", interval="4.000")
    take(export_text(lag="5"), to="m2/lift")
    controllers = cli("spread", "*/lift:controller", "--json").json
    assert controllers["axes"] == ["m1/lift:controller", "m2/lift:controller"]
    drives = cli("spread", "*/lift", "--json").json
    assert drives["axes"] == ["m1/lift", "m2/lift"]
    assert cli("spread", "*/lift:controller", "--margins").code == 2


def test_find_names_the_side(both: Vault, cli: Cli) -> None:
    found = cli("find", "following_error_window", "--json").json["found"]
    assert {row["axis"]: row["code"] for row in found} == {
        "m1/lift": "lim/lag", "m1/lift:controller": "axis/lag_limit",
    }  # fmt: skip
    by_size = cli("find", "following_error_window", "--value", "> 2.7 mm", "--json").json["found"]
    assert [row["axis"] for row in by_size] == ["m1/lift:controller"]


def test_the_table_has_a_column_of_sides(both: Vault, cli: Cli, tmp_path: Path) -> None:
    written = cli("table", "--out", "out", "--json").json
    assert written["axes"] == 1
    (path,) = (tmp_path / "out").rglob("values.csv")
    rows = list(csv.DictReader(path.read_text().splitlines()))
    sides = {(row["axis"], row["side"], row["code"]) for row in rows}
    assert ("lift", "controller", "axis/jog") in sides
    assert ("lift", "drive", "mov/speed") in sides
    assert all(row["axis"] == "lift" for row in rows)


def test_a_snapshot_of_the_controllers_side_is_noted_on_and_redated(
    both: Vault, take_controller: TakeController, cli: Cli
) -> None:
    take_controller(interval="4.000")
    noted = cli("note", "add", "m1/lift:controller@latest", "Other program", "--json")
    assert noted.code == 0, noted.stderr
    redated = cli(
        "note", "add", "m1/lift:controller@latest", "The clock was wrong",
        "--taken-at", "2026-02-01T08:00:00+00:00",
    )  # fmt: skip
    assert redated.code == 0, redated.stderr
    both.refresh()
    latest = resolve(both, "m1/lift:controller")
    assert str(latest.parameters["task/motion/interval"].value) == "2"
    assert [note.text for note in resolve(both, "m1/lift:controller@first").addenda] == [
        "Other program", "The clock was wrong",
    ]  # fmt: skip
    assert cli("verify").code == 0
    assert cli("reindex").code == 0
    both.refresh()
    assert resolve(both, "m1/lift:controller@first").snapshot == latest_redated(both)


def latest_redated(vault: Vault) -> object:
    return next(s for s in vault.index.snapshots(LIFT.controller) if s.redated)


def test_a_rename_is_of_both_sides(both: Vault, cli: Cli) -> None:
    rename_axis(both, LIFT, "hoist", BY)
    assert [str(one) for one in both.controller_sets()] == ["m1/hoist:controller"]
    for name in ("m1/hoist:controller", "m1/lift:controller"):
        assert cli("show", name, "--json").json["axis"] == "m1/hoist:controller"
    assert [one.axis for one in drift(both)] == ["m1/hoist", "m1/hoist:controller"]
    refused = cli("axis", "rename", "m1/hoist:controller", "other")
    assert refused.code == 2
    assert "is one side of an axis" in refused.stderr


def test_what_is_of_the_whole_axis_is_not_asked_of_one_side(both: Vault, cli: Cli) -> None:
    for command in (
        ("restore", "plan", "m1/lift:controller", "--out", "out"),
        ("margins", "m1/lift:controller"),
        ("axis", "retire", "m1/lift:controller", "--reason", "gone"),
        ("fault", "add", "m1/lift:controller", "--code", "8611h"),
    ):
        told = cli(*command)
        assert (told.code, "is one side of an axis" in told.stderr) == (2, True), command
    with pytest.raises(WrongUsage):
        axis_margins(resolve(both, "m1/lift:controller"))


def test_the_logbook_of_an_axis_tells_both_sides_marked(
    both: Vault, take_controller: TakeController, cli: Cli
) -> None:
    cli("golden", "approve", "m1/lift:controller", "--reason", "As built")
    take_controller(MAY, interval="4.000")
    log = cli("history", "m1/lift", "--json").json["log"]
    assert [(one["kind"], one["side"]) for one in log] == [
        ("approval", "controller"), ("snapshot", "controller"), ("snapshot", "drive"),
        ("snapshot", "controller"),
    ]  # fmt: skip
    text = cli("history", "m1/lift").stdout
    assert "controller's side: routine" in text
    assert "controller's side: golden baseline approved" in text
    own = cli("history", "m1/lift:controller")
    assert "controller's side" not in own.stdout
    assert "In the logbook: snapshots 2, approvals 1." in own.stdout


def test_a_person_and_a_work_order_are_found_on_the_controllers_side(
    both: Vault, take: Take, cli: Cli
) -> None:
    from tests.controller_exports import controller_export

    take(controller_export(), APRIL, "m1/lift:controller", "c.csv", work_order="WO-77")
    from vault.jobs.inspect.search import search

    both.refresh()
    assert [hit.axis for hit in search(both, "WO-77").axes] == ["m1/lift:controller"]


def test_the_controllers_set_of_an_axis_is_no_other_axis_with_its_address(
    both: Vault, take: Take, cli: Cli, tmp_path: Path, family_text: str
) -> None:
    """What both sides say of one address is as it should be; of two axes it is told."""
    from tests.controller_exports import LINDEN, controller_export

    node = "  node: {name: Node, role: node_address, type: UNSIGNED8}\n"
    for name, text in (("hazel", family_text), ("linden", LINDEN)):
        (tmp_path / f"{name}.yaml").write_text(text + node)
        assert cli("family", "add", f"{name}.yaml").code == 0
    from tests.conftest import _export

    take(_export() + "node;Node;5;\r\n", APRIL)
    take(controller_export() + "node,Node,5,\n", APRIL, "m1/lift:controller", "c.csv")
    for axis in ("m1/lift", "m1/lift:controller"):
        rules = [one["rule"] for one in cli("check", axis, "--json").json["findings"]]
        assert "doubled_address" not in rules, axis
    other = controller_export(serial="LD-9902") + "node,Node,5,\n"  # of another controller
    take(other, APRIL, "m1/feed:controller", "c.csv")
    doubled = cli("check", "m1/feed:controller", "--json").json["findings"]
    assert [one["rule"] for one in doubled].count("doubled_address") == 1

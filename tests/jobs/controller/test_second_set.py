"""The controller's set of an axis: taken in, kept apart, read by the same commands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take
from tests.controller_exports import controller_export
from tests.jobs.controller.conftest import APRIL, MAY
from vault.jobs.intake.report import Ingested
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.model.errors import Refused, WrongUsage
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.vault_format import format_of
from vault.store.vault import Vault

LIFT = Address("m1", "lift")


def test_each_side_has_its_own_snapshots_and_files(both: Vault) -> None:
    drive, controller = both.latest(LIFT), both.latest(LIFT.controller)
    assert drive is not None
    assert controller is not None
    assert drive.id != controller.id
    assert both.index.count(LIFT) == both.index.count(LIFT.controller) == 1
    paths = {entry.path for entry in both.machine_files()}
    assert "machines/m1/lift/controller/parameters.yaml" in paths
    assert "machines/m1/lift/controller/export/lift-controller.csv" in paths
    assert "machines/m1/lift/export/lift.csv" in paths
    assert controller.record.family == "linden"
    assert controller.record.previous is None


def test_a_set_of_the_controller_is_no_axis_of_its_own(both: Vault) -> None:
    assert both.axes() == [LIFT]
    assert both.controller_sets() == [LIFT.controller]


def test_an_axis_whose_only_set_is_the_controllers_is_an_axis(
    both: Vault, take_controller: Callable[..., Ingested]
) -> None:
    take_controller(to="m1/feed:controller")
    assert [str(axis) for axis in both.axes()] == ["m1/feed", "m1/lift"]
    with pytest.raises(WrongUsage, match="m1/feed has no snapshot yet"):
        resolve(both, "m1/feed")
    assert len(resolve(both, "m1/feed:controller").parameters) == 5


def test_selectors_of_both_sides_stand_for_their_own_snapshots(
    both: Vault, take_controller: Callable[..., Ingested]
) -> None:
    take_controller(interval="4.000")
    values = {
        when: resolve(both, f"m1/lift:controller@{when}").parameters["task/motion/interval"].value
        for when in ("latest", "previous", "first", "~1", "2026-03-15")
    }
    assert {when: str(value) for when, value in values.items()} == {
        "latest": "4", "previous": "2", "first": "2", "~1": "2", "2026-03-15": "2",
    }  # fmt: skip
    assert resolve(both, "m1/lift").parameters["lim/lag"].raw == 250
    assert resolve(both, "m1/lift:controller").name == "m1/lift:controller"
    with pytest.raises(WrongUsage, match="it has only one"):
        resolve(both, "m1/lift@previous")


def test_the_vault_needs_a_program_that_knows_the_second_set(
    vault: Vault, take: Take, export_text: Callable[..., str], request: pytest.FixtureRequest
) -> None:
    take(export_text())
    assert format_of(vault.read(layout.VAULT) or b"") == 2
    request.getfixturevalue("both")
    assert format_of(vault.read(layout.VAULT) or b"") == layout.CONTROLLER_FORMAT


def test_late_entries_of_the_controllers_side_take_their_place(
    both: Vault, take_controller: Callable[..., Ingested]
) -> None:
    take_controller(MAY, interval="4.000")
    late = take_controller(APRIL, interval="1.000")
    order = [snapshot.id for snapshot in both.index.snapshots(LIFT.controller)]
    assert order[1] == late.snapshot.id
    assert str(resolve(both, "m1/lift:controller").parameters["task/motion/interval"].value) == "4"
    assert both.index.count(LIFT) == 1
    assert verify(both).problems == []


def test_a_rebuilt_index_has_both_sides_again(
    both: Vault, take_controller: Callable[..., Ingested]
) -> None:
    take_controller(interval="4.000")
    before = [s.id for side in (LIFT, LIFT.controller) for s in both.index.snapshots(side)]
    assert both.reindex() == 3
    assert [s.id for side in (LIFT, LIFT.controller) for s in both.index.snapshots(side)] == before


def test_the_command_line_says_the_side_by_address_or_option(
    both: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    (tmp_path / "c.csv").write_text(controller_export(interval="4.000"))
    to = ("ingest", "c.csv", "--to")
    said = cli(*to, "m1/lift", "--side", "controller", "--taken-at", APRIL, "--json")
    assert said.code == 0, said.stderr
    assert said.json["axis"] == "m1/lift:controller"
    assert said.json["changes"]["link"] + said.json["changes"]["dynamics"] >= 1
    by_address = cli(*to, "m1/lift:controller", "--taken-at", MAY, "--json")
    assert by_address.json["axis"] == "m1/lift:controller"
    assert by_address.json["unchanged"] is True
    both_said = cli(*to, "m1/lift:controller", "--side", "drive")
    assert both_said.code == 2
    assert "m1/lift:controller is the controller's side" in both_said.stderr
    assert cli(*to, "m1/lift", "--side", "plc").code == 2
    assert cli(*to, "m1/lift:plc").code == 2


def test_show_and_history_tell_the_side_that_was_asked(
    both: Vault, cli: Callable[..., Outcome], take_controller: Callable[..., Ingested]
) -> None:
    take_controller(interval="4.000")
    shown = cli("show", "m1/lift:controller@first", "--json").json
    assert shown["axis"] == "m1/lift:controller"
    assert {row["code"] for row in shown["parameters"]} >= {"axis/jog", "task/motion/interval"}
    assert len(cli("history", "m1/lift:controller", "--json").json["snapshots"]) == 2
    assert len(cli("history", "m1/lift", "--json").json["snapshots"]) == 1
    steps = cli("history", "m1/lift:controller", "--parameter", "task/motion/interval", "--json")
    assert [step["value"] for step in steps.json["values"]] == ["2", "4"]


def test_a_side_that_was_never_taken_in_is_told_with_the_way_to(
    vault: Vault, take: Take, export_text: Callable[..., str], cli: Callable[..., Outcome]
) -> None:
    take(export_text())
    told = cli("show", "m1/lift:controller")
    assert told.code == 2
    assert "m1/lift has no set of its controller's side yet" in told.stderr
    assert "ingest FILE --to m1/lift:controller" in told.stderr


def test_sets_of_two_sides_are_not_compared(both: Vault, cli: Callable[..., Outcome]) -> None:
    for pair in (("m1/lift", "m1/lift:controller"), ("m1/lift:controller", "m1/lift")):
        told = cli("compare", *pair)
        assert told.code == 2
        assert "m1/lift is a drive's set and m1/lift:controller a controller's" in told.stderr
        assert "axisvault check m1/lift" in told.stderr


def test_manifest_and_folders_say_the_side(
    both: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    tree = tmp_path / "tree"
    (tree / "m1" / "lift" / "controller").mkdir(parents=True)
    (tree / "m1" / "lift" / "controller" / "2026-04-01.csv").write_text(
        controller_export(interval="4.000")
    )
    assert cli("ingest-tree", tree, "--json").json["axes"] == ["m1/lift:controller"]
    listed = tmp_path / "listed"
    listed.mkdir()
    (listed / "c.csv").write_text(controller_export(interval="1.000"))
    (listed / "manifest.csv").write_text(
        "file,machine,axis,taken_at,side\n"
        "c.csv,m1,lift,2026-05-01,controller\n"
        "c.csv,m1,lift,2026-05-02,plc\n"
    )
    taken = cli("ingest-tree", listed, "--json")
    assert taken.code == 2
    assert "'plc' is no side of an axis" in taken.stderr
    assert both.tip != taken
    both.refresh()
    assert both.index.count(LIFT.controller) == 3
    assert both.index.count(LIFT) == 1


def test_the_drives_export_is_no_controllers_set(
    both: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    with pytest.raises(Refused, match="hazel is what the drive's set of this axis is of"):
        take(export_text(), APRIL, "m1/lift:controller")
    with pytest.raises(Refused, match="linden is what the controller's set of this axis is of"):
        take(controller_export(), APRIL, "m1/lift")
    take(export_text(), APRIL, "m1/lift:controller", override_reason="A bridge drive")


def test_one_controller_has_the_serial_number_of_many_axes(
    both: Vault, take_controller: Callable[..., Ingested]
) -> None:
    feed = take_controller(to="m1/feed:controller", interval="4.000")
    assert feed.warnings == ()
    assert both.index.count(Address("m1", "feed", "controller")) == 1


def test_the_wrong_axis_is_looked_for_on_the_same_side(
    both: Vault, take_controller: Callable[..., Ingested]
) -> None:
    values = {"interval": "9.000", "lag": "9.00", "jog": "9.0", "retry": "9"}
    take_controller(to="m1/feed:controller", **values)
    with pytest.raises(
        Refused, match="differ from m1/lift:controller, but hardly any from m1/feed"
    ):
        take_controller(MAY, **values)

"""A controller's project and a controller's table, taken in as one axis's by the record's rule."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from example_machines import FOLDER, MACHINES, controller_project
from tests.conftest import BY, Outcome, Take
from vault.formats import iec61131
from vault.jobs.export.axis_rows import of_axis
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_family, set_axis
from vault.jobs.state.selectors import resolve, view_of
from vault.model.axis_pick import AxisPick
from vault.model.export import Entry
from vault.model.names import Address
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
LIFT = Address("glaze-line-1", "lift")
PROJECT = controller_project.text(
    controller_project.Release("glaze-line-1", "2026-01-01T00:00:00", {})
)
FEBRUARY, MARCH = "2026-02-01T08:00:00+01:00", "2026-03-01T08:00:00+01:00"
ASPEN = """\
schema: axisvault/family/1
name: aspen
title: Aspen controllers, one row a tag (invented, for tests)
export:
  format: delimited
  delimiter: ","
  columns: {code: Tag, value: Value}
  nameplate: {Project: product}
  recognise: {product: ^AS}
parameters:
  Jog.Velocity: {name: Jog speed, role: controller_jog_velocity, type: DECIMAL, unit: mm/s}
  Task.Interval: {name: Task interval, role: controller_task_interval, type: UNSIGNED32, unit: us}
"""
TAGS = """\
Project,AS-1
Tag,Value
Table.Jog.Velocity,10.5
Lift.Jog.Velocity,20.25
Lift.Task.Interval,1000
"""


@pytest.fixture
def lines(vault: Vault) -> Vault:
    """The vault with the axis records of glaze line 1."""
    for path in sorted((MACHINES / "glaze-line-1").glob("*.yaml")):
        set_axis(vault, Address("glaze-line-1", path.stem), path, BY)
    return vault


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project of the line, as a file."""
    path = tmp_path / "line.xml"
    path.write_bytes(PROJECT)
    return path


def record(tmp_path: Path, controller: str) -> Path:
    path = tmp_path / "axis.yaml"
    path.write_text(f"schema: axisvault/axis/1\n{controller}\n")
    return path


def test_each_axis_of_a_project_gets_what_is_its_own(lines: Vault, cli: Cli, project: Path) -> None:
    for axis in ("lift", "turntable"):
        done = cli("ingest", project, "--to", f"glaze-line-1/{axis}", "--side", "controller",
                   "--taken-at", "2026-02-01T08:00:00+01:00")  # fmt: skip
        assert done.code == 0, done.stderr
    lift = cli("show", "glaze-line-1/lift:controller", "--json").json
    codes = {one["code"]: one for one in lift["parameters"]}
    assert codes["Lift.MoveUp.Position"]["role"] == "controller_move_position"
    assert codes["Lift.MoveUp.Position"]["physical"] == {"value": "0.56", "unit": "m"}
    assert codes["Lift.MoveUp.Position"]["access"] == "const"
    assert codes["Lift.MoveDown.Velocity"]["access"] == "rw"
    assert codes["Lift.MoveDown.Velocity"]["role"] is None
    assert codes["task/Motion/interval"]["value"] == "1000"
    assert lift["coverage"]["kind"] == "complete"
    assert "scaling" in lift["coverage"]["outside"]
    table = cli("show", "glaze-line-1/turntable:controller", "--json").json
    assert {one["code"].split(".")[0].split("/")[0] for one in table["parameters"]} == {
        "Table", "task",
    }  # fmt: skip
    shown = cli("show", "glaze-line-1/lift:controller").stdout
    assert "not in this file" in shown
    assert cli("verify").code == 0


def test_a_rule_that_changes_later_does_not_change_what_was_taken_in(
    lines: Vault, take: Take, cli: Cli, tmp_path: Path
) -> None:
    take(PROJECT.decode(), FEBRUARY, "glaze-line-1/lift:controller", "line.xml")
    set_axis(lines, LIFT, record(tmp_path, "controller: {match: [BeltAxis]}"), BY)
    assert cli("verify").code == 0
    kept = resolve(lines, "glaze-line-1/lift:controller")
    assert kept.record is not None
    assert kept.record.pick == AxisPick(("LiftAxis",), "Motion")
    assert "Lift.MoveUp.Position" in kept.kept_export().parameters


def test_a_user_unit_is_the_unit_of_the_record_s_scale_and_unknown_without_one(
    lines: Vault, take: Take, tmp_path: Path
) -> None:
    take(PROJECT.decode(), FEBRUARY, "glaze-line-1/turntable:controller", "line.xml")
    view = view_of(resolve(lines, "glaze-line-1/turntable:controller"))
    size = view.physical("controller_move_distance")
    assert size is not None
    assert (size.kind, float(size.number())) == ("angle", pytest.approx(1.5707963))
    rate = view.physical("controller_move_velocity")
    assert rate is not None
    assert rate.kind == "angular_velocity"
    bare = record(tmp_path, "controller: {match: [TableAxis]}")
    set_axis(lines, Address("glaze-line-1", "turntable"), bare, BY)
    take(PROJECT.decode(), MARCH, "glaze-line-1/turntable:controller", "line.xml")
    told = view_of(resolve(lines, "glaze-line-1/turntable:controller"))
    assert told.physical("controller_move_distance") is None


def test_without_a_rule_the_axes_of_the_project_are_told_and_what_to_write(
    vault: Vault, cli: Cli, project: Path, tmp_path: Path
) -> None:
    set_axis(vault, LIFT, record(tmp_path, "title: Lift"), BY)
    told = cli("ingest", project, "--to", "glaze-line-1/lift:controller")
    assert told.code == 2
    assert "LiftAxis, CarriageAxis" in told.stderr
    assert "controller: {match: [" in told.stderr
    assert vault.latest(LIFT.controller) is None


def test_a_project_is_refused_as_a_drive_s_set(lines: Vault, cli: Cli, project: Path) -> None:
    told = cli("ingest", project, "--to", "glaze-line-1/lift")
    assert told.code == 3
    assert "--side controller" in told.stderr


def test_two_positions_less_than_a_unit_apart_are_two(
    lines: Vault, cli: Cli, project: Path
) -> None:
    to = ("--to", "glaze-line-1/lift:controller")
    assert cli("ingest", project, *to, "--taken-at", "2026-02-01T08:00:00+01:00").code == 0
    project.write_bytes(PROJECT.replace(b"Position := 560.0", b"Position := 560.4"))
    assert cli("ingest", project, *to, "--taken-at", "2026-02-02T08:00:00+01:00").code == 0
    found = cli("compare", f"{LIFT.controller}@first", f"{LIFT.controller}", "--json").json
    (change,) = found["changes"]
    assert (change["code"], change["consequence"]) == ("Lift.MoveUp.Position", "travel")


def test_the_controllers_of_the_example_are_taken_in(lines: Vault) -> None:
    for path in sorted((MACHINES / "glaze-line-2").glob("*.yaml")):
        set_axis(lines, Address("glaze-line-2", path.stem), path, BY)
    done = ingest_tree(lines, FOLDER, BY, FOLDER / "controllers.csv")
    assert done.failures == []
    slow = view_of(resolve(lines, "glaze-line-2/lift:controller")).physical(
        "controller_task_interval"
    )
    assert slow is not None
    assert float(slow.number()) == 0.004
    home = resolve(lines, "glaze-line-1/lift:controller").parameters["Lift.Home.HomingMethod"]
    assert home.raw == 19
    jog = view_of(resolve(lines, "glaze-line-1/spray-carriage:controller"))
    fast = jog.physical("controller_jog_velocity")
    assert fast is not None
    assert float(fast.number()) == 0.25


# Tables: a row a tag


def test_a_table_of_tags_gives_the_rows_of_the_axis(
    vault: Vault, take: Take, cli: Cli, tmp_path: Path
) -> None:
    family = tmp_path / "aspen.yaml"
    family.write_text(ASPEN)
    add_family(vault, family, BY)
    set_axis(vault, LIFT, record(tmp_path, 'controller: {match: ["Lift.*"]}'), BY)
    take(TAGS, MARCH, "glaze-line-1/lift:controller", "tags.csv")
    kept = resolve(vault, "glaze-line-1/lift:controller")
    assert {code: str(one.value) for code, one in kept.parameters.items()} == {
        "Jog.Velocity": "20.25",
        "Task.Interval": "1000",
    }
    assert cli("verify").code == 0


@pytest.mark.parametrize(
    ("code", "globs", "behind"),
    [
        ("Lift.Jog", ("Lift",), "Jog"),
        ("Lift.Jog", ("lift.*",), "Jog"),
        ("Lift.Homing.Velocity", ("Lift.*",), "Homing.Velocity"),
        ("GL1.Lift.Jog", ("Lift",), "Jog"),
        ("LIFT_JogVel", ("LIFT_*",), "JogVel"),
        ("LiftJog", ("LiftJog",), "LiftJog"),
        ("LiftJog", ("Lift*",), "LiftJog"),
        ("Table.Lift", ("Lift.*",), None),
        ("Table.Jog", ("Lift",), None),
        ("Lifter.Jog", ("Lift",), None),
    ],
)
def test_a_row_is_of_the_axis_by_the_tag_that_it_begins_with(
    code: str, globs: tuple[str, ...], behind: str | None
) -> None:
    found = of_axis([Entry(code, 1, 1)], AxisPick(globs))
    assert [entry.code for entry in found] == ([] if behind is None else [behind])


def test_what_is_recognised_needs_no_dictionary() -> None:
    assert iec61131.recognises(PROJECT, "line.xml")


def test_a_draft_for_the_controller_s_side_proposes_that_side_s_roles(
    cli: Cli, tmp_path: Path
) -> None:
    names = {
        "Jog velocity": ("20.5,mm/s", "controller_jog_velocity"),
        "Task interval": ("1000,us", "controller_task_interval"),
        "Stop deceleration": ("2000.5,mm/s^2", "controller_stop_deceleration"),
        "Move distance": ("410.5,mm", "controller_move_distance"),
        "Homing position": ("1.5,mm", "controller_homing_position"),
    }
    rows = [f"C{n},{name},{rest}" for n, (name, (rest, _)) in enumerate(names.items())]
    table = tmp_path / "axis.csv"
    table.write_text("\n".join(["Code,Parameter,Value,Unit", *rows, ""]))
    best = {}
    for side in ("drive", "controller"):
        drafted = cli("family", "draft", table, "--name", "aspen", "--side", side, "--json").json
        best[side] = [
            suggested["role"] for one in drafted["parameters"] for suggested in one["suggested"][:1]
        ]
        assert all(one["role"] is None for one in drafted["parameters"] if side == "controller")
    assert best["controller"] == [role for _, role in names.values()]
    assert not any(role.startswith("controller_") for role in best["drive"])

"""Axes and machines under other names: the history stays, every name leads to it. All invented."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from tests.jobs.records.naming import sound
from vault.jobs.backup.backup import back_up
from vault.jobs.backup.recover import recover
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.golden import approve
from vault.jobs.inspect.find import find
from vault.jobs.inspect.history import history
from vault.jobs.inspect.spread import spread
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.rename import rename_axis, rename_machine
from vault.jobs.state.selectors import resolve
from vault.jobs.sync.sync import look
from vault.jobs.sync.sync import take as sync_take
from vault.jobs.verify.verify import verify
from vault.jobs.watch.drop_folder import DropFolder
from vault.jobs.watch.portion import read_complete, record_portion
from vault.model.errors import Refused, WrongUsage
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.corrections_text import STANDING_FORMAT
from vault.store.files.vault_format import FORMAT, check_format, format_of
from vault.store.vault import Vault

LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Take = Callable[..., Any]
Export = Callable[..., str]
Cli = Callable[..., Outcome]
ARCHIVE = Path(__file__).parents[2] / "old_vaults/format_1.tar.xz"


def test_exports_before_and_after_a_rename_are_one_history(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    renamed = rename_axis(vault, LIFT, "hoist", BY, "as on the drawing")
    assert (renamed.before, renamed.name) == ("m1/lift", "m1/hoist")
    for number, name in enumerate(("m1/hoist", "m1/lift"), 2):
        taken = take(export_text(str(number)), f"2026-03-0{number}", name)
        assert str(taken.snapshot.address) == "m1/hoist"
    assert vault.axes() == [LIFT]
    assert [str(axis) for axis in vault.axes()] == ["m1/hoist"]
    for name in ("m1/hoist", "m1/lift"):
        assert len(list(history(vault, vault.address(name)))) == 3
        assert resolve(vault, f"{name}@previous").name == "m1/hoist@previous"
    sound(vault)


def test_the_place_in_the_tree_and_the_messages_of_snapshots_stay(
    vault: Vault, take: Take, export_text: Export, git: Callable[..., str]
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    take(export_text("2"), "2026-03-02", "m1/hoist")
    assert "machines/m1/hoist" not in git("ls-tree", "-r", "--name-only", "main")
    subjects = git("log", "--format=%s %an", "main").splitlines()
    assert subjects[0] == "m1/lift: routine Mira Okafor"
    assert "m1/lift: renamed, m1/hoist from now on Mira Okafor" in subjects


def test_a_name_that_another_axis_has_or_had_is_refused(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    take(export_text("1", settings=300), "2026-03-01", "m1/belt")
    rename_axis(vault, LIFT, "hoist", BY)
    for name in ("lift", "hoist", "Hoist", "LIFT"):
        with pytest.raises(Refused, match="is, or was, the name of another axis"):
            rename_axis(vault, BELT, name, BY)
    with pytest.raises(WrongUsage, match="is on another machine"):
        rename_axis(vault, BELT, "m2/belt", BY)
    with pytest.raises(WrongUsage, match="cannot name an axis"):
        rename_axis(vault, BELT, "no name", BY)


def test_an_axis_may_have_the_name_again_that_it_began_with(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    again = rename_axis(vault, vault.address("m1/hoist"), "lift", BY)
    assert (again.name, again.names) == ("m1/lift", ("m1/lift", "m1/hoist"))
    assert rename_axis(vault, LIFT, "lift", BY).unchanged
    assert str(vault.address("m1/hoist")) == "m1/lift"
    sound(vault)


def test_a_new_axis_cannot_differ_from_a_given_name_in_case_only(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    with pytest.raises(WrongUsage, match="'Hoist' differs from 'hoist' in upper and lower case"):
        take(export_text("2"), "2026-03-02", "m1/Hoist")


def test_a_machine_is_renamed_with_all_its_axes(
    vault: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    assert rename_machine(vault, "m1", "press", BY).name == "press"
    take(export_text("2"), "2026-03-02", "press/hoist")
    take(export_text("9", settings=90), "2026-03-02", "m1/belt")
    assert [str(axis) for axis in vault.axes()] == ["press/belt", "press/hoist"]
    for name in ("m1/lift", "m1/hoist", "press/lift", "press/hoist"):
        assert vault.address(name) == LIFT
    for place in ("m1", "press"):
        assert {one.axis for one in drift(vault, place)} == {"press/belt", "press/hoist"}
        audited = cli("audit", place, "--json").json
        assert audited["axes"] == ["press/belt", "press/hoist"]
    assert vault.address("press/new") == Address("m1", "new")
    sound(vault)


def test_every_answer_has_the_present_name(
    vault: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    take(export_text("1"), "2026-03-01")
    take(export_text("2"), "2026-03-02")
    take(export_text("1"), "2026-03-01", "m2/lift")
    approve(vault, "m1/lift@first", BY, "as built")
    drift(vault)  # kept under the name of then
    rename_axis(vault, LIFT, "hoist", BY)
    for command in (
        "show m1/lift", "history m1/lift", "history m1/lift --parameter lim/lag", "margins m1/lift",
        "check m1/lift", "golden show m1/lift", "note list m1/lift", "axis show m1/lift",
        "axis template m1/lift", "fault list m1/lift", "audit m1/lift",
    ):  # fmt: skip
        answer = cli(*command.split(), "--json").json
        assert "m1/hoist" in (answer["axis"], *answer.get("axes", ())), command
    compared = cli("compare", "m1/lift@previous", "m1/lift", "--json").json
    assert (compared["left"]["axis"], compared["right"]["axis"]) == ("m1/hoist", "m1/hoist")
    assert [one["axis"] for one in cli("drift", "--json").json["axes"]] == ["m1/hoist", "m2/lift"]
    assert {one.axis for one in find(vault, "lim/lag")} == {"m1/hoist", "m2/lift"}
    assert spread(vault, "*").axes == ("m1/hoist", "m2/lift")
    assert spread(vault, "*/lift").axes == ("m1/hoist", "m2/lift")  # by any name it had
    sound(vault)


def test_kept_drift_between_two_axes_speaks_of_the_present_name(
    vault: Vault, take: Take, export_text: Export, cli: Cli, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01")
    take(export_text("3"), "2026-03-01", "m2/belt")
    approve(vault, "m1/lift", BY, "as built")
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\nfollows: m1/lift\n")
    assert cli("axis", "set", "m2/belt", "axis.yaml").code == 0
    assert cli("drift", "m2").stdout.count("m1/lift") == 2  # whom it follows, and in a sentence
    vault.refresh()
    drift(vault)
    rename_axis(vault, LIFT, "hoist", BY)
    told = next(one for one in drift(vault) if one.axis == "m2/belt")
    assert told.follows == "m1/hoist"
    assert "m1/hoist" in str(told.changes)
    assert "m1/lift" not in str(told.changes)
    sound(vault)


def test_a_manifest_takes_the_old_name_and_the_new_one(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    tree = tmp_path / "tree"
    tree.mkdir()
    lines = ["file,machine,axis,taken_at"]
    for number, name in enumerate(("lift", "hoist"), 2):
        (tree / f"{number}.csv").write_text(export_text(str(number)))
        lines.append(f"{number}.csv,m1,{name},2026-03-0{number}")
    (tree / "manifest.csv").write_text("\n".join(lines) + "\n")
    first, again = (ingest_tree(vault, tree, BY) for _ in range(2))
    assert (first.taken, first.failures, first.axes) == (2, [], {LIFT})
    assert again.already_there == 2
    assert len(list(vault.index.snapshots(LIFT))) == 3


def test_a_watched_folder_takes_both_names(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    (tmp_path / "drop").mkdir()
    folder = DropFolder(tmp_path / "drop")
    for number, name in enumerate(("lift", "hoist"), 2):
        path = Path("m1", name, "e.csv")
        (folder.root / path).parent.mkdir(parents=True)
        (folder.root / path).write_text(export_text(str(number)))
        file = read_complete(folder, path, folder.stamp(path), None, BY)
        assert file is not None
        with vault.writing():
            record_portion(vault, [file])
        assert file.ingested is not None, file.refusal
        assert file.ingested.snapshot.address == LIFT


def test_a_plan_that_was_made_before_is_of_the_axis_still(
    vault: Vault, take: Take, export_text: Export, cli: Cli, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01")
    approve(vault, "m1/lift", BY, "as built")
    assert cli("restore", "plan", "m1/lift", "--out", "plan").code == 0
    vault.refresh()
    rename_axis(vault, LIFT, "hoist", BY)
    (tmp_path / "left.csv").write_text(export_text("1"))
    visit = ("--even-so", "to see", "--json")
    checked = cli("restore", "check", "m1/hoist", "left.csv", "--plan", "plan/plan.json", *visit)
    assert checked.json.get("axis") == "m1/hoist", checked.stderr


def test_the_format_is_raised_by_the_first_rename_alone(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    before = format_of(vault.read_required(layout.VAULT, vault.tip))
    rename_axis(vault, LIFT, "hoist", BY)
    after = vault.read_required(layout.VAULT, vault.tip)
    assert (before, format_of(after)) == (2, STANDING_FORMAT)
    newer = FORMAT + 1
    older = after.replace(b"reads: 3", b"reads: %d" % newer)  # as this one is to an older program
    with pytest.raises(Refused, match=f"this vault has format {newer}"):
        check_format(older, "plant")


def test_a_backup_and_an_index_made_anew_have_the_names(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_axis(vault, LIFT, "hoist", BY)
    rename_machine(vault, "m1", "press", BY)
    vault.reindex()
    assert [str(axis) for axis in vault.axes()] == ["press/hoist"]
    back_up(vault, tmp_path / "all.tar")
    recover(tmp_path / "all.tar", tmp_path / "again", BY)
    with Vault.open(tmp_path / "again") as again:
        assert again.address("m1/lift") == LIFT
        assert [str(axis) for axis in again.axes()] == ["press/hoist"]
        sound(again)


def test_an_old_vault_is_renamed_in_and_verifies(tmp_path: Path, cli: Cli) -> None:
    shutil.unpack_archive(ARCHIVE, tmp_path / "plant")
    before = len(cli("history", "glaze-line-1/lift", "--json").json["snapshots"])
    assert cli("axis", "rename", "glaze-line-1/lift", "hoist").code == 0
    assert cli("machine", "rename", "glaze-line-1", "line-1").code == 0
    told = cli("history", "glaze-line-1/lift", "--json").json
    assert (told["axis"], len(told["snapshots"])) == ("line-1/hoist", before)
    assert cli("verify").code == 0
    assert cli("verify", "--new").code == 0


@pytest.fixture
def laptop(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Iterator[Vault]:
    """A copy of the vault; both have one snapshot of the lift, and one of the belt."""
    take(export_text("1"), "2026-03-01")
    take(export_text("9", settings=90), "2026-03-01", "m1/belt")
    with Vault.copy(tmp_path / "laptop", str(vault.repository.path)) as copied:
        yield copied


def place(vault: Vault) -> str:
    return str(vault.repository.path)


def test_one_copy_renames_while_the_other_takes_in(
    vault: Vault, laptop: Vault, take: Take, export_text: Export
) -> None:
    rename_axis(laptop, LIFT, "hoist", BY)
    rename_machine(laptop, "m1", "press", BY)
    take(export_text("2"), "2026-03-02", into=vault)
    take(export_text("3"), "2026-03-03", "press/hoist", into=laptop)
    kinds = {change.kind for change in look(vault, place(laptop), BY).changes}
    assert "name" in kinds
    sync_take(vault, place(laptop), BY)
    sync_take(laptop, place(vault), BY)
    for one in (vault, laptop):
        assert len(list(history(one, one.address("m1/lift")))) == 3
        assert [str(axis) for axis in one.axes()] == ["press/belt", "press/hoist"]
        sound(one)


def test_both_copies_rename_one_axis_and_the_later_name_holds(vault: Vault, laptop: Vault) -> None:
    rename_axis(vault, LIFT, "hoist", BY)
    rename_axis(laptop, LIFT, "elevator", BY)
    sync_take(vault, place(laptop), BY)
    sync_take(laptop, place(vault), BY)
    for one in (vault, laptop):
        assert one.names.names(LIFT) == ["m1/elevator", "m1/lift", "m1/hoist"]
        sound(one)


def test_two_axes_that_got_one_name_apart_are_told_and_not_taken(
    vault: Vault, laptop: Vault
) -> None:
    rename_axis(vault, LIFT, "beam", BY)
    rename_axis(laptop, BELT, "beam", BY)
    why = [change.why for change in look(vault, place(laptop), BY).changes]
    assert "m1/lift and m1/belt are both called m1/beam" in why
    with pytest.raises(Refused, match="are both called m1/beam") as refused:
        sync_take(vault, place(laptop), BY)
    assert "axisvault axis rename m1/belt NEW" in str(refused.value)
    rename_axis(laptop, BELT, "feed", BY)
    sync_take(vault, place(laptop), BY)
    assert [str(axis) for axis in vault.axes()] == ["m1/feed", "m1/beam"]
    assert vault.address("m1/beam") == LIFT  # who has it goes before who had it
    sound(vault)


def test_who_types_a_name_that_two_had_is_told_of_the_other(
    vault: Vault, laptop: Vault, cli: Cli
) -> None:
    rename_axis(vault, LIFT, "beam", BY)
    rename_axis(vault, LIFT, "hoist", BY)
    rename_axis(laptop, BELT, "beam", BY)
    sync_take(vault, place(laptop), BY)
    told = "remark: m1/beam leads to m1/beam; it is also a former name of m1/hoist\n"
    for typed in ("m1/beam", "m1/beam@latest"):
        assert cli("show", typed).stderr == told
    assert cli("compare", "m1/beam@first", "m1/beam").stderr == told  # once, not twice
    for typed in ("m1/hoist", "m1/lift", "m1/belt"):
        assert cli("show", typed).stderr == ""
    assert cli("drift").stderr == ""  # nobody typed it
    assert [str(one) for one in vault.names.shared(LIFT)] == [told[8:-1]]
    sound(vault)


def test_a_former_name_of_two_leads_to_one_and_tells_of_the_other(
    vault: Vault, laptop: Vault
) -> None:
    for copy, axis, new in ((vault, LIFT, "hoist"), (laptop, BELT, "feed")):
        rename_axis(copy, axis, "beam", BY)
        rename_axis(copy, axis, new, BY)
    rename_machine(laptop, "m1", "press", BY)
    sync_take(vault, place(laptop), BY)
    said: list[str] = []
    vault.on_shared_name = lambda shared: said.append(str(shared))
    assert vault.address("m1/beam") == BELT
    assert said == ["m1/beam leads to press/feed; it is also a former name of press/hoist"]
    vault.address("press/hoist")
    assert len(said) == 1
    sound(vault)


def test_a_former_name_of_two_machines_tells_of_the_other(
    vault: Vault, laptop: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("5", settings=500), "2026-03-02", "m2/lift", into=vault)
    sync_take(laptop, place(vault), BY)
    for copy, machine, new in ((vault, "m1", "one"), (laptop, "m2", "two")):
        rename_machine(copy, machine, "press", BY)
        rename_machine(copy, machine, new, BY)
    sync_take(vault, place(laptop), BY)
    said: list[str] = []
    vault.on_shared_name = lambda shared: said.append(str(shared))
    assert str(vault.address("press/lift")) == "one/lift"
    assert said == ["press leads to one; it is also a former name of two"]
    assert [str(one) for one in vault.names.shared(Address("m2", "lift"))] == said


def test_a_new_axis_there_may_not_have_a_name_that_was_given_here(
    vault: Vault, laptop: Vault, take: Take, export_text: Export
) -> None:
    rename_axis(vault, LIFT, "hoist", BY)
    take(export_text("5", settings=500), "2026-03-02", "m1/hoist", into=laptop)
    with pytest.raises(Refused, match="m1/hoist and m1/lift are both called m1/hoist"):
        sync_take(vault, place(laptop), BY)
    rename_axis(vault, LIFT, "elevator", BY)
    sync_take(vault, place(laptop), BY)
    assert [str(axis) for axis in vault.axes()] == ["m1/belt", "m1/hoist", "m1/elevator"]
    assert vault.address("m1/hoist") == Address("m1", "hoist")
    sound(vault)


def test_verify_says_where_a_merge_by_hand_gave_two_one_name(vault: Vault, laptop: Vault) -> None:
    rename_axis(vault, LIFT, "beam", BY)
    rename_axis(laptop, BELT, "beam", BY)
    path = layout.corrections_file(BELT)
    with vault.writing():
        vault.write_files({path: laptop.read_required(path, laptop.tip)}, "by hand\n", BY)
    outcome = verify(vault)
    assert outcome.ok
    assert any("m1/lift and m1/belt are both called m1/beam" in one for one in outcome.remarks)
    assert [str(axis) for axis in vault.axes()] == ["m1/belt", "m1/beam"]


def test_verify_misses_an_entry_of_a_machine_that_is_gone(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    rename_machine(vault, "m1", "press", BY)
    path = layout.machine_corrections_file("m1")
    content = vault.read_required(path, vault.tip).replace(b"name: press", b"name: mill")
    with vault.writing():
        vault.write_files({path: content}, "by hand\n", BY)
    problems = verify(vault).problems
    assert [one.where for one in problems] == [path]
    assert "is gone or not as it was written" in problems[0].details


def test_what_a_rename_prints_is_its_outcome(cli: Cli, take: Take, export_text: Export) -> None:
    take(export_text("1"), "2026-03-01")
    done = cli("axis", "rename", "m1/lift", "hoist", "--reason", "as on the drawing")
    assert done.stdout == "m1/lift is called m1/hoist from now on; both names lead to it.\n"
    again = cli("axis", "rename", "m1/lift", "hoist", "--json").json
    assert again == {
        "before": "m1/hoist", "name": "m1/hoist", "names": ["m1/hoist", "m1/lift"],
        "unchanged": True,
    }  # fmt: skip
    notes = cli("note", "list", "m1/hoist", "--json").json["notes"]
    assert [(one["kind"], one["name"], one["text"]) for one in notes] == [
        ("renamed", "hoist", "as on the drawing")
    ]
    assert "renamed: it is called hoist now" in cli("history", "m1/hoist").stdout
    assert json.loads(cli("axis", "list", "--json").stdout)["axes"][0]["names"] == [
        "m1/hoist", "m1/lift",
    ]  # fmt: skip

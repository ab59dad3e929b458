"""Tampering on the controller's side is found, and copies of a vault bring its sets along."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from tests.controller_exports import controller_export
from tests.jobs.controller.conftest import APRIL, MAY
from tests.jobs.sync.test_sync import sound
from tests.jobs.verify.test_verify import forged, kinds, moved, rewritten
from vault.jobs.backup.backup import back_up
from vault.jobs.backup.recover import recover
from vault.jobs.baseline.golden import approve
from vault.jobs.intake.report import Ingested
from vault.jobs.sync.sync import look
from vault.jobs.sync.sync import take as sync_take
from vault.jobs.verify.incremental import remember_verified, verify_new
from vault.jobs.verify.verify import verify
from vault.model.errors import Refused
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
FOLDER = "machines/m1/lift/controller"
TakeController = Callable[..., Ingested]
Git = Callable[..., str]

TAMPERED = [
    ("export", "export/lift-controller.csv", "3.00", "5.00"),
    ("parameters", "parameters.yaml", "unit: ms, raw: 2000", "unit: ms, raw: 4000"),
    ("message", "snapshot.yaml", "occasion: routine", "occasion: as-left"),
]


@pytest.mark.parametrize(("kind", "place", "old", "new"), TAMPERED)
def test_a_controllers_snapshot_that_was_rewritten_is_named(
    both: Vault, git: Git, kind: str, place: str, old: str, new: str
) -> None:
    commit = rewritten(git, "main", forged(git, "main", f"{FOLDER}/{place}", old, new))
    outcome = moved(git, both, commit)
    assert kind in kinds(outcome)
    assert any(one.where == f"m1/lift:controller@{commit[:10]}" for one in outcome.problems)
    assert outcome.snapshots == 2


def test_new_tampering_on_the_controllers_side_is_found_by_looking_at_what_is_new(
    both: Vault, git: Git, take_controller: TakeController
) -> None:
    assert verify(both).ok
    remember_verified(both)
    take_controller(interval="4.000")
    with Vault.open(both.repository.path) as again:
        assert (verify_new(again).problems, verify_new(again).snapshots) == ([], 1)
    path = f"{FOLDER}/parameters.yaml"
    commit = rewritten(git, "main", forged(git, "main", path, "raw: 4000", "raw: 1000"))
    git("update-ref", "refs/heads/main", commit)
    with Vault.open(both.repository.path) as again:
        outcome = verify_new(again)
    assert "parameters" in kinds(outcome)


@pytest.mark.parametrize("name", ["parameters.yaml", "export/more.csv", "snapshot.yaml"])
def test_files_that_were_put_on_the_controllers_side_by_hand_are_named(
    both: Vault, git: Git, name: str
) -> None:
    blob = git("hash-object", "-w", "--stdin", stdin=b"schema: x\n").strip()
    git("read-tree", "main")
    git("update-index", "--add", "--cacheinfo", f"100644,{blob},{FOLDER}/{name}")
    commit = git("commit-tree", git("write-tree").strip(), "-p", "main", "-m", "By hand").strip()
    outcome = moved(git, both, commit)
    assert any("controller" in one.where for one in outcome.problems), outcome.problems


def test_values_of_a_controller_without_a_snapshot_are_named(both: Vault, git: Git) -> None:
    blob = git("hash-object", "-w", "--stdin", stdin=b"schema: x\n").strip()
    place = "machines/m1/crane/controller"
    git("read-tree", "main")
    git("update-index", "--add", "--cacheinfo", f"100644,{blob},{place}/parameters.yaml")
    commit = git("commit-tree", git("write-tree").strip(), "-p", "main", "-m", "Odd").strip()
    outcome = moved(git, both, commit)
    assert [(one.kind, one.where) for one in outcome.problems] == [("tip", place)]


def test_a_baseline_of_the_controllers_side_that_names_the_drives_snapshot_is_named(
    both: Vault, git: Git
) -> None:
    approve(both, "m1/lift:controller", BY, "As built")
    theirs, ours = both.latest(LIFT), both.latest(LIFT.controller)
    assert theirs is not None
    assert ours is not None
    tree = forged(git, "main", f"{FOLDER}/golden.yaml", ours.id, theirs.id)
    commit = git("commit-tree", tree, "-p", "main", "-m", "By hand").strip()
    outcome = moved(git, both, commit)
    assert [one.where for one in outcome.problems if one.kind == "golden"] == [
        f"{FOLDER}/golden.yaml"
    ]


def test_sync_brings_the_controllers_sets_and_keeps_each_at_its_place(
    both: Vault, take: Take, take_controller: TakeController, tmp_path: Path
) -> None:
    with Vault.copy(tmp_path / "laptop", str(both.repository.path)) as laptop:
        place = str(laptop.repository.path)
        take(controller_export(interval="1.000"), APRIL, "m1/lift:controller", "c.csv", into=laptop)
        take_controller(MAY, interval="4.000")
        seen = look(both, place, BY)
        assert {str(axis) for axis in seen.new} == {"m1/lift:controller"}
        taken = sync_take(both, place, BY)
        assert [str(axis) for axis in taken.axes] == ["m1/lift:controller"]
        assert both.index.count(LIFT.controller) == 3
        assert both.index.count(LIFT) == 1
        sound(both)
        text = both.read(f"{FOLDER}/parameters.yaml") or b""
        assert b"raw: 4000" in text, "the tip shows what was taken last"


def test_a_baseline_of_the_controllers_side_needs_the_consent_that_the_drives_does(
    both: Vault, tmp_path: Path, git: Git
) -> None:
    with Vault.copy(tmp_path / "laptop", str(both.repository.path)) as laptop:
        approve(laptop, "m1/lift:controller", BY, "As built")
        (change,) = look(both, str(laptop.repository.path), BY).changes
        assert (change.path, change.kind) == (f"{FOLDER}/golden.yaml", "golden baseline")
        content = laptop.read(f"{FOLDER}/golden.yaml") or b""
        with laptop.writing():
            forgery = content.replace(b"Mira Okafor", b"Maro Okifar")
            laptop.write_files({f"{FOLDER}/golden.yaml": forgery}, "x\n", BY)
        with pytest.raises(Refused):
            sync_take(both, str(laptop.repository.path), BY)


def test_a_backup_brings_both_sides_back(
    both: Vault, take_controller: TakeController, tmp_path: Path
) -> None:
    take_controller(interval="4.000")
    back_up(both, tmp_path / "all.backup")
    recover(tmp_path / "all.backup", tmp_path / "again", BY)
    with Vault.open(tmp_path / "again") as again:
        assert again.index.count(LIFT.controller) == 2
        assert verify(again).problems == []

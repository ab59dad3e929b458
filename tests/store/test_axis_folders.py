"""Which axes a vault has, asked again after each change. The files are invented."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from vault.model.names import Address
from vault.store.git.repository import Repository
from vault.store.vault import Vault

BY = "Pavo Drostmaa <pavo@tileworks.example>"
AXIS = b"schema: axisvault/axis/1\ntitle: Lift\n"
BELT, LIFT, TURN = Address("m1", "belt"), Address("m1", "lift"), Address("m2", "turn")
Take = Callable[..., Any]
Export = Callable[..., str]


def write(vault: Vault, *removed: str, **files: bytes) -> None:
    """Commit files of machines, `m1__lift__axis` for m1/lift/axis.yaml, and remove others."""
    changes = {f"machines/{name.replace('__', '/')}.yaml": text for name, text in files.items()}
    with vault.writing():
        vault.write_files(changes, "by hand\n", BY, [f"machines/{one}" for one in removed])


def seen(vault: Vault) -> list[Address]:
    """The axes, which a vault that is opened now has too."""
    found, folders = vault.axes(), vault.axis_folders()
    with Vault.open(vault.repository.path) as other:
        assert other.axes() == found
        assert other.axis_folders() == folders
    return found


def test_an_axis_is_there_as_soon_as_it_has_a_record_or_a_snapshot(
    vault: Vault, take: Take, export_text: Export
) -> None:
    assert seen(vault) == []
    write(vault, m1__lift__note=b"nothing yet\n", m1__machine=b"title: Press\n")
    assert seen(vault) == []
    assert set(vault.axis_folders()) == {LIFT}
    write(vault, m1__lift__axis=AXIS)
    assert seen(vault) == [LIFT]
    take(export_text(), "2026-03-01", str(TURN))
    write(vault, m1__belt__axis=AXIS)
    assert seen(vault) == [BELT, LIFT, TURN]


def test_an_axis_that_loses_its_record_is_one_no_more(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text(), "2026-03-01", str(TURN))
    write(vault, m1__lift__axis=AXIS, m1__lift__note=b"same\n", m1__belt__axis=AXIS)
    assert seen(vault) == [BELT, LIFT, TURN]
    write(vault, "m1/lift/axis.yaml", "m1/belt/axis.yaml")
    assert seen(vault) == [TURN]
    write(vault, m1__lift__axis=AXIS)
    assert seen(vault) == [LIFT, TURN]
    write(vault, "m1/lift/axis.yaml", "m1/lift/note.yaml")
    assert seen(vault) == [TURN]


def test_a_folder_changes_with_anything_in_it_and_no_other_does(vault: Vault) -> None:
    write(vault, m1__lift__axis=AXIS, m1__belt__axis=AXIS, m2__turn__axis=AXIS)
    before = vault.axis_folders()
    write(vault, m1__lift__golden=b"schema: axisvault/golden/1\n")
    after = vault.axis_folders()
    assert [axis for axis in before if before[axis] != after[axis]] == [LIFT]


def test_only_the_machine_that_changed_is_read_again(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(vault, m1__lift__axis=AXIS, m2__turn__axis=AXIS, m3__turn__axis=AXIS)
    vault.axes()
    asked: list[str] = []
    read = Repository.list

    def listed(repository: Repository, commit: str, path: str, **more: bool) -> Any:
        asked.append(path)
        return read(repository, commit, path, **more)

    write(vault, m2__belt__axis=AXIS)
    monkeypatch.setattr(Repository, "list", listed)
    assert vault.axes() == [LIFT, Address("m2", "belt"), TURN, Address("m3", "turn")]
    assert asked == ["machines", "machines/m2"]


def test_files_of_machines_are_listed_once_for_each_state(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(vault, m1__lift__axis=AXIS)
    asked: list[str] = []
    read = Repository.list

    def listed(repository: Repository, commit: str, path: str, **more: bool) -> Any:
        asked.append(commit)
        return read(repository, commit, path, **more)

    monkeypatch.setattr(Repository, "list", listed)
    for _ in range(2):
        assert [entry.path for entry in vault.machine_files()] == ["machines/m1/lift/axis.yaml"]
    write(vault, m1__belt__axis=AXIS)
    asked.clear()
    assert len(vault.machine_files()) == len(vault.machine_files()) == 2
    assert asked == [vault.tip]


def test_a_folder_is_read_once_by_all_vaults_that_are_open(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(vault, m1__lift__axis=AXIS, m1__lift__golden=b"one\n", m1__belt__axis=AXIS)
    with Vault.open(vault.repository.path) as other:
        first = vault.blobs_named("golden.yaml")
        assert list(first) == [LIFT]
        asked: list[str] = []
        read = Repository.object

        def seen(repository: Repository, name: str) -> Any:
            asked.append(name)
            return read(repository, name)

        monkeypatch.setattr(Repository, "object", seen)
        assert other.blobs_named("golden.yaml") == first
        assert other.blobs_named("axis.yaml").keys() == {LIFT, BELT}
        assert other.blobs_named("controller/golden.yaml") == {}
        assert asked == []
        write(vault, m1__belt__golden=b"two\n")
        folder = vault.axis_folders()[BELT]
        asked.clear()
        second = vault.blobs_named("golden.yaml")
        assert second[LIFT] == first[LIFT]
        assert second.keys() == {LIFT, BELT}
        assert asked == [folder]
        assert other.blobs_named("golden.yaml") == first, "it sees the state that it was opened at"


@pytest.mark.parametrize("name", ["golden.yaml", "controller/golden.yaml"])
def test_ids_of_files_are_those_that_git_tells(vault: Vault, name: str) -> None:
    place = name.removesuffix(".yaml").replace("/", "__")
    write(vault, m1__lift__axis=AXIS, m2__turn__axis=AXIS, **{f"m1__lift__{place}": b"one\n"})
    for _ in range(2):
        told = vault.repository.resolve(f"{vault.tip}:machines/m1/lift/{name}")
        assert vault.blobs_named(name) == {LIFT: told}


@pytest.mark.parametrize("name", ["golden.yaml", "controller/golden.yaml"])
def test_a_folder_that_could_not_be_read_is_read_again(
    vault: Vault, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    place = name.removesuffix(".yaml").replace("/", "__")
    write(vault, m1__lift__axis=AXIS, **{f"m1__lift__{place}": b"one\n"})
    folder = f"{vault.tip}:machines/m1/lift/{name}".rpartition("/")[0]
    tree = vault.repository.resolve(folder)
    with monkeypatch.context() as damaged:
        resolve, read = Repository.resolve, Repository.object
        damaged.setattr(Repository, "object", lambda own, of: None if of == tree else read(own, of))
        damaged.setattr(
            Repository,
            "resolve",
            lambda own, of: None if of.startswith(f"{tree}:") else resolve(own, of),
        )
        assert vault.blobs_named(name) == {}
    assert list(vault.blobs_named(name)) == [LIFT]

"""Vaults stay open between requests, and every request sees the present state all the same."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest

from vault.model.errors import WrongUsage
from vault.store.vault import Vault
from webui import open_vaults
from webui.app import create_app
from webui.open_vaults import OpenVaults

Take = Callable[..., Any]
Export = Callable[..., str]
LIFT = "/api/v1/axis/m1/lift"


def children() -> set[int]:
    """Processes that this one has started, and that run still."""
    found = set()
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            _, _, rest = path.read_text().rpartition(") ")
        except OSError:
            continue
        state, parent = rest.split()[:2]
        if int(parent) == os.getpid() and state != "Z":
            found.add(int(path.parent.name))
    return found


def test_a_vault_is_used_again(vault: Vault) -> None:
    vaults = OpenVaults(vault.repository.path)
    with vaults.borrow() as first:
        pass
    with vaults.borrow() as again:
        assert again is first
        with vaults.borrow() as other:
            assert other is not first, "two at once are two vaults"
    vaults.close()
    with vaults.borrow() as later:
        assert later is not first


def test_what_was_recorded_meanwhile_is_shown(
    vault: Vault, take: Take, export_text: Export
) -> None:
    client = create_app(vault.repository.path, is_local=True).test_client()
    take(export_text("1"), "2026-03-01")
    assert len(client.get(LIFT).json["snapshots"]) == 1
    take(export_text("2"), "2026-03-02")
    assert len(client.get(LIFT).json["snapshots"]) == 2
    vault.reindex()
    take(export_text("3"), "2026-03-03")
    assert len(client.get(LIFT).json["snapshots"]) == 3


def test_packs_may_be_made_anew_meanwhile(vault: Vault, take: Take, export_text: Export) -> None:
    vaults = OpenVaults(vault.repository.path)
    take(export_text("1"), "2026-03-01")
    with vaults.borrow() as one:
        assert one.read("vault.yaml")
    take(export_text("2"), "2026-03-02")
    vault.reindex()
    with vaults.borrow() as again:
        assert b"value: 2," in (again.read("machines/m1/lift/parameters.yaml") or b"")


@pytest.mark.parametrize("what", ["index", "state", "vault"])
def test_what_took_the_place_of_a_vault_is_shown(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, what: str
) -> None:
    folder = vault.repository.path
    vaults = OpenVaults(folder)
    take(export_text("1"), "2026-03-01")
    shutil.copytree(folder, tmp_path / "kept")
    take(export_text("2"), "2026-03-02")
    with vaults.borrow() as one:
        assert one.index.count() == 2
    if what == "index":
        for path in folder.glob("axisvault/index.sqlite*"):
            path.unlink()
    elif what == "state":
        shutil.rmtree(folder / "axisvault")
    else:
        shutil.rmtree(folder)
        (tmp_path / "kept").rename(folder)
    with vaults.borrow() as again:
        assert again is not one
        assert again.index.count() == (1 if what == "vault" else 2)
    shutil.rmtree(folder)
    with pytest.raises(WrongUsage, match="there is no vault"), vaults.borrow():
        pass


def test_one_that_something_went_wrong_with_is_not_used_again(vault: Vault) -> None:
    vaults = OpenVaults(vault.repository.path)
    with pytest.raises(RuntimeError), vaults.borrow() as first:
        raise RuntimeError
    with vaults.borrow() as again:
        assert again is not first


def test_one_whose_index_went_while_it_was_opened_is_not_used_again(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = vault.repository.path
    opened = Vault.open

    def slowly(path: Path) -> Vault:
        found = opened(path)
        for file in folder.glob("axisvault/index.sqlite*"):
            file.unlink()
        with opened(path):
            return found

    vaults = OpenVaults(folder)
    with monkeypatch.context() as patch:
        patch.setattr(Vault, "open", slowly)
        with vaults.borrow() as first:
            pass
    with vaults.borrow() as again:
        assert again is not first


def test_one_that_cannot_be_refreshed_makes_room_for_a_new_one(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    vaults = OpenVaults(vault.repository.path)
    before = children()
    with vaults.borrow() as first:
        pass

    def broken() -> None:
        raise RuntimeError

    monkeypatch.setattr(first, "refresh", broken)
    with vaults.borrow() as again:
        assert again is not first
    vaults.close()
    assert children() - before == set()


def test_an_old_one_is_opened_anew(vault: Vault, monkeypatch: pytest.MonkeyPatch) -> None:
    vaults = OpenVaults(vault.repository.path)
    before = children()
    with vaults.borrow() as first:
        assert first.read("vault.yaml")
    processes = children() - before
    monkeypatch.setattr(open_vaults, "_LONGEST_SECONDS", -1.0)
    with vaults.borrow() as again:
        assert again is not first
        assert not processes & children(), "git's processes have ended"
    vaults.close()


def test_a_git_process_that_was_killed_is_replaced(vault: Vault) -> None:
    vaults = OpenVaults(vault.repository.path)
    before = children()
    with vaults.borrow() as one:
        assert one.read("vault.yaml")
    for process in children() - before:
        os.kill(process, 9)
    with vaults.borrow() as again:
        assert again.read("vault.yaml")
    vaults.close()


def test_no_process_is_left_behind(vault: Vault, monkeypatch: pytest.MonkeyPatch) -> None:
    before = children()
    vaults = OpenVaults(vault.repository.path)
    gate = Barrier(4)

    def ask(_: int) -> None:
        with vaults.borrow() as one:
            assert one.read("vault.yaml")
            gate.wait(30)

    with ThreadPoolExecutor(4) as threads:
        list(threads.map(ask, range(4)))
    assert len(children() - before) >= 4
    monkeypatch.setattr(open_vaults, "_IDLE_SECONDS", -1.0)
    with vaults.borrow() as one:
        assert one.read("vault.yaml")
    assert children() - before == set(), "those that lay idle are closed by who asks next"
    monkeypatch.undo()
    with vaults.borrow() as one:
        assert one.read("vault.yaml")
    assert children() - before
    vaults.close()
    assert children() - before == set()

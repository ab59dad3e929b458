"""What the index shows is held against what git has."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.conftest import BY
from vault.jobs.inspect.search import search
from vault.jobs.records.rename import rename_axis
from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]


def test_values_that_the_index_lacks_are_named(
    vault: Vault, take: Take, export_text: Export
) -> None:
    for day in (1, 2, 4, 3):  # the last one is a late entry
        take(export_text(str(day)), f"2026-03-0{day}")
    vault.index.fill_values()
    assert verify(vault).ok
    for seq in (4, 2):
        vault.index._database.execute(f"DELETE FROM value_changes WHERE seq = {seq}")
        assert [problem.kind for problem in verify(vault).problems] == ["index"]


def test_an_axis_that_only_the_index_has_is_compared_too(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    database = vault.index._database
    for table in ("snapshots", "filled"):
        database.execute(f"UPDATE {table} SET axis = 'ghost'")
    database.execute("INSERT INTO snapshots SELECT 9, machine, axis, taken, 'x', serial, channel,"
                     " text, crc, NULL FROM snapshots")  # fmt: skip
    database.execute("INSERT INTO value_changes SELECT 9, code, line FROM value_changes")
    found = {(problem.kind, problem.where) for problem in verify(vault).problems}
    assert ("index", "m1/ghost") in found


@pytest.mark.parametrize(
    "damage",
    [
        "DELETE FROM text_axes WHERE of_file = 0",
        "DELETE FROM text_axes WHERE of_file = 1",
        "UPDATE texts SET text = 'mast', plain = ' mast' WHERE kind = 'title'",
        "UPDATE texts SET plain = ' mast' WHERE kind = 'taken by'",
        "INSERT INTO text_axes SELECT id, 'm1', 'lift', 0 FROM texts WHERE kind = 'title'",
        "UPDATE text_axes SET axis = 'mast' WHERE axis = 'lift'",
        "DELETE FROM text_axes WHERE axis = ''",
    ],
)
def test_texts_of_the_search_that_are_not_those_of_git_are_told(
    vault: Vault, take: Take, export_text: Callable[..., str], damage: str
) -> None:
    take(export_text("1"), "2026-03-01")
    path = layout.axis_file(Address("m1", "lift"))
    with vault.writing():
        record = b"schema: axisvault/axis/1\ntitle: Glaze lift\n"
        vault.write_files({path: record}, "a title\n", BY)
    assert verify(vault).problems == []  # before anybody searched
    assert search(vault, "glaze").axes
    assert verify(vault).problems == []
    vault.index._database.execute(damage)
    told = [one for one in verify(vault).problems if "texts that the search finds" in one.details]
    assert told
    vault.index.rebuild()
    assert verify(vault).problems == []


def test_a_file_that_changed_since_the_last_search_is_no_problem(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text("1"), "2026-03-01")
    search(vault, "lift")
    rename_axis(vault, Address("m1", "lift"), "hoist", BY)
    assert verify(vault).problems == []
    search(vault, "lift")
    assert verify(vault).problems == []

"""What the index shows is held against what git has."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from vault.jobs.verify.verify import verify
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

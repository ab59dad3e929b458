"""What a verification reads once, and what it has git do meanwhile."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from subprocess import PIPE, Popen
from typing import Any

import pytest

from vault.cli.long_work import rare_collections
from vault.jobs.verify import verify as verify_module
from vault.jobs.verify.stored_snapshot import SnapshotReader
from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def read_again(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Commits whose parameters.yaml is read for the index alone."""
    found: list[str] = []
    original = SnapshotReader.parameters

    def spied(
        self: SnapshotReader, address: Address, commits: Sequence[str]
    ) -> Iterator[bytes | None]:
        found.extend(commits)
        return original(self, address, commits)

    monkeypatch.setattr(SnapshotReader, "parameters", spied)
    return found


def test_values_are_read_once_where_snapshots_were_recorded_in_the_order_of_their_time(
    vault: Vault, take: Take, export_text: Export, read_again: list[str]
) -> None:
    for day in range(1, 5):
        take(export_text(str(day)), f"2026-03-0{day}")
    assert verify(vault).ok
    assert read_again == []
    vault.index._database.execute("DELETE FROM value_changes WHERE seq = 4")
    assert [problem.kind for problem in verify(vault).problems] == ["index"]
    assert read_again == []


def test_what_comes_after_a_late_entry_is_read_again(
    vault: Vault, take: Take, export_text: Export, read_again: list[str]
) -> None:
    taken = {day: take(export_text(str(day)), f"2026-03-0{day}").snapshot.id for day in (1, 4, 3)}
    assert verify(vault).ok
    assert read_again[-1] == taken[4]
    assert taken[1] not in read_again
    vault.index._database.execute("DELETE FROM value_changes WHERE seq = 2")
    assert [problem.kind for problem in verify(vault).problems] == ["index"]


def test_an_axis_that_only_the_index_has_is_compared_too(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    database = vault.index._database
    for table in ("snapshots", "filled"):
        database.execute(f"UPDATE {table} SET axis = 'ghost'")
    database.execute("INSERT INTO snapshots SELECT 9, machine, axis, taken, 'x', serial, channel,"
                     " text, crc FROM snapshots")  # fmt: skip
    database.execute("INSERT INTO value_changes SELECT 9, code, line FROM value_changes")
    found = {(problem.kind, problem.where) for problem in verify(vault).problems}
    assert ("index", "m1/ghost") in found


def test_git_checks_its_objects_no_longer_than_we_go_on(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[Popen[bytes]] = []

    def long(*arguments: str) -> Popen[bytes]:
        assert arguments[0] == "fsck"
        started.append(Popen(["sleep", "20"], stdin=PIPE, stdout=PIPE, stderr=PIPE))
        return started[0]

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(vault.repository.git, "start", long)
    monkeypatch.setattr(verify_module, "check_witness", stopped)
    with pytest.raises(KeyboardInterrupt):
        verify(vault)
    assert started[0].returncode not in (None, 0)


def test_what_git_says_of_its_objects_is_waited_for_and_told_first(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text("1"), "2026-03-01")
    vault.index._database.execute("DELETE FROM value_changes")
    script = "sleep 0.5; echo; for n in 1 2 3 4 5 6; do echo object $n; done >&2; exit 3"
    original = vault.repository.git.start

    def late(*arguments: str) -> Popen[bytes]:
        if arguments[0] != "fsck":
            return original(*arguments)
        return Popen(["sh", "-c", script], stdin=PIPE, stdout=PIPE, stderr=PIPE)

    monkeypatch.setattr(vault.repository.git, "start", late)
    found = verify(vault).problems
    assert [problem.kind for problem in found] == ["git", "index"]
    assert found[0].details == "object 1; object 2; object 3; object 4; object 5"
    script = "exit 4"
    assert verify(vault).problems[0].details == "git fsck ended with 4"


def test_what_is_remembered_is_gone_through_seldom_for_one_command_only() -> None:
    before = gc.get_threshold()
    with pytest.raises(RuntimeError), rare_collections():
        assert gc.get_threshold()[0] > 10 * before[0]
        raise RuntimeError
    assert gc.get_threshold() == before
